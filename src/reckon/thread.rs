//! Threads as they are written on bags, in books and on drawings.
//!
//! | written | thread | published in |
//! | --- | --- | --- |
//! | `M10x1.25`, `M10`, `M10x1.25-6g`, `M10x1.25-LH` | ISO metric | ISO 965-1 (notation), ISO 261 and ISO 262 (sizes and pitches) |
//! | `3/8-16UNC`, `1/4-28 UNF`, `#10-32 UNF`, `3/8-16 UNC-2A-LH` | unified inch | ASME B1.1 |
//! | `G1/4`, `G1/4A`, `1/4 BSP`, `1/4 BSPP` | parallel pipe | ISO 228-1 |
//! | `Rp 1/8`, `R1/8`, `Rc 1/8`, `1/8 BSPT` | pipe, sealing in the thread | ISO 7-1 |
//! | `1/8-27NPT`, `1/8 NPT`, `1/8-27 NPTF` | American taper pipe | ASME B1.20.1, B1.20.3 |
//! | `1/2 BSW`, `3/8-20 BSF` | Whitworth | BS 84 |
//! | `2 BA`, `2BA` | British Association | BS 93 |
//!
//! The texts of the standards were not seen. Copies of their tables were, in
//! makers' and dealers' sheets: the coarse pitches of M5 to M16,
//! unified sizes up to an inch, Whitworth, American pipe, and pipe from 1/8 to 1.
//! The rule of the British Association's sizes was seen in several. All else is
//! from memory.
//!
//! The reader is strict where two mechanics could cut two different threads
//! (`3/8-16` is UNC as well as Whitworth) and free where they could not (blanks,
//! `×`). A pitch or a count of threads that no such size has is a slip of the
//! pen. Whether a thread suits its hole is not asked here.

use thiserror::Error;

use super::measure::{Length, mm};

/// The longest text that is read as a thread, in characters.
pub const LONGEST: usize = 60;

const INCH: f64 = 25.4;

/// A thread; it keeps the text that it was read from.
#[derive(Debug, Clone, PartialEq)]
pub struct Thread {
    text: String,
    form: ThreadForm,
    diameter: f64,
    pitch: f64,
    left_hand: bool,
}

/// Whose thread it is: two of different forms never belong together, whatever
/// their sizes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ThreadForm {
    /// ISO metric.
    Metric,
    /// Unified inch.
    Unified,
    /// Whitworth, coarse or fine.
    Whitworth,
    /// British Association.
    Association,
    /// Parallel pipe, sealed beside the thread.
    PipeParallel,
    /// Pipe that seals in the thread: taper outside, taper or parallel inside.
    PipeTaper,
    /// American pipe that seals in the thread.
    AmericanPipe,
}

impl Thread {
    /// Reads a thread.
    ///
    /// # Errors
    ///
    /// [`ThreadError`], one plain sentence each.
    pub fn parse(text: &str) -> Result<Self, ThreadError> {
        read(text).map_err(|error| match error {
            ThreadError::NoThread { written, .. } => ThreadError::NoThread {
                instead: mended(&written),
                written,
            },
            other => other,
        })
    }

    /// The text as written.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Whose thread it is.
    #[must_use]
    pub fn form(&self) -> ThreadForm {
        self.form
    }

    /// Across the crests of the external thread: 10 mm for `M10`, 13.157 mm for
    /// `G1/4`. Of a taper thread, that of the pipe or gauge plane.
    #[must_use]
    pub fn diameter(&self) -> Length {
        mm(self.diameter)
    }

    /// From crest to crest; where only a size is written, the pitch that the
    /// standard gives it (1.5 mm for `M10`).
    #[must_use]
    pub fn pitch(&self) -> Length {
        mm(self.pitch)
    }

    /// Whether two are the same thread: one goes into the other. `M10` is `M10x1.5`; a
    /// tolerance class behind it does not count.
    #[must_use]
    pub fn goes_with(&self, other: &Self) -> bool {
        self.form == other.form
            && same(self.diameter, other.diameter)
            && same(self.pitch, other.pitch)
            && self.left_hand == other.left_hand
    }

    /// Whether it is screwed in against the clock.
    #[must_use]
    pub fn left_hand(&self) -> bool {
        self.left_hand
    }
}

