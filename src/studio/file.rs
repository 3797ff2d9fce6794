//! The shape of `studio.yaml`: which keys stand where, and nothing of their meaning.

use chrono::{NaiveDate, NaiveDateTime, NaiveTime, Weekday};
use chrono_tz::Tz;
use schemars::{JsonSchema, Schema};
use serde::Deserialize;

use super::{MailSecurity, MaterialKind};
use crate::size::Size;
use crate::yaml::fields::keys_of;
use crate::yaml::keyed::Keyed;
use crate::yaml::leaf::{Leaf, Scalar};
use crate::yaml::schema;
use crate::yaml::several::Several;
use crate::yaml::trail::Step;

/// `studio.yaml` as it is written.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(expecting = "keys with values, such as `studio: The Blue Shed`")]
#[schemars(deny_unknown_fields)]
pub struct StudioFile {
    /// Name of the studio.
    #[schemars(required)]
    pub studio: Option<Leaf<String>>,
    /// Where it is.
    #[schemars(required)]
    pub place: Option<PlaceFile>,
    /// The moment a plan is made for, if it is pinned.
    pub today: Option<Leaf<Today>>,
    /// People who work at once.
    #[schemars(range(min = 1, max = 20))]
    pub hands: Option<Leaf<u32>>,
    /// Weekly hours.
    #[schemars(length(min = 1))]
    pub work: Option<Vec<WorkFile>>,
    /// Days without work.
    pub days_off: Option<Vec<Leaf<NaiveDate>>>,
    /// How frames stand outdoors.
    pub stand: Option<StandFile>,
    /// Contact frames.
    #[schemars(required, length(min = 1))]
    pub frames: Option<Vec<FrameFile>>,
    /// Gap between pieces in one frame. [mm]
    #[schemars(range(min = 0, max = 200))]
    pub frame_margin_mm: Option<Leaf<f64>>,
    /// Drying places.
    #[schemars(required)]
    pub racks: Option<RacksFile>,
    /// Wash trays.
    #[schemars(required)]
    pub trays: Option<TraysFile>,
    /// Papers and cloths.
    #[schemars(required, extend("minProperties" = 1))]
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
    #[schemars(required)]
    pub letters: Option<LettersFile>,
    /// Saved forecast.
    pub forecast: Option<Leaf<String>>,
    /// Estimate of drying hours.
    pub drying: Option<DryingFile>,
    /// What stands in for it beyond its end.
    pub climate: Option<ClimateFile>,
    /// How much prints teach.
    pub learning: Option<LearningFile>,
    /// How it is fetched.
    pub fetch: Option<FetchFile>,
    /// Settings of the planner.
    pub planning: Option<PlanningFile>,
    /// Settings of dates that hold.
    pub promises: Option<PromisesFile>,
    /// How tables of orders are read.
    pub import: Option<ImportFile>,
}

/// The key `place`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(expecting = "`latitude_deg:`, `longitude_deg:` and `zone:` below `place:`")]
#[schemars(deny_unknown_fields)]
pub struct PlaceFile {
    /// North positive. [°]
    #[schemars(required, range(min = -90, max = 90))]
    pub latitude_deg: Option<Leaf<f64>>,
    /// East positive. [°]
    #[schemars(required, range(min = -180, max = 180))]
    pub longitude_deg: Option<Leaf<f64>>,
    /// Above the sea. [m]
    #[schemars(range(min = -450, max = 6000))]
    pub altitude_m: Option<Leaf<f64>>,
    /// IANA zone.
    #[schemars(required)]
    pub zone: Option<Leaf<Tz>>,
}

/// An entry of `work`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(expecting = "an entry such as `{days: [mon, tue], from: 9:00, until: 17:00}`")]
#[schemars(deny_unknown_fields)]
pub struct WorkFile {
    /// Days of the week.
    #[schemars(required)]
    pub days: Option<Vec<Leaf<Weekday>>>,
    /// Begin.
    #[schemars(required)]
    pub from: Option<Leaf<NaiveTime>>,
    /// End.
    #[schemars(required)]
    pub until: Option<Leaf<NaiveTime>>,
}

