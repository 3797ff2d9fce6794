//! The shape of `studio.yaml`: which keys stand where, and nothing of their meaning.

use chrono::{NaiveDate, NaiveDateTime, NaiveTime, Weekday};
use chrono_tz::Tz;
use serde::Deserialize;

use super::{MailSecurity, MaterialKind};
use crate::size::Size;
use crate::yaml::fields::keys_of;
use crate::yaml::keyed::Keyed;
use crate::yaml::leaf::{Leaf, Scalar};
use crate::yaml::trail::Step;

/// `studio.yaml` as it is written.
#[derive(Debug, Deserialize)]
#[serde(expecting = "keys with values, such as `studio: The Blue Shed`")]
pub struct StudioFile {
    /// Name of the studio.
    pub studio: Option<Leaf<String>>,
    /// Where it is.
    pub place: Option<PlaceFile>,
    /// The moment a plan is made for, if it is pinned.
    pub today: Option<Leaf<Today>>,
    /// People who work at once.
    pub hands: Option<Leaf<u32>>,
    /// Weekly hours.
    pub work: Option<Vec<WorkFile>>,
    /// Days without work.
    pub days_off: Option<Vec<Leaf<NaiveDate>>>,
    /// How frames stand outdoors.
    pub stand: Option<StandFile>,
    /// Contact frames.
    pub frames: Option<Vec<FrameFile>>,
    /// Gap between pieces in one frame. [mm]
    pub frame_margin_mm: Option<Leaf<f64>>,
    /// Drying places.
    pub racks: Option<RacksFile>,
    /// Wash trays.
    pub trays: Option<TraysFile>,
    /// Papers and cloths.
    pub materials: Option<Keyed<MaterialFile>>,
    /// Recipe and mix.
    pub sensitizer: Option<SensitizerFile>,
    /// Age of coated sheets.
    pub keeping: Option<KeepingFile>,
    /// Handling times.
    pub minutes: Option<MinutesFile>,
    /// Limits outdoors.
    pub weather: Option<WeatherFile>,
    /// Collections and transit.
    pub shipping: Option<ShippingFile>,
    /// Sender and way of letters.
    pub letters: Option<LettersFile>,
    /// Saved forecast.
    pub forecast: Option<Leaf<String>>,
    /// Estimate of drying hours.
    pub drying: Option<DryingFile>,
    /// What stands in for it beyond its end.
    pub climate: Option<ClimateFile>,
    /// How it is fetched.
    pub fetch: Option<FetchFile>,
    /// Settings of the planner.
    pub planning: Option<PlanningFile>,
    /// Settings of dates that hold.
    pub promises: Option<PromisesFile>,
}

/// The key `place`.
#[derive(Debug, Deserialize)]
#[serde(expecting = "`latitude_deg:`, `longitude_deg:` and `zone:` below `place:`")]
pub struct PlaceFile {
    /// North positive. [°]
    pub latitude_deg: Option<Leaf<f64>>,
    /// East positive. [°]
    pub longitude_deg: Option<Leaf<f64>>,
    /// Above the sea. [m]
    pub altitude_m: Option<Leaf<f64>>,
    /// IANA zone.
    pub zone: Option<Leaf<Tz>>,
}

/// An entry of `work`.
#[derive(Debug, Deserialize)]
#[serde(expecting = "an entry such as `{days: [mon, tue], from: 9:00, until: 17:00}`")]
pub struct WorkFile {
    /// Days of the week.
    pub days: Option<Vec<Leaf<Weekday>>>,
    /// Begin.
    pub from: Option<Leaf<NaiveTime>>,
    /// End.
    pub until: Option<Leaf<NaiveTime>>,
}

/// The key `stand`.
#[derive(Debug, Default, Deserialize)]
#[serde(expecting = "keys such as `tilt_deg:` below `stand:`")]
pub struct StandFile {
    /// From the horizontal. [°]
    pub tilt_deg: Option<Leaf<f64>>,
    /// Where the tilted side looks. [°]
    pub azimuth_deg: Option<Leaf<f64>>,
    /// Share of light thrown back by the ground.
    pub albedo: Option<Leaf<f64>>,
    /// Optical depth of haze.
    pub aerosol: Option<Leaf<f64>>,
}

