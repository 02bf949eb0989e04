//! Which hardware it is, as text, as JSON (`schema/identify.json`, `schema/bucket.json`) and
//! of a bucket as CSV.

use std::collections::{BTreeMap, BTreeSet};

use schemars::JsonSchema;
use serde::Serialize;

use super::rows::{CsvError, harmless};
use super::safe::{safe, safe_json};
use super::text::{TIE, columns, line, number};
use crate::identify::{
    Answer, Bucket, Candidate, Lies, Open, Part, Parting, Piece, Reading, Seen, Slots, Stranger,
    Tolerances, Verdict, Why, lies, open_holes, shown,
};
use crate::model::common::Critical;
use crate::near::spoken;
use crate::present::Worked;
use crate::reckon::heads::Width;
use crate::reckon::measure::{Length, in_inches, in_mm};
use crate::reckon::quantity::Quantity;

/// More that fits than this is named, and not told in full.
const IN_FULL: usize = 6;
/// What is said where a joint is critical that calls for what is told.
const CRITICAL: &str = "WARNING: somebody can be hurt where a joint is called critical, and what was measured does not say what a piece stands. Look at the marks on its head, and in the maker's manual, before it goes in.";
/// More pieces than this are told by their sorts.
const MANY: usize = 40;

/// The answer for people.
#[must_use]
pub fn text(
    worked: Worked<'_>,
    readings: &[Reading],
    tolerances: &Tolerances,
    answer: &Answer<'_>,
) -> String {
    let measured = readings.iter().map(|reading| {
        let mut said = vec![reading.text().replace(' ', TIE)];
        if let Some(width) = within(reading, tolerances) {
            said.push(format!("within {}", shown(width).replace(' ', TIE)));
        }
        format!("{} {}", reading.measure.word(), said.join(", "))
    });
    let mut text = tied(&format!(
        "measured: {}",
        measured.collect::<Vec<_>>().join("; ")
    ));
    let (all, head) = match answer.fits.is_empty() {
        false => (&answer.fits, "fits"),
        true => (&answer.nearest, "does not fit"),
    };
    if answer.fits.is_empty() {
        text.push_str(&line(match answer.nearest.is_empty() {
            true => "Nothing fits, and no record states anything of what was measured.",
            false => "Nothing fits. The nearest, and by how much each misses:",
        }));
    }
    for one in all.iter().take(IN_FULL) {
        text.push_str(&told(worked, one, head));
    }
    let more: Vec<&str> = all.iter().skip(IN_FULL).map(|one| one.id).collect();
    if !more.is_empty() {
        let more = format!("{} more fit: {}", more.len(), more.join(", "));
        text.push_str(&format!("\n{}", line(&more)));
    }
    if !answer.alike.is_empty() {
        let fit = format!(
            "{} fit alike. {}",
            answer.alike.len(),
            parted(answer.parting.as_ref())
        );
        text.push_str(&format!("\n{}", tied(&fit)));
    }
    if !answer.widths.is_empty() {
        let widths = format!(
            "That width across the flats belongs to {}. It does not tell the thread.",
            by_size(&answer.widths)
        );
        text.push_str(&format!("\n{}", line(&widths)));
    }
    let mut told = all.iter().take(IN_FULL);
    if told.any(|one| {
        let open = open_holes(worked.present, one.id);
        open.iter().any(|hole| hole.critical.is_some())
    }) {
        text.push_str(&format!("\n{}", line(CRITICAL)));
    }
    text
}

/// How far a reading may lie off, if it is a figure.
fn within(reading: &Reading, tolerances: &Tolerances) -> Option<Length> {
    let quantity = reading.quantity()?;
    Some(tolerances.of(reading.measure, Some(quantity)))
}

/// One record beside what was measured, where it lies, and what is open for it.
fn told(worked: Worked<'_>, one: &Candidate<'_>, how: &str) -> String {
    let name = one.record.name.as_ref();
    let name = name.map_or_else(String::new, |name| format!(" ({name})"));
    let mut text = format!("\n{}", line(&format!("{}{name} {how}", one.id)));
    let rows: Vec<[String; 4]> = one
        .seen
        .iter()
        .map(|seen| {
            [
                format!("    {}", seen.measure.word()),
                seen.is.text().unwrap_or_else(|| "-".to_owned()),
                seen.reading.text().to_owned(),
                off(seen),
            ]
        })
        .collect();
    text.push_str(&columns(["    measure", "is", "measured", "off by"], &rows));
    let lies = lies(worked.folder, worked.present, one.id);
    let mut rows = vec![["    lies".to_owned(), where_it_lies(&lies)]];
    let open = open_holes(worked.present, one.id);
    let open = match open.is_empty() {
        true => "no hole that is open calls for it".to_owned(),
        false => by_joint(&open).join(". "),
    };
    rows.push(["    open".to_owned(), open]);
    text.push_str(&columns(["", ""], &rows));
    text
}