/// The key `stand`.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(expecting = "keys such as `tilt_deg:` below `stand:`")]
#[schemars(deny_unknown_fields)]
pub struct StandFile {
    /// From the horizontal. [°]
    #[schemars(range(min = 0, max = 90))]
    pub tilt_deg: Option<Leaf<f64>>,
    /// Where the tilted side looks. [°]
    #[schemars(range(min = 0, max = 360))]
    pub azimuth_deg: Option<Leaf<f64>>,
    /// Share of light thrown back by the ground.
    #[schemars(range(min = 0, max = 1))]
    pub albedo: Option<Leaf<f64>>,
    /// Optical depth of haze.
    #[schemars(range(min = 0, max = 3))]
    pub aerosol: Option<Leaf<f64>>,
}

/// An entry of `frames`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(expecting = "an entry such as `{name: large, inside: 42x52 cm}`")]
#[schemars(deny_unknown_fields)]
pub struct FrameFile {
    /// Its name.
    #[schemars(required)]
    pub name: Option<Leaf<String>>,
    /// Usable inside.
    #[schemars(required)]
    pub inside: Option<Leaf<Size>>,
    /// How many alike.
    #[schemars(range(min = 1, max = 100))]
    pub count: Option<Leaf<u32>>,
    /// Dose rate of its lamp. [W/m²]
    #[schemars(range(min = 0.1, max = 2000))]
    pub lamp_w_m2: Option<Leaf<f64>>,
}

/// The key `racks`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(expecting = "`dark_dry_sheets:` and `wet_dry_sheets:` below `racks:`")]
#[schemars(deny_unknown_fields)]
pub struct RacksFile {
    /// Dark places for sheets.
    #[schemars(required, range(min = 0, max = 10000))]
    pub dark_dry_sheets: Option<Leaf<u32>>,
    /// Dark line for cloth. [cm]
    #[schemars(range(min = 0, max = 100000))]
    pub dark_dry_line_cm: Option<Leaf<u32>>,
    /// Places for washed sheets.
    #[schemars(required, range(min = 0, max = 10000))]
    pub wet_dry_sheets: Option<Leaf<u32>>,
    /// Line for washed cloth. [cm]
    #[schemars(range(min = 0, max = 100000))]
    pub wet_dry_line_cm: Option<Leaf<u32>>,
    /// Largest sheet on one place.
    pub sheet_place: Option<Leaf<Size>>,
}

/// The key `trays`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(expecting = "`inside:` and `count:` below `trays:`")]
#[schemars(deny_unknown_fields)]
pub struct TraysFile {
    /// How many alike.
    #[schemars(range(min = 1, max = 100))]
    pub count: Option<Leaf<u32>>,
    /// Usable inside.
    #[schemars(required)]
    pub inside: Option<Leaf<Size>>,
}