/// An entry of `frames`.
#[derive(Debug, Deserialize)]
#[serde(expecting = "an entry such as `{name: large, inside: 42x52 cm}`")]
pub struct FrameFile {
    /// Its name.
    pub name: Option<Leaf<String>>,
    /// Usable inside.
    pub inside: Option<Leaf<Size>>,
    /// How many alike.
    pub count: Option<Leaf<u32>>,
    /// Dose rate of its lamp. [W/m²]
    pub lamp_w_m2: Option<Leaf<f64>>,
}

/// The key `racks`.
#[derive(Debug, Deserialize)]
#[serde(expecting = "`dark_dry_sheets:` and `wet_dry_sheets:` below `racks:`")]
pub struct RacksFile {
    /// Dark places for sheets.
    pub dark_dry_sheets: Option<Leaf<u32>>,
    /// Dark line for cloth. [cm]
    pub dark_dry_line_cm: Option<Leaf<u32>>,
    /// Places for washed sheets.
    pub wet_dry_sheets: Option<Leaf<u32>>,
    /// Line for washed cloth. [cm]
    pub wet_dry_line_cm: Option<Leaf<u32>>,
    /// Largest sheet on one place.
    pub sheet_place: Option<Leaf<Size>>,
}

/// The key `trays`.
#[derive(Debug, Deserialize)]
#[serde(expecting = "`inside:` and `count:` below `trays:`")]
pub struct TraysFile {
    /// How many alike.
    pub count: Option<Leaf<u32>>,
    /// Usable inside.
    pub inside: Option<Leaf<Size>>,
}

/// An entry of `materials`.
#[derive(Debug, Deserialize)]
#[serde(expecting = "`kind:` and `target_dose_kj_m2:` below the name of the material")]
pub struct MaterialFile {
    /// Name for people.
    pub name: Option<Leaf<String>>,
    /// Paper or cloth.
    pub kind: Option<Leaf<MaterialKind>>,
    /// Dose that prints it. [kJ/m²]
    pub target_dose_kj_m2: Option<Leaf<f64>>,
    /// Sensitizer per area and coat. [ml/m²]
    pub coat_ml_per_m2: Option<Leaf<f64>>,
    /// Coats.
    pub coats: Option<Leaf<u32>>,
    /// Share that a later coat takes of the first.
    pub later_coat_share: Option<Leaf<f64>>,
    /// Coating each piece. [min]
    pub coat_minutes: Option<Leaf<f64>>,
    /// Drying in the dark. [h]
    pub dark_dry_hours: Option<Leaf<f64>>,
    /// Keeping when dry. [h]
    pub keep_hours: Option<Leaf<f64>>,
    /// Washing each lot. [min]
    pub wash_minutes: Option<Leaf<f64>>,
    /// Drying after the wash. [h]
    pub wet_dry_hours: Option<Leaf<f64>>,
    /// From wash to finishing at least. [h]
    pub cure_hours: Option<Leaf<f64>>,
    /// Finishing each piece. [min]
    pub finish_minutes: Option<Leaf<f64>>,
    /// Whether it holds chalk.
    pub buffered: Option<Leaf<bool>>,
    /// Day from which there is some.
    pub available_on: Option<Leaf<NaiveDate>>,
}

/// The key `sensitizer`.
#[derive(Debug, Default, Deserialize)]
#[serde(expecting = "keys such as `a_percent:` below `sensitizer:`")]
pub struct SensitizerFile {
    /// Its name.
    pub name: Option<Leaf<String>>,
    /// Stock A. [% w/v]
    pub a_percent: Option<Leaf<f64>>,
    /// Stock B. [% w/v]
    pub b_percent: Option<Leaf<f64>>,
    /// Parts of A.
    pub a_parts: Option<Leaf<f64>>,
    /// Parts of B.
    pub b_parts: Option<Leaf<f64>>,
    /// Dose relative to the classic one.
    pub exposure_factor: Option<Leaf<f64>>,
    /// Share added to the volume.
    pub margin: Option<Leaf<f64>>,
    /// Left in brush and vessel. [ml]
    pub dead_ml: Option<Leaf<f64>>,
    /// Volumes are rounded up to this. [ml]
    pub step_ml: Option<Leaf<f64>>,
    /// Mixing and laying out. [min]
    pub setup_minutes: Option<Leaf<f64>>,
    /// Life of the mix. [h]
    pub mix_life_hours: Option<Leaf<f64>>,
    /// Sessions in a day.
    pub sessions_per_day: Option<Leaf<u32>>,
}