/// By how much a reading misses, and how much that may be.
fn off(seen: &Seen<'_>) -> String {
    match (seen.verdict, seen.off, seen.tolerance) {
        (Verdict::NotStated, ..) => "the record does not state it".to_owned(),
        (Verdict::Never, ..) => "no such piece has it".to_owned(),
        // Less than a vernier tells is nothing.
        (Verdict::Fits, Some(off), _) if in_mm(off) < 0.005 => "nothing".to_owned(),
        (verdict, Some(off), Some(within)) => {
            let mut text = shown(off);
            let unit = seen.reading.quantity().map(Quantity::unit);
            if unit.is_some_and(|unit| matches!(unit.name(), "in" | "thou")) {
                text.push_str(&format!(" ({:.0} thou)", in_inches(off) * 1000.0));
            }
            if verdict == Verdict::Misses {
                text.push_str(&format!(", and only {} may be", shown(within)));
            }
            text.replace(' ', TIE).replace(&format!(",{TIE}"), ", ")
        }
        (Verdict::Misses, ..) => "it is another".to_owned(),
        (Verdict::Fits, ..) => "nothing".to_owned(),
    }
}

fn where_it_lies(lies: &Lies<'_>) -> String {
    let mut said = Vec::new();
    if let Some(kept_in) = lies.kept_in {
        // `in the bell` and `on the hubs` say it themselves.
        let says_it = ["in ", "on ", "with "]
            .iter()
            .any(|word| kept_in.starts_with(word));
        said.push(format!(
            "kept {}{kept_in}",
            if says_it { "" } else { "in " }
        ));
    }
    if let Some(job) = lies.plated_in {
        said.push(format!("came back with {job}"));
    }
    for away in &lies.away {
        said.push(match away.count {
            Some(count) => format!("{count} away with {}", away.job),
            None => format!("away with {}", away.job),
        });
    }
    if let Some(have) = lies.have {
        said.push(match lies.used {
            Some(used) => format!("{have} in all, {used} of them used"),
            None => format!("{have} in all"),
        });
    }
    if lies.in_holes > 0 {
        said.push(format!("tight in {}", number(lies.in_holes, "hole")));
    }
    match said.is_empty() {
        true => "nothing is written of where it lies".to_owned(),
        false => said.join("; "),
    }
}

/// Open holes by their joints, and in each those together of which the same is said.
fn by_joint(open: &[Open]) -> Vec<String> {
    let mut joints: BTreeMap<String, BTreeMap<String, Vec<&str>>> = BTreeMap::new();
    for one in open {
        let mut said = Vec::new();
        match one.part {
            Part::In => {}
            Part::Nut => said.push("the nut".to_owned()),
            Part::Washer => said.push("a washer".to_owned()),
        }
        if one.for_now {
            said.push("tight for now".to_owned());
        }
        if let Some(holds) = one.holds {
            said.push(format!("holds {}", holds.word()));
        }
        let critical = one
            .critical
            .map_or_else(String::new, |what| format!(" (critical: {})", what.word()));
        let holes = joints
            .entry(format!("{}{critical}", one.joint))
            .or_default();
        holes.entry(said.join(", ")).or_default().push(&one.hole);
    }
    let joint = |(joint, holes): (String, BTreeMap<String, Vec<&str>>)| {
        let holes = holes
            .into_iter()
            .map(|(said, holes)| match said.is_empty() {
                true => holes.join(", "),
                false => format!("{} ({said})", holes.join(", ")),
            });
        format!("{joint}: {}", holes.collect::<Vec<_>>().join("; "))
    };
    joints.into_iter().map(joint).collect()
}

