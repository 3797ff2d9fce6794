//! What has begun is not planned anew: mornings of the demonstration, through the program.

use std::path::Path;

use serde_json::Value;

use crate::calm::{kept_demo, run};
use crate::commands::{fairday, text};

fn at(studio: &Path, time: &str, arguments: &[&str]) -> String {
    let now = format!("2026-05-11 {time}");
    run(studio, &[arguments, &["--today", &now]].concat())
}

/// Puts an order into a frame and into the light.
fn lit(studio: &Path, time: &str, order: &str, frame: &str) {
    at(studio, time, &["expose", order, "--frame", frame]);
}

/// Marks all that the session of the first morning coats, when the brush is clean again.
fn mark_the_session(studio: &Path) {
    let coated = [
        "2026-029",
        "2026-030/1,2",
        "2026-017",
        "2026-022",
        "2026-023/4-6",
        "2026-024/2",
    ];
    at(
        studio,
        "09:31",
        &[&["mark", "coated"][..], &coated].concat(),
    );
}

fn plan(studio: &Path, time: &str, more: &[&str]) -> Value {
    plan_at(studio, &format!("2026-05-11 {time}"), more)
}

fn plan_at(studio: &Path, now: &str, more: &[&str]) -> Value {
    let dir = studio.to_str().unwrap();
    let asked = ["plan", "--json", "--dir", dir, "--today", now];
    let answer = fairday(&[&asked[..], more].concat());
    serde_json::from_slice(&answer.stdout).unwrap_or_else(|_| panic!("{}", text(&answer.stderr)))
}

/// The steps of the first day, `kind` and hour of each.
fn steps<'a>(plan: &'a Value, kind: &str) -> Vec<&'a Value> {
    let steps = plan["days"][0]["steps"].as_array().unwrap();
    steps.iter().filter(|step| step["step"] == kind).collect()
}

fn hour(step: &Value, key: &str) -> String {
    step[key].as_str().unwrap()[11..16].to_owned()
}

/// Every step is done and marked when the kept plan says so. At no moment of the morning
/// does a step to come move, in the middle of mixing, coating, exposing and washing.
#[test]
fn a_morning_that_goes_as_planned_stays_as_planned() {
    let (_folder, studio) = kept_demo();
    let moved = |time: &str| moved(&studio, time);
    let nothing = Value::Array(Vec::new());
    at(&studio, "07:10", &["mark", "washed", "2026-020/1,2"]);
    lit(&studio, "07:15", "2026-011", "large");
    lit(&studio, "07:20", "2026-016", "small");
    assert_eq!(moved("07:25"), nothing);
    at(&studio, "07:45", &["mark", "finished", "2026-014/2"]);
    assert_eq!(moved("07:50"), nothing);
    at(&studio, "08:00", &["mark", "exposed", "2026-011"]);
    at(&studio, "08:05", &["mark", "exposed", "2026-016"]);
    assert_eq!(moved("08:10"), nothing);
    at(&studio, "08:16", &["mark", "washed", "2026-011"]);
    lit(&studio, "08:20", "2026-021", "small");
    assert_eq!(moved("08:35"), nothing);
}

/// What lies in the light is not planned anew: it is washed when it is taken in, 38.7
/// minutes after 07:15 by the forecast, which the slots of the kept plan round to 08:00,
/// and its frame is free for others only then.
#[test]
fn an_exposure_that_was_begun_goes_on_and_keeps_its_frame() {
    let (_folder, studio) = kept_demo();
    lit(&studio, "07:15", "2026-011", "large");
    let plan = plan(&studio, "07:30", &[]);
    let all = plan["under_way"].as_array().unwrap();
    let lit = all.iter().find(|step| step["stage"] == "exposing").unwrap();
    assert_eq!(lit["frame"], "large");
    assert_eq!(hour(lit, "until"), "08:00");
    let of_order = |step: &&&Value| step.to_string().contains("2026-011");
    assert_eq!(steps(&plan, "expose").iter().filter(of_order).count(), 0);
    let washes = steps(&plan, "wash");
    let wash = washes.iter().find(of_order).unwrap();
    assert!(
        ("08:00".to_owned().."08:30".to_owned()).contains(&hour(wash, "from")),
        "{wash}"
    );
    let large = steps(&plan, "expose")
        .into_iter()
        .filter(|step| step["frame"] == "large");
    for step in large {
        assert!(hour(step, "from").as_str() >= "08:00", "{step}");
    }
}