/// The key `keeping`.
#[derive(Debug, Default, Deserialize)]
#[serde(expecting = "keys such as `warn_days:` below `keeping:`")]
pub struct KeepingFile {
    /// From here on age is said. [d]
    pub warn_days: Option<Leaf<f64>>,
    /// From here on a strip is printed first. [d]
    pub strip_days: Option<Leaf<f64>>,
    /// Damper air counts as damp. [%]
    pub damp_above_pct: Option<Leaf<f64>>,
    /// Share that damp air leaves.
    pub damp_share: Option<Leaf<f64>>,
}

/// The key `minutes`.
#[derive(Debug, Default, Deserialize)]
#[serde(expecting = "keys such as `load:` below `minutes:`")]
pub struct MinutesFile {
    /// Into the frame. [min]
    pub load: Option<Leaf<f64>>,
    /// Out of it. [min]
    pub unload: Option<Leaf<f64>>,
    /// Longest wait until the wash. [min]
    pub wash_within: Option<Leaf<f64>>,
    /// Packing an order. [min]
    pub pack: Option<Leaf<f64>>,
}

/// The key `weather`.
#[derive(Debug, Default, Deserialize)]
#[serde(expecting = "keys such as `wind_max_m_s:` below `weather:`")]
pub struct WeatherFile {
    /// Mean wind. [m/s]
    pub wind_max_m_s: Option<Leaf<f64>>,
    /// Gusts under glass. [m/s]
    pub gust_max_m_s: Option<Leaf<f64>>,
    /// Gusts for loose objects. [m/s]
    pub loose_gust_max_m_s: Option<Leaf<f64>>,
    /// Gust over mean wind where the forecast has no gusts.
    pub gust_ratio: Option<Leaf<f64>>,
    /// Chance of rain, 0 to 1.
    pub rain_chance_max: Option<Leaf<f64>>,
    /// Amount in the hour that is wet. [mm]
    pub rain_max_mm: Option<Leaf<f64>>,
    /// Least sun elevation. [°]
    pub elevation_min_deg: Option<Leaf<f64>>,
    /// Longest exposure. [min]
    pub exposure_max_minutes: Option<Leaf<f64>>,
    /// Whether a person stays with loose objects.
    pub watch_loose: Option<Leaf<bool>>,
    /// Age of a stale forecast. [h]
    pub forecast_stale_hours: Option<Leaf<f64>>,
}

/// The key `shipping`.
#[derive(Debug, Default, Deserialize)]
#[serde(expecting = "keys such as `collection_days:` below `shipping:`")]
pub struct ShippingFile {
    /// Days of collection.
    pub collection_days: Option<Vec<Leaf<Weekday>>>,
    /// When parcels must be ready.
    pub cut_off: Option<Leaf<NaiveTime>>,
    /// Days without collection and transit.
    pub holidays: Option<Vec<Leaf<NaiveDate>>>,
    /// Working days on the way, by destination.
    pub transit_days: Option<Keyed<Leaf<u32>>>,
    /// Usual carrier.
    pub carrier: Option<Leaf<String>>,
}

/// The key `letters`.
#[derive(Debug, Deserialize)]
#[serde(expecting = "`from:` and `person:` below `letters:`")]
pub struct LettersFile {
    /// Sender.
    pub from: Option<Leaf<String>>,
    /// Address that a person reads.
    pub reply_to: Option<Leaf<String>>,
    /// Who answers.
    pub person: Option<Leaf<String>>,
    /// Folder for `.eml` files.
    pub folder: Option<Leaf<String>>,
    /// Mail server.
    pub smtp: Option<SmtpFile>,
}