/// Why a text is not a thread. `instead` holds the whole thread as it should
/// be written, where that can be told.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ThreadError {
    /// Nothing that is known here, or a slip in writing.
    #[error("`{written}` is no thread; write it as in `M10x1.25`, `3/8-16UNC` or `G1/4`")]
    NoThread {
        /// The text.
        written: String,
        /// The thread it may have been meant as.
        instead: Option<String>,
    },
    /// An `x` with no pitch behind it.
    #[error(
        "`{written}` has no pitch behind the x; write it as in `M10x1.25`, or no x for the coarse one"
    )]
    NoPitch {
        /// The thread.
        written: String,
    },
    /// The word for any pitch but the coarse one.
    #[error(
        "`{size} fine` does not say its pitch, and a size may have several fine ones; measure it, and write it as in `M10x1.25`"
    )]
    Fine {
        /// The size.
        size: String,
    },
    /// A pitch that no metric thread of that size has.
    #[error("`{pitch}` is no pitch of `{size}`; write the pitch in millimetres, as in `M10x1.25`")]
    Pitch {
        /// The pitch.
        pitch: String,
        /// The size.
        size: String,
        /// The size alone, where the figure is more likely a length.
        instead: Option<String>,
    },
    /// A size that the standard does not have, so that its pitch is not known.
    #[error("there is no {series} thread of size `{size}`; look at the size again")]
    Size {
        /// The size.
        size: String,
        /// The series.
        series: String,
    },
    /// An inch size with no series.
    #[error("`{written}` does not say whose thread it is; write it as in `3/8-16UNC` or `3/8 BSW`")]
    NoSeries {
        /// The thread.
        written: String,
    },
    /// A count of threads that does not go with the series.
    #[error(
        "`{size} {series}` has {right} threads to the inch, and not {written}; mend one of them"
    )]
    Count {
        /// The size.
        size: String,
        /// The series.
        series: String,
        /// The count that goes with them.
        right: String,
        /// The count that is written.
        written: String,
    },
    /// A length behind the thread.
    #[error("`{written}` goes on with a length; it has a key of its own, `length`")]
    Length {
        /// The text.
        written: String,
        /// The thread alone.
        instead: Option<String>,
    },
}

impl ThreadError {
    /// The whole thread to write instead, where it can be told; it is itself
    /// accepted.
    #[must_use]
    pub fn suggestion(&self) -> Option<String> {
        match self {
            Self::NoThread { instead, .. }
            | Self::Pitch { instead, .. }
            | Self::Length { instead, .. } => instead.clone(),
            Self::NoPitch { .. }
            | Self::Fine { .. }
            | Self::Size { .. }
            | Self::NoSeries { .. }
            | Self::Count { .. } => None,
        }
    }
}

/// Coarse pitches in millimetres (ISO 261).
const COARSE: &[(f64, f64)] = &[
    (1.0, 0.25),
    (1.2, 0.25),
    (1.4, 0.3),
    (1.6, 0.35),
    (1.8, 0.35),
    (2.0, 0.4),
    (2.2, 0.45),
    (2.5, 0.45),
    (3.0, 0.5),
    (3.5, 0.6),
    (4.0, 0.7),
    (4.5, 0.75),
    (5.0, 0.8),
    (6.0, 1.0),
    (7.0, 1.0),
    (8.0, 1.25),
    (9.0, 1.25),
    (10.0, 1.5),
    (11.0, 1.5),
    (12.0, 1.75),
    (14.0, 2.0),
    (16.0, 2.0),
    (18.0, 2.5),
    (20.0, 2.5),
    (22.0, 2.5),
    (24.0, 3.0),
    (27.0, 3.0),
    (30.0, 3.5),
    (33.0, 3.5),
    (36.0, 4.0),
    (39.0, 4.0),
    (42.0, 4.5),
    (45.0, 4.5),
    (48.0, 5.0),
    (52.0, 5.0),
    (56.0, 5.5),
    (60.0, 5.5),
    (64.0, 6.0),
    (68.0, 6.0),
];

/// All pitches in millimetres that a metric thread can have (ISO 261), and 0.9,
/// which M5 had before.
const PITCHES: &[f64] = &[
    0.2, 0.25, 0.3, 0.35, 0.4, 0.45, 0.5, 0.6, 0.7, 0.75, 0.8, 0.9, 1.0, 1.25, 1.5, 1.75, 2.0, 2.5,
    3.0, 3.5, 4.0, 4.5, 5.0, 5.5, 6.0, 8.0,
];

/// The largest metric thread of ISO 261, in millimetres.
const LARGEST: f64 = 300.0;