/// What to measure to part what fits alike, and what it says.
fn parted(parting: Option<&Parting<'_>>) -> String {
    let Some(parting) = parting else {
        return "Nothing that is written tells them apart.".to_owned();
    };
    let mut says: BTreeMap<Option<&str>, Vec<&str>> = BTreeMap::new();
    for (id, text) in &parting.says {
        says.entry(text.as_deref()).or_default().push(id);
    }
    let mut said = Vec::new();
    let unsaid = says.remove(&None);
    for (text, ids) in says {
        let text = text.unwrap_or_default().replace(' ', TIE);
        said.push(format!("{text} is {}", spoken(&ids, "or")));
    }
    if let Some(ids) = unsaid {
        said.push(format!("{} may be any", spoken(&ids, "and")));
    }
    let rest = match parting.all {
        true => "",
        false => " That does not part all of them.",
    };
    let asked = match parting.again {
        true => format!("measure {} again, by vernier", parting.measure.asked()),
        false => format!("look at {}", parting.measure.asked()),
    };
    format!("To part them, {asked}: {}.{rest}", said.join(", "))
}

/// A line of which figures stay with their units.
fn tied(text: &str) -> String {
    line(text).replace(TIE, " ")
}

/// Sizes with the standards that give them a width.
fn by_size(widths: &[Width]) -> String {
    let mut sizes: Vec<(&str, Vec<&str>)> = Vec::new();
    for one in widths {
        match sizes.last_mut() {
            Some((size, names)) if *size == one.size => names.push(one.standard.name()),
            _ => sizes.push((&one.size, vec![one.standard.name()])),
        }
    }
    let sizes: Vec<String> = sizes
        .into_iter()
        .map(|(size, names)| format!("{size} ({})", names.join("; ")))
        .collect();
    spoken(&sizes, "and")
}

/// What became of a bucket, for people.
#[must_use]
pub fn bucket_text(pieces: &[Piece], slots: &Slots, bucket: &Bucket<'_>) -> String {
    let label = |number: usize| pieces[number].label.clone();
    let mut text = String::new();
    if pieces.len() > MANY {
        let mut sorts: BTreeMap<&str, (usize, f64)> = BTreeMap::new();
        for one in &bucket.matched {
            let sort = sorts.entry(one.id).or_default();
            *sort = (sort.0 + 1, sort.1.max(one.misfit));
        }
        let rows = sorts.into_iter().map(|(id, (count, worst))| {
            let of = slots.count.get(id).copied().unwrap_or_default();
            [id.to_owned(), format!("{count} of {of}"), misfit(worst)]
        });
        let rows: Vec<_> = rows.collect();
        if !rows.is_empty() {
            text.push_str(&columns(["matched", "pieces", "worst misfit"], &rows));
        }
    } else {
        let rows = bucket
            .matched
            .iter()
            .map(|one| [label(one.piece), one.id.to_owned(), misfit(one.misfit)]);
        let rows: Vec<_> = rows.collect();
        if !rows.is_empty() {
            text.push_str(&columns(["piece", "matched", "misfit"], &rows));
        }
    }
    let ambiguous = bucket.matched.iter().filter(|one| !one.or.is_empty());
    let mut alike: Vec<(String, Vec<String>)> = Vec::new();
    for one in ambiguous {
        let ids: BTreeSet<&str> = one.or.iter().copied().chain([one.id]).collect();
        let ids: Vec<&str> = ids.into_iter().collect();
        let said = format!("{}. {}", spoken(&ids, "or"), parted(one.parting.as_ref()));
        match alike.iter_mut().find(|(of, _)| *of == said) {
            Some((_, labels)) => labels.push(label(one.piece)),
            None => alike.push((said, vec![label(one.piece)])),
        }
    }
    for (said, labels) in alike {
        let all = format!("{} may be {said}", spoken(&labels, "and"));
        let all = match labels.len() {
            1 => all,
            _ => format!("{all} They may have changed places, and nothing measured tells."),
        };
        text.push_str(&format!("\n{}", tied(&format!("Ambiguous: {all}"))));
    }
    let missing = bucket.missing.iter().map(|one| {
        let mut said = format!("{} of {}", one.count, one.of);
        if one.lost > 0 {
            said.push_str(&format!("; {} written down as lost", one.lost));
        }
        [format!("    {}", one.id), said]
    });
    section(&mut text, "Missing", &missing.collect::<Vec<_>>());
    let strangers = bucket
        .strangers
        .iter()
        .map(|one| [format!("    {}", label(one.piece)), why_strange(one)]);
    section(&mut text, "Strangers", &strangers.collect::<Vec<_>>());
    let left_out = slots.left_out.iter();
    let left_out = left_out.map(|what| [format!("    {what}"), String::new()]);
    section(&mut text, "Not looked for", &left_out.collect::<Vec<_>>());
    text.push_str(&format!("\n{}", summary(pieces, bucket)));
    text
}