/// The key `smtp`.
#[derive(Debug, Deserialize)]
#[serde(expecting = "`host:` and `user:` below `smtp:`")]
pub struct SmtpFile {
    /// Host name.
    pub host: Option<Leaf<String>>,
    /// Port.
    pub port: Option<Leaf<u16>>,
    /// How the line is kept private.
    pub security: Option<Leaf<MailSecurity>>,
    /// Account.
    pub user: Option<Leaf<String>>,
    /// Environment variable with the password.
    pub password_env: Option<Leaf<String>>,
}

/// The key `drying`.
#[derive(Debug, Deserialize)]
#[serde(expecting = "`estimate: yes` below `drying:`")]
pub struct DryingFile {
    /// Whether drying hours are estimated.
    pub estimate: Option<Leaf<bool>>,
    /// Air in which the hours of the materials hold. [°C]
    pub usual_temperature_c: Option<Leaf<f64>>,
    /// Air in which the hours of the materials hold. [%]
    pub usual_humidity_pct: Option<Leaf<f64>>,
    /// Air of the room these days. [°C]
    pub temperature_c: Option<Leaf<f64>>,
    /// Air of the room these days. [%]
    pub humidity_pct: Option<Leaf<f64>>,
    /// The hours are never taken shorter than this share of them.
    pub factor_min: Option<Leaf<f64>>,
    /// Nor longer than this many times.
    pub factor_max: Option<Leaf<f64>>,
}

/// The key `climate`.
#[derive(Debug, Deserialize)]
#[serde(expecting = "`file:` below `climate:`")]
pub struct ClimateFile {
    /// A typical year, EPW or TMY3.
    pub file: Option<Leaf<String>>,
    /// Whether a rough climate by latitude will do.
    pub rough: Option<Leaf<bool>>,
    /// Chance of rain in an hour of the day, 0 to 1.
    pub wet_share: Option<Leaf<f64>>,
}

/// The key `fetch`.
#[derive(Debug, Deserialize)]
#[serde(expecting = "`contact:` below `fetch:`")]
pub struct FetchFile {
    /// Whom the service can ask about the requests.
    pub contact: Option<Leaf<String>>,
    /// Which service.
    pub service: Option<Leaf<ServiceName>>,
    /// Where it is asked.
    pub host: Option<Leaf<String>>,
    /// Decimals of the coordinates.
    pub decimals: Option<Leaf<u32>>,
    /// Longest wait for an answer. [s]
    pub timeout_seconds: Option<Leaf<f64>>,
    /// Environment variable with the user's key.
    pub key_env: Option<Leaf<String>>,
    /// The user's word that nothing is sold.
    pub non_commercial: Option<Leaf<bool>>,
}

/// The key `planning`.
#[derive(Debug, Default, Deserialize)]
#[serde(expecting = "keys such as `days:` below `planning:`")]
pub struct PlanningFile {
    /// Days of a plan.
    pub days: Option<Leaf<u32>>,
    /// Cost of a late day.
    pub late: Option<Leaf<u32>>,
    /// Cost of weather risk.
    pub risk: Option<Leaf<u32>>,
    /// Cost of a coating session.
    pub session: Option<Leaf<u32>>,
    /// Cost of a day until collection.
    pub ship: Option<Leaf<u32>>,
    /// Longer evening for a late order. [h]
    pub extra_hours: Option<Leaf<f64>>,
    /// Chance of the promised number with spare copies.
    pub spare_confidence: Option<Leaf<f64>>,
    /// Share of paper made again at first.
    pub remake_share_paper: Option<Leaf<f64>>,
    /// Share of cloth made again at first.
    pub remake_share_cloth: Option<Leaf<f64>>,
    /// Pieces that the first shares count for.
    pub remake_start_pieces: Option<Leaf<u32>>,
}

/// The key `promises`.
#[derive(Debug, Default, Deserialize)]
#[serde(expecting = "keys such as `weathers:` below `promises:`")]
pub struct PromisesFile {
    /// Weathers that are drawn.
    pub weathers: Option<Leaf<u32>>,
    /// Another number, other weathers.
    pub seed: Option<Leaf<u32>>,
    /// How far ahead they reach. [d]
    pub days: Option<Leaf<u32>>,
    /// Correlation of forecast and truth, by lead day.
    pub forecast_correlation: Option<Vec<Leaf<f64>>>,
    /// What a season of one year differs from another's.
    pub year_spread: Option<Leaf<f64>>,
}

