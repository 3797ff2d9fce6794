//! The studio as its owner describes it: place, hours, frames, racks, materials.
//!
//! Every number is a setting; none of the trade's start values is a constant
//! here. The shape of `studio.yaml` is in `file`, what a short file leaves out in
//! `defaults`.

mod climate;
pub mod defaults;
mod drying;
pub mod edit;
mod fetch;
pub mod file;
mod import;
mod learning;
mod letters;
mod limits;
mod materials;
pub mod parse;
mod promises;
pub(crate) mod section;
pub mod stand_in;
pub mod starter;

use std::collections::BTreeMap;

use chrono::{NaiveDate, NaiveDateTime, NaiveTime, Weekday};
use chrono_tz::Tz;

use crate::order::LightSource;
use crate::size::Size;
use crate::units::{Dose, DoseRate};

/// Everything that planning must know of a studio.
#[derive(Debug, Clone, PartialEq)]
pub struct Studio {
    /// Its name, for headings and letters.
    pub name: String,
    /// Where it is.
    pub place: Place,
    /// The moment the plan is made for, if the file pins it.
    pub pinned_now: Option<NaiveDateTime>,
    /// People who work at once.
    pub hands: u32,
    /// Weekly hours.
    pub work: Vec<WorkHours>,
    /// Days without work.
    pub days_off: Vec<NaiveDate>,
    /// How frames stand outdoors.
    pub stand: Stand,
    /// Contact frames.
    pub frames: Vec<Frame>,
    /// Gap kept between pieces in one frame; none to its edge. [mm]
    pub frame_margin_mm: f64,
    /// Drying places.
    pub racks: Racks,
    /// Wash trays.
    pub trays: Trays,
    /// Papers and cloths by key.
    pub materials: BTreeMap<String, Material>,
    /// Recipe and life of the mix.
    pub sensitizer: Sensitizer,
    /// When the age of coated sheets is spoken of.
    pub keeping: KeepingLimits,
    /// How long handling takes.
    pub minutes: HandlingMinutes,
    /// When it may be exposed outdoors.
    pub weather: WeatherLimits,
    /// Collections and transit.
    pub shipping: Shipping,
    /// Sender and way of letters.
    pub letters: Letters,
    /// Saved forecast, relative to the studio folder.
    pub forecast_file: Option<String>,
    /// How drying hours are estimated; none if they are as the materials say.
    pub drying: Option<Drying>,
    /// What carries the forecast on; none if nothing does.
    pub climate: Option<Climate>,
    /// What weight prints and time have in learning a dose.
    pub learning: Learning,
    /// How it is fetched; none if the studio saves it by hand.
    pub fetch: Option<Fetch>,
    /// Settings of the planner.
    pub planning: Planning,
    /// How dates are found that hold.
    pub promises: Promises,
    /// How tables of orders are read; none if none are.
    pub import: Option<Import>,
}

impl Studio {
    /// Returns the frames that serve a kind of light.
    pub fn frames_for(&self, light: LightSource) -> impl Iterator<Item = &Frame> {
        let lamp = light == LightSource::Lamp;
        self.frames.iter().filter(move |f| f.lamp.is_some() == lamp)
    }
}

/// Where the studio is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// North positive. [°]
    pub latitude_deg: f64,
    /// East positive. [°]
    pub longitude_deg: f64,
    /// Above sea level. [m]
    pub altitude_m: f64,
    /// IANA zone; local days and hours are its own.
    pub zone: Tz,
}

/// Hours on some days of the week.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WorkHours {
    /// The days.
    pub days: Vec<Weekday>,
    /// Begin.
    pub from: NaiveTime,
    /// End.
    pub until: NaiveTime,
}

/// How frames stand outdoors.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stand {
    /// From the horizontal. [°]
    pub tilt_deg: f64,
    /// Where the tilted side looks, from north over east. [°]
    pub azimuth_deg: f64,
    /// Share of light that the ground throws back.
    pub albedo: f64,
    /// Haze: aerosol optical depth at 500 nm.
    pub aerosol: f64,
}

/// A contact frame.
#[derive(Debug, Clone, PartialEq)]
pub struct Frame {
    /// Its name; unique.
    pub name: String,
    /// Usable inside.
    pub inside: Size,
    /// How many alike.
    pub count: u32,
    /// Dose rate of its lamp; none for a frame that goes outdoors.
    pub lamp: Option<DoseRate>,
}

