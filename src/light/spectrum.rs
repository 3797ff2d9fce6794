//! Clear-sky light by wavelength, on the horizontal and on a tilted frame.
//!
//! The simple spectral model of Bird and Riordan, cut down to the wavelengths
//! that print. Assumptions: one aerosol of rural kind, the same over all heights;
//! a level horizon without walls and trees; the ground throws light back evenly.
//!
//! | symbol | meaning |
//! |---|---|
//! | z, μ | apparent zenith angle of the sun, its cosine |
//! | m, M | air mass, air mass by pressure |
//! | T_R, T_A, T_O | what air, aerosol and ozone let through of the beam |
//! | T_AA, T_AS | aerosol: let through if it only absorbed, only scattered |
//! | ω, g | share scattered by an aerosol particle, how much of it forward |
//! | primed | the same along the mean path of light from all sides, m = 1.8 |
//!
//! # Sources
//! Bird & Riordan, SERI/TR-215-2436 (1984) and J. Climate Appl. Meteor. 25 (1986)
//! 87–97, in the variant of pvlib `spectrum.spectrl2` (Rayleigh constant 1.3366;
//! air mass of Kasten & Young). Values checked against
//! `tests/reference/light/spectral_values.csv`.

use super::atmosphere;
use super::bands::{BAND_COUNT, EXTRATERRESTRIAL, OZONE_PER_CM, Sensitivity, WAVELENGTH_NM};
use super::sun::SunPosition;

/// Ångström exponent of the aerosol; rural air, as in the model's source.
const ANGSTROM: f64 = 1.14;
/// Share of light at 400 nm that an aerosol particle scatters; same source.
const SCATTERING_400: f64 = 0.945;
/// How that share falls with the square of the log of wavelength; same source.
const SCATTERING_FALL: f64 = 0.095;
/// Mean cosine of scattering by aerosol; same source.
const FORWARDNESS: f64 = 0.65;
/// Pressure that the Rayleigh term is written for; not 101,325. [Pa]
const RAYLEIGH_PRESSURE_PA: f64 = 101_300.0;
/// Air mass of light from all sides; same source.
const MEAN_PATH: f64 = 1.8;

/// From this apparent zenith angle on the model says nothing and light is zero. [°]
pub const ZENITH_END_DEG: f64 = 89.0;

/// The air and the ground under it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// At the ground. [Pa]
    pub pressure_pa: f64,
    /// Total column. [DU]
    pub ozone_du: f64,
    /// Optical depth of haze at 500 nm.
    pub aerosol: f64,
    /// Share of light that the ground throws back.
    pub albedo: f64,
    /// 1–366.
    pub day_of_year: u32,
}

/// Light at one wavelength. All in [W/m²/nm].
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct BandLight {
    /// Outside the atmosphere, across the beam.
    pub outside: f64,
    /// Beam, across it.
    pub beam: f64,
    /// From the whole sky, on the horizontal.
    pub sky_horizontal: f64,
    /// Beam, on the frame.
    pub beam_frame: f64,
    /// From the sky, on the frame.
    pub sky_frame: f64,
    /// From the ground, on the frame.
    pub ground_frame: f64,
}

/// Light weighted by what prints. All in [W/m²].
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PrintingLight {
    /// Beam, on the horizontal.
    pub beam_horizontal: f64,
    /// From the whole sky, on the horizontal.
    pub sky_horizontal: f64,
    /// Beam, on the frame.
    pub beam_frame: f64,
    /// From the sky, on the frame.
    pub sky_frame: f64,
    /// From the ground, on the frame.
    pub ground_frame: f64,
}

impl PrintingLight {
    /// Returns all light on the horizontal. [W/m²]
    pub fn horizontal(&self) -> f64 {
        self.beam_horizontal + self.sky_horizontal
    }

    /// Returns all light on the frame. [W/m²]
    pub fn frame(&self) -> f64 {
        self.beam_frame + self.sky_frame + self.ground_frame
    }
}

