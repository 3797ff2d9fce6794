//! Every letter, word for word, against the files in `tests/letters/`.
//!
//! With `FAIRDAY_ACCEPT=1` the files are written anew; read them before you commit.

use std::collections::BTreeMap;
use std::path::Path;

use fairday::letter::{Letter, Templates, reason, render, render_all, templates_for};
use fairday::notice::{Cause, Notice, Outlook, notices};
use fairday::order::{Delivery, Jurisdiction, LightSource, Order, Promise, PromiseKind};
use fairday::studio::Studio;

use super::desk::*;

fn notice_on(order: &Order, outlook: Option<Outlook>, today: &str) -> Notice {
    let outlooks: Vec<Outlook> = outlook.into_iter().collect();
    let orders = std::slice::from_ref(order);
    let mut due = notices(orders, &studio(), &outlooks, &[], date(today));
    assert_eq!(due.len(), 1, "one notice for {}", order.number);
    due.remove(0)
}

fn letter_on(order: &Order, outlook: Option<Outlook>, today: &str) -> Letter {
    let notice = notice_on(order, outlook, today);
    render(&notice, order, &studio(), &Templates::built_in()).unwrap()
}

/// Compares a letter with its files, text with the subject above.
fn check(name: &str, letter: &Letter) {
    let text = format!("Subject: {}\n\n{}", letter.subject, letter.text);
    check_file(&format!("{name}.txt"), &text);
    check_file(&format!("{name}.html"), &letter.html);
}

fn check_file(name: &str, found: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/letters")
        .join(name);
    if std::env::var_os("FAIRDAY_ACCEPT").is_some() {
        std::fs::write(&path, found).unwrap();
    }
    let expected = std::fs::read_to_string(&path).unwrap_or_default();
    assert_eq!(expected, found, "{name} has changed");
}

#[test]
fn taken() {
    let plan = || Some(outlook(Some("2026-05-13"), None));
    check("taken", &letter_on(&order("26-014"), plan(), TODAY));
    let open = Order {
        promise: None,
        ..order("26-014")
    };
    check("taken-no-promise", &letter_on(&open, plan(), TODAY));
    let mut lamp = order("26-014");
    lamp.delivery = Delivery::Pickup;
    lamp.pieces.truncate(1);
    lamp.pieces[0].light = LightSource::Lamp;
    check("taken-one-lamp-pickup", &letter_on(&lamp, plan(), TODAY));
}

#[test]
fn delayed_by_weather() {
    let weather = |on| Some(outlook(on, Some(Cause::Weather)));
    let known = letter_on(&order("26-014"), weather(Some("2026-05-20")), TODAY);
    check("delayed-weather", &known);
    let unknown = letter_on(&order("26-014"), weather(None), TODAY);
    check("delayed-weather-no-day", &unknown);
    let mut essential = order("26-014");
    essential.promise = Some(Promise {
        kind: PromiseKind::DeliverBy,
        date: date("2026-05-16"),
        essential: true,
    });
    essential.pieces.truncate(1);
    let letter = letter_on(&essential, weather(Some("2026-05-18")), TODAY);
    check("delayed-weather-essential", &letter);
}

#[test]
fn delayed_for_other_reasons() {
    let causes = [
        (Cause::Remake, "remake"),
        (Cause::Material, "material"),
        (Cause::Room, "room"),
        (Cause::Hold, "hold"),
        (Cause::TooEarly, "too-early"),
        (Cause::Longer, "longer"),
    ];
    for (cause, name) in causes {
        let plan = Some(outlook(Some("2026-05-20"), Some(cause)));
        let letter = letter_on(&order("26-014"), plan, TODAY);
        assert!(
            !letter.text.contains("weather"),
            "{name} blames the weather"
        );
        check(&format!("delayed-{name}"), &letter);
    }
}

#[test]
fn delayed_again() {
    let plan = |on| Some(outlook(on, Some(Cause::Weather)));
    let told = |stated| Order {
        notified: vec![notified("2026-05-08", "delayed", stated)],
        ..order("26-014")
    };
    let again = letter_on(&told(Some("2026-05-20")), plan(Some("2026-05-22")), TODAY);
    check("delayed-again", &again);
    let no_day = letter_on(&told(Some("2026-05-20")), plan(None), TODAY);
    check("delayed-again-no-day", &no_day);
    let now_known = letter_on(&told(None), plan(Some("2026-05-22")), TODAY);
    check("delayed-again-day-found", &now_known);
    let no_cause = Some(outlook(Some("2026-05-22"), None));
    let quiet = letter_on(&told(None), no_cause, TODAY);
    check("delayed-again-day-found-no-cause", &quiet);
    let recovered = letter_on(&told(None), plan(Some("2026-05-15")), TODAY);
    check("delayed-recovered", &recovered);
    let passed = letter_on(
        &told(Some("2026-05-18")),
        plan(Some("2026-05-22")),
        "2026-05-19",
    );
    check("delayed-again-passed", &passed);
}

