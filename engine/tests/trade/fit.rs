//! What is exactly as long as its room fits, in whatever units and order it was added up.

use engine::measure::Length;
use engine::trade::blank::Blank;
use engine::trade::boards::Boards;
use engine::trade::cutting::CutList;
use engine::trade::elevation::Elevation;
use engine::trade::nesting::Nest;
use engine::trade::passage::{Doorway, goes_through};
use engine::trade::roll::{Layout, Roll};

use super::inch;

/// Sides of sheets, rolls, sticks and doors in stock, in inches. Source: common practice, no source (ST11).
const INCHES: [f64; 16] =
    [17.0, 20.0, 24.0, 30.0, 32.0, 36.0, 40.0, 44.0, 48.0, 49.0, 50.0, 60.0, 64.0, 72.0, 96.0, 120.0];
/// The same in millimetres. Source: makers' data (ST11, read), ISO 216 (from memory).
const MILLIMETRES: [f64; 9] = [594.0, 841.0, 1000.0, 1220.0, 1250.0, 1500.0, 1750.0, 2010.0, 2440.0];

/// A length added up from tenths of an inch and the rest in centimetres, from the front and from the back.
fn added(room: Length, tenths: u32) -> [Length; 3] {
    let a = f64::from(tenths) / 10.0;
    let rest = ((room.to_cm() - a * 2.54) * 1e6).round() / 1e6;
    let step = inch(0.1);
    let walked = (0..tenths).fold(Length::cm(rest), |sum, _| sum + step);
    [inch(a) + Length::cm(rest), Length::cm(rest) + inch(a), walked]
}

/// Whether a piece as long as `piece` is taken, by everything that asks whether something fits, of a room of `room`.
fn taken(piece: Length, room: Length) -> Vec<(&'static str, bool)> {
    let (short, deep) = (inch(5.0), inch(300.0));
    let roll = Roll::new(room, Length::ZERO, Length::ZERO, Length::ZERO).unwrap();
    vec![
        ("fits", piece.fits(room)),
        ("cut_from", Blank::new((piece, short), (room, inch(5.0)), Length::ZERO).is_ok()),
        ("boards_for", Boards::new((piece, inch(4.0)), (room, inch(4.0)), 1, Length::ZERO).is_ok()),
        ("cut_list", CutList::new(room, &[piece], Length::ZERO, Length::ZERO).is_ok()),
        ("on_roll", Layout::new(piece, deep, &roll, 1, false).is_ok()),
        ("nest", Nest::new(&[(piece, deep)], &roll, false).is_ok()),
        ("passes_door", Doorway::new((piece, deep), room, (room, room)).unwrap().passes()),
        ("goes_through", goes_through((piece, short), (room, inch(5.0)))),
        // Hung so that it stands on the floor, its hooks as far apart as it is wide.
        ("elevation", Elevation::new((room, piece), room / 2.0, Some((room / 2.0, piece))).is_ok()),
    ]
}

#[test]
fn what_is_exactly_as_long_as_its_room_fits_it_in_both_systems_of_units() {
    let rooms = INCHES.iter().copied().map(inch).chain(MILLIMETRES.iter().copied().map(Length::mm));
    for room in rooms {
        for tenths in 1..160 {
            for piece in added(room, tenths) {
                for (name, yes) in taken(piece, room) {
                    assert!(yes, "{name}: {} in of {} in, {tenths} tenths", piece.to_inch(), room.to_inch());
                }
            }
        }
    }
}

#[test]
fn of_two_stock_sizes_the_larger_never_fits_the_smaller() {
    let all: Vec<_> = INCHES.iter().copied().map(inch).chain(MILLIMETRES.iter().copied().map(Length::mm)).collect();
    for piece in &all {
        for room in &all {
            for (name, yes) in taken(*piece, *room) {
                assert_eq!(yes, piece <= room, "{name}: {} in of {} in", piece.to_inch(), room.to_inch());
            }
        }
        // A hundredth of a millimetre over is over.
        for (name, yes) in taken(*piece + Length::um(10.0), *piece) {
            assert!(!yes, "{name}: {} in", piece.to_inch());
        }
    }
}

#[test]
fn as_many_lie_in_a_room_as_its_length_holds_exactly() {
    // Identity: n pieces and n − 1 gaps.
    for count in 1..40_u32 {
        for (piece, gap) in [(inch(0.1), Length::mm(2.54)), (inch(2.3), Length::cm(0.7)), (Length::mm(33.3), inch(0.3))]
        {
            let room = (1..count).fold(piece, |sum, _| sum + gap + piece);
            assert_eq!(piece.count_in(room, gap, 1000), count);
            assert_eq!(piece.count_in(room - Length::um(10.0), gap, 1000), count - 1);
        }
    }
}