/// Unified sizes in inches with their threads to the inch: coarse, fine, extra
/// fine; 0 for none (ASME B1.1). Sizes by number come before.
const UNIFIED: &[(f64, [f64; 3])] = &[
    (0.060, [0.0, 80.0, 0.0]),
    (0.073, [64.0, 72.0, 0.0]),
    (0.086, [56.0, 64.0, 0.0]),
    (0.099, [48.0, 56.0, 0.0]),
    (0.112, [40.0, 48.0, 0.0]),
    (0.125, [40.0, 44.0, 0.0]),
    (0.138, [32.0, 40.0, 0.0]),
    (0.164, [32.0, 36.0, 0.0]),
    (0.190, [24.0, 32.0, 0.0]),
    (0.216, [24.0, 28.0, 32.0]),
    (0.25, [20.0, 28.0, 32.0]),
    (0.3125, [18.0, 24.0, 32.0]),
    (0.375, [16.0, 24.0, 32.0]),
    (0.4375, [14.0, 20.0, 28.0]),
    (0.5, [13.0, 20.0, 28.0]),
    (0.5625, [12.0, 18.0, 24.0]),
    (0.625, [11.0, 18.0, 24.0]),
    (0.6875, [0.0, 0.0, 24.0]),
    (0.75, [10.0, 16.0, 20.0]),
    (0.8125, [0.0, 0.0, 20.0]),
    (0.875, [9.0, 14.0, 20.0]),
    (0.9375, [0.0, 0.0, 20.0]),
    (1.0, [8.0, 12.0, 20.0]),
    (1.125, [7.0, 12.0, 18.0]),
    (1.25, [7.0, 12.0, 18.0]),
    (1.375, [6.0, 12.0, 18.0]),
    (1.5, [6.0, 12.0, 18.0]),
    (1.75, [5.0, 0.0, 0.0]),
    (2.0, [4.5, 0.0, 0.0]),
];

/// Whitworth sizes in inches with their threads to the inch: coarse, fine
/// (BS 84).
const WHITWORTH: &[(f64, [f64; 2])] = &[
    (0.0625, [60.0, 0.0]),
    (0.09375, [48.0, 0.0]),
    (0.125, [40.0, 0.0]),
    (0.15625, [32.0, 0.0]),
    (0.1875, [24.0, 32.0]),
    (0.21875, [24.0, 28.0]),
    (0.25, [20.0, 26.0]),
    (0.28125, [0.0, 26.0]),
    (0.3125, [18.0, 22.0]),
    (0.375, [16.0, 20.0]),
    (0.4375, [14.0, 18.0]),
    (0.5, [12.0, 16.0]),
    (0.5625, [12.0, 16.0]),
    (0.625, [11.0, 14.0]),
    (0.6875, [11.0, 14.0]),
    (0.75, [10.0, 12.0]),
    (0.875, [9.0, 11.0]),
    (1.0, [8.0, 10.0]),
    (1.125, [7.0, 9.0]),
    (1.25, [7.0, 9.0]),
    (1.375, [6.0, 8.0]),
    (1.5, [6.0, 8.0]),
    (1.75, [5.0, 7.0]),
    (2.0, [4.5, 7.0]),
];

/// Pipe sizes in inches, threads to the inch, across the crests in millimetres
/// (ISO 228-1, ISO 7-1).
const PIPE: &[(f64, f64, f64)] = &[
    (0.0625, 28.0, 7.723),
    (0.125, 28.0, 9.728),
    (0.25, 19.0, 13.157),
    (0.375, 19.0, 16.662),
    (0.5, 14.0, 20.955),
    (0.625, 14.0, 22.911),
    (0.75, 14.0, 26.441),
    (0.875, 14.0, 30.201),
    (1.0, 11.0, 33.249),
    (1.125, 11.0, 37.897),
    (1.25, 11.0, 41.910),
    (1.5, 11.0, 47.803),
    (1.75, 11.0, 53.746),
    (2.0, 11.0, 59.614),
];

/// American pipe sizes in inches, threads to the inch, across the pipe in
/// inches (ASME B1.20.1).
const AMERICAN_PIPE: &[(f64, f64, f64)] = &[
    (0.0625, 27.0, 0.3125),
    (0.125, 27.0, 0.405),
    (0.25, 18.0, 0.540),
    (0.375, 18.0, 0.675),
    (0.5, 14.0, 0.840),
    (0.75, 14.0, 1.050),
    (1.0, 11.5, 1.315),
    (1.25, 11.5, 1.660),
    (1.5, 11.5, 1.900),
    (2.0, 11.5, 2.375),
];

/// Threads sold by the inch: what the letters behind the size say.
#[derive(Clone, Copy)]
enum Series {
    Unified(Option<usize>),
    Whitworth(usize),
    Association,
    Pipe(ThreadForm),
}

