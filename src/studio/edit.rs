//! Enters a test strip into `studio.yaml` as text; all other characters stay.

use std::fmt;

use super::file::StudioFile;
use super::parse::parse;
use super::{Strip, Studio};
use crate::problem::Severity;
use crate::yaml::insert::{BlankLines, Item, Place};
use crate::yaml::trail::Step;

/// Why a strip was not entered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NotEntered {
    /// The file has errors, or no such material.
    NoSuchMaterial,
    /// The file is written in a way that is not touched; the line to enter by hand.
    ByHand(String),
}

impl fmt::Display for NotEntered {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NotEntered::NoSuchMaterial => f.write_str("the file has no such material"),
            NotEntered::ByHand(line) => write!(
                f,
                "the file is written in a way that is not touched; enter by hand below `strips` \
                 of the material: {line}"
            ),
        }
    }
}

impl std::error::Error for NotEntered {}

/// Returns `text` with a strip entered for the material `key`, and nothing else changed.
///
/// # Errors
/// There is no such material, or the result would not read as the same studio with
/// just this strip.
pub fn add_strip(text: &str, key: &str, strip: &Strip) -> Result<String, NotEntered> {
    let mut wanted = read(text).ok_or(NotEntered::NoSuchMaterial)?;
    let material = wanted
        .materials
        .get_mut(key)
        .ok_or(NotEntered::NoSuchMaterial)?;
    material.strips.push(*strip);
    material.strips.sort_by_key(|strip| strip.at);
    let item = Item::new()
        .plain("at", strip.at.format("%Y-%m-%d %H:%M"))
        .plain("best_kj_m2", strip.best.0)
        .plain("step", strip.step)
        .plain("spread", strip.spread);
    let by_hand = || NotEntered::ByHand(format!("- {}", item.render_flow()));
    [BlankLines::After, BlankLines::Before]
        .into_iter()
        .filter_map(|blank_lines| insert(text, key, &item, blank_lines))
        .find(|changed| read(changed).as_ref() == Some(&wanted))
        .ok_or_else(by_hand)
}

fn read(text: &str) -> Option<Studio> {
    let (studio, problems) = parse(text, "");
    let broken = problems
        .iter()
        .any(|problem| problem.severity == Severity::Error);
    studio.filter(|_| !broken)
}

fn insert(text: &str, key: &str, item: &Item, blank_lines: BlankLines) -> Option<String> {
    let shape: StudioFile = serde_yaml::from_str(text).ok()?;
    let materials = shape.materials?;
    let (_, material) = materials.0.iter().find(|(name, _)| name == key)?;
    let count = material.strips.as_ref().map(Vec::len);
    let place = Place::new(text, blank_lines)?;
    let steps = [Step::Key("materials".to_owned()), Step::Key(key.to_owned())];
    Some(place.append(&steps, "strips", count, item)?.apply(text))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Dose;

    fn studio(materials: &str) -> String {
        format!(
            "# mine\nstudio: S   # a name\nplace: {{latitude_deg: 50, longitude_deg: 0, zone: \
             Europe/London}}\nframes: [{{name: a, inside: 40x50 cm}}]\nracks: {{dark_dry_sheets: \
             4, wet_dry_sheets: 4}}\ntrays: {{inside: 40x50 cm}}\n{materials}letters: {{from: \
             a@example.org}}\n"
        )
    }

    fn strip(at: &str) -> Strip {
        Strip {
            at: at.parse().unwrap(),
            best: Dose(28.9),
            step: 1.41,
            spread: 0.15,
        }
    }

    const LINE: &str = "{at: 2026-05-11 12:40, best_kj_m2: 28.9, step: 1.41, spread: 0.15}";

    #[test]
    fn a_strip_is_one_more_line_and_all_remarks_stay() {
        let block = "materials:\n  rag:\n    kind: paper   # soft\n    target_dose_kj_m2: 29   # \
                     spring\n  lawn: {kind: cloth, target_dose_kj_m2: 40}\n";
        let text = studio(block);
        let one = add_strip(&text, "rag", &strip("2026-05-11T12:40:00")).unwrap();
        let lost: Vec<&str> = text.lines().filter(|line| !one.contains(line)).collect();
        assert!(lost.is_empty(), "{one}");
        assert!(one.contains(LINE), "{one}");
        assert_eq!(one.lines().count(), text.lines().count() + 2);
        let two = add_strip(&one, "rag", &strip("2026-06-11T12:40:00")).unwrap();
        assert_eq!(two.lines().count(), text.lines().count() + 3);
        let flow = add_strip(&two, "lawn", &strip("2026-05-11T12:40:00")).unwrap();
        assert!(flow.contains(&format!("strips: [{LINE}]}}")), "{flow}");
        assert_eq!(
            add_strip(&text, "rug", &strip("2026-05-11T12:40:00")),
            Err(NotEntered::NoSuchMaterial)
        );
    }
}
