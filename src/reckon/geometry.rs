//! What a thread measures, what it carries and what is drilled for it.
//!
//! | figure | metric | unified inch | published in |
//! | --- | --- | --- | --- |
//! | height of the sharp triangle | H = √3/2 · P | the same | ISO 68-1; FED-STD-H28/2B |
//! | pitch diameter | d2 = d − 0.75 H | the same | ISO 724; FED-STD-H28/2B |
//! | minor diameter of the nut | D1 = d − 1.25 H | the same | ISO 724; FED-STD-H28/2B |
//! | root of the bolt | d3 = D1 − H/6 | the same | ISO 898-1 |
//! | tensile stress area | π/4 · ((d2 + d3)/2)² | π/4 · (d − 9√3/16 · P)² | ISO 898-1; FED-STD-H28/2B table II.B.1 |
//!
//! The texts of the ISO standards were not seen; copies of their formulas and tables
//! were. FED-STD-H28/2B (1991) was. Whitworth, British Association and pipe threads have
//! other triangles and get no answer here.
//!
//! The figures are those of the basic profile. A real thread of tolerance 6g or 2A is a
//! few hundredths of a millimetre smaller: [`Limits`] says how much.

use std::f64::consts::PI;

use super::measure::{Area, Length, in_inches, in_mm, inches, mm, mm2};
use super::thread::{Thread, ThreadForm};

/// What a thread measures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Geometry {
    form: ThreadForm,
    /// Across the crests of the bolt.
    pub diameter: Length,
    /// From crest to crest.
    pub pitch: Length,
    /// Halfway down the flanks, where thread and gap are equally wide.
    pub pitch_diameter: Length,
    /// Across the crests of the nut.
    pub minor_diameter: Length,
    /// Across the root of the bolt.
    pub root_diameter: Length,
    /// The area that a bolt's strength is reckoned with.
    pub stress_area: Area,
}

impl Geometry {
    /// What a thread measures; none of forms other than ISO metric and unified inch.
    #[must_use]
    pub fn of(thread: &Thread) -> Option<Self> {
        let (diameter, pitch) = (in_mm(thread.diameter()), in_mm(thread.pitch()));
        let height = 3f64.sqrt() / 2.0 * pitch;
        let pitch_diameter = diameter - 0.75 * height;
        let minor_diameter = diameter - 1.25 * height;
        let root_diameter = minor_diameter - height / 6.0;
        let carries = match thread.form() {
            ThreadForm::Metric => f64::midpoint(pitch_diameter, root_diameter),
            ThreadForm::Unified => diameter - 9.0 * 3f64.sqrt() / 16.0 * pitch,
            _ => return None,
        };
        Some(Self {
            form: thread.form(),
            diameter: mm(diameter),
            pitch: mm(pitch),
            pitch_diameter: mm(pitch_diameter),
            minor_diameter: mm(minor_diameter),
            root_diameter: mm(root_diameter),
            stress_area: mm2(PI / 4.0 * carries * carries),
        })
    }
}

/// How far from the basic profile a bolt and a nut of the usual tolerance may lie: 6g and 6H
/// of a metric thread, 2A and 2B of an inch one.
///
/// Metric: the table of ISO 965-1, in copies. Inch: the formulas of ASME B1.1 at an
/// engagement of one diameter, from memory; copies of its tables agree.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// The gap that lies between the basic profile and the largest bolt.
    pub allowance: Length,
    /// The smallest bolt's diameter.
    pub least_diameter: Length,
    /// The smallest bolt's pitch diameter.
    pub least_pitch_diameter: Length,
    /// The widest nut's pitch diameter.
    pub most_nut_pitch_diameter: Length,
    /// The widest nut's minor diameter.
    pub most_nut_minor_diameter: Length,
}

impl Limits {
    /// The limits of a thread of the usual tolerance; none where [`Geometry::of`] has none, or
    /// the standard has no such pitch at that diameter.
    #[must_use]
    pub fn of(thread: &Thread) -> Option<Self> {
        let geometry = Geometry::of(thread)?;
        let (allowance, of_crest, of_pitch, of_nut_pitch, of_nut_minor) = match thread.form() {
            ThreadForm::Metric => metric(&geometry)?,
            _ => inch(&geometry),
        };
        Some(Self {
            allowance,
            least_diameter: geometry.diameter - allowance - of_crest,
            least_pitch_diameter: geometry.pitch_diameter - allowance - of_pitch,
            most_nut_pitch_diameter: geometry.pitch_diameter + of_nut_pitch,
            most_nut_minor_diameter: geometry.minor_diameter + of_nut_minor,
        })
    }
}

type Tolerances = (Length, Length, Length, Length, Length);

