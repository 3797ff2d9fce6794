//! The standard normal both ways round, and chances that depend on names alone.

use crate::window::normal_share;

/// Returns the value below which the share `p` of a standard normal lies.
///
/// Found by halving, to 1e-6; shares outside 0.0001 to 0.9999 are taken as these.
///
/// # Example
/// ```
/// use fairday::odds::normal_at;
/// assert!(normal_at(0.5).abs() < 1e-5);
/// assert!((normal_at(0.975) - 1.959_964).abs() < 1e-4);
/// ```
pub fn normal_at(p: f64) -> f64 {
    let p = p.clamp(0.0001, 0.9999);
    let (mut low, mut high) = (-4.0, 4.0);
    while high - low > 1e-6 {
        let middle = 0.5 * (low + high);
        if normal_share(middle) < p {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// Mixes numbers into one that looks random and is always the same for the same ones.
///
/// # Sources
/// Steele, Lea & Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014
/// (the last mixing step) [from memory].
pub fn mixed(numbers: &[u64]) -> u64 {
    numbers.iter().fold(0x9e37_79b9_7f4a_7c15, |sum, number| {
        let mut z = (sum ^ number).wrapping_add(0x9e37_79b9_7f4a_7c15);
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    })
}

/// Returns a share from 0 to 1 that belongs to some numbers.
pub fn share_of(numbers: &[u64]) -> f64 {
    (mixed(numbers) >> 11) as f64 / (1u64 << 53) as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Quantiles of the standard normal, from any handbook table.
    #[test]
    fn quantiles_are_the_tables() {
        for (p, x) in [(0.05, -1.644_854), (0.8, 0.841_621), (0.95, 1.644_854)] {
            assert!((normal_at(p) - x).abs() < 2e-5, "{p}");
        }
    }

    /// The mean of 10,000 even shares lies within 0.012 of one half in all but one of
    /// 10,000 cases (four times 1/√12/100).
    #[test]
    fn shares_are_even() {
        let mean = (0..10_000).map(|n| share_of(&[1, n])).sum::<f64>() / 10_000.0;
        assert!((mean - 0.5).abs() < 0.012, "{mean}");
    }
}
