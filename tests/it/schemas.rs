//! The schemas for editors against files, judged by a validator that is not ours.
//!
//! A schema must take every file that the program takes, and refuse as much of the
//! rest as one file alone can show; it must say the same limits as the program.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use boon::{Compiler, SchemaIndex, Schemas};
use chrono::{NaiveDate, NaiveDateTime, NaiveTime, Weekday};
use fairday::order::file::{Did, StatedDate};
use fairday::order::parse::{Against, parse};
use fairday::order::{Jurisdiction, PromiseKind};
use fairday::problem::{Problem, Severity};
use fairday::size::Size;
use fairday::studio::file::Today;
use fairday::view::schema::files;
use fairday::yaml::leaf::Scalar;
use serde_json::{Value, json};

struct Judge {
    schemas: Schemas,
    index: SchemaIndex,
}

impl Judge {
    fn new(schema: Value) -> Judge {
        let place = "https://example.org/schema.json";
        let mut compiler = Compiler::new();
        let mut schemas = Schemas::new();
        compiler.add_resource(place, schema).unwrap();
        let index = compiler.compile(place, &mut schemas).unwrap();
        Judge { schemas, index }
    }

    fn takes(&self, value: &Value) -> Result<(), String> {
        let judged = self.schemas.validate(value, self.index);
        judged.map_err(|error| error.to_string())
    }
}