/// Drying places of both kinds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Racks {
    /// Dark-dry places for sheets.
    pub dark_dry_sheets: u32,
    /// Dark-dry line for cloth. [cm]
    pub dark_dry_line_cm: u32,
    /// Wet-dry places for sheets.
    pub wet_dry_sheets: u32,
    /// Wet-dry line for cloth. [cm]
    pub wet_dry_line_cm: u32,
    /// Largest sheet that takes one place; larger ones take more by area.
    pub sheet_place: Size,
}

/// Wash trays.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trays {
    /// How many alike.
    pub count: u32,
    /// Usable inside.
    pub inside: Size,
}

/// What a piece is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum MaterialKind {
    /// Sheets, dried on places.
    Paper,
    /// Dried on line.
    Cloth,
}

/// A paper or a cloth, with what the studio learned about it.
#[derive(Debug, Clone, PartialEq)]
pub struct Material {
    /// Its key in `studio.yaml` and in orders.
    pub key: String,
    /// Its name for people.
    pub name: String,
    /// Paper or cloth.
    pub kind: MaterialKind,
    /// Dose that prints it, classic sensitizer, with the studio's frame glass.
    pub target_dose: Dose,
    /// Sensitizer per coated area and coat. [ml/m²]
    pub coat_ml_per_m2: f64,
    /// Coats.
    pub coats: u32,
    /// What a later coat takes of the first, as a share.
    pub later_coat_share: f64,
    /// Coating by hand, each piece. [min]
    pub coat_minutes: f64,
    /// Drying in the dark. [h]
    pub dark_dry_hours: f64,
    /// How long a dry coat is kept. [h]
    pub keep_hours: f64,
    /// Washing, each lot. [min]
    pub wash_minutes: f64,
    /// On the wet-dry rack. [h]
    pub wet_dry_hours: f64,
    /// Least time from wash to finishing, for the colour. [h]
    pub cure_hours: f64,
    /// Finishing, each piece. [min]
    pub finish_minutes: f64,
    /// Whether it holds chalk, which bleaches.
    pub buffered: bool,
    /// Day from which there is some; none if there is some now.
    pub available_on: Option<NaiveDate>,
    /// Test strips that were read, oldest first.
    pub strips: Vec<Strip>,
}

/// A test strip that was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strip {
    /// When it went into the light, on the studio's clock.
    pub at: NaiveDateTime,
    /// What its best step got.
    pub best: Dose,
    /// How many times the dose of one step the next one got.
    pub step: f64,
    /// Standard deviation of the logarithm of that dose.
    pub spread: f64,
}

/// What weight prints, strips and time have in learning a dose.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Learning {
    /// How many times more or less a dose may be than the file says, before any print:
    /// one standard deviation, as a factor.
    pub first_spread: f64,
    /// How many times more or less than right still passes as good.
    pub good_band: f64,
    /// How far a dose drifts in a month, one standard deviation. [%]
    pub drift_pct_per_month: f64,
    /// Prints and strips older than this say nothing any more. [d]
    pub forget_after_days: f64,
    /// For how many measured sessions the millilitres per area of the file count.
    pub coat_start_sessions: u32,
}

/// Recipe and life of the sensitizer.
#[derive(Debug, Clone, PartialEq)]
pub struct Sensitizer {
    /// Its name.
    pub name: String,
    /// Stock A. [% w/v]
    pub a_percent: f64,
    /// Stock B. [% w/v]
    pub b_percent: f64,
    /// Parts of A in the mix.
    pub a_parts: f64,
    /// Parts of B in the mix.
    pub b_parts: f64,
    /// Dose needed, relative to the classic one.
    pub exposure_factor: f64,
    /// Added to the computed volume, as a share.
    pub margin: f64,
    /// Left in brush and vessel. [ml]
    pub dead_ml: f64,
    /// Volumes are rounded up to this. [ml]
    pub step_ml: f64,
    /// Mixing and laying out. [min]
    pub setup_minutes: f64,
    /// Life of the mix. [h]
    pub mix_life_hours: f64,
    /// Coating sessions in a day.
    pub sessions_per_day: u32,
}