#[test]
fn delayed_under_the_american_rule() {
    let us = || Order {
        jurisdiction: Jurisdiction::Us,
        ..order("26-014")
    };
    let plan = |on| Some(outlook(on, Some(Cause::Weather)));
    check(
        "delayed-us-consent",
        &letter_on(&us(), plan(Some("2026-05-20")), TODAY),
    );
    check("delayed-us-no-day", &letter_on(&us(), plan(None), TODAY));
    let told = Order {
        notified: vec![notified("2026-05-08", "delayed", Some("2026-05-20"))],
        ..us()
    };
    check(
        "delayed-us-again",
        &letter_on(&told, plan(Some("2026-05-22")), TODAY),
    );
    let lapsed = letter_on(&us(), plan(Some("2026-05-20")), "2026-05-16");
    assert_eq!(
        lapsed.to.address, None,
        "a lapsed letter never leaves by itself"
    );
    check("delayed-us-lapsed", &lapsed);
}

#[test]
fn dispatched_and_ready() {
    check(
        "dispatched",
        &letter_on(&dispatched("2026-05-08"), None, TODAY),
    );
    let mut cloth = dispatched("2026-05-08");
    cloth.pieces = vec![piece(1, 0, "Meadow", "400x500 mm", "linen")];
    cloth.dispatch.as_mut().unwrap().tracking = None;
    check("dispatched-cloth", &letter_on(&cloth, None, TODAY));
    check(
        "ready",
        &letter_on(&finished_pickup("2026-05-10"), None, TODAY),
    );
}

#[test]
fn what_a_customer_typed_stays_text() {
    let mut hostile = order("26-014");
    hostile.customer.name = "Ines <b>&amp;\r\nBcc: all@example.org\u{202e}".to_owned();
    hostile.pieces[0].title = "{{studio.name}} <script>alert(1)</script>".to_owned();
    let letter = letter_on(&hostile, None, TODAY);
    assert!(
        letter
            .text
            .starts_with("Dear Ines <b>&amp; Bcc: all@example.org,\n")
    );
    assert_eq!(letter.to.name, "Ines <b>&amp; Bcc: all@example.org");
    assert!(letter.text.contains("{{studio.name}} <script>"));
    assert!(!letter.html.contains("<script>") && !letter.html.contains("Ines <b>"));
    assert!(
        letter
            .html
            .contains("Ines &lt;b&gt;&amp;amp; Bcc: all@example.org,")
    );
}

#[test]
fn no_letter_asks_a_stranger_for_anything() {
    let letters = [
        letter_on(&order("26-014"), None, TODAY),
        letter_on(&dispatched("2026-05-08"), None, TODAY),
        letter_on(&order("26-014"), Some(outlook(None, None)), TODAY),
    ];
    for letter in letters {
        let html = letter.html.to_lowercase();
        for word in [
            "http", "<img", "src=", "url(", "<script", "@import", "<link",
        ] {
            assert!(!html.contains(word), "{word} in {}", letter.kind);
        }
    }
}

fn own(files: &[(&str, &str)]) -> BTreeMap<String, String> {
    let pair = |(name, text): &(&str, &str)| ((*name).to_owned(), (*text).to_owned());
    files.iter().map(pair).collect()
}

#[test]
fn a_studio_s_own_template_takes_the_place_of_the_built_in_one() {
    let templates = Templates::new(&own(&[("answer.hbs", "Ring the bell.\n")])).unwrap();
    let order = order("26-014");
    let letter = render(
        &notice_on(&order, None, TODAY),
        &order,
        &studio(),
        &templates,
    )
    .unwrap();
    let on_one_line = letter.text.replace('\n', " ");
    assert!(on_one_line.contains("tell us soon. Ring the bell."));
    assert!(letter.html.contains("tell us soon. Ring the bell.</p>"));
}

/// Shows a problem as `file:line:column: what; hint`.
fn words(problem: &fairday::problem::Problem) -> String {
    let place = problem.spot.as_ref().map_or(String::new(), |spot| {
        format!(":{}:{}", spot.line, spot.column)
    });
    let hint = problem.hint.as_deref().unwrap_or("");
    format!("{}{place}: {}; {hint}", problem.file, problem.what)
}

fn problem_of_filling(files: &[(&str, &str)]) -> String {
    let templates = Templates::new(&own(files)).unwrap_or_else(|problems| panic!("{problems:?}"));
    let order = order("26-014");
    let notice = notice_on(&order, Some(outlook(None, None)), TODAY);
    words(&render(&notice, &order, &studio(), &templates).unwrap_err())
}