impl Series {
    fn of(word: &str) -> Option<Self> {
        Some(match word {
            "UNC" | "UNRC" | "UNJC" => Self::Unified(Some(0)),
            "UNF" | "UNRF" | "UNJF" => Self::Unified(Some(1)),
            "UNEF" | "UNREF" | "UNJEF" => Self::Unified(Some(2)),
            "UN" | "UNR" | "UNJ" | "UNS" | "UNRS" | "UNJS" => Self::Unified(None),
            "BSW" => Self::Whitworth(0),
            "BSF" => Self::Whitworth(1),
            "BA" => Self::Association,
            "BSP" | "BSPP" => Self::Pipe(ThreadForm::PipeParallel),
            "BSPT" => Self::Pipe(ThreadForm::PipeTaper),
            "NPT" | "NPTF" => Self::Pipe(ThreadForm::AmericanPipe),
            _ => return None,
        })
    }
}

fn read(text: &str) -> Result<Thread, ThreadError> {
    let written = text.trim();
    let no_thread = || ThreadError::NoThread {
        written: written.chars().take(LONGEST).collect(),
        instead: None,
    };
    if written.is_empty() || written.chars().count() > LONGEST {
        return Err(no_thread());
    }
    let (body, left_hand) = hand(written);
    let (form, diameter, pitch) = if let Some(rest) = body.strip_prefix('M') {
        let (diameter, pitch) =
            metric(written, rest.trim_start()).unwrap_or_else(|| Err(no_thread()))?;
        (ThreadForm::Metric, diameter, pitch)
    } else if let Some((form, rest)) = pipe_letter(body) {
        pipe_by_letter(form, rest).unwrap_or_else(|| Err(no_thread()))?
    } else {
        inch(written, body).unwrap_or_else(|| Err(no_thread()))?
    };
    Ok(Thread {
        text: text.to_owned(),
        form,
        diameter,
        pitch,
        left_hand,
    })
}

/// Takes the hand off the end.
fn hand(text: &str) -> (&str, bool) {
    for (ending, left) in [("LH", true), ("RH", false)] {
        if let Some(body) = text.strip_suffix(ending)
            && body.ends_with(['-', ' '])
        {
            return (body.trim_end_matches(['-', ' ']), left);
        }
    }
    (text, false)
}

type Measures = Result<(f64, f64), ThreadError>;

/// What follows the M: diameter, pitch, tolerance class. `None` where it is no
/// thread at all.
fn metric(written: &str, rest: &str) -> Option<Measures> {
    let (size, rest) = figure(rest)?;
    let diameter: f64 = size.parse().ok()?;
    let size = format!("M{size}");
    let no_size = || ThreadError::Size {
        size: size.clone(),
        series: "metric".to_owned(),
    };
    if !(1.0..=LARGEST).contains(&diameter) {
        return Some(Err(no_size()));
    }
    let coarse = COARSE
        .iter()
        .find(|(one, _)| same(*one, diameter))
        .map(|(_, pitch)| *pitch);
    let behind = rest.trim_start();
    let Some(behind) = behind.strip_prefix(['x', 'X', '×']) else {
        if behind.trim().eq_ignore_ascii_case("fine") {
            return Some(Err(ThreadError::Fine { size }));
        }
        tolerance(rest)?;
        return Some(coarse.map(|pitch| (diameter, pitch)).ok_or_else(no_size));
    };
    if behind.trim().is_empty() {
        return Some(Err(ThreadError::NoPitch {
            written: written.to_owned(),
        }));
    }
    let (pitch, rest) = figure(behind.trim_start())?;
    let value: f64 = pitch.parse().ok()?;
    // A pitch is about a sixth of its diameter, never as much as a third, and none is
    // coarser than the coarse one.
    let known = |value: f64| {
        PITCHES.iter().any(|one| same(*one, value))
            && value * 3.0 <= diameter.max(3.0)
            && coarse
                .is_none_or(|most| value < most || same(value, most) || was_coarse(diameter, value))
    };
    if !known(value) {
        // With its point lost or a place too far right it is a pitch again; a whole
        // figure may as well be the bolt's length, and then nothing is offered.
        let meant = [10.0, 100.0].map(|by| value / by);
        let meant = meant
            .into_iter()
            .find(|one| known(*one) && *one * 10.0 >= diameter);
        let instead = match meant {
            Some(meant) if pitch.contains('.') => Some(format!("{size}x{meant}")),
            Some(_) => None,
            None => (value >= diameter && coarse.is_some()).then(|| size.clone()),
        };
        return Some(Err(ThreadError::Pitch {
            pitch: pitch.to_owned(),
            instead,
            size,
        }));
    }
    if rest.trim_start().starts_with(['x', 'X', '×']) {
        return Some(Err(ThreadError::Length {
            written: written.to_owned(),
            instead: Some(format!("{size}x{pitch}")),
        }));
    }
    tolerance(rest)?;
    Some(Ok((diameter, value)))
}