/// An entry of `materials`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(expecting = "`kind:` and `target_dose_kj_m2:` below the name of the material")]
#[schemars(deny_unknown_fields)]
pub struct MaterialFile {
    /// Name for people.
    pub name: Option<Leaf<String>>,
    /// Paper or cloth.
    #[schemars(required)]
    pub kind: Option<Leaf<MaterialKind>>,
    /// Dose that prints it. [kJ/m²]
    #[schemars(required, range(min = 0.1, max = 5000))]
    pub target_dose_kj_m2: Option<Leaf<f64>>,
    /// Sensitizer per area and coat. [ml/m²]
    #[schemars(range(min = 1, max = 1000))]
    pub coat_ml_per_m2: Option<Leaf<f64>>,
    /// Coats.
    #[schemars(range(min = 1, max = 4))]
    pub coats: Option<Leaf<u32>>,
    /// Share that a later coat takes of the first.
    #[schemars(range(min = 0, max = 2))]
    pub later_coat_share: Option<Leaf<f64>>,
    /// Coating each piece. [min]
    #[schemars(range(min = 0, max = 240))]
    pub coat_minutes: Option<Leaf<f64>>,
    /// Drying in the dark. [h]
    #[schemars(range(min = 0, max = 168))]
    pub dark_dry_hours: Option<Leaf<f64>>,
    /// Keeping when dry. [h]
    #[schemars(range(min = 1, max = 8760))]
    pub keep_hours: Option<Leaf<f64>>,
    /// Washing each lot. [min]
    #[schemars(range(min = 1, max = 600))]
    pub wash_minutes: Option<Leaf<f64>>,
    /// Drying after the wash. [h]
    #[schemars(range(min = 0, max = 168))]
    pub wet_dry_hours: Option<Leaf<f64>>,
    /// From wash to finishing at least. [h]
    #[schemars(range(min = 0, max = 168))]
    pub cure_hours: Option<Leaf<f64>>,
    /// Finishing each piece. [min]
    #[schemars(range(min = 0, max = 600))]
    pub finish_minutes: Option<Leaf<f64>>,
    /// Whether it holds chalk.
    pub buffered: Option<Leaf<bool>>,
    /// Day from which there is some.
    pub available_on: Option<Leaf<NaiveDate>>,
    /// Test strips that were read.
    pub strips: Option<Vec<StripFile>>,
}

/// An entry of `strips`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(expecting = "an entry such as `{at: 2026-05-11 12:40, best_kj_m2: 29}`")]
#[schemars(deny_unknown_fields)]
pub struct StripFile {
    /// When it was exposed.
    #[schemars(required)]
    pub at: Option<Leaf<NaiveDateTime>>,
    /// Dose of its best step. [kJ/m²]
    #[schemars(required, range(min = 0.01, max = 100000))]
    pub best_kj_m2: Option<Leaf<f64>>,
    /// Factor from step to step.
    #[schemars(range(min = 1.01, max = 10))]
    pub step: Option<Leaf<f64>>,
    /// Standard deviation of the logarithm of the dose.
    #[schemars(range(min = 0.01, max = 5))]
    pub spread: Option<Leaf<f64>>,
}

/// The key `learning`.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(expecting = "keys such as `good_band:` below `learning:`")]
#[schemars(deny_unknown_fields)]
pub struct LearningFile {
    /// Spread of a dose before any print, as a factor.
    #[schemars(range(min = 1.05, max = 10))]
    pub first_spread: Option<Leaf<f64>>,
    /// What passes as good, as a factor.
    #[schemars(range(min = 1.01, max = 3))]
    pub good_band: Option<Leaf<f64>>,
    /// Drift. [% a month]
    #[schemars(range(min = 0, max = 100))]
    pub drift_pct_per_month: Option<Leaf<f64>>,
    /// Age at which a print is forgotten. [d]
    #[schemars(range(min = 1, max = 36500))]
    pub forget_after_days: Option<Leaf<f64>>,
    /// Measured coating sessions that the file's own figure counts for.
    #[schemars(range(min = 0, max = 1000))]
    pub coat_start_sessions: Option<Leaf<u32>>,
}