fn section(text: &mut String, head: &str, rows: &[[String; 2]]) {
    if !rows.is_empty() {
        text.push_str(&format!("\n{head}\n{}", columns(["", ""], rows)));
    }
}

fn summary(pieces: &[Piece], bucket: &Bucket<'_>) -> String {
    let ambiguous = bucket.matched.iter().filter(|one| !one.or.is_empty());
    let missing: u64 = bucket.missing.iter().map(|one| u64::from(one.count)).sum();
    let ambiguous = match ambiguous.count() {
        0 => "none".to_owned(),
        count => count.to_string(),
    };
    format!(
        "{}: {} matched, {ambiguous} of them ambiguous; {} strange; {missing} missing; \
         misfit {} in all\n",
        number(pieces.len(), "piece"),
        bucket.matched.len(),
        bucket.strangers.len(),
        misfit(bucket.misfit),
    )
}

fn misfit(figure: f64) -> String {
    format!("{figure:.2}")
}

fn why_strange(one: &Stranger<'_>) -> String {
    let mut said = match &one.why {
        Why::TooMany(ids) => format!(
            "fits {}, and more such pieces came than went out",
            spoken(ids, "or")
        ),
        Why::FitsNothing(None) => "fits nothing that was looked for".to_owned(),
        Why::FitsNothing(Some(nearest)) => {
            let misses = nearest
                .seen
                .iter()
                .filter(|seen| matches!(seen.verdict, Verdict::Misses | Verdict::Never));
            let misses = misses.map(|seen| {
                let is = seen.is.text();
                let is = is.map_or_else(String::new, |is| format!(" is {is}"));
                match seen.off {
                    Some(_) => format!("{}{is}, off by {}", seen.measure.word(), off(seen)),
                    None => format!("{}{is}: {}", seen.measure.word(), off(seen)),
                }
            });
            let misses: Vec<String> = misses.collect();
            format!("the nearest is {}, where {}", nearest.id, misses.join("; "))
        }
    };
    if !one.elsewhere.is_empty() {
        let ids = spoken(&one.elsewhere, "or");
        said.push_str(&format!(". In the records it fits {ids}"));
    }
    said
}

/// What became of a bucket as CSV: a line for each piece, then one for each sort that is
/// missing.
///
/// # Errors
/// When memory is short.
pub fn bucket_csv(pieces: &[Piece], bucket: &Bucket<'_>) -> Result<String, CsvError> {
    let mut rows: Vec<(usize, [String; 9])> = Vec::new();
    for one in &bucket.matched {
        let piece = &pieces[one.piece];
        let result = match one.or.is_empty() {
            true => "matched",
            false => "ambiguous",
        };
        let next = one.parting.as_ref().map(|one| one.measure.word());
        rows.push((
            piece.line,
            [
                result.to_owned(),
                piece.label.clone(),
                piece.line.to_string(),
                one.id.to_owned(),
                one.or.join("; "),
                "1".to_owned(),
                format!("{:.4}", one.misfit),
                next.unwrap_or_default().to_owned(),
                piece.note.clone().unwrap_or_default(),
            ],
        ));
    }
    for one in &bucket.strangers {
        let piece = &pieces[one.piece];
        let blank = String::new;
        rows.push((
            piece.line,
            [
                "stranger".to_owned(),
                piece.label.clone(),
                piece.line.to_string(),
                blank(),
                blank(),
                "1".to_owned(),
                blank(),
                blank(),
                [why_strange(one).replace(TIE, " ")]
                    .into_iter()
                    .chain(piece.note.clone())
                    .collect::<Vec<_>>()
                    .join("; "),
            ],
        ));
    }
    rows.sort();
    let missing = bucket.missing.iter().map(|one| {
        let blank = String::new;
        [
            "missing".to_owned(),
            blank(),
            blank(),
            one.id.to_owned(),
            blank(),
            one.count.to_string(),
            blank(),
            blank(),
            blank(),
        ]
    });
    let heads = [
        "result",
        "piece",
        "line",
        "fastener",
        "or",
        "count",
        "misfit",
        "measure_next",
        "note",
    ];
    let all = rows.into_iter().map(|(_, row)| row).chain(missing);
    super::rows::written(
        std::iter::once(heads.map(str::to_owned))
            .chain(all.map(|row| row.map(|cell| harmless(&safe(&cell))))),
    )
}

