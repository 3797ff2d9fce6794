//! Test strips and step tablets: which minutes to try, what a step is worth.
//!
//! Steps of a strip grow by one factor, because a print answers to ratios of light.
//! What a strip taught is kept by `learn`.

/// The usual factor from one step of a strip to the next, half a stop.
pub const HALF_STOP: f64 = std::f64::consts::SQRT_2;

/// Density from one step of a usual 21-step tablet to the next.
const TABLET_STEP: f64 = 0.15;

/// Density of its first step.
const TABLET_BASE: f64 = 0.05;

/// Returns the minutes of a strip with `count` steps, from `first` [min] on, each
/// `factor` times the one before. [min]
///
/// # Example
/// ```
/// use fairday::light::strip::{HALF_STOP, strip_minutes};
/// let strip = strip_minutes(4.0, HALF_STOP, 5);
/// assert_eq!(strip.len(), 5);
/// assert!((strip[4] - 16.0).abs() < 1e-9);
/// ```
pub fn strip_minutes(first: f64, factor: f64, count: usize) -> Vec<f64> {
    std::iter::successors(Some(first), |minutes| Some(minutes * factor))
        .take(count)
        .collect()
}

/// Returns the density of a tablet's step, counted from 1.
pub fn tablet_density(step: u32) -> f64 {
    TABLET_BASE + TABLET_STEP * (f64::from(step) - 1.0)
}

/// Returns the factor for the dose that moves a print by some steps of the tablet;
/// below 1 for steps down.
///
/// # Example
/// ```
/// use fairday::light::strip::tablet_factor;
/// assert!((tablet_factor(2) - 1.995).abs() < 0.001);
/// assert!((tablet_factor(-2) * tablet_factor(2) - 1.0).abs() < 1e-12);
/// ```
pub fn tablet_factor(steps: i32) -> f64 {
    10f64.powf(TABLET_STEP * f64::from(steps))
}