/// A session is coated whole: its coats stay at their times though nothing is marked,
/// and nothing else is mixed for them.
#[test]
fn a_session_under_way_goes_on_without_a_mark() {
    let (_folder, studio) = kept_demo();
    let before = plan(&studio, "07:00", &[]);
    let now = plan(&studio, "08:10", &[]);
    assert_eq!(steps(&before, "coat").len(), 1, "{before}");
    assert_eq!(steps(&now, "coat").len(), 1, "{now}");
    assert_eq!(
        steps(&before, "coat")[0]["coats"],
        steps(&now, "coat")[0]["coats"]
    );
    assert_eq!(steps(&now, "coat")[0]["mix_stands"], true);
    let words = at(&studio, "08:10", &["plan"]);
    assert!(
        words.contains("Going on the coating begun at 07:20, till 09:30"),
        "{words}"
    );
}

#[test]
fn a_session_that_was_not_begun_is_planned_anew_when_told_so() {
    let (_folder, studio) = kept_demo();
    let plan = plan(&studio, "08:10", &["--not-begun"]);
    assert_eq!(plan["under_way"], Value::Array(Vec::new()));
    for coat in steps(&plan, "coat") {
        assert!(hour(coat, "from").as_str() >= "08:10", "{coat}");
    }
}

/// Who marks coat by coat and is behind is believed: what should be over comes next, the
/// rest behind it, out of the same mix, also after a plan was kept in between.
#[test]
fn a_session_that_is_behind_goes_on_out_of_its_mix() {
    let (_folder, studio) = kept_demo();
    at(&studio, "08:10", &["mark", "coated", "2026-029"]);
    at(&studio, "08:12", &["plan", "--keep"]);
    at(
        &studio,
        "09:35",
        &["mark", "coated", "2026-030/2", "2026-017"],
    );
    let plan = plan(&studio, "09:40", &[]);
    let session = steps(&plan, "coat")[0];
    assert_eq!(hour(session, "from"), "07:20");
    assert_eq!(hour(session, "mix_until"), "11:35");
    let coats: Vec<String> = session["coats"]
        .as_array()
        .unwrap()
        .iter()
        .map(|coat| hour(coat, "from"))
        .collect();
    assert_eq!(coats, ["09:40", "09:45"], "{session}");
    let later = plan_of_the_rest(&studio);
    assert!(
        later.iter().all(|from| from.as_str() >= "11:36"),
        "{later:?}"
    );
}

/// Sessions of the first day when the mix is past its life.
fn plan_of_the_rest(studio: &Path) -> Vec<String> {
    let plan = plan(studio, "11:36", &[]);
    steps(&plan, "coat")
        .into_iter()
        .map(|step| hour(step, "from"))
        .collect()
}

#[test]
fn what_is_wet_at_its_kept_start_is_called_so() {
    let (_folder, studio) = kept_demo();
    mark_the_session(&studio);
    let words = at(&studio, "09:35", &["plan", "--since"]);
    assert!(words.contains("it is not dry by then"), "{words}");
}

/// The steps that moved since the kept plan.
fn moved(studio: &Path, time: &str) -> Value {
    let (dir, now) = (studio.to_str().unwrap(), format!("2026-05-11 {time}"));
    let asked = ["plan", "--since", "--json", "--dir", dir, "--today", &now];
    let since: Value = serde_json::from_slice(&fairday(&asked).stdout).unwrap();
    assert!(since["of"].as_u64().unwrap() >= 9, "{time}: {since}");
    since["steps"].clone()
}

/// Before the light is let in nobody can tell `expose` of it, and a wash is marked when
/// the hands are dry.
#[test]
fn a_frame_being_loaded_and_a_wash_not_yet_marked_stay() {
    let (_folder, studio) = kept_demo();
    assert_eq!(moved(&studio, "07:12"), Value::Array(Vec::new()));
    let words = at(&studio, "07:12", &["plan"]);
    assert!(
        words.contains("2026-011 into the light in large, till 08:00"),
        "{words}"
    );
    let over = "2026-020/1,2 in the water, over since 07:10: mark it";
    assert!(words.contains(over), "{words}");
}

/// What lay in one frame is washed in one go, as it was planned, whatever its orders; and
/// no plan lets it lie longer than the studio allows.
#[test]
fn what_lay_in_one_frame_is_washed_together() {
    let (_folder, studio) = kept_demo();
    mark_the_session(&studio);
    let on_wednesday = |time: &str, arguments: &[&str]| {
        let now = format!("2026-05-13 {time}");
        run(&studio, &[arguments, &["--today", &now]].concat())
    };
    on_wednesday("07:00", &["plan", "--keep"]);
    let lit = ["2026-022", "2026-023/4-6", "2026-024/2"];
    on_wednesday(
        "08:05",
        &[&["expose"][..], &lit, &["--frame", "large"]].concat(),
    );
    on_wednesday("08:35", &[&["mark", "exposed"][..], &lit].concat());
    let plan = plan_at(&studio, "2026-05-13 08:36", &[]);
    let washes = steps(&plan, "wash");
    let of = |step: &&&Value| step["pieces"].to_string().contains("2026-022");
    let wash = washes.iter().find(of).unwrap();
    assert_eq!(wash["pieces"].as_array().unwrap().len(), 3, "{wash}");
    assert!(hour(wash, "from").as_str() <= "09:20", "{wash}");
}

