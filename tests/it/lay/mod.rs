//! Laying pieces into a frame, judged by trying everything and by published sets.

mod everything;
mod published;

use fairday::plan::lay::{Laid, lay, without_border};
use fairday::size::Size;
use fairday::units::Length;
use proptest::prelude::*;

/// A size in whole tenths of a millimetre.
fn size(width: u32, height: u32) -> Size {
    Size {
        width: Length(width),
        height: Length(height),
    }
}

/// Asserts that all lies inside the frame and that the margin is kept.
pub fn assert_good(frame: Size, margin: Length, pieces: &[Size], places: &[Laid]) {
    assert_eq!(pieces.len(), places.len());
    let boxes: Vec<[u32; 4]> = pieces
        .iter()
        .zip(places)
        .map(|(piece, place)| {
            let piece = if place.turned { piece.turned() } else { *piece };
            let (x, y) = (place.x.0, place.y.0);
            [x, y, x + piece.width.0, y + piece.height.0]
        })
        .collect();
    for (number, [left, top, right, bottom]) in boxes.iter().enumerate() {
        assert!(*right <= frame.width.0 && *bottom <= frame.height.0);
        for [x, y, until_x, until_y] in &boxes[..number] {
            let apart = right + margin.0 <= *x
                || until_x + margin.0 <= *left
                || bottom + margin.0 <= *y
                || until_y + margin.0 <= *top;
            assert!(apart, "{boxes:?}");
        }
    }
}

#[test]
fn a_sheet_fills_the_frame_of_its_own_size() {
    let a4 = Size::from_mm(210.0, 297.0);
    let margin = Length::from_mm(5.0);
    let upright = lay(a4, margin, &[a4]).unwrap();
    assert_eq!((upright[0].x, upright[0].y), (Length(0), Length(0)));
    assert!(!upright[0].turned);
    assert!(lay(a4.turned(), margin, &[a4]).unwrap()[0].turned);
}

/// Two A5 sheets, 148 mm wide after turning, and 1 mm between them: 297 mm.
#[test]
fn the_margin_is_kept_between_pieces_and_not_to_the_edge() {
    let a5 = Size::from_mm(148.0, 210.0);
    let frame = |height| Size::from_mm(210.0, height);
    let margin = Length::from_mm(1.0);
    assert!(lay(frame(297.0), margin, &[a5, a5]).is_some());
    assert!(lay(frame(296.9), margin, &[a5, a5]).is_none());
}

/// An A4 frame with 5 mm free all round has 200×287 mm left.
#[test]
fn a_border_comes_off_the_frame() {
    let a4 = Size::from_mm(210.0, 297.0);
    let left = without_border(a4, Length::from_mm(5.0));
    assert_eq!(left, Size::from_mm(200.0, 287.0));
    assert!(lay(left, Length(0), &[a4]).is_none());
    assert_eq!(without_border(a4, Length(u32::MAX)), size(0, 0));
}

#[test]
fn nothing_lies_in_every_frame() {
    assert_eq!(lay(size(1, 1), Length(0), &[]), Some(Vec::new()));
}

#[test]
fn sizes_out_of_all_proportion_do_not_panic() {
    let huge = size(u32::MAX, u32::MAX);
    let most = Length(u32::MAX);
    assert!(lay(huge, most, &[huge; 3]).is_none());
    assert!(lay(huge, Length(0), &[size(0, 0); 40]).is_some());
}

proptest! {
    #[test]
    fn what_is_laid_lies_inside_and_apart(
        frame in (500..4_000_u32, 500..4_000_u32),
        margin in 0..60_u32,
        sides in proptest::collection::vec((50..1_600_u32, 50..1_600_u32), 0..14),
    ) {
        let frame = size(frame.0, frame.1);
        let pieces: Vec<Size> = sides.iter().map(|&(w, h)| size(w, h)).collect();
        if let Some(places) = lay(frame, Length(margin), &pieces) {
            assert_good(frame, Length(margin), &pieces, &places);
        }
    }

    /// A frame cut into pieces by straight cuts always holds them again.
    #[test]
    fn a_frame_cut_into_up_to_seven_is_put_together_again(
        frame in (40..4_000_u32, 40..4_000_u32),
        cuts in proptest::collection::vec((0..1_000_usize, 1..20_u32, any::<bool>()), 0..6),
        turns in proptest::collection::vec(any::<bool>(), 7),
    ) {
        let frame = size(frame.0, frame.1);
        let mut pieces = vec![frame];
        for (which, share, across) in cuts {
            let which = which % pieces.len();
            let piece = if across { pieces[which].turned() } else { pieces[which] };
            let at = piece.width.0 * share / 20;
            if at == 0 {
                continue;
            }
            pieces[which] = Size { width: Length(at), ..piece };
            pieces.push(Size { width: Length(piece.width.0 - at), ..piece });
        }
        for (piece, turn) in pieces.iter_mut().zip(turns) {
            *piece = if turn { piece.turned() } else { *piece };
        }
        let places = lay(frame, Length(0), &pieces);
        prop_assert!(places.is_some(), "{:?} {:?}", frame, pieces);
        assert_good(frame, Length(0), &pieces, &places.unwrap());
    }
}
