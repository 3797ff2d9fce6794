//! Published sets of rectangles.
//!
//! All written down from memory and checked by their areas. That a set fits is
//! then shown by the layout itself; that a smaller frame does not hold it is
//! taken from the publication and found again by our exact search.

use fairday::plan::lay::lay;
use fairday::size::Size;
use fairday::units::Length;

use super::{assert_good, size};

fn area(pieces: &[Size]) -> u32 {
    let area = |piece: &Size| piece.width.0 * piece.height.0;
    pieces.iter().map(area).sum()
}

fn check_fits(frame: Size, pieces: &[Size]) {
    let places = lay(frame, Length(0), pieces);
    let places = places.unwrap_or_else(|| panic!("{} pieces in {frame:?}", pieces.len()));
    assert_good(frame, Length(0), pieces, &places);
}

fn squares(sides: &[u32]) -> Vec<Size> {
    sides.iter().map(|&side| size(side, side)).collect()
}

/// E. Hopper, B. C. H. Turton, "An empirical investigation of meta-heuristic and
/// heuristic algorithms for a 2D packing problem", European Journal of
/// Operational Research 128 (2001), category C1: 16 or 17 rectangles that fill a
/// square of 20 without a gap.
const C1: [&[(u32, u32)]; 3] = [
    &[
        (2, 12),
        (7, 12),
        (8, 6),
        (3, 6),
        (3, 5),
        (5, 5),
        (3, 12),
        (3, 7),
        (5, 7),
        (2, 6),
        (3, 2),
        (4, 2),
        (3, 4),
        (4, 4),
        (9, 2),
        (11, 2),
    ],
    &[
        (4, 1),
        (4, 5),
        (9, 4),
        (3, 5),
        (3, 9),
        (1, 4),
        (5, 3),
        (4, 1),
        (5, 5),
        (7, 2),
        (9, 3),
        (3, 13),
        (2, 8),
        (15, 4),
        (5, 4),
        (10, 6),
        (7, 2),
    ],
    &[
        (4, 14),
        (5, 2),
        (2, 2),
        (9, 7),
        (5, 5),
        (2, 5),
        (7, 7),
        (3, 5),
        (6, 5),
        (3, 2),
        (6, 2),
        (4, 6),
        (6, 3),
        (10, 3),
        (6, 3),
        (10, 3),
    ],
];

#[test]
fn the_first_sets_of_hopper_and_turton_fill_their_square() {
    for set in C1 {
        let pieces: Vec<Size> = set.iter().map(|&(w, h)| size(w, h)).collect();
        assert_eq!(area(&pieces), 20 * 20);
        check_fits(size(20, 20), &pieces);
    }
}

/// Z. Moroń, "O rozkładach prostokątów na kwadraty", 1925: nine unlike squares
/// that make a rectangle of 32×33.
#[test]
fn nine_unlike_squares_make_a_rectangle() {
    let pieces = squares(&[18, 15, 14, 10, 9, 8, 7, 4, 1]);
    assert_eq!(area(&pieces), 32 * 33);
    check_fits(size(32, 33), &pieces);
}

/// A. J. W. Duijvestijn, "Simple perfect squared square of lowest order",
/// Journal of Combinatorial Theory B 25 (1978).
#[test]
fn twenty_one_unlike_squares_make_a_square() {
    let pieces = squares(&[
        50, 35, 27, 8, 19, 15, 17, 11, 6, 24, 29, 25, 9, 2, 7, 18, 16, 42, 4, 37, 33,
    ]);
    assert_eq!(area(&pieces), 112 * 112);
    check_fits(size(112, 112), &pieces);
}

/// The least area of a rectangle that holds squares of 1, 2, … n, for n from 1:
/// The On-Line Encyclopedia of Integer Sequences, A038666; R. E. Korf, "Optimal
/// rectangle packing: initial results", ICAPS 2003.
const LEAST_AREAS: [u32; 7] = [1, 6, 15, 35, 60, 99, 154];

#[test]
fn squares_of_one_to_seven_need_exactly_the_published_area() {
    for (count, expected) in (1..).zip(LEAST_AREAS) {
        let pieces = squares(&Vec::from_iter(1..=count));
        let fits = |area: u32| {
            let widths = (count..=area).filter(|width| area.is_multiple_of(*width));
            let mut frames = widths.map(|width| size(width, area / width));
            frames.any(|frame| lay(frame, Length(0), &pieces).is_some())
        };
        assert_eq!(
            (1..).find(|area| fits(*area)),
            Some(expected),
            "1 to {count}"
        );
    }
}

/// From the same table: the frames of least area for 8 to 12 squares.
#[test]
fn squares_of_one_to_twelve_fit_into_the_published_frames() {
    for (count, width, height) in [
        (8, 14, 15),
        (9, 15, 20),
        (10, 15, 27),
        (11, 19, 27),
        (12, 23, 29),
    ] {
        check_fits(size(width, height), &squares(&Vec::from_iter(1..=count)));
    }
}