/// Which hardware one piece may be.
#[derive(Serialize, JsonSchema)]
pub struct Report<'a> {
    /// What was measured.
    measured: Vec<ReportReading<'a>>,
    /// What fits all that was measured and that it states, best first.
    fits: Vec<ReportCandidate<'a>>,
    /// Where nothing fits: the nearest, best first.
    nearest: Vec<ReportCandidate<'a>>,
    /// The ids of what fits as well as the best does; empty where that stands alone.
    alike: &'a [&'a str],
    /// The one further measure that parts these; null where nothing that is written does.
    parting: Option<ReportParting<'a>>,
    /// The threads that the width across the flats belongs to, by standard: never one alone.
    across_flats: Vec<ReportWidth<'a>>,
}

/// One reading.
#[derive(Serialize, JsonSchema)]
struct ReportReading<'a> {
    /// Of what.
    measure: &'a str,
    /// What was read, as it was written.
    written: &'a str,
    /// The least that it may be; null where it is no figure.
    least_mm: Option<f64>,
    /// The most that it may be.
    most_mm: Option<f64>,
    /// How far it may lie off what a record states.
    tolerance_mm: Option<f64>,
}

/// A record beside what was measured.
#[derive(Serialize, JsonSchema)]
struct ReportCandidate<'a> {
    /// Its id.
    fastener: &'a str,
    /// Its name.
    name: Option<&'a str>,
    /// The sum of the squares of how far each figure is off, in tolerances.
    misfit: f64,
    /// How many readings it does not state.
    not_stated: usize,
    /// Each reading beside it.
    measures: Vec<ReportSeen<'a>>,
    /// Where it lies; null for the nearest of a piece in a bucket.
    lies: Option<ReportLies<'a>>,
    /// The holes that call for it and are not tight for good.
    open: Vec<ReportOpen>,
}

/// One reading beside what a record states.
#[derive(Serialize, JsonSchema)]
struct ReportSeen<'a> {
    /// Of what.
    measure: &'a str,
    /// What the record states, as it is written there; null where it does not.
    is: Option<String>,
    /// The least that it may be by the record; null where it is no figure.
    is_least_mm: Option<f64>,
    /// The most that it may be by the record.
    is_most_mm: Option<f64>,
    /// What was measured, as it was written.
    measured: &'a str,
    /// `fits`, `misses`, `not stated`, or `never` where no piece of that form has it.
    verdict: &'a str,
    /// How far off it is; null where it is no figure.
    off_mm: Option<f64>,
    /// How far off it may be.
    tolerance_mm: Option<f64>,
}

/// Where hardware lies.
#[derive(Serialize, JsonSchema)]
struct ReportLies<'a> {
    /// Where it is kept.
    kept_in: Option<&'a str>,
    /// The plating batch that it came back with.
    plated_in: Option<&'a str>,
    /// What of it is away.
    away: Vec<ReportAway<'a>>,
    /// How many there are.
    have: Option<u32>,
    /// How many of them have been used.
    used: Option<u32>,
    /// In how many holes it is tight.
    in_holes: usize,
}

/// What is away with a send-out.
#[derive(Serialize, JsonSchema)]
struct ReportAway<'a> {
    /// The job.
    job: &'a str,
    /// How many; null where nobody wrote that down.
    count: Option<u32>,
}

/// A hole that is open.
#[derive(Serialize, JsonSchema)]
struct ReportOpen {
    /// Assembly, joint and hole.
    hole: String,
    /// What people's safety hangs on at the joint; null where nothing is said to.
    critical: Option<&'static str>,
    /// `in`, `nut` or `washer`.
    part: &'static str,
    /// Whether something is tight in it for now.
    for_now: bool,
    /// What it holds other than what belongs there.
    holds: Option<&'static str>,
}