/// The key `sensitizer`.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(expecting = "keys such as `a_percent:` below `sensitizer:`")]
#[schemars(deny_unknown_fields)]
pub struct SensitizerFile {
    /// Its name.
    pub name: Option<Leaf<String>>,
    /// Stock A. [% w/v]
    #[schemars(range(min = 0.1, max = 100))]
    pub a_percent: Option<Leaf<f64>>,
    /// Stock B. [% w/v]
    #[schemars(range(min = 0.1, max = 46))]
    pub b_percent: Option<Leaf<f64>>,
    /// Parts of A.
    #[schemars(range(min = 0.01, max = 100))]
    pub a_parts: Option<Leaf<f64>>,
    /// Parts of B.
    #[schemars(range(min = 0.01, max = 100))]
    pub b_parts: Option<Leaf<f64>>,
    /// Dose relative to the classic one.
    #[schemars(range(min = 0.01, max = 20))]
    pub exposure_factor: Option<Leaf<f64>>,
    /// Share added to the volume.
    #[schemars(range(min = 0, max = 2))]
    pub margin: Option<Leaf<f64>>,
    /// Left in brush and vessel. [ml]
    #[schemars(range(min = 0, max = 5000))]
    pub dead_ml: Option<Leaf<f64>>,
    /// Volumes are rounded up to this. [ml]
    #[schemars(range(min = 0.1, max = 1000))]
    pub step_ml: Option<Leaf<f64>>,
    /// Mixing and laying out. [min]
    #[schemars(range(min = 0, max = 240))]
    pub setup_minutes: Option<Leaf<f64>>,
    /// Life of the mix. [h]
    #[schemars(range(min = 0.25, max = 720))]
    pub mix_life_hours: Option<Leaf<f64>>,
    /// Sessions in a day.
    #[schemars(range(min = 1, max = 10))]
    pub sessions_per_day: Option<Leaf<u32>>,
}

/// The key `keeping`.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(expecting = "keys such as `warn_days:` below `keeping:`")]
#[schemars(deny_unknown_fields)]
pub struct KeepingFile {
    /// From here on age is said. [d]
    #[schemars(range(min = 0.1, max = 3650))]
    pub warn_days: Option<Leaf<f64>>,
    /// From here on a strip is printed first. [d]
    #[schemars(range(min = 0.1, max = 3650))]
    pub strip_days: Option<Leaf<f64>>,
    /// Damper air counts as damp. [%]
    #[schemars(range(min = 0, max = 100))]
    pub damp_above_pct: Option<Leaf<f64>>,
    /// Share that damp air leaves.
    #[schemars(range(min = 0.05, max = 1))]
    pub damp_share: Option<Leaf<f64>>,
}

/// The key `minutes`.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(expecting = "keys such as `load:` below `minutes:`")]
#[schemars(deny_unknown_fields)]
pub struct MinutesFile {
    /// Into the frame. [min]
    #[schemars(range(min = 0, max = 120))]
    pub load: Option<Leaf<f64>>,
    /// Out of it. [min]
    #[schemars(range(min = 0, max = 120))]
    pub unload: Option<Leaf<f64>>,
    /// Longest wait until the wash. [min]
    #[schemars(range(min = 0, max = 1440))]
    pub wash_within: Option<Leaf<f64>>,
    /// Packing an order. [min]
    #[schemars(range(min = 0, max = 240))]
    pub pack: Option<Leaf<f64>>,
}

/// The key `weather`.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(expecting = "keys such as `wind_max_m_s:` below `weather:`")]
#[schemars(deny_unknown_fields)]
pub struct WeatherFile {
    /// Mean wind. [m/s]
    #[schemars(range(min = 0, max = 40))]
    pub wind_max_m_s: Option<Leaf<f64>>,
    /// Gusts under glass. [m/s]
    #[schemars(range(min = 0, max = 60))]
    pub gust_max_m_s: Option<Leaf<f64>>,
    /// Gusts for loose objects. [m/s]
    #[schemars(range(min = 0, max = 60))]
    pub loose_gust_max_m_s: Option<Leaf<f64>>,
    /// Gust over mean wind where the forecast has no gusts.
    #[schemars(range(min = 1, max = 4))]
    pub gust_ratio: Option<Leaf<f64>>,
    /// Chance of rain, 0 to 1.
    #[schemars(range(min = 0, max = 1))]
    pub rain_chance_max: Option<Leaf<f64>>,
    /// Amount in the hour that is wet. [mm]
    #[schemars(range(min = 0, max = 10))]
    pub rain_max_mm: Option<Leaf<f64>>,
    /// Least sun elevation. [°]
    #[schemars(range(min = 0, max = 60))]
    pub elevation_min_deg: Option<Leaf<f64>>,
    /// Longest exposure. [min]
    #[schemars(range(min = 1, max = 480))]
    pub exposure_max_minutes: Option<Leaf<f64>>,
    /// Whether a person stays with loose objects.
    pub watch_loose: Option<Leaf<bool>>,
    /// Age of a stale forecast. [h]
    #[schemars(range(min = 0.5, max = 240))]
    pub forecast_stale_hours: Option<Leaf<f64>>,
}

