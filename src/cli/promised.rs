//! The day that a new order is promised for: by an argument, or asked for beside the days
//! that hold.

use anyhow::Result;
use chrono::NaiveDate;

use super::desk::{Desk, scalar};
use super::output;
use super::take::TakeArgs;
use crate::intake::draft::Draft;
use crate::odds::DayShare;
use crate::order::parse::{Against, parse};
use crate::promise::leave_by;
use crate::view::promise::hundred;
use crate::yaml::leaf::Scalar;

/// What the date of a promise means, by the word of an order file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    ShipBy,
    DeliverBy,
}

impl Kind {
    fn word(self) -> &'static str {
        match self {
            Kind::ShipBy => "ship_by",
            Kind::DeliverBy => "deliver_by",
        }
    }

    fn day_of(self, day: &DayShare) -> NaiveDate {
        match self {
            Kind::ShipBy => day.leaves_on,
            Kind::DeliverBy => day.arrives_on,
        }
    }
}

/// Returns the promise of an order, kind and day; none where none is made. `safe` is the
/// day that is proposed.
///
/// # Errors
/// An argument is wrong, or the answers have ended.
pub fn promise(
    args: &TakeArgs,
    desk: &mut Desk,
    draft: &Draft,
    safe: Option<&DayShare>,
) -> Result<Option<(String, String)>> {
    let asked = Asked { draft, safe };
    let typed = args.promise.as_deref();
    let by_carrier = draft.delivery != "pickup";
    let arrives = args.arrives_by.as_deref();
    if arrives.is_some() || typed.is_none() && by_carrier {
        let question = "Promised to arrive by, if that day was named";
        let said = asked.settle(desk, Kind::DeliverBy, &mut |desk, judge| {
            Ok(desk
                .may("--arrives-by", question, arrives, judge)?
                .unwrap_or_default())
        })?;
        if said.is_some() || arrives.is_some() {
            return Ok(said);
        }
    }
    let verb = if by_carrier { "leave" } else { "be ready" };
    let (question, usual) = match safe {
        Some(day) => (
            format!(
                "Promised to {verb} by (a day, none, or safe: {} of 100)",
                hundred(day.share)
            ),
            day.leaves_on.to_string(),
        ),
        None => (
            format!("Promised to {verb} by (a day, none)"),
            "none".to_owned(),
        ),
    };
    asked.settle(desk, Kind::ShipBy, &mut |desk, judge| {
        desk.need("--promise", &question, typed, Some(&usual), judge)
    })
}

/// Asks once for a day, or reads its argument.
type Question<'q> =
    &'q mut dyn FnMut(&mut Desk, &dyn Fn(&str) -> Result<String, String>) -> Result<String>;

struct Asked<'a> {
    draft: &'a Draft,
    safe: Option<&'a DayShare>,
}

impl Asked<'_> {
    /// Asks until the day is one that is meant; a day that cannot be kept any more is
    /// asked about, or warned of where nobody can be asked.
    fn settle(
        &self,
        desk: &mut Desk,
        kind: Kind,
        ask: Question,
    ) -> Result<Option<(String, String)>> {
        loop {
            let (studio, now) = (desk.studio, desk.now);
            let judge = |said: &str| -> Result<String, String> {
                let day = self.day(said, kind)?;
                if day.is_empty() {
                    return Ok(day);
                }
                let errors = super::desk::errors(&self.with(kind, &day), studio, now);
                let first = errors.into_iter().next().map(|problem| problem.what);
                first.map_or(Ok(day), Err)
            };
            let day = ask(desk, &judge)?;
            if day.is_empty() {
                return Ok(None);
            }
            let gone = self.gone(desk, kind, &day);
            match (&mut desk.dialogue, gone) {
                (Some(dialogue), Some(words)) => {
                    dialogue.say(&format!("  {words}"))?;
                    if !dialogue.confirm("Is that meant", false)? {
                        continue;
                    }
                }
                (None, Some(words)) => output::remark(&format!("warning: {words}")),
                (_, None) => {}
            }
            return Ok(Some((kind.word().to_owned(), day)));
        }
    }

    fn day(&self, said: &str, kind: Kind) -> Result<String, String> {
        match (said, self.safe) {
            ("none", _) => Ok(String::new()),
            ("safe", Some(day)) => Ok(kind.day_of(day).to_string()),
            ("safe", None) => {
                Err("no day holds in 95 of 100 weathers; say a day, or none".to_owned())
            }
            (said, _) => scalar::<NaiveDate>(said),
        }
    }

    fn with(&self, kind: Kind, day: &str) -> Draft {
        Draft {
            promise: Some((kind.word().to_owned(), day.to_owned())),
            ..self.draft.clone()
        }
    }

    /// Says why a day cannot be kept any more, whatever is done.
    fn gone(&self, desk: &Desk, kind: Kind, day: &str) -> Option<String> {
        let (date, today) = (NaiveDate::parse(day)?, desk.now.date());
        if date < today {
            return Some(format!("{date} has gone by already; today is {today}"));
        }
        let text = self.with(kind, day).render(None);
        let (order, _) = parse(&text, "", &Against::default());
        let last = leave_by(&order?, &desk.studio.shipping).day;
        (last < today)
            .then(|| format!("to arrive by {date} it had to leave by {last}; today is {today}"))
    }
}

