//! The shelf carried on: by the orders' records, then by the plan; what runs out, what to
//! make, and what that blocks.

use std::fs;
use std::path::Path;

use chrono::NaiveDateTime;
use fairday::order::{Done, Event, Order};
use fairday::plan::week::week;
use fairday::size::Size;
use fairday::stage::Stage;
use fairday::stock::parse::{Against, parse};
use fairday::stock::{Part, Stock};
use fairday::supply::{Missing, Outlook, outlook};
use fairday::view::calendar::{CalendarScreen, render_calendar};
use fairday::view::stock::errands;
use icalendar::{Calendar, Component};
use serde_json::Value;

use crate::marks::{demo, run};
use crate::small_studio::{Small, at, order, small};

fn stock(text: &str) -> Stock {
    let (stock, problems) = parse(text, "stock.yaml", &Against::default());
    assert_eq!(problems, [], "{text}");
    stock.unwrap()
}

/// What follows for a studio that plans on Monday 11 May, 09:00.
fn look(small: &Small, text: &str) -> Outlook {
    small.with_plan(|asked| {
        let week = week(asked.setup, &small.studio, asked.timing);
        outlook(&stock(text), &small.studio, &small.orders, &week, small.now)
    })
}

fn coat(order: &mut Order, piece: usize, when: &str) {
    order.pieces[piece].progress.events.push(Event {
        at: at(when),
        what: Done::stage(Stage::Coating),
    });
}

fn remake(order: &mut Order, piece: usize, when: &str) {
    order.pieces[piece].progress.events.push(Event {
        at: at(when),
        what: Done::Remake {
            reason: "fogged".to_owned(),
        },
    });
}

fn left(outlook: &Outlook) -> Vec<(u32, u32)> {
    let supplies = outlook.supplies.iter();
    supplies.map(|s| (s.left_now, s.left_then)).collect()
}

/// Four sheets were coated since the count, one of them twice; one before it.
#[test]
fn the_record_is_taken_off_the_count_remakes_too() {
    let mut one = order("26-1", 4, "2026-05-15");
    coat(&mut one, 0, "2026-05-07 18:00");
    for (piece, when) in [(1, "2026-05-09 10:00"), (2, "2026-05-10 10:00")] {
        coat(&mut one, piece, when);
    }
    remake(&mut one, 2, "2026-05-10 12:00");
    coat(&mut one, 2, "2026-05-10 18:00");
    // The fourth is still to be coated, by the plan.
    let sheets = "sheets: [{material: rag, size: A3, count: 9, counted_at: 2026-05-08}]\n";
    let found = look(&small(vec![one.clone()]), sheets);
    assert_eq!(left(&found), [(6, 5)]);
    assert_eq!(found.shortages, []);
    let few = sheets.replace("count: 9", "count: 2");
    let found = look(&small(vec![one]), &few);
    assert_eq!(left(&found), [(0, 0)]);
    assert_eq!(found.supplies[0].overdrawn, 1);
}

/// Five A5 need two A3 (four each), and a sheet that only gives three is not opened for
/// them while that lasts; what was cut for A5 serves no A4.
#[test]
fn off_cuts_serve_their_own_size() {
    let mut one = order("26-1", 6, "2026-05-15");
    for piece in &mut one.pieces[..5] {
        piece.size = Size::parse("A5").unwrap();
    }
    one.pieces[5].size = Size::parse("A4").unwrap();
    let text = "sheets:\n\
                - {material: rag, size: 30x48 cm, count: 1, counted_at: 2026-05-08}\n\
                - {material: rag, size: A3, count: 3, counted_at: 2026-05-08}\n";
    assert_eq!(
        left(&look(&small(vec![one.clone()]), text)),
        [(1, 1), (3, 0)]
    );
    let text = text.replace("count: 3", "count: 2");
    assert_eq!(left(&look(&small(vec![one]), &text)), [(1, 0), (2, 0)]);
}