#[test]
fn a_missing_value_is_an_error_with_its_place() {
    let found = problem_of_filling(&[("answer.hbs", "Call\n  {{studio.persn}} now.\n")]);
    assert_eq!(
        found,
        "templates/answer.hbs:2:3: this letter has no value `studio.persn`; write `studio.person`"
    );
    // The day is unknown in this letter, and the template does not ask first.
    let found = problem_of_filling(&[("delayed.date.hbs", "By {{delay.new_date}}.\n")]);
    assert_eq!(
        found,
        "templates/delayed.date.hbs:1:4: this letter has no value `delay.new_date`; \
         ask first, `{{#if delay.new_known}}`"
    );
    let found = problem_of_filling(&[("answer.hbs", "{{#if delay.frist}}x{{/if}}\n")]);
    assert_eq!(
        found,
        "templates/answer.hbs:1:1: this letter has no value `delay.frist`; write `delay.first`"
    );
    let found = problem_of_filling(&[("answer.hbs", "{{> anser}}")]);
    assert_eq!(
        found,
        "templates/answer.hbs:1:1: there is no template `anser`; write `answer`"
    );
    let found = problem_of_filling(&[("answer.hbs", "x {{#fi order.several}}x{{/fi}}")]);
    assert_eq!(
        found,
        "templates/answer.hbs:1:3: there is no helper `fi`; \
         write one of `if`, `unless`, `each`, `with`"
    );
}

#[test]
fn mistakes_of_form_and_strange_files_are_told_together() {
    let files = own(&[
        ("answer.hbs", "one\n{{#if order.several}}two{{/unless}}\n"),
        ("taken.txt.hbs", "one\ntwo {{order.number\n"),
        ("takn.txt.hbs", "Dear"),
    ]);
    let problems = match Templates::new(&files) {
        Ok(_) => panic!("mistakes were not seen"),
        Err(problems) => problems,
    };
    let shown: Vec<String> = problems.iter().map(words).collect();
    insta::assert_snapshot!(shown.join("\n"), @r"
    templates/takn.txt.hbs: no letter has a template `takn.txt.hbs`; write `taken.txt.hbs`
    templates/answer.hbs:2:25: `{{#if}}` is open, but `{{/unless}}` closes; 
    templates/taken.txt.hbs:2:19: expected the marks `{{` and `}}` around known words, in pairs; 
    ");
}

#[test]
fn a_trial_print_finds_what_no_order_of_today_would() {
    let files = own(&[
        (
            "delayed.silence.hbs",
            "{{#if silence.refuses}}\nBy {{silence.day}}.\n{{/if}}\n",
        ),
        ("dispatched.txt.hbs", "Sent.\n{{dispatch.tracking}}\n"),
        ("foot.txt.hbs", "{{studio.person}}\n"),
    ]);
    let problems = match templates_for(&studio(), &files) {
        Ok(_) => panic!("mistakes were not seen"),
        Err(problems) => problems,
    };
    let shown: Vec<String> = problems.iter().map(words).collect();
    insta::assert_snapshot!(shown.join("\n"), @r"
    templates/delayed.silence.hbs:2:4: this letter has no value `silence.day`; write `silence.date`
    templates/dispatched.txt.hbs:2:1: this letter has no value `dispatch.tracking`; ask first, `{{#if dispatch.tracked}}`
    ");
    assert!(templates_for(&studio(), &own(&[("answer.hbs", "Ring.")])).is_ok());
}

#[test]
fn a_studio_without_a_person_signs_once() {
    let mut studio = studio();
    studio.letters.person = studio.name.clone();
    let order = order("26-014");
    let notice = notice_on(&order, None, TODAY);
    let letter = render(&notice, &order, &studio, &Templates::built_in()).unwrap();
    assert!(
        letter
            .text
            .ends_with("With kind regards,\nBlue Shed Prints\n")
    );
    assert!(letter.text.contains("we read it."));
    assert!(
        letter
            .html
            .contains("With kind regards,<br>Blue Shed Prints</p>")
    );
}

#[test]
fn one_mistake_is_told_once_for_all_orders_and_before_any_letter() {
    let templates = Templates::new(&own(&[("answer.hbs", "{{nobody}}")])).unwrap();
    let orders = [order("26-014"), order("26-015"), dispatched("2026-05-08")];
    let due = notices(&orders[..2], &studio(), &[], &[], today());
    assert_eq!(due.len(), 2);
    let problems = render_all(&due, &orders, &studio(), &templates).unwrap_err();
    assert_eq!(problems.len(), 1);
}

#[test]
fn the_maker_reads_why() {
    let studio: Studio = studio();
    assert_eq!(studio.letters.person, "Marit");
    let of = |order: &Order, plan| reason(&notice_on(order, plan, TODAY));
    assert_eq!(
        of(&order("26-014"), None),
        "taken on Monday 4 May 2026, not confirmed yet; promised: ship by Friday 15 May 2026"
    );
    let told = Order {
        notified: vec![notified("2026-05-08", "delayed", Some("2026-05-20"))],
        ..order("26-014")
    };
    let plan = Some(outlook(None, Some(Cause::Weather)));
    assert_eq!(
        of(&told, plan),
        "promised: ship by Friday 15 May 2026; told last: Wednesday 20 May 2026; \
         no day in the plan, kept by the weather (second change); \
         tell by Wednesday 20 May 2026"
    );
}