/// M5 had 0.9 before ISO 261 gave it 0.8.
fn was_coarse(diameter: f64, pitch: f64) -> bool {
    same(diameter, 5.0) && same(pitch, 0.9)
}

/// `-6g`, `-6H/6g`, `-4h6h`, or nothing.
fn tolerance(rest: &str) -> Option<()> {
    if rest.trim().is_empty() {
        return Some(());
    }
    let class = rest.trim_start().strip_prefix('-')?.trim();
    let grades = |side: &str| {
        let pairs: Vec<char> = side.chars().collect();
        matches!(pairs.len(), 2 | 4)
            && pairs
                .chunks(2)
                .all(|pair| pair[0].is_ascii_digit() && pair[1].is_ascii_alphabetic())
    };
    class.split('/').all(grades).then_some(())
}

fn pipe_letter(text: &str) -> Option<(ThreadForm, &str)> {
    [
        ("G", ThreadForm::PipeParallel),
        ("Rp", ThreadForm::PipeTaper),
        ("Rc", ThreadForm::PipeTaper),
        ("R", ThreadForm::PipeTaper),
    ]
    .into_iter()
    .find_map(|(letter, form)| Some((form, text.strip_prefix(letter)?)))
}

type Whole = Result<(ThreadForm, f64, f64), ThreadError>;

fn pipe_by_letter(form: ThreadForm, rest: &str) -> Option<Whole> {
    let (size, rest) = inches(rest.trim_start())?;
    let class = rest.trim();
    if !(class.is_empty() || form == ThreadForm::PipeParallel && matches!(class, "A" | "B")) {
        return None;
    }
    Some(pipe(&size, form, "pipe").map(|(diameter, count)| (form, diameter, INCH / count)))
}

/// Across the crests in millimetres, and threads to the inch.
fn pipe(size: &Size, form: ThreadForm, series: &str) -> Measures {
    let american = form == ThreadForm::AmericanPipe;
    let table = if american { AMERICAN_PIPE } else { PIPE };
    table
        .iter()
        .find(|(one, ..)| !size.number && same(*one, size.inches))
        .map(|(_, count, across)| (across * if american { INCH } else { 1.0 }, *count))
        .ok_or_else(|| size.unknown(series))
}

/// `3/8-16 UNC-2A`, `1/4 BSP`, `2 BA`.
fn inch(written: &str, text: &str) -> Option<Whole> {
    let (mut size, rest) = inches(text)?;
    let rest = rest.trim_start();
    let (count, rest) = match rest.strip_prefix('-') {
        Some(behind) => {
            let (count, rest) = figure(behind.trim_start())?;
            (Some(count), rest)
        }
        None => (None, rest),
    };
    let rest = rest.trim_start();
    let end = rest
        .find(|c: char| !c.is_ascii_alphabetic())
        .unwrap_or(rest.len());
    let (word, class) = rest.split_at(end);
    if word.is_empty() {
        return rest.is_empty().then(|| {
            Err(ThreadError::NoSeries {
                written: written.to_owned(),
            })
        });
    }
    let series = Series::of(word)?;
    let class = class.trim_start_matches(['-', ' ']);
    let unified = matches!(series, Series::Unified(_));
    if !(class.is_empty() || unified && matches!(class, "1A" | "1B" | "2A" | "2B" | "3A" | "3B")) {
        return None;
    }
    let (form, diameter, right) = match series {
        Series::Unified(column) => {
            size.by_number();
            let row = UNIFIED.iter().find(|(one, _)| same(*one, size.inches));
            let right = match (column, row) {
                (Some(column), Some((_, counts))) => Some(counts[column]).filter(|n| *n > 0.0),
                _ => None,
            };
            if right.is_none() && (column.is_some() || count.is_none()) {
                return Some(Err(size.unknown(word)));
            }
            (ThreadForm::Unified, size.inches * INCH, right)
        }
        Series::Whitworth(column) => {
            let row = WHITWORTH
                .iter()
                .find(|(one, _)| !size.number && same(*one, size.inches))
                .map(|(_, counts)| counts[column])
                .filter(|n| *n > 0.0);
            match row {
                None => return Some(Err(size.unknown(word))),
                right => (ThreadForm::Whitworth, size.inches * INCH, right),
            }
        }
        Series::Association => {
            let Some(number) = size.whole.filter(|n| *n <= 22 && count.is_none()) else {
                return Some(Err(size.unknown(word)));
            };
            // Each pitch is nine tenths of the one before; both are rounded as printed.
            let pitch = 0.9_f64.powi(i32::try_from(number).ok()?);
            let diameter = (6.0 * pitch.powf(1.2) * 10.0).round() / 10.0;
            let pitch = (pitch * 100.0).round() / 100.0;
            return Some(Ok((ThreadForm::Association, diameter, pitch)));
        }
        Series::Pipe(form) => match pipe(&size, form, word) {
            Ok((diameter, right)) => (form, diameter, Some(right)),
            Err(error) => return Some(Err(error)),
        },
    };
    let stated = match count {
        Some(text) => Some(
            text.parse::<f64>()
                .ok()
                .filter(|n| (1.0..=120.0).contains(n))?,
        ),
        None => None,
    };
    match (stated, right) {
        (Some(stated), Some(right)) if !same(stated, right) => Some(Err(ThreadError::Count {
            size: size.text,
            series: word.to_owned(),
            right: right.to_string(),
            written: stated.to_string(),
        })),
        (Some(count), _) | (None, Some(count)) => Some(Ok((form, diameter, INCH / count))),
        (None, None) => None,
    }
}