#[cfg(test)]
mod tests {
    use clap::Parser;

    use super::*;
    use crate::cli::desk::tests::at_a_desk;
    use crate::intake::draft::PieceDraft;

    #[derive(Debug, Parser)]
    struct Line {
        #[command(flatten)]
        args: TakeArgs,
    }

    /// Talks on the demo's day about an order of that day; Tuesday is safe.
    fn talk(delivery: &str, answers: &str) -> (Option<(String, String)>, String) {
        let draft = Draft {
            ordered_on: "2026-05-02".to_owned(),
            delivery: delivery.to_owned(),
            pieces: vec![PieceDraft {
                title: "Fern".to_owned(),
                material: "rag-300".to_owned(),
                size: "A4".to_owned(),
                negative: Some("fern".to_owned()),
                ..PieceDraft::default()
            }],
            ..super::super::desk::any_order()
        };
        let safe = DayShare {
            leaves_on: "2026-05-19".parse().unwrap(),
            arrives_on: "2026-05-21".parse().unwrap(),
            share: 0.965,
        };
        let args = Line::parse_from(["take"]).args;
        at_a_desk(answers, |desk| {
            promise(&args, desk, &draft, Some(&safe)).unwrap()
        })
    }

    fn ship_by(day: &str) -> Option<(String, String)> {
        Some(("ship_by".to_owned(), day.to_owned()))
    }

    #[test]
    fn a_day_before_the_order_is_asked_for_again_and_the_rest_is_kept() {
        let (promised, said) = talk("home", "\n2026-05-01\n2026-05-20\n");
        assert_eq!(promised, ship_by("2026-05-20"));
        assert!(
            said.contains("lies before the day of the order, 2026-05-02"),
            "{said}"
        );
        assert_eq!(said.matches("Promised to leave by").count(), 2, "{said}");
    }

    #[test]
    fn a_day_that_has_gone_by_is_taken_only_if_it_is_meant() {
        let (promised, said) = talk("pickup", "2026-05-08\n\n2026-05-08\ny\n");
        assert_eq!(promised, ship_by("2026-05-08"));
        let words = "2026-05-08 has gone by already; today is 2026-05-11";
        assert_eq!(said.matches(words).count(), 2, "{said}");
        assert!(
            !said.contains("arrive") && said.contains("to be ready by"),
            "{said}"
        );
    }

    /// Two working days to `home`: what is to be there on Tuesday had to leave on Sunday.
    #[test]
    fn a_parcel_may_be_promised_to_arrive_and_safe_names_the_day_with_its_share() {
        let deliver_by = |day: &str| Some(("deliver_by".to_owned(), day.to_owned()));
        let (promised, said) = talk("home", "2026-05-12\nno\n2026-05-22\n");
        assert_eq!(promised, deliver_by("2026-05-22"));
        assert!(said.contains("it had to leave by 2026-05-10"), "{said}");
        assert_eq!(talk("home", "safe\n").0, deliver_by("2026-05-21"));
        let (promised, said) = talk("home", "\n\n");
        assert_eq!(promised, ship_by("2026-05-19"));
        assert!(
            said.contains("(a day, none, or safe: 96 of 100) [2026-05-19]: "),
            "{said}"
        );
        assert_eq!(talk("home", "none\nnone\n").0, None);
    }
}