/// How a frame stands to the sun.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Facing {
    /// Of the frame, from the horizontal. [°]
    pub tilt_deg: f64,
    /// Between the sun and the frame's normal. [°]
    pub incidence_deg: f64,
}

impl Facing {
    /// Returns how a frame with this tilt [°] and azimuth [°] stands to the sun.
    pub fn of(sun: SunPosition, tilt_deg: f64, azimuth_deg: f64) -> Facing {
        Facing {
            tilt_deg,
            incidence_deg: sun.incidence_deg(tilt_deg, azimuth_deg),
        }
    }
}

/// Returns the light that prints under a clear sky. [W/m²]
///
/// Zero from an apparent zenith angle of [`ZENITH_END_DEG`] on. Trustworthy to
/// some 6 % in shape for a sun of 15° and more, to a quarter below 10°; the level
/// cancels against strips printed in the same model's light, and is no measurement.
pub fn printing_light(
    zenith_deg: f64,
    facing: Facing,
    air: &Air,
    sensitivity: &Sensitivity,
) -> PrintingLight {
    if zenith_deg >= ZENITH_END_DEG {
        return PrintingLight::default();
    }
    let cosine = zenith_deg.to_radians().cos();
    let bands = clear_bands(zenith_deg, facing, air);
    let sky_horizontal = sensitivity.weigh(|i| bands[i].sky_horizontal);
    PrintingLight {
        beam_horizontal: cosine * sensitivity.weigh(|i| bands[i].beam),
        sky_horizontal,
        beam_frame: sensitivity.weigh(|i| bands[i].beam_frame),
        sky_frame: sensitivity.weigh(|i| bands[i].sky_frame),
        ground_frame: sensitivity.weigh(|i| bands[i].ground_frame),
    }
}

/// Returns the light at each wavelength under a clear sky.
///
/// Valid for apparent zenith angles below [`ZENITH_END_DEG`].
pub fn clear_bands(zenith_deg: f64, facing: Facing, air: &Air) -> [BandLight; BAND_COUNT] {
    let path = Path::new(zenith_deg, air);
    let frame = FrameShares::new(path.cosine, facing);
    std::array::from_fn(|band| path.light_at(band, &frame, air))
}

/// What is the same for all wavelengths.
struct Path {
    cosine: f64,
    distance: f64,
    air_mass: f64,
    pressure_ratio: f64,
    ozone_cm: f64,
    ozone_mass: f64,
    forward: f64,
    forward_mean: f64,
}

impl Path {
    fn new(zenith_deg: f64, air: &Air) -> Path {
        let cosine = zenith_deg.to_radians().cos();
        let ozone_height = 22.0 / 6370.0;
        Path {
            cosine,
            distance: atmosphere::distance_factor(air.day_of_year),
            air_mass: atmosphere::air_mass(zenith_deg),
            pressure_ratio: air.pressure_pa / RAYLEIGH_PRESSURE_PA,
            ozone_cm: air.ozone_du / 1000.0,
            ozone_mass: (1.0 + ozone_height) / (cosine * cosine + 2.0 * ozone_height).sqrt(),
            forward: forward_share(cosine),
            forward_mean: forward_share(1.0 / MEAN_PATH),
        }
    }