/// The key `shipping`.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(expecting = "keys such as `collection_days:` below `shipping:`")]
#[schemars(deny_unknown_fields)]
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
    /// The studio's own postal address, line by line.
    pub sender: Option<Leaf<String>>,
}

/// The key `letters`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(expecting = "`from:` and `person:` below `letters:`")]
#[schemars(deny_unknown_fields)]
pub struct LettersFile {
    /// Sender.
    #[schemars(required, extend("pattern" = ".@.+[.]."))]
    pub from: Option<Leaf<String>>,
    /// Address that a person reads.
    #[schemars(extend("pattern" = ".@.+[.]."))]
    pub reply_to: Option<Leaf<String>>,
    /// Who answers.
    pub person: Option<Leaf<String>>,
    /// Whether it is told that an order's days are on the plan.
    pub planned: Option<Leaf<bool>>,
    /// Whether a remake is told that keeps the date.
    pub remade: Option<Leaf<bool>>,
    /// How long before its date the customer of an order on hold is written to. [d]
    pub hold_days: Option<Leaf<u32>>,
    /// Weather risk from which a date is told with a word of doubt.
    pub doubt_share: Option<Leaf<f64>>,
    /// Folder for `.eml` files.
    pub folder: Option<Leaf<String>>,
    /// Program of this machine that takes mails.
    pub sendmail: Option<Leaf<String>>,
    /// Mail server.
    pub smtp: Option<SmtpFile>,
}

/// The key `smtp`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(expecting = "`host:` and `user:` below `smtp:`")]
#[schemars(deny_unknown_fields)]
pub struct SmtpFile {
    /// Host name.
    #[schemars(required)]
    pub host: Option<Leaf<String>>,
    /// Port.
    pub port: Option<Leaf<u16>>,
    /// How the line is kept private.
    pub security: Option<Leaf<MailSecurity>>,
    /// Account.
    pub user: Option<Leaf<String>>,
    /// Environment variable with the password.
    pub password_env: Option<Leaf<String>>,
    /// File with the password, readable for its owner alone.
    pub password_file: Option<Leaf<String>>,
    /// Command that prints the password.
    pub password_command: Option<Leaf<String>>,
    /// Command that prints an access token, for XOAUTH2.
    pub token_command: Option<Leaf<String>>,
}

/// The key `drying`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(expecting = "`estimate: yes` below `drying:`")]
#[schemars(deny_unknown_fields)]
pub struct DryingFile {
    /// Whether drying hours are estimated.
    pub estimate: Option<Leaf<bool>>,
    /// Air in which the hours of the materials hold. [°C]
    #[schemars(range(min = -10, max = 45))]
    pub usual_temperature_c: Option<Leaf<f64>>,
    /// Air in which the hours of the materials hold. [%]
    #[schemars(range(min = 5, max = 99))]
    pub usual_humidity_pct: Option<Leaf<f64>>,
    /// Air of the room these days. [°C]
    #[schemars(range(min = -10, max = 45))]
    pub temperature_c: Option<Leaf<f64>>,
    /// Air of the room these days. [%]
    #[schemars(range(min = 5, max = 99))]
    pub humidity_pct: Option<Leaf<f64>>,
    /// The hours are never taken shorter than this share of them.
    #[schemars(range(min = 0.2, max = 1))]
    pub factor_min: Option<Leaf<f64>>,
    /// Nor longer than this many times.
    #[schemars(range(min = 1, max = 10))]
    pub factor_max: Option<Leaf<f64>>,
}