/// When the age of a coated sheet is spoken of; its material says how long is fine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KeepingLimits {
    /// From here on it is said. [d]
    pub warn_days: f64,
    /// From here on a strip is printed first. [d]
    pub strip_days: f64,
    /// Air damper than this counts as damp. [%]
    pub damp_above_pct: f64,
    /// What damp air leaves of all these times, as a share.
    pub damp_share: f64,
}

/// How long handling takes, one person each.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HandlingMinutes {
    /// Into the frame and out into the light. [min]
    pub load: f64,
    /// Out of the frame. [min]
    pub unload: f64,
    /// Longest wait from frame to water. [min]
    pub wash_within: f64,
    /// Packing, each order. [min]
    pub pack: f64,
}

/// When a piece may be exposed outdoors.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeatherLimits {
    /// Mean wind under glass. [m/s]
    pub wind_max_m_s: f64,
    /// Gusts under glass. [m/s]
    pub gust_max_m_s: f64,
    /// Gust over mean wind, where a forecast has no gusts.
    pub gust_ratio: f64,
    /// Gusts for loose objects without glass. [m/s]
    pub loose_gust_max_m_s: f64,
    /// Rain chance in the hour, as a share.
    pub rain_chance_max: f64,
    /// Amount in the hour from which it counts as wet. [mm]
    pub rain_max_mm: f64,
    /// Least sun elevation. [°]
    pub elevation_min_deg: f64,
    /// Longest exposure worth starting. [min]
    pub exposure_max_minutes: f64,
    /// Whether a person stays with loose objects.
    pub watch_loose: bool,
    /// Forecast older than this is called stale. [h]
    pub forecast_stale_hours: f64,
}

/// Collections and transit.
#[derive(Debug, Clone, PartialEq)]
pub struct Shipping {
    /// Days on which the carrier comes.
    pub collection_days: Vec<Weekday>,
    /// When a parcel must be ready.
    pub cut_off: NaiveTime,
    /// Days without collection and without transit.
    pub holidays: Vec<NaiveDate>,
    /// Working days on the way, by destination.
    pub transit_days: BTreeMap<String, u32>,
    /// Carrier named in letters when the order names none.
    pub carrier: Option<String>,
    /// Postal address of the studio below its name, one line each; none if parcels need
    /// none.
    pub sender: Vec<String>,
}

/// Sender and way of letters.
#[derive(Debug, Clone, PartialEq)]
pub struct Letters {
    /// Address letters come from.
    pub from: String,
    /// Address that a person reads; the sender's if none.
    pub reply_to: Option<String>,
    /// Who answers.
    pub person: String,
    /// How they leave.
    pub transport: Transport,
    /// Whether it is told that an order's days are on the plan.
    pub planned: bool,
    /// Whether a remake is told that keeps the date.
    pub remade: bool,
    /// How long before its date the customer of an order on hold is written to. [d]
    pub hold_days: u32,
    /// Weather risk from which a date is told with a word of doubt, as a share.
    pub doubt_share: f64,
}

/// How letters leave.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Transport {
    /// `.eml` files into a folder, relative to the studio folder.
    Folder(String),
    /// A mail server.
    Smtp {
        /// Host name.
        host: String,
        /// Port.
        port: u16,
        /// How the line is kept private.
        security: MailSecurity,
        /// Account; none for a server without login.
        user: Option<String>,
        /// Where the password or token is; none for a server without login.
        secret: Option<Secret>,
    },
    /// A program of this machine that takes mails, such as `/usr/sbin/sendmail`.
    Sendmail(String),
}

/// Where the secret of a mail login is; never the secret itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Secret {
    /// In an environment variable of this name.
    Env(String),
    /// In a file that only its owner may read; `~/` is the home folder.
    File(String),
    /// A command of the shell prints the password.
    Command(String),
    /// A command of the shell prints an access token, for XOAUTH2.
    TokenCommand(String),
}

/// How the line to the mail server is kept private.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MailSecurity {
    /// Plain first, then TLS; refused if the server has none.
    StartTls,
    /// TLS from the first byte.
    Tls,
    /// No TLS; only for a server on this machine.
    None,
}

/// How drying hours are estimated from the air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drying {
    /// Air in which the hours of the materials were found.
    pub usual: RoomAir,
    /// Air of the room these days; none to go by the forecast.
    pub now: Option<RoomAir>,
    /// The hours are never taken shorter than this share of them.
    pub factor_min: f64,
    /// Nor longer than this many times.
    pub factor_max: f64,
}