/// A measure that parts what fits alike.
#[derive(Serialize, JsonSchema)]
struct ReportParting<'a> {
    /// What to measure.
    measure: &'a str,
    /// Whether it was measured already, only not as finely as a vernier does.
    again: bool,
    /// What each states of it.
    says: Vec<ReportSays<'a>>,
    /// Whether it parts each from every other.
    all: bool,
}

/// What one states.
#[derive(Serialize, JsonSchema)]
struct ReportSays<'a> {
    /// Its id.
    fastener: &'a str,
    /// What it states; null where it does not.
    is: Option<&'a str>,
}

/// A thread that a width across the flats belongs to.
#[derive(Serialize, JsonSchema)]
struct ReportWidth<'a> {
    /// The size, as it is called.
    size: &'a str,
    /// The standard.
    standard: &'a str,
    /// The width by that standard.
    width_mm: f64,
}

/// What became of a bucket.
#[derive(Serialize, JsonSchema)]
pub struct BucketReport<'a> {
    /// How many pieces were measured.
    pieces: usize,
    /// What all misfits of the matched pieces come to.
    misfit: f64,
    /// How many readings the records of the matched pieces do not state.
    not_stated: usize,
    /// The pieces that were matched.
    matched: Vec<ReportMatched<'a>>,
    /// What is missing.
    missing: Vec<ReportMissing<'a>>,
    /// The pieces that have no slot.
    strangers: Vec<ReportStranger<'a>>,
    /// What could not be looked for, and why.
    not_looked_for: &'a [String],
}

/// A piece and the sort that it is of.
#[derive(Serialize, JsonSchema)]
struct ReportMatched<'a> {
    /// What it is called in the sheet.
    piece: &'a str,
    /// The line of the sheet, from 1.
    line: usize,
    /// The sort.
    fastener: &'a str,
    /// The sum of the squares of how far each figure is off, in tolerances.
    misfit: f64,
    /// How many readings the record does not state.
    not_stated: usize,
    /// The other sorts that it may as well be of.
    or: &'a [&'a str],
    /// The one further measure that parts these.
    parting: Option<ReportParting<'a>>,
    /// What was noted of it.
    note: Option<&'a str>,
}

/// Slots that stay empty.
#[derive(Serialize, JsonSchema)]
struct ReportMissing<'a> {
    /// The sort.
    fastener: &'a str,
    /// How many are missing.
    count: u32,
    /// How many there should be.
    of: u32,
    /// How many are written down as lost.
    lost: u32,
}

/// A piece that has no slot.
#[derive(Serialize, JsonSchema)]
struct ReportStranger<'a> {
    /// What it is called in the sheet.
    piece: &'a str,
    /// The line of the sheet, from 1.
    line: usize,
    /// What it would fit, had there not come more pieces than went out.
    too_many: &'a [&'a str],
    /// The nearest that was looked for, where it fits nothing.
    nearest: Option<ReportCandidate<'a>>,
    /// Other hardware in the records that it fits.
    elsewhere: &'a [&'a str],
    /// What was noted of it.
    note: Option<&'a str>,
}

/// A figure as far as it says anything: to a ten-thousandth.
fn rounded(figure: f64) -> f64 {
    (figure * 1e4).round() / 1e4
}

fn millimetres(length: Length) -> f64 {
    rounded(in_mm(length))
}

/// The answer as one JSON object, with a newline at its end.
#[must_use]
pub fn json(
    worked: Worked<'_>,
    readings: &[Reading],
    tolerances: &Tolerances,
    answer: &Answer<'_>,
) -> String {
    let with_place = |one| {
        let mut report: ReportCandidate<'_> = report_candidate(one);
        let lies = lies(worked.folder, worked.present, one.id);
        report.lies = Some(report_lies(&lies));
        let open = open_holes(worked.present, one.id);
        report.open = open.iter().map(report_open).collect();
        report
    };
    let report = Report {
        measured: readings
            .iter()
            .map(|reading| ReportReading {
                measure: reading.measure.word(),
                written: reading.text(),
                least_mm: reading.figure().map(|band| millimetres(band.least)),
                most_mm: reading.figure().map(|band| millimetres(band.most)),
                tolerance_mm: within(reading, tolerances).map(millimetres),
            })
            .collect(),
        fits: answer.fits.iter().map(with_place).collect(),
        nearest: answer.nearest.iter().map(with_place).collect(),
        alike: &answer.alike,
        parting: answer.parting.as_ref().map(report_parting),
        across_flats: answer
            .widths
            .iter()
            .map(|one| ReportWidth {
                size: &one.size,
                standard: one.standard.name(),
                width_mm: millimetres(one.width),
            })
            .collect(),
    };
    printed(&report)
}