/// A row of ISO 965-1 in thousandths of a millimetre, for a pitch in millimetres: the gap g,
/// the tolerances of bolt diameter (Td) and of the nut's minor diameter (TD1), and those of
/// the pitch diameters of bolt and nut (Td2, TD2) for the diameters up to each of [`STEPS`];
/// 0 where the standard has none. Grade 6. The printed figures are the standard's formulas
/// rounded to preferred numbers, not always to the nearest.
type ToleranceRow = (f64, [f64; 3], [f64; 4], [f64; 4]);

/// The largest diameters in millimetres of the columns of [`TOLERANCES`].
const STEPS: [f64; 4] = [5.6, 11.2, 22.4, 45.0];

const TOLERANCES: &[ToleranceRow] = &[
    (
        0.5,
        [20.0, 106.0, 140.0],
        [75.0, 85.0, 90.0, 0.0],
        [100.0, 112.0, 118.0, 0.0],
    ),
    (
        0.6,
        [21.0, 125.0, 160.0],
        [85.0, 0.0, 0.0, 0.0],
        [112.0, 0.0, 0.0, 0.0],
    ),
    (
        0.7,
        [22.0, 140.0, 180.0],
        [90.0, 0.0, 0.0, 0.0],
        [118.0, 0.0, 0.0, 0.0],
    ),
    (
        0.75,
        [22.0, 140.0, 190.0],
        [90.0, 100.0, 106.0, 0.0],
        [118.0, 132.0, 140.0, 0.0],
    ),
    (
        0.8,
        [24.0, 150.0, 200.0],
        [95.0, 0.0, 0.0, 0.0],
        [125.0, 0.0, 0.0, 0.0],
    ),
    (
        1.0,
        [26.0, 180.0, 236.0],
        [0.0, 112.0, 118.0, 125.0],
        [0.0, 150.0, 160.0, 170.0],
    ),
    (
        1.25,
        [28.0, 212.0, 265.0],
        [0.0, 118.0, 132.0, 0.0],
        [0.0, 160.0, 180.0, 0.0],
    ),
    (
        1.5,
        [32.0, 236.0, 300.0],
        [0.0, 132.0, 140.0, 150.0],
        [0.0, 180.0, 190.0, 200.0],
    ),
    (
        1.75,
        [34.0, 265.0, 335.0],
        [0.0, 0.0, 150.0, 0.0],
        [0.0, 0.0, 200.0, 0.0],
    ),
    (
        2.0,
        [38.0, 280.0, 375.0],
        [0.0, 0.0, 160.0, 170.0],
        [0.0, 0.0, 212.0, 224.0],
    ),
    (
        2.5,
        [42.0, 335.0, 450.0],
        [0.0, 0.0, 170.0, 0.0],
        [0.0, 0.0, 224.0, 0.0],
    ),
    (
        3.0,
        [48.0, 375.0, 500.0],
        [0.0, 0.0, 0.0, 200.0],
        [0.0, 0.0, 0.0, 265.0],
    ),
];

/// ISO 965-1, grade 6, position g outside and H inside.
fn metric(geometry: &Geometry) -> Option<Tolerances> {
    let (d, p) = (in_mm(geometry.diameter), in_mm(geometry.pitch));
    let micron = |figure: f64| mm(figure / 1000.0);
    let row = TOLERANCES.iter().find(|row| (row.0 - p).abs() < 1e-6)?;
    let step = STEPS.iter().position(|most| d <= *most)?;
    let (of_pitch, of_nut_pitch) = (row.2[step], row.3[step]);
    let [gap, of_crest, of_nut_minor] = row.1;
    (of_pitch > 0.0).then(|| {
        (
            micron(gap),
            micron(of_crest),
            micron(of_pitch),
            micron(of_nut_pitch),
            micron(of_nut_minor),
        )
    })
}

/// ASME B1.1, classes 2A and 2B, at an engagement of one diameter.
fn inch(geometry: &Geometry) -> Tolerances {
    let (d, p) = (in_inches(geometry.diameter), in_inches(geometry.pitch));
    let pitch = 0.0015 * d.cbrt() + 0.0015 * d.sqrt() + 0.015 * p.powf(2.0 / 3.0);
    let minor = if d < 0.25 {
        (0.05 * p.powf(2.0 / 3.0) + 0.03 * p / d - 0.002).min(0.394 * p)
    } else if 1.0 / p < 4.0 {
        0.15 * p
    } else {
        0.25 * p - 0.4 * p * p
    };
    (
        inches(0.3 * pitch),
        inches(0.06 * p.powf(2.0 / 3.0)),
        inches(pitch),
        inches(1.3 * pitch),
        inches(minor),
    )
}

/// A drill for a thread to be tapped.
#[derive(Debug, Clone, PartialEq)]
pub struct TapDrill {
    /// The drill.
    pub drill: Length,
    /// What it is called where it is not sold by millimetres: `5/16 in`, `#7`, `letter F`.
    pub name: Option<&'static str>,
}