/// Air of a room.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RoomAir {
    /// Temperature. [°C]
    pub temperature_c: f64,
    /// Relative humidity. [%]
    pub humidity_pct: f64,
}

/// What stands in for the weather beyond a forecast.
#[derive(Debug, Clone, PartialEq)]
pub struct Climate {
    /// Where it comes from.
    pub source: ClimateSource,
    /// Chance of rain in an hour of the day, as a share.
    pub wet_share: f64,
}

/// Where a climate comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ClimateSource {
    /// A typical-year file, relative to the studio folder.
    File(String),
    /// Roughly by latitude.
    ByLatitude,
}

/// How a forecast is fetched.
#[derive(Debug, Clone, PartialEq)]
pub struct Fetch {
    /// Which service, and by what right.
    pub service: Service,
    /// Mail address or web page at which the service can reach the studio.
    pub contact: String,
    /// Scheme and host, without a slash at the end.
    pub host: String,
    /// Decimals of the coordinates that are sent, 0 to 4.
    pub decimals: u32,
    /// Longest wait for a whole answer. [s]
    pub timeout_seconds: f64,
}

/// A weather service that can be asked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Service {
    /// MET Norway, Locationforecast 2.0.
    MetNorway,
    /// Open-Meteo.
    OpenMeteo(OpenMeteoUse),
    /// Bright Sky, data of the German weather service.
    BrightSky,
}

/// By what right Open-Meteo is asked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum OpenMeteoUse {
    /// The user's own key, in the environment variable of this name.
    Key(String),
    /// The user has declared that nothing is sold.
    NonCommercial,
}

/// Lead days with a correlation of their own, today included. [d]
pub const LEAD_DAYS: usize = 11;

/// How dates are found that hold with a chance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Promises {
    /// How many weathers are drawn.
    pub weathers: u32,
    /// Another number, other weathers.
    pub seed: u32,
    /// How far ahead a weather reaches. [d]
    pub days: u32,
    /// Correlation of a forecast's day with what comes, by lead; beyond the last the
    /// forecast is not looked at.
    pub forecast_correlation: [f64; LEAD_DAYS],
    /// How much of the difference between days is common to a whole season of one
    /// year, as a share of its standard deviation.
    pub year_spread: f64,
}

/// How a table of orders is read that another program wrote. Keys are ours.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Import {
    /// Headings of the columns for each key, which are read together.
    pub columns: BTreeMap<String, Vec<String>>,
    /// What is taken where a column has nothing, or there is none.
    pub otherwise: BTreeMap<String, String>,
    /// For a key, our word for each word of the table.
    pub words: BTreeMap<String, BTreeMap<String, String>>,
    /// How its days are written, in the letters of `strftime`.
    pub date_format: Option<String>,
}

/// Settings of the planner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Planning {
    /// Days that a plan covers.
    pub days: u32,
    /// What a weighted day of lateness costs.
    pub late: u32,
    /// What a per-mille of weather risk costs.
    pub risk: u32,
    /// What a per-mille of chance costs that a print fails and its order is late for it.
    pub second_go: u32,
    /// What a coating session costs.
    pub session: u32,
    /// What a weighted day until collection costs.
    pub ship: u32,
    /// What it costs to move a step of today or tomorrow morning in the kept plan.
    pub moved: u32,
    /// How much longer a working day may be asked to last for a late order. [h]
    pub extra_hours: f64,
    /// Chance with which the promised number is to come out good, for spare copies.
    pub spare_confidence: f64,
    /// Share of paper made again, until the record says more.
    pub remake_share_paper: f64,
    /// Share of cloth made again, until the record says more.
    pub remake_share_cloth: f64,
    /// How many pieces of experience these two start values count for.
    pub remake_start_pieces: u32,
    /// What counts how much when pieces are divided into lots.
    pub lots: LotPrices,
}

/// What counts how much when pieces are divided into lots, one against the other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LotPrices {
    /// A lot.
    pub lot: i64,
    /// A square decimetre of frame.
    pub frame_dm2: i64,
    /// An order in a lot besides the first one.
    pub mixed: i64,
    /// An order in a lot; keeps the pieces of an order in few lots.
    pub share: i64,
    /// A day between the first and the last promise in a lot.
    pub day_apart: i64,
}