/// What became of a bucket as one JSON object, with a newline at its end.
#[must_use]
pub fn bucket_json(pieces: &[Piece], slots: &Slots, bucket: &Bucket<'_>) -> String {
    let matched = bucket.matched.iter().map(|one| {
        let piece = &pieces[one.piece];
        ReportMatched {
            piece: &piece.label,
            line: piece.line,
            fastener: one.id,
            misfit: rounded(one.misfit),
            not_stated: one.unstated,
            or: &one.or,
            parting: one.parting.as_ref().map(report_parting),
            note: piece.note.as_deref(),
        }
    });
    let strangers = bucket.strangers.iter().map(|one| {
        let piece = &pieces[one.piece];
        let (too_many, nearest): (&[&str], _) = match &one.why {
            Why::TooMany(ids) => (ids, None),
            Why::FitsNothing(nearest) => (&[], nearest.as_deref().map(report_candidate)),
        };
        ReportStranger {
            piece: &piece.label,
            line: piece.line,
            too_many,
            nearest,
            elsewhere: &one.elsewhere,
            note: piece.note.as_deref(),
        }
    });
    let missing = bucket.missing.iter().map(|one| ReportMissing {
        fastener: one.id,
        count: one.count,
        of: one.of,
        lost: one.lost,
    });
    printed(&BucketReport {
        pieces: pieces.len(),
        misfit: rounded(bucket.misfit),
        not_stated: bucket.unstated,
        matched: matched.collect(),
        missing: missing.collect(),
        strangers: strangers.collect(),
        not_looked_for: &slots.left_out,
    })
}

fn printed(report: &impl Serialize) -> String {
    let json = serde_json::to_string_pretty(report).unwrap_or_default();
    safe_json(&json) + "\n"
}

fn report_candidate<'a>(one: &'a Candidate<'_>) -> ReportCandidate<'a> {
    let seen = one.seen.iter().map(|seen| ReportSeen {
        measure: seen.measure.word(),
        is: seen.is.text(),
        is_least_mm: seen.is.band().map(|band| millimetres(band.least)),
        is_most_mm: seen.is.band().map(|band| millimetres(band.most)),
        measured: seen.reading.text(),
        verdict: match seen.verdict {
            Verdict::Fits => "fits",
            Verdict::Misses => "misses",
            Verdict::NotStated => "not stated",
            Verdict::Never => "never",
        },
        off_mm: seen.off.map(millimetres),
        tolerance_mm: seen.tolerance.map(millimetres),
    });
    ReportCandidate {
        fastener: one.id,
        name: one.record.name.as_deref(),
        misfit: rounded(one.misfit),
        not_stated: one.unstated,
        measures: seen.collect(),
        lies: None,
        open: Vec::new(),
    }
}

fn report_lies<'a>(lies: &Lies<'a>) -> ReportLies<'a> {
    let away = lies.away.iter().map(|one| ReportAway {
        job: one.job,
        count: one.count,
    });
    ReportLies {
        kept_in: lies.kept_in,
        plated_in: lies.plated_in,
        away: away.collect(),
        have: lies.have,
        used: lies.used,
        in_holes: lies.in_holes,
    }
}

fn report_open(one: &Open) -> ReportOpen {
    ReportOpen {
        hole: format!("{}/{}", one.joint, one.hole),
        critical: one.critical.map(Critical::word),
        part: match one.part {
            Part::In => "in",
            Part::Nut => "nut",
            Part::Washer => "washer",
        },
        for_now: one.for_now,
        holds: one.holds.map(crate::model::assembly::Holds::word),
    }
}

fn report_parting<'a>(parting: &'a Parting<'_>) -> ReportParting<'a> {
    let says = parting.says.iter().map(|(id, is)| ReportSays {
        fastener: id,
        is: is.as_deref(),
    });
    ReportParting {
        measure: parting.measure.word(),
        again: parting.again,
        says: says.collect(),
        all: parting.all,
    }
}