/// A size in inches, or by number.
struct Size {
    text: String,
    inches: f64,
    /// Whether it is written as a number: `#10`.
    number: bool,
    /// The figure, where it is a plain whole one.
    whole: Option<u32>,
}

impl Size {
    /// Small unified sizes go by number, with or without the sign for it. Size 1
    /// needs the sign, because `1-8` is an inch.
    fn by_number(&mut self) {
        if let Some(number) = self.whole.filter(|n| self.number || *n != 1) {
            self.inches = 0.060 + 0.013 * f64::from(number);
        }
    }

    fn unknown(&self, series: &str) -> ThreadError {
        ThreadError::Size {
            size: self.text.clone(),
            series: series.to_owned(),
        }
    }
}

/// `3/8`, `1 1/8`, `1-1/8`, `0.375`, `3/8"`, `#10`, `No. 10`.
fn inches(text: &str) -> Option<(Size, &str)> {
    let sign = ["#", "No. ", "No.", "No "]
        .iter()
        .find_map(|sign| text.strip_prefix(sign));
    let number = sign.is_some();
    let start = sign.unwrap_or(text);
    let (first, rest) = figure(start)?;
    let value: f64 = first.parse().ok()?;
    let fraction = |rest| -> Option<(f64, &str)> {
        let (above, rest) = figure(rest)?;
        let (below, rest) = figure(str::strip_prefix(rest, '/')?)?;
        let (above, below): (u32, u32) = (above.parse().ok()?, below.parse().ok()?);
        (above < below && below <= 64).then_some((f64::from(above) / f64::from(below), rest))
    };
    let (inches, rest) = if let Some(found) = fraction(start) {
        found
    } else if rest.starts_with('/') {
        return None;
    } else if let Some((more, rest)) = rest.strip_prefix([' ', '-']).and_then(fraction) {
        (value + more, rest)
    } else {
        (value, rest)
    };
    let whole = same(inches, value).then(|| first.parse().ok()).flatten();
    let size = Size {
        text: text[..text.len() - rest.len()].to_owned(),
        inches,
        number,
        whole: whole.filter(|_| !start[..start.len() - rest.len()].contains('/')),
    };
    let rest = rest.strip_prefix(['"', '″']).unwrap_or(rest);
    Some((size, rest))
}

/// Digits with at most one point among them.
fn figure(text: &str) -> Option<(&str, &str)> {
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || c == '.'))
        .unwrap_or(text.len());
    let (figure, rest) = text.split_at(end);
    let digits = figure.chars().filter(char::is_ascii_digit).count();
    let right = (1..=8).contains(&digits) && figure.len() <= digits + 1 && !figure.ends_with('.');
    right.then_some((figure, rest))
}

fn same(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-9
}