/// Three sheets for five pieces; the plan coats on Monday, so it is too late to order.
#[test]
fn a_shortage_names_pieces_and_day() {
    let orders = vec![
        order("26-1", 2, "2026-05-15"),
        order("26-2", 3, "2026-05-15"),
    ];
    let small = small(orders);
    let text = "sheets: [{material: rag, size: A3, count: 3, counted_at: 2026-05-08}]\n\
                rules: {buying_days: 4}\n";
    let found = look(&small, text);
    let [short] = &found.shortages[..] else {
        panic!("{:?}", found.shortages)
    };
    let a3 = Size::parse("A3").unwrap();
    let material = "rag".to_owned();
    assert_eq!(
        short.what,
        Missing::Material {
            material,
            sizes: vec![(a3, 2)]
        }
    );
    let lacking: usize = short.pieces.iter().map(|some| some.numbers.len()).sum();
    assert_eq!((short.amount, lacking), (2.0, 2));
    let on = short.on.unwrap();
    assert_eq!(short.buy_by, Some(on - chrono::Days::new(4)));
    assert!(found.is_short());
    let more = format!("{text}sheets2: 1\n").replace("sheets2: 1\n", "");
    let comes = more.replace(
        "}]\nrules",
        "}, {material: rag, size: A3, count: 9, arrives_on: 2026-05-20}]\nrules",
    );
    let found = look(&small, &comes);
    let arrives = found.shortages[0].arrives_on.unwrap().to_string();
    assert_eq!(arrives, "2026-05-20");
}

#[test]
fn what_nobody_counted_is_not_short() {
    let found = look(
        &small(vec![order("26-1", 2, "2026-05-15")]),
        "salts: [{stock: a, grams: 100, counted_at: 2026-05-08}]\n",
    );
    assert_eq!(found.uncounted, ["rag"]);
    assert!(!found.is_short());
}

/// One A3 takes 5.6 ml and with a fifth more 6.7, so 10 ml: five of A and five of B.
fn first_session(small: &Small) -> NaiveDateTime {
    small.with_plan(|asked| {
        let week = week(asked.setup, &small.studio, asked.timing);
        let mut steps = week.days.iter().flat_map(|day| &day.steps);
        let coats =
            |what: &fairday::plan::week::What| matches!(what, fairday::plan::week::What::Coat(_));
        steps.find(|step| coats(&step.what)).unwrap().from
    })
}

#[test]
fn a_stock_is_made_a_day_ahead_in_hours_of_work() {
    let mut small = small(vec![order("26-1", 1, "2026-05-22")]);
    small.orders[0].pieces[0].hold = None;
    // Rag comes on Wednesday, so the session is on Wednesday at nine or later.
    let material = small.studio.materials.get_mut("rag").unwrap();
    material.available_on = Some("2026-05-13".parse().unwrap());
    let session = first_session(&small);
    assert_eq!(session.date().to_string(), "2026-05-13");
    let bottle = |ml: f64, made: &str| format!("- {{stock: a, ml: {ml}, made_at: {made}}}\n");
    let fresh_b = "- {stock: b, ml: 250, made_at: 2026-05-01}\n";
    let look = |a: &str| look(&small, &format!("bottles:\n{fresh_b}{a}"));
    // Enough, rested, and not too old.
    assert_eq!(look(&bottle(250.0, "2026-05-02")).makes, []);
    // Two of five millilitres are there.
    let found = look(&bottle(2.0, "2026-05-02"));
    let [make] = &found.makes[..] else { panic!() };
    assert_eq!((make.part, make.lacking_ml), (Part::A, 3.0));
    assert!((make.grams - make.ml * 0.25).abs() < 1e-9);
    assert_eq!(make.needed_at, session);
    assert!(make.make_by <= session - chrono::TimeDelta::hours(24));
    assert!(make.make_by >= at("2026-05-12 09:00") && !make.is_late);
    // Half a year later it is past its time.
    assert_eq!(look(&bottle(250.0, "2025-11-01")).makes.len(), 1);
    // A bottle that is made on the eve has not rested; one of two days ago has.
    assert_eq!(look(&bottle(250.0, "2026-05-12 20:00")).makes.len(), 1);
    let text = "bottles: [{stock: a, ml: 250, made_at: 2026-05-12 20:00},\n\
                {stock: b, ml: 250, made_at: 2026-05-01}]\nrules: {rest_hours: 2}\n";
    assert_eq!(super::stock::look(&small, text).makes, []);
}