/// The key `climate`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(expecting = "`file:` below `climate:`")]
#[schemars(deny_unknown_fields)]
pub struct ClimateFile {
    /// A typical year, EPW or TMY3.
    pub file: Option<Leaf<String>>,
    /// Whether a rough climate by latitude will do.
    pub rough: Option<Leaf<bool>>,
    /// Chance of rain in an hour of the day, 0 to 1.
    #[schemars(range(min = 0, max = 1))]
    pub wet_share: Option<Leaf<f64>>,
}

/// The key `fetch`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(expecting = "`contact:` below `fetch:`")]
#[schemars(deny_unknown_fields)]
pub struct FetchFile {
    /// Whom the service can ask about the requests.
    #[schemars(required)]
    pub contact: Option<Leaf<String>>,
    /// Which service.
    pub service: Option<Leaf<ServiceName>>,
    /// Where it is asked.
    pub host: Option<Leaf<String>>,
    /// Decimals of the coordinates.
    #[schemars(range(min = 0, max = 4))]
    pub decimals: Option<Leaf<u32>>,
    /// Longest wait for an answer. [s]
    #[schemars(range(min = 1, max = 300))]
    pub timeout_seconds: Option<Leaf<f64>>,
    /// Environment variable with the user's key.
    pub key_env: Option<Leaf<String>>,
    /// The user's word that nothing is sold.
    pub non_commercial: Option<Leaf<bool>>,
}

/// The key `planning`.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(expecting = "keys such as `days:` below `planning:`")]
#[schemars(deny_unknown_fields)]
pub struct PlanningFile {
    /// Days of a plan.
    #[schemars(range(min = 1, max = 60))]
    pub days: Option<Leaf<u32>>,
    /// Cost of a late day.
    #[schemars(range(min = 0, max = 10000000))]
    pub late: Option<Leaf<u32>>,
    /// Cost of weather risk.
    #[schemars(range(min = 0, max = 10000000))]
    pub risk: Option<Leaf<u32>>,
    /// Cost of the chance that a print fails and its order is late for it.
    #[schemars(range(min = 0, max = 10000000))]
    pub second_go: Option<Leaf<u32>>,
    /// Cost of a coating session.
    #[schemars(range(min = 0, max = 10000000))]
    pub session: Option<Leaf<u32>>,
    /// Cost of a day until collection.
    #[schemars(range(min = 0, max = 10000000))]
    pub ship: Option<Leaf<u32>>,
    /// Cost of moving a near step of the kept plan.
    #[schemars(range(min = 0, max = 10000000))]
    pub moved: Option<Leaf<u32>>,
    /// Longer evening for a late order. [h]
    #[schemars(range(min = 0, max = 8))]
    pub extra_hours: Option<Leaf<f64>>,
    /// Chance of the promised number with spare copies.
    #[schemars(range(min = 0, max = 0.9999))]
    pub spare_confidence: Option<Leaf<f64>>,
    /// Share of paper made again at first.
    #[schemars(range(min = 0, max = 0.9))]
    pub remake_share_paper: Option<Leaf<f64>>,
    /// Share of cloth made again at first.
    #[schemars(range(min = 0, max = 0.9))]
    pub remake_share_cloth: Option<Leaf<f64>>,
    /// Pieces that the first shares count for.
    #[schemars(range(min = 0, max = 10000))]
    pub remake_start_pieces: Option<Leaf<u32>>,
    /// What counts when pieces are put into frames together.
    pub lots: Option<LotsFile>,
}