/// Inch threads in inches and threads to the inch, with their drills (from memory of the
/// charts that stand in every tap maker's catalogue; 75 per cent of thread).
const INCH_DRILLS: &[(f64, f64, f64, &str)] = &[
    (0.25, 20.0, 0.201, "#7"),
    (0.25, 28.0, 0.213, "#3"),
    (0.3125, 18.0, 0.257, "letter F"),
    (0.3125, 24.0, 0.272, "letter I"),
    (0.375, 16.0, 0.3125, "5/16 in"),
    (0.375, 24.0, 0.332, "letter Q"),
    (0.4375, 14.0, 0.368, "letter U"),
    (0.4375, 20.0, 0.390_625, "25/64 in"),
    (0.5, 13.0, 0.421_875, "27/64 in"),
    (0.5, 20.0, 0.453_125, "29/64 in"),
    (0.5625, 12.0, 0.484_375, "31/64 in"),
    (0.5625, 18.0, 0.515_625, "33/64 in"),
    (0.625, 11.0, 0.531_25, "17/32 in"),
    (0.625, 18.0, 0.578_125, "37/64 in"),
    (0.75, 10.0, 0.656_25, "21/32 in"),
    (0.75, 16.0, 0.6875, "11/16 in"),
];

/// Clearance holes of ISO 273:1979, fine, medium, coarse, in millimetres. Copies of the
/// table were seen up to M10, and for medium beyond; the rest is from memory.
const CLEARANCE: &[(f64, [f64; 3])] = &[
    (3.0, [3.2, 3.4, 3.6]),
    (3.5, [3.7, 3.9, 4.2]),
    (4.0, [4.3, 4.5, 4.8]),
    (4.5, [4.8, 5.0, 5.3]),
    (5.0, [5.3, 5.5, 5.8]),
    (6.0, [6.4, 6.6, 7.0]),
    (7.0, [7.4, 7.6, 8.0]),
    (8.0, [8.4, 9.0, 10.0]),
    (10.0, [10.5, 11.0, 12.0]),
    (12.0, [13.0, 13.5, 14.5]),
    (14.0, [15.0, 15.5, 16.5]),
    (16.0, [17.0, 17.5, 18.5]),
    (18.0, [19.0, 20.0, 21.0]),
    (20.0, [21.0, 22.0, 24.0]),
    (22.0, [23.0, 24.0, 26.0]),
    (24.0, [25.0, 26.0, 28.0]),
];

/// Clearance holes for a bolt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clearance {
    /// Close: for what must lie true.
    pub fine: Length,
    /// The usual one.
    pub medium: Length,
    /// Wide: for rough work.
    pub coarse: Length,
}

impl Geometry {
    /// The drill before the tap: ISO 2306 for metric threads, the inch charts for inch ones;
    /// none for inch threads that the charts do not have.
    #[must_use]
    pub fn tap_drill(&self) -> Option<TapDrill> {
        let near = |a: f64, b: f64| (a - b).abs() < 1e-6;
        let (d, p) = (in_mm(self.diameter), in_mm(self.pitch));
        if self.is_inch() {
            let (d, n) = (in_inches(self.diameter), 1.0 / in_inches(self.pitch));
            let row = INCH_DRILLS
                .iter()
                .find(|row| near(row.0, d) && (row.1 - n).abs() < 1e-3)?;
            return Some(TapDrill {
                drill: inches(row.2),
                name: Some(row.3),
            });
        }
        // Of a pitch of a millimetre and more a tenth is as fine as drills are listed (ISO 2306,
        // in copies), and half of one goes up: 6.75 to 6.8. Only M12 has 10.2 for 10.25. Of finer
        // pitches half a tenth is kept: 5.25.
        let steps = if p < 1.0 - 1e-6 { 100.0 } else { 10.0 };
        let drill = match near(d, 12.0) && near(p, 1.75) {
            true => 10.2,
            false => ((d - p) * steps + 1e-6).round() / steps,
        };
        Some(TapDrill {
            drill: mm(drill),
            name: None,
        })
    }

    /// The holes that a metric bolt of an ordinary size goes through (ISO 273).
    #[must_use]
    pub fn clearance(&self) -> Option<Clearance> {
        if self.is_inch() {
            return None;
        }
        let d = in_mm(self.diameter);
        let row = CLEARANCE.iter().find(|row| (row.0 - d).abs() < 1e-6)?;
        let [fine, medium, coarse] = row.1.map(mm);
        Some(Clearance {
            fine,
            medium,
            coarse,
        })
    }

    /// Whether it is an inch thread.
    #[must_use]
    pub fn is_inch(&self) -> bool {
        self.form == ThreadForm::Unified
    }
}