#[test]
fn a_stock_that_is_needed_today_is_late() {
    let small = small(vec![order("26-1", 1, "2026-05-15")]);
    let found = look(
        &small,
        "bottles: [{stock: a, ml: 1, made_at: 2026-05-02},\n\
                              {stock: b, ml: 90, made_at: 2026-05-02}]\n",
    );
    let [make] = &found.makes[..] else { panic!() };
    assert!(make.is_late && make.make_by == small.now && found.is_short());
}

/// Without bottles each mix is made from the salts: 5 ml of A are 1.25 g, of B 0.5 g.
#[test]
fn salts_are_used_by_mixes_or_by_bottles() {
    let mut coated = order("26-0", 1, "2026-05-15");
    coat(&mut coated, 0, "2026-05-10 10:00");
    let small = small(vec![order("26-1", 1, "2026-05-15"), coated]);
    let salts = "salts: [{stock: a, grams: 2, counted_at: 2026-05-08},\n\
                 {stock: b, grams: 2, counted_at: 2026-05-10 12:00}]\n";
    let found = look(&small, salts);
    let grams: Vec<(f64, f64)> = found
        .salts
        .iter()
        .map(|s| (s.left_now_g, s.planned_g))
        .collect();
    assert_eq!(grams, [(0.75, 1.25), (2.0, 0.5)]);
    assert_eq!(found.shortages[0].what, Missing::Salt(Part::A));
    assert_eq!(found.shortages[0].amount, 0.5);
    let bottled = format!(
        "{salts}bottles: [{{stock: a, ml: 4, made_at: 2026-05-09}},\n\
                           {{stock: b, ml: 100, made_at: 2026-05-07}}]\n"
    );
    let found = look(&small, &bottled);
    // A: 2 g less 1 g for the bottle; the 4 ml are used up, five are lacking.
    let grams: Vec<(f64, f64)> = found
        .salts
        .iter()
        .map(|s| (s.left_now_g, s.planned_g))
        .collect();
    assert_eq!(grams, [(1.0, 1.25), (2.0, 0.0)]);
    // Five millilitres are needed and made, more the salt does not give.
    assert_eq!((found.makes[0].ml, found.salts[0].making_g), (5.0, 1.25));
    assert_eq!(found.bottles[0].left_now_ml, 0.0);
}

#[test]
fn a_parcel_takes_the_smallest_packing_that_holds_it() {
    let mut small = small(vec![
        order("26-1", 1, "2026-05-15"),
        order("26-2", 1, "2026-05-15"),
    ]);
    small.orders[1].pieces[0].size = Size::parse("A4").unwrap();
    let text = "packing:\n- {name: large, holds: A3, count: 1, counted_at: 2026-05-08}\n\
                - {name: small, holds: A4, count: 1, counted_at: 2026-05-08}\n";
    let found = look(&small, text);
    let left: Vec<(u32, u32)> = found
        .packing
        .iter()
        .map(|p| (p.left_now, p.left_then))
        .collect();
    assert_eq!(left, [(1, 0), (1, 0)]);
    let found = look(&small, &text.replace("A3, count: 1", "A3, count: 0"));
    assert_eq!(found.shortages[0].what, Missing::Packing);
    assert_eq!(found.shortages[0].pieces[0].order, 0);
}