fn schema(name: &str) -> Value {
    let files = files();
    let (_, text) = files.iter().find(|(file, _)| *file == name).unwrap();
    serde_json::from_str(text).unwrap()
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Reads YAML 1.2 as JSON; none for what JSON cannot hold.
fn yaml(text: &str) -> Option<Value> {
    serde_yaml::from_str(text.trim_start_matches('\u{feff}')).ok()
}

fn yaml_files(folder: &Path) -> Vec<PathBuf> {
    let files = fs::read_dir(folder)
        .unwrap()
        .map(|file| file.unwrap().path());
    let mut files: Vec<PathBuf> = files
        .filter(|path| path.extension().is_some_and(|ending| ending == "yaml"))
        .collect();
    files.sort();
    files
}

fn has_error(problems: &[Problem]) -> bool {
    problems.iter().any(|p| p.severity == Severity::Error)
}

#[test]
fn every_file_of_the_demo_and_of_a_new_studio_is_taken() {
    let (order, studio) = (
        Judge::new(schema("order.json")),
        Judge::new(schema("studio.json")),
    );
    let stock = Judge::new(schema("stock.json"));
    let demo = yaml_files(&root().join("orders")).into_iter();
    let demo = demo.map(|path| {
        (
            path.display().to_string(),
            fs::read_to_string(path).unwrap(),
        )
    });
    let starter = fairday::studio::starter::files("2026-05-11".parse().unwrap());
    let mut seen = 0;
    for (name, text) in demo.chain(starter) {
        let judge = if name.ends_with("studio.yaml") {
            &studio
        } else if name.ends_with("stock.yaml") {
            &stock
        } else {
            &order
        };
        let value = yaml(&text).unwrap();
        assert_eq!(judge.takes(&value), Ok(()), "{name}");
        seen += 1;
    }
    assert_eq!(seen, 27);
}

/// Cases of `tests/problems` whose order the schema takes although the program does
/// not: each needs today, the studio, another key far away, or is a matter of YAML.
const BEYOND_A_SCHEMA: &[&str] = &[
    "entries-out-of-order",
    "key-twice",
    "number-with-slash",
    "promise-before-order",
    "remake-of-nothing",
    "stages-out-of-order",
];

#[test]
fn broken_orders_are_refused_where_one_file_shows_it() {
    let judge = Judge::new(schema("order.json"));
    let mut taken = Vec::new();
    for case in fs::read_dir(root().join("tests/problems")).unwrap() {
        let case = case.unwrap().path();
        let name = case.file_name().unwrap().to_string_lossy().into_owned();
        let text = fs::read_to_string(case.join("a.yaml"));
        let Some(text) = text.ok().filter(|_| !name.starts_with("studio-")) else {
            continue;
        };
        let (_, problems) = parse(&text, "a.yaml", &Against::default());
        let Some(value) = yaml(&text) else { continue };
        let refused = judge.takes(&value).is_err();
        assert!(
            !refused || has_error(&problems),
            "{name}: only the schema refuses it"
        );
        if !refused && has_error(&problems) {
            taken.push(name);
        }
    }
    taken.sort();
    assert_eq!(taken, BEYOND_A_SCHEMA);
}

/// Every key of a studio file, with a value that is read.
fn whole_studio() -> Value {
    let keys = "reference name email address language ordered_on ship_by deliver_by jurisdiction \
                delivery title material size copies negative objects cover light";
    let columns: serde_json::Map<String, Value> = keys
        .split_whitespace()
        .map(|key| (key.to_owned(), json!("heading")))
        .collect();
    let mut headings = columns.clone();
    headings.insert("address".to_owned(), json!(["Street", "Town"]));
    json!({
        "studio": "The Blue Shed",
        "place": {"latitude_deg": 53.9, "longitude_deg": -2.9, "altitude_m": 15, "zone": "Europe/London"},
        "today": "2026-05-11 07:00",
        "hands": 1,
        "work": [{"days": ["mon", "tue"], "from": "9:00", "until": "17:00"}],
        "days_off": ["2026-05-25"],
        "stand": {"tilt_deg": 0, "azimuth_deg": 180, "albedo": 0.05, "aerosol": 0.15},
        "frames": [{"name": "large", "inside": "42x52 cm", "count": 1, "lamp_w_m2": 25}],
        "frame_margin_mm": 5,
        "racks": {"dark_dry_sheets": 12, "dark_dry_line_cm": 300, "wet_dry_sheets": 14,
            "wet_dry_line_cm": 400, "sheet_place": "A3"},
        "trays": {"count": 2, "inside": "45x62 cm"},
        "materials": {"rag": {"name": "rag", "kind": "paper", "target_dose_kj_m2": 29,
            "coat_ml_per_m2": 45, "coats": 1, "later_coat_share": 0.6, "coat_minutes": 4,
            "dark_dry_hours": 12, "keep_hours": 72, "wash_minutes": 10, "wet_dry_hours": 8,
            "cure_hours": 24, "finish_minutes": 8, "buffered": false, "available_on": "2026-05-13",
            "strips": [{"at": "2026-05-11 12:40", "best_kj_m2": 29, "step": 1.41, "spread": 0.15}]}},
        "sensitizer": {"name": "classic", "a_percent": 25, "b_percent": 10, "a_parts": 1,
            "b_parts": 1, "exposure_factor": 1, "margin": 0.2, "dead_ml": 5, "step_ml": 5,
            "setup_minutes": 15, "mix_life_hours": 4, "sessions_per_day": 2},
        "keeping": {"warn_days": 7, "strip_days": 14, "damp_above_pct": 65, "damp_share": 0.5},
        "minutes": {"load": 4, "unload": 2, "wash_within": 60, "pack": 8},
        "weather": {"wind_max_m_s": 8, "gust_max_m_s": 10.8, "loose_gust_max_m_s": 5.6,
            "gust_ratio": 1.8, "rain_chance_max": 0.35, "rain_max_mm": 0.1,
            "elevation_min_deg": 5, "exposure_max_minutes": 45, "watch_loose": "yes",
            "forecast_stale_hours": 12},
        "shipping": {"collection_days": ["mon"], "cut_off": "16:00", "holidays": ["2026-05-25"],
            "transit_days": {"home": 3}, "carrier": "the parcel line",
            "sender": "2 Samphire Lane, Northport"},
        "letters": {"from": "studio@example.org", "reply_to": "ask@example.org", "person": "Ada",
            "planned": "no", "remade": "no", "hold_days": 4, "doubt_share": 0.3,
            "smtp": {"host": "mail.example.org", "port": 587, "security": "starttls",
                "user": "ada", "password_env": "STUDIO_MAIL_PASSWORD"}},
        "forecast": "forecast.json",
        "drying": {"estimate": "yes", "usual_temperature_c": 20, "usual_humidity_pct": 50,
            "temperature_c": 18, "humidity_pct": 60, "factor_min": 1, "factor_max": 4},
        "climate": {"file": "here.epw", "wet_share": 0.1},
        "fetch": {"contact": "you@blue-shed.net", "service": "open_meteo",
            "host": "https://example.org", "decimals": 2, "timeout_seconds": 30,
            "key_env": "KEY"},
        "planning": {"days": 14, "late": 100000, "risk": 10, "second_go": 10, "session": 300, "ship": 1, "moved": 500,
            "extra_hours": 3, "spare_confidence": 0.8, "remake_share_paper": 0.1,
            "remake_share_cloth": 0.15, "remake_start_pieces": 20,
            "lots": {"lot": 100, "frame_dm2": 1, "mixed": 30, "share": 5, "day_apart": 10}},
        "learning": {"first_spread": 2, "good_band": 1.25, "drift_pct_per_month": 10,
            "forget_after_days": 730, "coat_start_sessions": 3},
        "promises": {"weathers": 300, "seed": 1, "days": 60, "forecast_correlation": [0.8],
            "year_spread": 0.3},
        "import": {"columns": headings, "otherwise": columns,
            "words": {"material": {"Rag": "rag"}}, "date_format": "%d/%m/%Y"},
    })
}

/// Every key of an order file, with a value that is read.
fn whole_order() -> Value {
    json!({
        "order": "2026-014",
        "reference": "#1042",
        "customer": {"name": "Ada", "email": "ada@example.org",
            "address": "7 Tar Lane, Northport", "language": "en"},
        "ordered_on": "2026-04-28",
        "promise": {"kind": "ship_by", "date": "2026-05-15", "essential": "no"},
        "jurisdiction": "eu",
        "delivery": "pickup",
        "weight": 1,
        "hold": "waits for payment",
        "cancelled_on": "2026-05-20",
        "pieces": [
            {"title": "Harbour", "material": "rag", "size": "A4", "copies": 2,
                "negative": "harbour", "cover": "glass", "light": "sun", "hold": "negative",
                "progress": [
                    {"at": "2026-05-10 18:30", "did": "coated", "copies": [1, 2],
                        "poured_ml": 40, "batch": "R-2403", "mix": "Monday"},
                    {"at": "2026-05-11 11:00", "did": "exposed", "minutes": 11},
                    {"at": "2026-05-11 12:00", "did": "remake", "reason": "washed out"},
                ]},
        ],
        "notified": [{"on": "2026-04-28", "kind": "taken", "date": "unknown"}],
        "dispatch": {"on": "2026-05-14", "carrier": "the line", "tracking": "PL"},
    })
}

/// Every key of a stock file, with a value that is read.
fn whole_stock() -> Value {
    json!({
        "sheets": [{"material": "rag", "size": "A3", "count": 12,
            "counted_at": "2026-05-08 18:00", "batch": "R-1"}],
        "rolls": [{"material": "linen", "width_cm": 140, "length_cm": 250,
            "counted_at": "2026-05-08", "batch": "L-1"}],
        "salts": [{"stock": "a", "name": "citrate", "grams": 100, "counted_at": "2026-05-08"}],
        "bottles": [{"stock": "b", "ml": 100000, "made_at": "2026-05-03", "left_ml": 120,
            "counted_at": "2026-05-08", "keep_days": 90}],
        "packing": [{"name": "flat", "holds": "A3", "count": 8, "counted_at": "2026-05-08"}],
        "rules": {"rest_hours": 24, "a_keep_days": 180, "b_keep_days": 180, "buying_days": 5},
    })
}

/// Keys that exclude what the whole file has.
const ELSEWHERE: &[&str] = &[
    "folder",
    "sendmail",
    "password_file",
    "password_command",
    "token_command",
    "rough",
    "non_commercial",
    "objects",
    "arrives_on",
];

/// One place of a schema: the way to it, what it says, and its key in the file.
struct Site {
    way: Vec<String>,
    schema: Value,
    required: bool,
}

/// Lists all keys below a place, following what the whole file has there.
fn sites(root: &Value, schema: &Value, value: &Value, way: &[String], found: &mut Vec<Site>) {
    let schema = resolved(root, schema);
    if let Value::Array(items) = value {
        for (index, item) in items.iter().enumerate() {
            let way = [way, &[index.to_string()]].concat();
            sites(root, &schema["items"], item, &way, found);
        }
    }
    let Value::Object(fields) = value else { return };
    let required: BTreeSet<&str> = strings(&schema["required"]).into_iter().collect();
    if let Value::Object(properties) = &schema["properties"] {
        for key in properties.keys() {
            let known = fields.contains_key(key) || ELSEWHERE.contains(&key.as_str());
            assert!(
                known || way.contains(&"progress".to_owned()),
                "{way:?} lacks `{key}`"
            );
        }
    }
    for (key, field) in fields {
        let below = match &schema["properties"][key] {
            Value::Null => &schema["additionalProperties"],
            below => below,
        };
        let way = [way, std::slice::from_ref(key)].concat();
        found.push(Site {
            way: way.clone(),
            schema: resolved(root, below),
            required: required.contains(key.as_str()),
        });
        sites(root, below, field, &way, found);
    }
}

fn strings(value: &Value) -> Vec<&str> {
    let items = value.as_array().map(Vec::as_slice).unwrap_or_default();
    items.iter().filter_map(Value::as_str).collect()
}

/// Follows references and takes "or null" away.
fn resolved(root: &Value, schema: &Value) -> Value {
    let alternatives = schema["anyOf"].as_array().into_iter().flatten();
    let real = alternatives
        .chain(std::iter::once(schema))
        .find_map(|one| one["$ref"].as_str());
    match real {
        Some(way) => root.pointer(way.trim_start_matches('#')).unwrap().clone(),
        None => schema.clone(),
    }
}

fn changed(whole: &Value, way: &[String], value: Option<Value>) -> Value {
    let mut copy = whole.clone();
    let (last, parents) = way.split_last().unwrap();
    let parent = parents
        .iter()
        .fold(&mut copy, |at, step| match step.parse::<usize>() {
            Ok(index) => &mut at[index],
            Err(_) => &mut at[step.as_str()],
        });
    match value {
        Some(value) => parent[last.as_str()] = value,
        None => drop(parent.as_object_mut().unwrap().remove(last)),
    }
    copy
}

type Reads = fn(&Value) -> Vec<Problem>;

fn read_studio(value: &Value) -> Vec<Problem> {
    fairday::studio::parse::parse(&value.to_string(), "studio.yaml").1
}

fn read_order(value: &Value) -> Vec<Problem> {
    parse(&value.to_string(), "a.yaml", &Against::default()).1
}

fn read_stock(value: &Value) -> Vec<Problem> {
    let against = fairday::stock::parse::Against::default();
    fairday::stock::parse::parse(&value.to_string(), "stock.yaml", &against).1
}

/// The two whole files, with what judges them.
fn wholes() -> [(Value, Value, Reads); 3] {
    [
        (schema("studio.json"), whole_studio(), read_studio),
        (schema("order.json"), whole_order(), read_order),
        (schema("stock.json"), whole_stock(), read_stock),
    ]
}

#[test]
fn schema_and_program_want_the_same_keys() {
    let mut looked_at = 0;
    for (schema, whole, read) in wholes() {
        let judge = Judge::new(schema.clone());
        assert_eq!(judge.takes(&whole), Ok(()));
        assert!(!has_error(&read(&whole)), "{:?}", read(&whole));
        let mut found = Vec::new();
        sites(&schema, &schema, &whole, &[], &mut found);
        for site in &found {
            let less = changed(&whole, &site.way, None);
            let last = site.way.last().unwrap();
            let missing = format!("the key `{last}` is missing");
            let wanted = read(&less).iter().any(|problem| problem.what == missing);
            let by_rule = ["reason", "counted_at", "left_ml"].contains(&last.as_str());
            assert_eq!(wanted, site.required || by_rule, "{:?}", site.way);
            looked_at += 1;
        }
        let odd = changed(&whole, &["colour".to_owned()], Some(json!("blue")));
        assert!(judge.takes(&odd).is_err() && has_error(&read(&odd)));
    }
    assert!(looked_at > 150, "{looked_at}");
}

#[test]
fn schema_and_program_have_the_same_limits() {
    let mut looked_at = 0;
    for (schema, whole, read) in wholes() {
        let judge = Judge::new(schema.clone());
        let mut found = Vec::new();
        sites(&schema, &schema, &whole, &[], &mut found);
        for site in &found {
            let limit = |key: &str| site.schema[key].as_f64();
            for (limit, outward) in [(limit("minimum"), -1.0), (limit("maximum"), 1.0)] {
                let Some(limit) = limit.filter(|limit| limit.abs() < 4e9) else {
                    continue;
                };
                looked_at += 1;
                let number = |value: f64| match value.fract() == 0.0 {
                    true => json!(value as i64),
                    false => json!(value),
                };
                let inside = changed(&whole, &site.way, Some(number(limit)));
                let outside = changed(&whole, &site.way, Some(number(limit + outward)));
                // Zero minutes are no exposure; a schema of ranges says it closely enough.
                let open_end = site.way.last().unwrap() == "minutes" && outward < 0.0;
                assert_eq!(judge.takes(&inside), Ok(()), "{:?} {limit}", site.way);
                let about_range = |problem: &Problem| {
                    problem.what.starts_with("expected") && problem.what.contains(" to ")
                };
                let refused = read(&inside).iter().any(about_range);
                assert!(
                    !refused || open_end,
                    "{:?} {limit}: {:?}",
                    site.way,
                    read(&inside)
                );
                assert!(judge.takes(&outside).is_err(), "{:?} {limit}", site.way);
                assert!(has_error(&read(&outside)), "{:?} {limit}", site.way);
            }
        }
    }
    assert!(looked_at > 100, "{looked_at}");
}

/// What the program reads the schema takes; of what it does not read, `refused` is
/// refused by the schema, too.
fn check<T: Scalar>(read: &[&str], refused: &[&str]) {
    let judge = Judge::new(serde_json::to_value(T::schema()).unwrap());
    for words in read {
        assert!(T::parse(words).is_some(), "{words} is not read");
        assert_eq!(judge.takes(&json!(words)), Ok(()), "{words}");
    }
    for words in refused {
        assert!(T::parse(words).is_none(), "{words} is read");
        assert!(judge.takes(&json!(words)).is_err(), "{words}");
    }
}

#[test]
fn words_are_taken_as_they_are_read() {
    check::<NaiveDate>(
        &["2026-05-11", "2026-5-1", "1990-01-01", "2199-12-31"],
        &[
            "11.5.2026",
            "26-05-11",
            "9999-01-01",
            "0000-01-01",
            "2026-13-01",
            "soon",
        ],
    );
    check::<NaiveDateTime>(
        &["2026-05-11 9:05", "2026-05-11T09:05:30", "2026-05-11  9:05"],
        &["2026-05-11", "2026-05-11 24:00", "9:05"],
    );
    check::<NaiveTime>(
        &["9:05", "09:05", "23:59:59", "9:5"],
        &["24:00", "9.05", "4pm"],
    );
    check::<Size>(
        &[
            "A4",
            "a6",
            "8x10 in",
            "30×40 cm",
            "150 x 200 mm",
            "20.5x30cm",
        ],
        &["A7", "8x10", "8 in", "x", ""],
    );
    check::<bool>(&["yes", "No", "TRUE", "false"], &["y", "on", "1", ""]);
    check::<f64>(
        &["1", "-2.5", "1e3", ".5", "+4."],
        &["1,5", "inf", "two", ""],
    );
    check::<u32>(&["0", "12", "+3"], &["-1", "1.5", "", "many"]);
    check::<Weekday>(&["mon", "Tue", "WEDNESDAY", "sunday"], &["mo", "someday"]);
    check::<Jurisdiction>(&["eu", "EU", "Us"], &["de", ""]);
    check::<PromiseKind>(&["ship_by"], &["ship-by", "Ship_by"]);
    check::<StatedDate>(&["unknown", "2026-05-11"], &["later"]);
    check::<Today>(&["2026-05-11", "2026-05-11 07:00"], &["today"]);
    check::<Did>(&["coated", "remake"], &["coating"]);
    check::<chrono_tz::Tz>(&["Europe/London", "UTC"], &["London", "europe/london"]);
    check::<String>(&["Ada", " x ", "2026"], &["", "  "]);
}

#[test]
fn the_command_writes_them_and_a_new_studio_names_them() {
    let folder = tempfile::tempdir().unwrap();
    let dir = folder.path().join("mine").display().to_string();
    crate::commands::fairday(&["new", &dir]);
    let studio = fs::read_to_string(format!("{dir}/studio.yaml")).unwrap();
    let first = studio.lines().next().unwrap();
    let named = first
        .strip_prefix("# yaml-language-server: $schema=./")
        .unwrap();
    for (name, text) in files() {
        let path = format!("{dir}/schema/{name}");
        assert_eq!(fs::read_to_string(&path).unwrap(), text, "{path}");
    }
    fs::write(format!("{dir}/{named}"), "old").unwrap();
    let answer = crate::commands::fairday(&["schema", "--dir", &dir]);
    assert_eq!(answer.status.code(), Some(0));
    assert_eq!(
        fs::read_to_string(format!("{dir}/{named}")).unwrap(),
        files()[1].1
    );
    let printed = crate::commands::fairday(&["schema", "--print", "order"]);
    assert_eq!(String::from_utf8(printed.stdout).unwrap(), files()[0].1);
    let wrong = crate::commands::fairday(&["schema", "--print", "ordr"]);
    assert!(
        String::from_utf8(wrong.stderr)
            .unwrap()
            .contains("did you mean `order`?")
    );
}
