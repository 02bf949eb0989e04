//! Repairing a thread: what is drilled and tapped for a wire insert, and the next larger
//! thread.
//!
//! The hole for a wire insert has a thread of the same pitch and a diameter of
//! D + 1.299038 P, cut with a tap of its own: an ordinary tap of the next size will not do
//! (ASME B18.29.2M, DIN 8140-2, in copies). Inserts are sold at 1, 1.5, 2, 2.5 and 3
//! diameters long. The drills are those of a table headed DIN 8140 and are near
//! D + 0.3 mm; another table has 6.5 mm for M6, so the maker of the insert has the last word.

use super::geometry::Geometry;
use super::measure::{Length, in_mm, mm};
use super::thread::{Thread, ThreadForm};

/// What a wire insert needs.
#[derive(Debug, Clone, PartialEq)]
pub struct Insert {
    /// The drill.
    pub drill: Length,
    /// Across the crests of its tap.
    pub tap: Length,
    /// How long it is sold.
    pub lengths: Vec<Length>,
}

/// Sizes, pitches and drills of wire inserts, in millimetres.
const INSERTS: &[(f64, f64, f64)] = &[
    (5.0, 0.8, 5.2),
    (6.0, 1.0, 6.3),
    (8.0, 1.0, 8.3),
    (8.0, 1.25, 8.4),
    (10.0, 1.0, 10.3),
    (10.0, 1.25, 10.4),
    (10.0, 1.5, 10.5),
    (12.0, 1.25, 12.4),
    (12.0, 1.5, 12.5),
    (12.0, 1.75, 12.5),
    (14.0, 1.5, 14.5),
    (14.0, 2.0, 14.5),
];

const LENGTHS: [f64; 5] = [1.0, 1.5, 2.0, 2.5, 3.0];

/// What a wire insert for a thread needs; metric from M5 to M14.
#[must_use]
pub fn insert(thread: &Thread) -> Option<Insert> {
    if thread.form() != ThreadForm::Metric {
        return None;
    }
    let (d, p) = (in_mm(thread.diameter()), in_mm(thread.pitch()));
    let near = |a: f64, b: f64| (a - b).abs() < 1e-6;
    let row = INSERTS
        .iter()
        .find(|row| near(row.0, d) && near(row.1, p))?;
    Some(Insert {
        drill: mm(row.2),
        tap: mm(d + 1.299_038 * p),
        lengths: LENGTHS.iter().map(|times| mm(d * times)).collect(),
    })
}

/// The next larger threads of an ordinary pitch (ISO 261), with what is drilled for each: a
/// repair with no insert, where the casting has the meat.
#[must_use]
pub fn next_larger(thread: &Thread) -> Vec<(&'static str, Length)> {
    const LARGER: &[(f64, &[&str])] = &[
        (5.0, &["M6"]),
        (6.0, &["M7", "M8"]),
        (8.0, &["M9x1", "M10x1.25", "M10"]),
        (10.0, &["M11x1", "M12x1.25", "M12"]),
        (12.0, &["M14x1.5", "M14"]),
        (14.0, &["M16x1.5", "M16"]),
    ];
    if thread.form() != ThreadForm::Metric {
        return Vec::new();
    }
    let d = in_mm(thread.diameter());
    let row = LARGER.iter().find(|row| (row.0 - d).abs() < 1e-6);
    let threads = row.map_or(&[][..], |row| row.1);
    let drilled = |name: &&'static str| {
        let geometry = Geometry::of(&Thread::parse(name).ok()?)?;
        Some((*name, geometry.tap_drill()?.drill))
    };
    threads.iter().filter_map(drilled).collect()
}