/// The reminder keeps its name in the calendar when the plan moves it.
#[test]
fn a_reminder_moves_in_the_calendar_and_is_not_doubled() {
    let make = |day: &str, before: Option<&str>| {
        let mut small = small(vec![order("26-1", 1, "2026-05-22")]);
        let material = small.studio.materials.get_mut("rag").unwrap();
        material.available_on = Some(day.parse().unwrap());
        let outlook = look(
            &small,
            "bottles: [{stock: a, ml: 1, made_at: 2026-05-02}]\n",
        );
        small.with_plan(|asked| {
            let week = week(asked.setup, &small.studio, asked.timing);
            let screen = CalendarScreen {
                studio: &small.studio,
                orders: &small.orders,
                now: small.now,
                grid: &asked.setup.grid,
                week: &week,
                credit: None,
                errands: &errands(&outlook, &small.studio, &small.orders, small.now),
            };
            render_calendar(&screen, before)
        })
    };
    let starts = |text: &str| {
        let calendar: Calendar = text.parse().unwrap();
        let events = calendar
            .events()
            .filter(|event| event.get_uid() == Some("errand-make-a@blue-shed-prints.fairday"));
        let starts = events.map(|event| event.property_value("DTSTART").unwrap().to_owned());
        starts.collect::<Vec<_>>()
    };
    let first = make("2026-05-13", None);
    let then = make("2026-05-14", Some(&first));
    assert_eq!((starts(&first).len(), starts(&then).len()), (1, 1));
    assert!(starts(&first)[0].starts_with("20260512T"), "{first}");
    assert!(starts(&then)[0] > starts(&first)[0]);
}

fn json(dir: &Path, command: &str) -> Value {
    let (_, answer, _) = run(dir, "2026-05-11 07:00", &[command, "--json"]);
    serde_json::from_str(&answer).unwrap()
}

/// By hand, of rag since Saturday 21:00: an A3 (2026-016), four A5 (one A3 sheet), two A4
/// (one A3 sheet), and 30×40 cm, which needs a large sheet; 9 − 3 and 4 − 1. Linen: a
/// piece of 50.8 × 61 cm takes 50.8 cm of 320.
#[test]
fn the_demo_counts_as_by_hand() {
    let dir = demo();
    let stock = json(dir.path(), "stock");
    assert_eq!(stock["format"], "fairday-stock/1");
    let left: Vec<f64> = stock["supplies"]
        .as_array()
        .unwrap()
        .iter()
        .map(|supply| supply["left"].as_f64().unwrap())
        .collect();
    // Lawn: three of 30 × 40 cm, five across in rows of 40 cm.
    assert_eq!(left, [3.0, 6.0, 0.0, 269.2, 220.0]);
    let plan = json(dir.path(), "plan");
    assert_eq!(plan["short"], stock["short"]);
    assert_eq!(plan["errands"], stock["errands"]);
    assert_eq!(json(dir.path(), "blocked")["short"], stock["short"]);
    let used: f64 = stock["days"]
        .as_array()
        .unwrap()
        .iter()
        .map(|day| day["mix_ml"].as_f64().unwrap())
        .sum();
    let mixed: f64 = plan["days"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|day| day["steps"].as_array().unwrap())
        .filter_map(|step| step["mix_ml"].as_f64())
        .sum();
    assert_eq!(used, mixed);
    let (_, page, _) = run(dir.path(), "2026-05-11 07:00", &["plan"]);
    for words in [
        "Short    not weather: Wed 13 May no cotton rag",
        "make stock A, 250 ml",
    ] {
        assert!(page.contains(words), "{words} in {page}");
    }
    let (_, sheet, _) = run(dir.path(), "2026-05-11 07:00", &["sheet", "--to", "-"]);
    assert!(sheet.contains("<h2>Prepare</h2>"));
    assert!(sheet.contains("<b>make stock A, 250\u{a0}ml</b>"));
}