#[test]
fn a_piece_sent_back_in_its_session_is_coated_again() {
    let (_folder, studio) = kept_demo();
    at(&studio, "07:51", &["mark", "coated", "2026-029"]);
    at(
        &studio,
        "08:05",
        &["remake", "2026-029/1", "--reason", "brush hair"],
    );
    let plan = plan(&studio, "08:10", &[]);
    let began = |step: &&&Value| hour(step, "from").as_str() < "08:10";
    let under_way = steps(&plan, "coat");
    let session = under_way.iter().find(began).unwrap();
    assert!(!session.to_string().contains("2026-029"), "{session}");
}

/// A sky that was seen counts, not only the minutes that were planned.
#[test]
fn what_lies_in_the_light_stays_as_long_as_it_is_counted() {
    let (_folder, studio) = kept_demo();
    lit(&studio, "07:15", "2026-011", "large");
    at(&studio, "07:25", &["expose", "--sky", "overcast"]);
    let plan = plan(&studio, "07:25", &[]);
    let all = plan["under_way"].as_array().unwrap();
    let lit = all.iter().find(|step| step["stage"] == "exposing").unwrap();
    assert!(hour(lit, "until").as_str() > "08:20", "{lit}");
}

/// What lies in the light is no step of the plan; its entry stays on the phone as it is.
#[test]
fn what_lies_in_the_light_stays_in_the_calendar() {
    let (_folder, studio) = kept_demo();
    at(&studio, "07:00", &["calendar"]);
    lit(&studio, "07:15", "2026-011", "large");
    lit(&studio, "07:20", "2026-016", "small");
    at(&studio, "07:40", &["calendar"]);
    let sheets = std::fs::read_dir(studio.join("sheets")).unwrap();
    let mut files = sheets.map(|entry| entry.unwrap().path());
    let file = files
        .find(|path| path.extension().is_some_and(|e| e == "ics"))
        .unwrap();
    let calendar = std::fs::read_to_string(file).unwrap();
    let entry = |uid: &str| {
        let events = calendar.split("BEGIN:VEVENT");
        let mut events = events.filter(|event| event.contains(uid));
        events.next().unwrap_or_default().to_owned()
    };
    for (uid, order) in [
        ("expose-2026-05-11-1@", "2026-011"),
        ("expose-2026-05-11-2@", "2026-016"),
    ] {
        let entry = entry(uid);
        assert!(
            entry.contains(order) && !entry.contains("CANCELLED"),
            "{calendar}"
        );
    }
}

/// Taking in one sheet of a frame before the other tears nothing apart: both are washed
/// when they were to be, and nothing else moves.
#[test]
fn one_sheet_taken_in_early_waits_for_the_other() {
    let (_folder, studio) = kept_demo();
    at(&studio, "07:10", &["mark", "washed", "2026-020/1,2"]);
    lit(&studio, "07:16", "2026-011", "large");
    lit(&studio, "07:21", "2026-016", "small");
    at(&studio, "07:30", &["mark", "exposed", "2026-011/1"]);
    assert_eq!(moved(&studio, "07:31"), Value::Array(Vec::new()));
    let plan = plan(&studio, "07:31", &[]);
    let of_order = |step: &&Value| step.to_string().contains("2026-011");
    assert_eq!(steps(&plan, "wash").into_iter().filter(of_order).count(), 1);
}

/// A loading whose frame nobody named lies in one that is free.
#[test]
fn no_frame_is_taken_twice() {
    let (_folder, studio) = kept_demo();
    lit(&studio, "07:16", "2026-011", "large");
    at(&studio, "07:17", &["expose", "2026-016"]);
    at(&studio, "07:18", &["expose", "2026-021"]);
    let plan = plan(&studio, "07:25", &["--not-begun"]);
    let all = plan["under_way"].as_array().unwrap();
    let frames: Vec<&Value> = all.iter().map(|step| &step["frame"]).collect();
    assert_eq!(frames, ["large", "small", "small"], "{plan}");
}
