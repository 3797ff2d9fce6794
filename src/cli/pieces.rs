//! The pieces of a new order: by arguments, or one question after the other.

use std::collections::BTreeMap;

use anyhow::{Result, bail};

use super::desk::{Desk, any, any_order, errors, one_of, scalar};
use crate::intake::draft::{Draft, PieceDraft};
use crate::order::file::PieceFile;
use crate::order::{Cover, LightSource};
use crate::problem::Problem;
use crate::size::Size;
use crate::studio::Studio;
use crate::yaml::leaf::{Leaf, Scalar};

/// Returns the pieces of an order, each of them one that the studio can make.
///
/// # Errors
/// An argument is wrong, or the answers have ended.
pub fn pieces(typed: &[String], desk: &mut Desk) -> Result<Vec<PieceDraft>> {
    if !typed.is_empty() {
        let pieces = typed.iter().map(|keys| typed_piece(keys, desk));
        return pieces.collect();
    }
    if desk.dialogue.is_none() {
        desk.missing
            .push("--piece \"title: …, material: …, size: …, negative: …\"");
        return Ok(Vec::new());
    }
    let mut pieces = vec![asked_piece(desk)?];
    while let Some(dialogue) = &mut desk.dialogue
        && dialogue.confirm("Another piece", false)?
    {
        pieces.push(asked_piece(desk)?);
    }
    Ok(pieces)
}

/// Keys that a new piece may have.
const PIECE_KEYS: [&str; 8] = [
    "title", "material", "size", "copies", "negative", "objects", "cover", "light",
];

/// Reads a piece by the keys of an order file, in one line.
fn typed_piece(keys: &str, desk: &Desk) -> Result<PieceDraft> {
    let inside = keys.trim().trim_start_matches('{').trim_end_matches('}');
    let text = format!("{{{inside}}}");
    let shape: Result<PieceFile, _> = serde_yaml::from_str(&text);
    let typed: BTreeMap<String, serde_yaml::Value> =
        serde_yaml::from_str(&text).unwrap_or_default();
    let odd = typed.keys().find(|key| !PIECE_KEYS.contains(&key.as_str()));
    let Some(shape) = shape.ok().filter(|_| odd.is_none()) else {
        let odd = odd.map(|key| format!("; `{key}` is none of them"));
        bail!(
            "`--piece \"{keys}\"`: expected keys as in an order file, such as \"title: Fern, \
             material: rag-300, size: A4, copies: 2, negative: fern\"{}",
            odd.unwrap_or_default()
        );
    };
    fn word<T: Scalar>(leaf: &Option<Leaf<T>>) -> Option<String> {
        leaf.as_ref().map(|leaf| leaf.words().to_owned())
    }
    let piece = PieceDraft {
        title: word(&shape.title).unwrap_or_default(),
        material: word(&shape.material).unwrap_or_default(),
        size: word(&shape.size).unwrap_or_default(),
        copies: word(&shape.copies),
        negative: word(&shape.negative),
        objects: word(&shape.objects),
        cover: word(&shape.cover),
        light: word(&shape.light),
    };
    let faults: Vec<String> = faults(&piece, desk.studio)
        .into_iter()
        .map(|problem| match problem.hint {
            Some(hint) => format!("{}; {hint}", problem.what),
            None => problem.what,
        })
        .collect();
    match faults.is_empty() {
        true => Ok(piece),
        false => bail!("`--piece \"{keys}\"`: {}", faults.join("; ")),
    }
}

/// Asks for a piece, and judges every answer at its question.
fn asked_piece(desk: &mut Desk) -> Result<PieceDraft> {
    let studio = desk.studio;
    let materials: Vec<&str> = studio.materials.keys().map(String::as_str).collect();
    let Some(dialogue) = &mut desk.dialogue else {
        return Ok(PieceDraft::default());
    };
    let mut piece = PieceDraft {
        title: dialogue.ask("What it shows", None, &any)?,
        ..PieceDraft::default()
    };
    let question = format!("Material ({})", materials.join(", "));
    piece.material = dialogue.ask(&question, None, &|said| one_of(said, &materials))?;
    piece.size = dialogue.ask("Size, such as A4 or 8x10 in", None, &|said| {
        size(said, &piece, studio)
    })?;
    let copies = dialogue.ask("Copies", Some("1"), &|said| {
        let more = PieceDraft {
            copies: Some(said.to_owned()),
            ..piece.clone()
        };
        scalar::<u32>(said)?;
        in_some_light(said, &more, studio)
    })?;
    piece.copies = Some(copies).filter(|copies| copies != "1");
    let negative = dialogue.ask("Name of the negative", Some(""), &any)?;
    if negative.is_empty() {
        piece.objects = Some(dialogue.ask("Which loose objects", None, &any)?);
        let question = "Under glass, or none over them (glass, none)";
        piece.cover = Some(dialogue.ask(question, Some("none"), &scalar::<Cover>)?);
    } else {
        piece.negative = Some(negative);
    }
    if has_lamp(studio) {
        let light = dialogue.ask("Light (sun, lamp)", Some("sun"), &|said| {
            light(said, &piece, studio)
        })?;
        piece.light = Some(light).filter(|light| light != "sun");
    }
    Ok(piece)
}