/// No sheet is left and none is ordered: the orders wait for it, and say so.
#[test]
fn a_shelf_without_paper_blocks_and_is_not_the_weather() {
    let dir = demo();
    let path = dir.path().join("stock.yaml");
    fs::write(
        &path,
        "sheets:\n  - {material: rag-300, size: A3, count: 0, counted_at: 2026-05-11}\n\
         rules: {buying_days: 9}\n",
    )
    .unwrap();
    let (code, page, _) = run(dir.path(), "2026-05-11 07:00", &["blocked"]);
    assert_eq!(code, 1);
    let other = page.split("Blocked by something else").nth(1).unwrap();
    assert!(other.contains("2026-022"), "{page}");
    assert!(other.contains("cotton rag, 300 g by"), "{page}");
    assert!(page.contains("Will run out  not weather"), "{page}");
    // Ordered already, it is there in time.
    fs::write(
        &path,
        "sheets:\n  - {material: rag-300, size: 56x76 cm, count: 20, arrives_on: 2026-05-12}\n",
    )
    .unwrap();
    let (_, page, _) = run(dir.path(), "2026-05-11 07:00", &["blocked"]);
    assert!(!page.contains("Will run out"), "{page}");
}

#[test]
fn a_batch_of_the_shelf_goes_into_the_record_if_it_is_the_only_one() {
    let dir = demo();
    let mark = ["mark", "coated", "2026-022"];
    let path = dir.path().join("stock.yaml");
    let order = dir.path().join("2026-022-mercer.yaml");
    // Two batches lie there, and nobody said which.
    assert_eq!(run(dir.path(), "2026-05-11 07:50", &mark).0, 0);
    assert!(!fs::read_to_string(&order).unwrap().contains("batch"));
    fs::write(
        &path,
        "sheets: [{material: rag-300, size: A3, count: 9, batch: R-7, counted_at: 2026-05-08}]\n",
    )
    .unwrap();
    fs::copy(
        Path::new(env!("CARGO_MANIFEST_DIR")).join("orders/2026-022-mercer.yaml"),
        &order,
    )
    .unwrap();
    assert_eq!(run(dir.path(), "2026-05-11 07:50", &mark).0, 0);
    assert!(
        fs::read_to_string(&order)
            .unwrap()
            .contains("did: coated, batch: R-7}")
    );
}

/// 24 April to 11 May are 17 days of the calendar; 62.5 g for 250 ml of A leave 17.5 of 80.
#[test]
fn the_page_counts_days_as_a_calendar_does_and_salt_to_its_end() {
    let dir = demo();
    let (_, page, _) = run(dir.path(), "2026-05-11 07:00", &["stock"]);
    let page = page.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in [
        "made Fri 24 Apr, 17 days old",
        "make stock A, 250 ml: 62.5 g of ferric ammonium citrate",
        "80 g left; 62.5 g go into the stock that is to be made, 6.25 g of it into the plan's \
         mixes; 17.5 g left then",
        "not measured lawn-80 75,",
    ] {
        assert!(page.contains(words), "{words}\n{page}");
    }
    let stock = json(dir.path(), "stock");
    assert_eq!(stock["bottles"][0]["age_days"], 17);
    assert_eq!(stock["salts"][0]["making_g"], 62.5);
}

#[test]
fn what_a_material_drinks_stands_beside_its_setting() {
    let dir = demo();
    let coated = [
        "mark", "coated", "2026-022", "--poured", "16", "--left", "2",
    ];
    assert_eq!(run(dir.path(), "2026-05-11 07:50", &coated).0, 0);
    let (_, page, _) = run(dir.path(), "2026-05-11 08:00", &["stock"]);
    let (_, answer, _) = run(dir.path(), "2026-05-11 08:00", &["stock", "--json"]);
    let stock: Value = serde_json::from_str(&answer).unwrap();
    let drinks = stock["drinks"].as_array().unwrap();
    let rag = drinks
        .iter()
        .find(|of| of["material"] == "rag-300")
        .unwrap();
    assert_eq!(
        (&rag["sessions"], &rag["setting_ml_per_m2"]),
        (&1.into(), &42.0.into())
    );
    let words = format!(
        "  rag-300       {} by 1 measured session, in place of the 42 of studio.yaml\n",
        rag["ml_per_m2"]
    );
    assert!(page.contains(&words), "{words}\n{page}");
}
