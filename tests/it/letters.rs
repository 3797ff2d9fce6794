//! Every letter, word for word, against the files in `tests/letters/`.
//!
//! With `FAIRDAY_ACCEPT=1` the files are written anew; read them before you commit.

use std::collections::BTreeMap;
use std::path::Path;

use fairday::letter::{Letter, Templates, language, reason, render, render_all, templates_for};
use fairday::notice::{Cause, Notice, Outlook, Surety, notices};
use fairday::order::{Delivery, Jurisdiction, LightSource, Order, Promise, PromiseKind};
use fairday::studio::Studio;

use super::desk::*;

/// A studio that tells all there is to tell.
fn talkative() -> Studio {
    let mut studio = studio();
    studio.letters.planned = true;
    studio.letters.remade = true;
    studio
}

fn notice_on(order: &Order, outlook: Option<Outlook>, today: &str) -> Notice {
    let outlooks: Vec<Outlook> = outlook.into_iter().collect();
    let orders = std::slice::from_ref(order);
    let mut due = notices(orders, &talkative(), &outlooks, &[], date(today));
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

/// The order with piece `number` sent back on `on`.
fn remade(order: Order, number: u32, on: &str) -> Order {
    let mut order = order;
    let piece = order.pieces.iter_mut().find(|p| p.number == number);
    remake(piece.unwrap(), on);
    order
}

fn told(order: Order, list: &[(&str, &str, Option<&str>)]) -> Order {
    let notified = list
        .iter()
        .map(|(on, kind, stated)| notified(on, kind, *stated));
    Order {
        notified: notified.collect(),
        ..order
    }
}

const TAKEN: (&str, &str, Option<&str>) = ("2026-05-04", "taken", Some("2026-05-15"));

#[test]
fn planned() {
    let plan = || Some(outlook(Some("2026-05-13"), None));
    let confirmed = told(order("26-014"), &[TAKEN]);
    check("planned", &letter_on(&confirmed, plan(), TODAY));
    let mut lamp = confirmed.clone();
    lamp.promise = None;
    lamp.delivery = Delivery::Pickup;
    lamp.pieces.truncate(1);
    lamp.pieces[0].light = LightSource::Lamp;
    check("planned-one-lamp-pickup", &letter_on(&lamp, plan(), TODAY));
}

#[test]
fn remade_and_cancelled() {
    let plan = || Some(outlook(Some("2026-05-14"), None));
    let some = remade(told(order("26-014"), &[TAKEN]), 3, "2026-05-10");
    check("remade", &letter_on(&some, plan(), TODAY));
    let ready = ("2026-05-09", "ready", Some("2026-05-09"));
    let after_ready = remade(
        told(finished_pickup("2026-05-09"), &[TAKEN, ready]),
        1,
        "2026-05-10",
    );
    check(
        "remade-after-ready",
        &letter_on(&after_ready, plan(), TODAY),
    );
    let sent = ("2026-05-08", "dispatched", Some("2026-05-08"));
    let mut after_sent = told(order("26-014"), &[TAKEN, sent]);
    for piece in &mut after_sent.pieces {
        finish(piece, "2026-05-07");
        remake(piece, "2026-05-10");
    }
    check(
        "remade-after-dispatch",
        &letter_on(&after_sent, plan(), TODAY),
    );
    let cancelled = |order| Order {
        cancelled_on: Some(date("2026-05-10")),
        ..order
    };
    let plain = cancelled(told(order("26-014"), &[TAKEN]));
    check("cancelled", &letter_on(&plain, None, TODAY));
    let late = ("2026-05-08", "delayed", None);
    let after_delay = cancelled(told(order("26-014"), &[TAKEN, late]));
    check(
        "cancelled-after-delay",
        &letter_on(&after_delay, None, TODAY),
    );
    let american = Order {
        jurisdiction: Jurisdiction::Us,
        ..after_delay
    };
    check("cancelled-us", &letter_on(&american, None, TODAY));
}

#[test]
fn a_day_that_rests_on_the_weather_says_so() {
    let plan = |risk_per_mille, beyond_forecast| {
        Some(Outlook {
            surety: Surety {
                risk_per_mille,
                beyond_forecast,
            },
            ..outlook(Some("2026-05-20"), Some(Cause::Weather))
        })
    };
    let of = |plan| letter_on(&order("26-014"), plan, TODAY);
    check("delayed-if-sun", &of(plan(540, false)));
    check("delayed-beyond-forecast", &of(plan(100, true)));
    assert_eq!(
        of(plan(299, false)).text,
        of(plan(0, false)).text,
        "0.3 is the limit"
    );
    let told = told(order("26-014"), &[("2026-05-08", "delayed", None)]);
    check(
        "delayed-again-if-sun",
        &letter_on(&told, plan(540, true), TODAY),
    );
}

/// Every kind of letter for a German reader; what differs by law and plan, too.
#[test]
fn german() {
    let german = |order: Order| {
        let mut order = order;
        order.customer.name = "Inés Keller".to_owned();
        order.customer.language = "de-AT".to_owned();
        order
    };
    let plan = |on: &str| Some(outlook(Some(on), Some(Cause::Weather)));
    let late = |stated| ("2026-05-08", "delayed", stated);
    let ready = ("2026-05-09", "ready", Some("2026-05-09"));
    let unsure = Outlook {
        surety: Surety {
            risk_per_mille: 540,
            beyond_forecast: true,
        },
        ..outlook(Some("2026-05-20"), Some(Cause::Weather))
    };
    let american = |order| Order {
        jurisdiction: Jurisdiction::Us,
        ..order
    };
    let cancelled = Order {
        cancelled_on: Some(date("2026-05-10")),
        ..told(order("26-014"), &[TAKEN, late(None)])
    };
    let remade_ready = remade(
        told(finished_pickup("2026-05-09"), &[TAKEN, ready]),
        1,
        "2026-05-10",
    );
    let cases = [
        ("taken", order("26-014"), plan("2026-05-13")),
        (
            "planned",
            told(order("26-014"), &[TAKEN]),
            plan("2026-05-13"),
        ),
        ("delayed", order("26-014"), plan("2026-05-20")),
        ("delayed-if-sun", order("26-014"), Some(unsure)),
        ("delayed-no-day", order("26-014"), Some(outlook(None, None))),
        (
            "delayed-again",
            told(order("26-014"), &[late(Some("2026-05-18"))]),
            plan("2026-05-22"),
        ),
        (
            "delayed-recovered",
            told(order("26-014"), &[late(None)]),
            plan("2026-05-15"),
        ),
        (
            "delayed-us-consent",
            american(order("26-014")),
            plan("2026-05-20"),
        ),
        (
            "delayed-us-again",
            american(told(order("26-014"), &[late(Some("2026-05-18"))])),
            plan("2026-05-22"),
        ),
        ("dispatched", dispatched("2026-05-08"), None),
        ("ready", finished_pickup("2026-05-10"), None),
        ("remade", remade_ready, plan("2026-05-14")),
        ("cancelled", cancelled, None),
    ];
    for (name, order, outlook) in cases {
        let letter = letter_on(&german(order), outlook, TODAY);
        assert_eq!(
            (letter.language.as_str(), &letter.language_missing),
            ("de", &None),
            "{name}"
        );
        check(&format!("de-{name}"), &letter);
    }
}

#[test]
fn a_language_that_nobody_wrote_falls_back_and_says_so() {
    let mut dutch = order("26-014");
    dutch.customer.language = "nl-BE".to_owned();
    let letter = letter_on(&dutch, None, TODAY);
    assert_eq!(letter.language, "en");
    assert!(letter.text.starts_with("Dear Ines"));
    assert_eq!(
        language(&letter).unwrap(),
        "in en, since nobody wrote `taken` letters in `nl-be`; your own go into `templates/nl-be/`"
    );
    assert_eq!(language(&letter_on(&order("26-014"), None, TODAY)), None);
}

/// A studio writes its own Dutch letter; the built-in English serves the kinds it left out.
#[test]
fn a_studio_writes_letters_in_a_language_of_its_own() {
    let words = "weekdays: [maandag, dinsdag, woensdag, donderdag, vrijdag, zaterdag, zondag]\n\
                 months: [januari, februari, maart, april, mei, juni, juli, augustus, september, \
                 oktober, november, december]\nday: \"{weekday} {day} {month} {year}\"\n\
                 changes: [eerste, tweede, volgende]\n";
    let files = own(&[
        ("nl/words.yaml", words),
        ("nl/taken.subject.hbs", "Bestelling {{order.number}}"),
        (
            "nl/taken.txt.hbs",
            "Dag {{customer.name}}, klaar op {{promise.date}}. {{> groet}}",
        ),
        ("nl/taken.html.hbs", "<p>{{promise.date}}</p>"),
    ]);
    let mut dutch = order("26-014");
    dutch.customer.language = "nl-be".to_owned();
    let print = |files: &BTreeMap<String, String>, order: &Order, plan| {
        let templates = templates_for(&studio(), files)
            .map_err(|p| p.iter().map(words_of).collect::<Vec<_>>())?;
        Ok::<Letter, Vec<String>>(
            render(&notice_on(order, plan, TODAY), order, &studio(), &templates).unwrap(),
        )
    };
    let missing = print(&files, &dutch, None).unwrap_err();
    assert!(
        missing[0].starts_with("templates/nl/taken.txt.hbs:1:51: there is no template `groet`"),
        "{missing:?}"
    );
    let mut files = files;
    files.insert(
        "nl/taken.txt.hbs".to_owned(),
        "Dag {{customer.name}}, klaar op {{promise.date}}.".to_owned(),
    );
    let letter = print(&files, &dutch, None).unwrap();
    assert_eq!(
        letter.text,
        "Dag Ines Calder, klaar op vrijdag 15 mei 2026.\n"
    );
    assert_eq!(
        (letter.language.as_str(), letter.language_missing),
        ("nl", None)
    );
    let late = print(&files, &dutch, Some(outlook(None, None))).unwrap();
    assert_eq!((late.kind, late.language.as_str()), ("delayed", "en"));
    assert_eq!(late.language_missing.as_deref(), Some("nl-be"));
    files.remove("nl/words.yaml");
    let missing = print(&files, &dutch, None).unwrap_err();
    assert!(
        missing[0].starts_with("templates/nl/words.yaml: the words for weekdays"),
        "{missing:?}"
    );
    // A region builds on its language: one sentence of its own, the rest as it is.
    let region = own(&[("de-at/answer.hbs", "Ein Anruf genügt.")]);
    dutch.customer.language = "de-AT".to_owned();
    let letter = print(&region, &dutch, None).unwrap();
    assert!(
        letter
            .text
            .replace('\n', " ")
            .contains("bald. Ein Anruf genügt."),
        "{}",
        letter.text
    );
    dutch.customer.language = "de".to_owned();
    let plain = print(&region, &dutch, None).unwrap().text;
    assert!(plain.contains("Antworten"), "{plain}");
}

#[test]
fn folders_that_are_no_language_are_told() {
    let files = own(&[
        ("German/answer.hbs", "x"),
        ("en/answer.hbs", "x"),
        ("nl/anser.hbs", "x"),
        (
            "words.yaml",
            "weekdays: [Mon]\nmonths: []\nday: x\nchanges: [first]\n",
        ),
    ]);
    let problems = match Templates::new(&files) {
        Ok(_) => panic!("mistakes were not seen"),
        Err(problems) => problems,
    };
    let shown: Vec<String> = problems.iter().map(words_of).collect();
    insta::assert_snapshot!(shown.join("\n"), @r"
    templates/German/answer.hbs: the folder `German` is no language in small letters; name it as orders name their `language`, such as `de` or `de-at`
    templates/en/answer.hbs: English letters need no folder of their own; move it to `templates/answer.hbs`
    templates/nl/anser.hbs: no letter has a template `anser.hbs`; write `answer.hbs`
    templates/words.yaml: expected 7 weekdays from Monday, 12 months and at least one of `changes`; 
    templates/nl/words.yaml: the words for weekdays and months are missing; write `weekdays`, `months`, `day` and `changes`, as `templates/README.md` shows
    ");
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
fn words_of(problem: &fairday::problem::Problem) -> String {
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
    words_of(&render(&notice, &order, &studio(), &templates).unwrap_err())
}

#[test]
fn a_missing_value_is_an_error_with_its_place() {
    let found = problem_of_filling(&[("answer.hbs", "Call\n  {{studio.persn}} now.\n")]);
    insta::assert_snapshot!(found, @"templates/answer.hbs:2:3: this letter has no value `studio.persn`; write `studio.person`; this letter knows `customer.name`, `delay.because.hold`, `delay.because.longer`, `delay.because.material`, `delay.because.remake`, `delay.because.room`, `delay.because.too_early`, `delay.because.weather`, `delay.beyond_forecast`, `delay.change`, `delay.first`, `delay.if_sun`, `delay.new_known`, `delay.old_date`, `delay.old_known`, `delay.old_passed`, `delay.reasoned`, `delay.recovered`, `letter.subject`, `order.cloth`, `order.number`, `order.ordered_on`, `order.paper`, `order.prints`, `order.several`, `order.sunlit`, `promise.agreed`, `promise.arrives`, `promise.collected`, `promise.date`, `promise.essential`, `promise.leaves`, `silence.cancels`, `silence.consents`, `silence.dated`, `silence.goes_on`, `silence.lapsed`, `silence.refuses`, `studio.answers`, `studio.has_person`, `studio.name`, `studio.person`; inside of a list `count`, `material`, `several`, `size`, `title`");
    // The day is unknown in this letter, and the template does not ask first.
    let found = problem_of_filling(&[("delayed.date.hbs", "By {{delay.new_date}}.\n")]);
    assert_eq!(
        found,
        "templates/delayed.date.hbs:1:4: this letter has no value `delay.new_date`; \
         ask first, `{{#if delay.new_known}}`"
    );
    let found = problem_of_filling(&[("answer.hbs", "{{#if delay.frist}}x{{/if}}\n")]);
    let expected =
        "templates/answer.hbs:1:1: this letter has no value `delay.frist`; write `delay.first`; ";
    assert!(found.starts_with(expected), "{found}");
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

/// What the library would print as `true`, `[object]` or nothing never gets into a letter.
#[test]
fn what_is_no_word_is_no_part_of_a_letter() {
    let of = |text: &str| problem_of_filling(&[("answer.hbs", text)]);
    let cases = [
        (
            "Hm, {{order.several}}",
            "1:5: `order.several` is a condition, no word for a letter; \
             ask it, `{{#if order.several}}…{{/if}}`",
        ),
        (
            "{{#if order.paper}}\n{{customer}}{{/if}}",
            "2:1: `customer` is a group of values, no word for a letter; \
             write one of `customer.name`",
        ),
        (
            "{{order.prints}}",
            "1:1: `order.prints` is a list, no word for a letter; \
             write `{{#each order.prints}}…{{/each}}`",
        ),
        (
            "{{#each order.prints}}{{order.number}}{{/each}}",
            "1:23: this letter has no value `order.number`; \
             inside of a list write `@root.order.number`",
        ),
        (
            "{{title}}",
            "1:1: this letter has no value `title`; \
             `title` stands inside of `{{#each order.prints}}…{{/each}}`",
        ),
        (
            "{{#each order.prints}}{{titel}}{{/each}}",
            "1:23: this letter has no value `titel`; write `title`; this letter knows",
        ),
        (
            "{{#if (eq customer.nmae \"Ada\")}}x{{/if}}",
            "1:1: `eq` lacks a value, or this letter has none of that name; this letter knows",
        ),
    ];
    for (text, expected) in cases {
        let found = of(text);
        let expected = format!("templates/answer.hbs:{expected}");
        assert!(found.starts_with(&expected), "{found}");
    }
}

#[test]
fn an_empty_value_or_part_is_a_mistake() {
    // Nothing is left of this name once the marks that turn the writing are dropped.
    let mut nameless = order("26-014");
    nameless.customer.name = "\u{200e}".to_owned();
    let render_of = |order: &Order, files: &[(&str, &str)]| {
        let templates = Templates::new(&own(files)).unwrap_or_else(|p| panic!("{p:?}"));
        let notice = notice_on(order, None, TODAY);
        words_of(&render(&notice, order, &studio(), &templates).unwrap_err())
    };
    assert_eq!(
        render_of(&nameless, &[]),
        "templates/head.txt.hbs:1:6: `customer.name` is empty in this letter; \
         write it in order 26-014, or take it out of the template"
    );
    for (file, text) in [
        ("taken.subject.hbs", "\n"),
        ("taken.txt.hbs", "{{! later }}"),
    ] {
        let found = render_of(&order("26-014"), &[(file, text)]);
        let expected = format!("templates/{file}: nothing stands in it for this letter; write it");
        assert!(found.starts_with(&expected), "{found}");
    }
    // The subject is not made yet while it is made.
    let found = render_of(
        &order("26-014"),
        &[("taken.subject.hbs", "{{letter.subject}}")],
    );
    assert!(
        found.contains("this letter has no value `letter.subject`"),
        "{found}"
    );
}

#[test]
fn three_braces_let_no_tag_through() {
    let own = own(&[("answer.hbs", "{{{customer.name}}}")]);
    let templates = Templates::new(&own).unwrap();
    let mut order = order("26-014");
    order.customer.name = "<b>Ines</b>".to_owned();
    let notice = notice_on(&order, None, TODAY);
    let letter = render(&notice, &order, &studio(), &templates).unwrap();
    assert!(!letter.html.contains("<b>"), "{}", letter.html);
    assert!(letter.text.contains("soon. <b>Ines</b>"), "{}", letter.text);
}

#[test]
fn templates_that_call_each_other_without_end_are_told() {
    let files = own(&[
        ("answer.hbs", "{{#if order.paper}}{{> care.paper}}{{/if}}"),
        ("care.paper.hbs", "{{> answer}}"),
    ]);
    let problems = match Templates::new(&files) {
        Ok(_) => panic!("the round was not seen"),
        Err(problems) => problems,
    };
    let shown: Vec<String> = problems.iter().map(words_of).collect();
    let expected = "templates/answer.hbs: `answer` calls itself by way of `care.paper`; \
                    take one of the calls out";
    assert_eq!(shown, [expected]);
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
    let shown: Vec<String> = problems.iter().map(words_of).collect();
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
    // The first hint goes on with all names.
    let shown: Vec<String> = problems.iter().map(words_of).collect();
    let shown: Vec<&str> = shown
        .iter()
        .map(|s| s.split("; this").next().unwrap())
        .collect();
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
    let of = |order: &Order, plan| reason(&notice_on(order, plan, TODAY), &order.delivery, today());
    assert_eq!(
        of(&order("26-014"), None),
        "taken on Monday 4 May 2026, not confirmed yet; promised: leaves by Friday 15 May 2026"
    );
    let told = Order {
        notified: vec![notified("2026-05-08", "delayed", Some("2026-05-20"))],
        ..order("26-014")
    };
    let plan = Some(outlook(None, Some(Cause::Weather)));
    assert_eq!(
        of(&told, plan),
        "promised: leaves by Friday 15 May 2026; told last: Wednesday 20 May 2026; \
         no day in the plan, held up by the weather (change 2); \
         tell by Tuesday 19 May 2026"
    );
}