/// The keys that may stand at a place of `studio.yaml`.
pub fn known_keys(at: &[Step]) -> &'static [&'static str] {
    let key = |index: usize| match at.get(index) {
        Some(Step::Key(key)) => key.as_str(),
        Some(Step::Index(_)) => "-",
        None => "",
    };
    match (key(0), key(1)) {
        ("", _) => keys_of::<StudioFile>(),
        ("place", "") => keys_of::<PlaceFile>(),
        ("work", "-") => keys_of::<WorkFile>(),
        ("stand", "") => keys_of::<StandFile>(),
        ("frames", "-") => keys_of::<FrameFile>(),
        ("racks", "") => keys_of::<RacksFile>(),
        ("trays", "") => keys_of::<TraysFile>(),
        ("materials", _) => keys_of::<MaterialFile>(),
        ("sensitizer", "") => keys_of::<SensitizerFile>(),
        ("keeping", "") => keys_of::<KeepingFile>(),
        ("minutes", "") => keys_of::<MinutesFile>(),
        ("weather", "") => keys_of::<WeatherFile>(),
        ("shipping", "") => keys_of::<ShippingFile>(),
        ("letters", "smtp") => keys_of::<SmtpFile>(),
        ("letters", "") => keys_of::<LettersFile>(),
        ("drying", "") => keys_of::<DryingFile>(),
        ("climate", "") => keys_of::<ClimateFile>(),
        ("fetch", "") => keys_of::<FetchFile>(),
        ("planning", "") => keys_of::<PlanningFile>(),
        ("promises", "") => keys_of::<PromisesFile>(),
        _ => &[],
    }
}

/// The key `today`: a moment, or a day that begins with its work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Today {
    /// A day and a time.
    At(NaiveDateTime),
    /// A day.
    On(NaiveDate),
}

impl Scalar for Today {
    const EXPECTED: &'static str = "a day such as `2026-05-11`, or `2026-05-11 07:00`";

    fn parse(words: &str) -> Option<Today> {
        let on = NaiveDate::parse(words).map(Today::On);
        on.or_else(|| NaiveDateTime::parse(words).map(Today::At))
    }

    fn guess(words: &str) -> Option<String> {
        NaiveDateTime::guess(words).or_else(|| NaiveDate::guess(words))
    }
}

impl Scalar for MaterialKind {
    const EXPECTED: &'static str = "`paper` or `cloth`";

    fn parse(words: &str) -> Option<MaterialKind> {
        match words {
            "paper" => Some(MaterialKind::Paper),
            "cloth" => Some(MaterialKind::Cloth),
            _ => None,
        }
    }

    fn choices() -> &'static [&'static str] {
        &["paper", "cloth"]
    }
}

/// The key `service` below `fetch`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ServiceName {
    /// MET Norway.
    MetNorway,
    /// Open-Meteo.
    OpenMeteo,
    /// Bright Sky.
    BrightSky,
}

impl Scalar for ServiceName {
    const EXPECTED: &'static str = "`met_norway`, `open_meteo` or `bright_sky`";

    fn parse(words: &str) -> Option<ServiceName> {
        match words {
            "met_norway" => Some(ServiceName::MetNorway),
            "open_meteo" => Some(ServiceName::OpenMeteo),
            "bright_sky" => Some(ServiceName::BrightSky),
            _ => None,
        }
    }

    fn choices() -> &'static [&'static str] {
        &["met_norway", "open_meteo", "bright_sky"]
    }
}

impl Scalar for MailSecurity {
    const EXPECTED: &'static str = "`starttls`, `tls` or `none`";

    fn parse(words: &str) -> Option<MailSecurity> {
        match words {
            "starttls" => Some(MailSecurity::StartTls),
            "tls" => Some(MailSecurity::Tls),
            "none" => Some(MailSecurity::None),
            _ => None,
        }
    }

    fn choices() -> &'static [&'static str] {
        &["starttls", "tls", "none"]
    }
}