/// The key `lots` below `planning`.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(expecting = "keys such as `lot:` below `lots:`")]
#[schemars(deny_unknown_fields)]
pub struct LotsFile {
    /// Cost of a lot.
    #[schemars(range(min = 0, max = 1000000))]
    pub lot: Option<Leaf<u32>>,
    /// Cost of a square decimetre of frame.
    #[schemars(range(min = 0, max = 1000000))]
    pub frame_dm2: Option<Leaf<u32>>,
    /// Cost of an order besides the first one in a lot.
    #[schemars(range(min = 0, max = 1000000))]
    pub mixed: Option<Leaf<u32>>,
    /// Cost of each order in a lot.
    #[schemars(range(min = 0, max = 1000000))]
    pub share: Option<Leaf<u32>>,
    /// Cost of a day between the promises in a lot.
    #[schemars(range(min = 0, max = 1000000))]
    pub day_apart: Option<Leaf<u32>>,
}

/// The key `promises`.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(expecting = "keys such as `weathers:` below `promises:`")]
#[schemars(deny_unknown_fields)]
pub struct PromisesFile {
    /// Weathers that are drawn.
    #[schemars(range(min = 20, max = 100000))]
    pub weathers: Option<Leaf<u32>>,
    /// Another number, other weathers.
    pub seed: Option<Leaf<u32>>,
    /// How far ahead they reach. [d]
    #[schemars(range(min = 7, max = 120))]
    pub days: Option<Leaf<u32>>,
    /// Correlation of forecast and truth, by lead day.
    #[schemars(length(min = 1, max = 11))]
    pub forecast_correlation: Option<Vec<Leaf<f64>>>,
    /// What a season of one year differs from another's.
    #[schemars(range(min = 0, max = 0.9))]
    pub year_spread: Option<Leaf<f64>>,
}

/// The key `import`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(expecting = "`columns:` below `import:`")]
#[schemars(deny_unknown_fields)]
pub struct ImportFile {
    /// Heading of the column for each key, or a list of columns that are read together.
    #[schemars(required)]
    pub columns: Option<ImportKeys<Several<String>>>,
    /// What is taken where a column says nothing.
    pub otherwise: Option<ImportKeys<Leaf<String>>>,
    /// For a key, our word for each word of the table.
    pub words: Option<Keyed<Keyed<Leaf<String>>>>,
    /// How days are written, such as `%d/%m/%Y`.
    pub date_format: Option<Leaf<String>>,
}

/// Words for keys of an order and its pieces.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(expecting = "keys such as `name:` with their words")]
#[schemars(deny_unknown_fields)]
pub struct ImportKeys<T> {
    /// Number of the order there.
    pub reference: Option<T>,
    /// The customer's name.
    pub name: Option<T>,
    /// Mail address.
    pub email: Option<T>,
    /// Postal address.
    pub address: Option<T>,
    /// Language of the letters.
    pub language: Option<T>,
    /// Day it was taken.
    pub ordered_on: Option<T>,
    /// Day by which it must leave.
    pub ship_by: Option<T>,
    /// Day by which it must be there.
    pub deliver_by: Option<T>,
    /// Whose rules hold.
    pub jurisdiction: Option<T>,
    /// A destination, or `pickup`.
    pub delivery: Option<T>,
    /// What the piece shows.
    pub title: Option<T>,
    /// Paper or cloth.
    pub material: Option<T>,
    /// Size.
    pub size: Option<T>,
    /// How many alike.
    pub copies: Option<T>,
    /// Name of the negative.
    pub negative: Option<T>,
    /// Which loose objects.
    pub objects: Option<T>,
    /// Glass or none.
    pub cover: Option<T>,
    /// Sun or lamp.
    pub light: Option<T>,
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
        ("materials", _) if at.len() > 2 => keys_of::<StripFile>(),
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
        ("learning", "") => keys_of::<LearningFile>(),
        ("fetch", "") => keys_of::<FetchFile>(),
        ("planning", "lots") => keys_of::<LotsFile>(),
        ("planning", "") => keys_of::<PlanningFile>(),
        ("import", "columns" | "otherwise") => keys_of::<ImportKeys<Leaf<String>>>(),
        ("import", "") => keys_of::<ImportFile>(),
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

    fn schema() -> Schema {
        schema::date_perhaps_time()
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