/// What a slip of the pen was probably meant as: letters for digits, a comma, a
/// small letter, another sign for the x.
fn mended(written: &str) -> Option<String> {
    // Nothing behind the size is the coarse pitch.
    let sized = match written.rsplit_once(' ') {
        Some((size, word)) if word.eq_ignore_ascii_case("coarse") => size,
        _ => written,
    };
    let mut text: String = sized
        .chars()
        .map(|c| match c {
            'O' | 'o' => '0',
            'l' | 'I' => '1',
            ',' => '.',
            '*' => 'x',
            _ => c,
        })
        .collect();
    if let Some(rest) = text.strip_prefix(['M', 'm']) {
        let rest = rest.replacen('-', "x", usize::from(!rest.contains('x')));
        text = format!("M{rest}");
    }
    let capitals = text.to_ascii_uppercase().replace(" LH", "-LH");
    [text, capitals]
        .into_iter()
        .find(|text| text != written && read(text).is_ok())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::reckon::measure::in_mm;

    fn thread(text: &str) -> Thread {
        Thread::parse(text).unwrap_or_else(|error| panic!("{text}: {error}"))
    }

    #[test]
    fn the_notations_of_the_bench() {
        use ThreadForm as F;
        for (text, form, diameter, pitch) in [
            ("M10x1.25", F::Metric, 10.0, 1.25),
            ("M10", F::Metric, 10.0, 1.5),
            ("M 10", F::Metric, 10.0, 1.5),
            ("M10 x 1.25", F::Metric, 10.0, 1.25),
            ("M10×1", F::Metric, 10.0, 1.0),
            ("M10x1.25-6g", F::Metric, 10.0, 1.25),
            ("M6-6H/6g", F::Metric, 6.0, 1.0),
            ("M5x0.9", F::Metric, 5.0, 0.9),
            ("3/8-16UNC", F::Unified, 9.525, 1.5875),
            ("3/8-16 UNC-2A", F::Unified, 9.525, 1.5875),
            ("1/4-28 UNF", F::Unified, 6.35, 0.907_142_9),
            ("1/4 UNF", F::Unified, 6.35, 0.907_142_9),
            ("#10-32 UNF", F::Unified, 4.826, 0.79375),
            ("10-32 UNF", F::Unified, 4.826, 0.79375),
            ("1-8 UNC", F::Unified, 25.4, 3.175),
            ("1 1/8-7 UNC", F::Unified, 28.575, 3.628_571_4),
            ("1-1/8-7 UNC", F::Unified, 28.575, 3.628_571_4),
            ("1-14 UNS", F::Unified, 25.4, 1.814_285_7),
            ("3/8\"-24 UNF", F::Unified, 9.525, 1.058_333_3),
            ("G1/4", F::PipeParallel, 13.157, 1.336_842_1),
            ("G 1/4 A", F::PipeParallel, 13.157, 1.336_842_1),
            ("1/4 BSP", F::PipeParallel, 13.157, 1.336_842_1),
            ("Rp 1/8", F::PipeTaper, 9.728, 0.907_142_9),
            ("R1/8", F::PipeTaper, 9.728, 0.907_142_9),
            ("1/8-28 BSPT", F::PipeTaper, 9.728, 0.907_142_9),
            ("1/8-27NPT", F::AmericanPipe, 10.287, 0.940_740_7),
            ("1/8 NPTF", F::AmericanPipe, 10.287, 0.940_740_7),
            ("1-11.5 NPT", F::AmericanPipe, 33.401, 2.208_695_7),
            ("1/2 BSW", F::Whitworth, 12.7, 2.116_666_7),
            ("7/32 BSW", F::Whitworth, 5.556_25, 1.058_333_3),
            ("3/8-20 BSF", F::Whitworth, 9.525, 1.27),
            ("0 BA", F::Association, 6.0, 1.0),
            ("2BA", F::Association, 4.7, 0.81),
            ("4 BA", F::Association, 3.6, 0.66),
        ] {
            let read = thread(text);
            assert_eq!(read.form(), form, "{text}");
            assert!(
                (in_mm(read.diameter()) - diameter).abs() < 1e-6,
                "{text}: {read:?}"
            );
            assert!(
                (in_mm(read.pitch()) - pitch).abs() < 1e-6,
                "{text}: {read:?}"
            );
            assert_eq!(read.text(), text);
            assert!(!read.left_hand(), "{text}");
        }
        for left in ["M10x1.25-LH", "M14 LH", "3/8-16UNC-2A-LH", "G1/4-LH"] {
            assert!(thread(left).left_hand(), "{left}");
        }
    }

    #[test]
    fn a_mistake_is_one_sentence_and_a_correction() {
        for (text, message, instead) in [
            (
                "banana",
                "`banana` is no thread; write it as in `M10x1.25`, `3/8-16UNC` or `G1/4`",
                None,
            ),
            (
                "M1Ox1.25",
                "`M1Ox1.25` is no thread; write it as in `M10x1.25`, `3/8-16UNC` or `G1/4`",
                Some("M10x1.25"),
            ),
            (
                "m8",
                "`m8` is no thread; write it as in `M10x1.25`, `3/8-16UNC` or `G1/4`",
                Some("M8"),
            ),
            (
                "M10x1,25",
                "`M10x1,25` is no thread; write it as in `M10x1.25`, `3/8-16UNC` or `G1/4`",
                Some("M10x1.25"),
            ),
            (
                "M10-1.25",
                "`M10-1.25` is no thread; write it as in `M10x1.25`, `3/8-16UNC` or `G1/4`",
                Some("M10x1.25"),
            ),
            (
                "1/4-28 unf",
                "`1/4-28 unf` is no thread; write it as in `M10x1.25`, `3/8-16UNC` or `G1/4`",
                Some("1/4-28 UNF"),
            ),
            (
                "M8 fine",
                "`M8 fine` does not say its pitch, and a size may have several fine ones; measure it, and write it as in `M10x1.25`",
                None,
            ),
            (
                "M8 coarse",
                "`M8 coarse` is no thread; write it as in `M10x1.25`, `3/8-16UNC` or `G1/4`",
                Some("M8"),
            ),
            (
                "M10x",
                "`M10x` has no pitch behind the x; write it as in `M10x1.25`, or no x for the coarse one",
                None,
            ),
            (
                "M10x1.2",
                "`1.2` is no pitch of `M10`; write the pitch in millimetres, as in `M10x1.25`",
                None,
            ),
            (
                "M6x3",
                "`3` is no pitch of `M6`; write the pitch in millimetres, as in `M10x1.25`",
                None,
            ),
            (
                "M10x2",
                "`2` is no pitch of `M10`; write the pitch in millimetres, as in `M10x1.25`",
                None,
            ),
            (
                "M10x12.5",
                "`12.5` is no pitch of `M10`; write the pitch in millimetres, as in `M10x1.25`",
                Some("M10x1.25"),
            ),
            (
                "M10x125",
                "`125` is no pitch of `M10`; write the pitch in millimetres, as in `M10x1.25`",
                None,
            ),
            (
                "M10x70",
                "`70` is no pitch of `M10`; write the pitch in millimetres, as in `M10x1.25`",
                Some("M10"),
            ),
            (
                "M10x1.25x70",
                "`M10x1.25x70` goes on with a length; it has a key of its own, `length`",
                Some("M10x1.25"),
            ),
            (
                "M13",
                "there is no metric thread of size `M13`; look at the size again",
                None,
            ),
            (
                "M0",
                "there is no metric thread of size `M0`; look at the size again",
                None,
            ),
            (
                "3/8-16",
                "`3/8-16` does not say whose thread it is; write it as in `3/8-16UNC` or `3/8 BSW`",
                None,
            ),
            (
                "3/8-24UNC",
                "`3/8 UNC` has 16 threads to the inch, and not 24; mend one of them",
                None,
            ),
            (
                "3/7 UNC",
                "there is no UNC thread of size `3/7`; look at the size again",
                None,
            ),
            (
                "G3/16",
                "there is no pipe thread of size `3/16`; look at the size again",
                None,
            ),
            (
                "40 BA",
                "there is no BA thread of size `40`; look at the size again",
                None,
            ),
        ] {
            let error = Thread::parse(text).expect_err(text);
            assert_eq!(error.to_string(), message, "{text}");
            assert_eq!(error.suggestion().as_deref(), instead, "{text}");
        }
        for none in [
            "",
            " ",
            "M",
            "Mx1",
            "M10.x1",
            "M10x1.25 zinc",
            "3/0 UNC",
            "1/4",
            "G",
            "UNC",
            "M10-LHLH",
            "½ BSW",
        ] {
            assert!(Thread::parse(none).is_err(), "{none}");
        }
    }

    proptest! {
        #[test]
        fn any_text_is_read_or_refused(
            text in "(M|G|R|Rp|#|No\\. )?[0-9./ ]{0,5}[xX×-]?[0-9.]{0,4} ?(UNC|UNF|BSP|NPT|BA|LH)?\\PC{0,6}"
        ) {
            match Thread::parse(&text) {
                Ok(read) => {
                    prop_assert!(read.diameter().is_finite() && read.diameter() > mm(0.0));
                    prop_assert!(read.pitch().is_finite() && read.pitch() > mm(0.0));
                }
                Err(error) => if let Some(instead) = error.suggestion() {
                    prop_assert!(Thread::parse(&instead).is_ok(), "{} -> {}", text, instead);
                },
            }
        }
    }
}