fn has_lamp(studio: &Studio) -> bool {
    studio.frames_for(LightSource::Lamp).next().is_some()
}

/// Judges a size: some frame must hold it, and a tray if it is paper.
fn size(said: &str, piece: &PieceDraft, studio: &Studio) -> Result<String, String> {
    scalar::<Size>(said)?;
    let sized = PieceDraft {
        size: said.to_owned(),
        ..piece.clone()
    };
    in_some_light(said, &sized, studio)
}

fn light(said: &str, piece: &PieceDraft, studio: &Studio) -> Result<String, String> {
    scalar::<LightSource>(said)?;
    let lit = PieceDraft {
        light: Some(said.to_owned()),
        ..piece.clone()
    };
    first(faults(&lit, studio)).map_or(Ok(said.to_owned()), Err)
}

/// Judges a piece of which the light was not asked yet: in one of them it must pass.
fn in_some_light(said: &str, piece: &PieceDraft, studio: &Studio) -> Result<String, String> {
    let picture = piece.negative.clone().or(Some("any".to_owned()));
    let lit = |light: &str| PieceDraft {
        light: Some(light.to_owned()),
        negative: picture.clone(),
        ..piece.clone()
    };
    let in_sun = faults(&lit("sun"), studio);
    if in_sun.is_empty() || has_lamp(studio) && faults(&lit("lamp"), studio).is_empty() {
        return Ok(said.to_owned());
    }
    first(in_sun).map_or(Ok(said.to_owned()), Err)
}

fn first(faults: Vec<Problem>) -> Option<String> {
    faults.into_iter().next().map(|problem| problem.what)
}

/// Says what is wrong with a piece, as if it were all of an order.
fn faults(piece: &PieceDraft, studio: &Studio) -> Vec<Problem> {
    let draft = Draft {
        pieces: vec![piece.clone()],
        ..any_order()
    };
    errors(&draft, studio, chrono::NaiveDateTime::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::desk::tests::at_a_desk;

    /// Talks with the demo's studio; returns the piece and all that was asked.
    fn talk(answers: &str) -> (PieceDraft, String) {
        at_a_desk(answers, |desk| asked_piece(desk).unwrap())
    }

    #[test]
    fn a_slip_is_asked_for_again_at_its_question_and_nothing_else_is() {
        let (piece, said) = talk("Fern\nrag-300\nA0\n300x400 cm\nA4\n1000000\n2\nfern\nsun\n");
        assert_eq!(piece.size, "A4");
        assert_eq!(piece.copies.as_deref(), Some("2"));
        assert_eq!(piece.light, None);
        for question in [
            "What it shows",
            "Material (",
            "Name of the negative",
            "Light (",
        ] {
            assert_eq!(said.matches(question).count(), 1, "{question}: {said}");
        }
        assert_eq!(said.matches("goes into no frame").count(), 2, "{said}");
        assert!(
            said.contains("expected 1 to 500 for `copies`, found `1000000`"),
            "{said}"
        );
    }

    /// The demo's lamp is over a small frame.
    #[test]
    fn a_light_whose_frames_are_too_small_is_asked_for_again() {
        let (piece, said) = talk("Fern\nrag-300\n16x20 in\n\nfern\nlamp\n\n");
        assert_eq!((piece.size.as_str(), piece.light), ("16x20 in", None));
        assert!(said.contains("goes into no frame with a lamp"), "{said}");
        assert_eq!(said.matches("Size, such as").count(), 1, "{said}");
    }
}