    fn light_at(&self, band: usize, frame: &FrameShares, air: &Air) -> BandLight {
        let wavelength = WAVELENGTH_NM[band];
        let outside = EXTRATERRESTRIAL[band] * self.distance;
        let ozone = (-OZONE_PER_CM[band] * self.ozone_cm * self.ozone_mass).exp();
        let haze = Haze::new(wavelength, air.aerosol);

        let rayleigh = rayleigh(wavelength, self.air_mass * self.pressure_ratio);
        let beam = outside * rayleigh * haze.through(self.air_mass) * ozone;

        let (absorbed, scattered) = haze.split(self.air_mass);
        let scattering = outside * self.cosine * ozone * absorbed;
        let from_air = scattering * (1.0 - rayleigh.powf(0.95)) / 2.0;
        let from_haze = scattering * rayleigh.powf(1.5) * (1.0 - scattered) * self.forward;

        let sky_albedo = self.sky_albedo(wavelength, &haze);
        let bounced = (beam * self.cosine + from_air + from_haze) * sky_albedo * air.albedo
            / (1.0 - sky_albedo * air.albedo);
        let short_wave = ((wavelength + 550.0) / 1000.0).powf(1.8);
        let sky = (from_air + from_haze + bounced) * short_wave;

        let clearness = beam / outside;
        let around_sun = clearness * frame.beam_ratio + (1.0 - clearness) * frame.sky_view;
        BandLight {
            outside,
            beam,
            sky_horizontal: sky,
            beam_frame: beam * frame.cosine,
            sky_frame: (sky * around_sun).max(0.0),
            ground_frame: (beam * self.cosine + sky) * air.albedo * frame.ground_view,
        }
    }

    /// How much of the light from the ground the sky throws down again.
    fn sky_albedo(&self, wavelength: f64, haze: &Haze) -> f64 {
        let rayleigh = rayleigh(wavelength, MEAN_PATH * self.pressure_ratio);
        let (absorbed, scattered) = haze.split(MEAN_PATH);
        let upward = (1.0 - self.forward_mean) * rayleigh * (1.0 - scattered);
        absorbed * (0.5 * (1.0 - rayleigh) + upward)
    }
}

/// Aerosol at one wavelength.
struct Haze {
    depth: f64,
    scattering: f64,
}

impl Haze {
    fn new(wavelength_nm: f64, depth_500: f64) -> Haze {
        let log = (wavelength_nm / 400.0).ln();
        Haze {
            depth: depth_500 * (wavelength_nm / 500.0).powf(-ANGSTROM),
            scattering: SCATTERING_400 * (-SCATTERING_FALL * log * log).exp(),
        }
    }

    fn through(&self, air_mass: f64) -> f64 {
        (-self.depth * air_mass).exp()
    }

    /// What it would let through if it only absorbed, and if it only scattered.
    fn split(&self, air_mass: f64) -> (f64, f64) {
        let absorbed = (-(1.0 - self.scattering) * self.depth * air_mass).exp();
        let scattered = (-self.scattering * self.depth * air_mass).exp();
        (absorbed, scattered)
    }
}

/// How a frame shares in beam, sky and ground.
struct FrameShares {
    cosine: f64,
    beam_ratio: f64,
    sky_view: f64,
    ground_view: f64,
}

impl FrameShares {
    fn new(cosine_zenith: f64, facing: Facing) -> FrameShares {
        let cosine = facing.incidence_deg.to_radians().cos().max(0.0);
        let tilt = facing.tilt_deg.to_radians().cos();
        FrameShares {
            cosine,
            // Held from a sun of 1° downwards, where the ratio would run away.
            beam_ratio: cosine / cosine_zenith.max(0.017_45),
            sky_view: (1.0 + tilt) / 2.0,
            ground_view: (1.0 - tilt) / 2.0,
        }
    }
}

fn rayleigh(wavelength_nm: f64, pressure_mass: f64) -> f64 {
    let square = (wavelength_nm / 1000.0).powi(2);
    (-pressure_mass / (square * square * (115.640_6 - 1.336_6 / square))).exp()
}

/// Share of what haze scatters that goes on downwards.
fn forward_share(cosine: f64) -> f64 {
    let log = (1.0 - FORWARDNESS).ln();
    let first = log * (1.459 + log * (0.159_5 + log * 0.412_9));
    let second = log * (0.078_3 + log * (-0.382_4 - log * 0.587_4));
    1.0 - 0.5 * ((first + second * cosine) * cosine).exp()
}
