//! The send-out sheet: what goes away in the bucket, what is to be done with it, and how it
//! is counted when it comes back.
//!
//! It goes along to a stranger. So it says what the work needs and nothing else: no price, no
//! receipt, no donor, no place where anything lies, and none of the builder's own
//! notes; whatever `private` chooses is not there either. What the plater must
//! mind stands under `masking`, and that is on the sheet; so does the note of a check of the
//! kind `other`, which says what is looked for.
//!
//! Hydrogen: which hardware needs baking is common ground for no two editions of the
//! standards, so each sentence names its own. The figures are those of the printed tables as
//! seen in copies; the plater's own process comes first.

use jiff::civil::Date;

use super::{NoSuch, Sheet, hardware, item, section, stamped};
use crate::model::build::Build;
use crate::model::common::CheckResult;
use crate::model::fastener::Fastener;
use crate::model::job::{Check, CheckKind, Job, JobKind, Line, Process};
use crate::model::part::Material;
use crate::present::Worked;
use crate::present::hardware::{brittle, hours_in_words};
use crate::reckon::plating::{BAKED_AT, Risk};
use crate::report::page::{Block, Entry, Item, Page};

/// The signal words are those of ANSI Z535.6 (from memory).
const NOTICE: &str = "NOTICE: count every line before it leaves and again when it comes back, \
    against the pictures. The shop's own process and the maker's word on each piece come \
    before what stands here.";

/// The send-out sheet of a job.
///
/// # Errors
/// When there is no such job, or it sends nothing out.
pub fn sheet(worked: Worked<'_>, asked: &str, as_of: Date) -> Result<Sheet, NoSuch> {
    let jobs = &worked.folder.model.job;
    let id = asked.strip_prefix("jobs/").unwrap_or(asked);
    let sends = |job: &Job| job.kind == Some(JobKind::SendOut);
    let known = jobs.iter().filter(|(_, job)| sends(&job.data));
    let known: Vec<&str> = known.map(|(id, _)| id.as_str()).collect();
    let Some(job) = jobs.get(id) else {
        return Err(NoSuch::named("send-out", id, &known));
    };
    let job = &job.data;
    if !sends(job) {
        let kind = job.kind.unwrap_or(JobKind::Bench).word();
        return Err(NoSuch {
            what: format!("`{id}` is no send-out: its kind is `{kind}`"),
            ..NoSuch::named("send-out", id, &known)
        });
    }
    let build = &worked.folder.model.build;
    let goes: Vec<Goes<'_>> = job
        .lines
        .iter()
        .map(|line| Goes::of(worked, job, line))
        .collect();
    let mut sections = vec![section("What goes".to_owned(), about(job))];
    sections.push(section(
        "The bucket".to_owned(),
        match goes.is_empty() {
            true => vec![Block::Text("No lines are written.".to_owned())],
            false => vec![bucket(&goes)],
        },
    ));
    let mind: Vec<Item> = goes
        .iter()
        .enumerate()
        .filter_map(|(number, goes)| goes.mind(number + 1))
        .collect();
    if !mind.is_empty() {
        sections.push(section(
            "What to mind, line by line".to_owned(),
            vec![Block::Items(mind)],
        ));
    }
    sections.extend(checks(job, &goes));
    sections.push(section(
        "Handed over and taken back".to_owned(),
        [
            ["handed over by", "taken by", "day"],
            ["brought back by", "counted by", "day"],
        ]
        .map(|labels| Block::Sign(labels.map(str::to_owned).to_vec()))
        .to_vec(),
    ));
    let page = Page {
        title: format!("Send-out sheet {id}: {}", build.name),
        lead: vec![NOTICE.to_owned()],
        sections,
    };
    let mut lines = vec![HEADS.map(str::to_owned).to_vec()];
    let all = goes.iter().enumerate();
    lines.extend(all.map(|(number, goes)| goes.cells(number + 1)));
    Ok(Sheet {
        page: stamped(page, as_of),
        lines,
    })
}

/// What holds for the whole bucket.
fn about(job: &Job) -> Vec<Block> {
    let day =
        |day: &Option<crate::model::common::Day>| day.as_ref().map(|day| day.as_str().to_owned());
    let masking = job.masking.join("; ");
    let all = [
        ("what", job.does.clone()),
        // What hydrogen does to hard steel hangs on it, so its lack is told.
        (
            "process",
            Some(job.process.map_or("not written", Process::word).to_owned()),
        ),
        ("to", job.to.clone()),
        ("sent", day(&job.sent)),
        ("due back", day(&job.due)),
        ("came back", day(&job.came_back)),
        (
            "cover, plug or leave bare",
            Some(masking).filter(|text| !text.is_empty()),
        ),
    ];
    let items = all
        .into_iter()
        .filter_map(|(about, says)| Some(item(about, says?)));
    vec![Block::Items(items.collect())]
}

/// A line of the job, with what it is worked out to be.
struct Goes<'a> {
    line: &'a Line,
    /// What it is called, without its kind.
    name: String,
    /// What it is.
    what: String,
    material: Option<&'static str>,
    class: Option<&'a str>,
    /// What must be said of hydrogen.
    baking: Option<String>,
    /// Its picture: the id, and the file where that is known.
    photo: Option<String>,
    /// What must be covered.
    masking: String,
}

impl<'a> Goes<'a> {
    fn of(worked: Worked<'a>, job: &Job, line: &'a Line) -> Self {
        let model = &worked.folder.model;
        let reference = line.what.as_ref().map_or("", |what| what.as_str());
        let (kind, name) = reference.split_once('/').unwrap_or(("", reference));
        let found = model.fastener.get(name).filter(|_| kind == "fasteners");
        let fastener = found.map(|record| &*record.data);
        let id = name.split('/').next().unwrap_or_default();
        let part = model.part.get(id).filter(|_| kind == "parts");
        let part = part.map(|record| &*record.data);
        let what = match (fastener, part) {
            (Some(fastener), _) => {
                let what = hardware(fastener);
                let name = fastener.name.as_deref();
                let words = name.into_iter().chain(Some(what.as_str()));
                let words: Vec<&str> = words.filter(|word| !word.is_empty()).collect();
                words.join(": ")
            }
            (None, Some(part)) => {
                let number = part.number.as_ref().map(|number| number.as_str());
                let words = [part.name.as_str()].into_iter().chain(number);
                let words: Vec<&str> = words.filter(|word| !word.is_empty()).collect();
                words.join(", ")
            }
            (None, None) => String::new(),
        };
        let material = fastener.map_or_else(
            || part.and_then(|part| part.material),
            |fastener| fastener.material,
        );
        let photo = line.photo.as_ref().map(|photo| {
            let record = model.photo.get(photo.as_str());
            match record.map(|record| record.data.file.as_str()) {
                Some(file) if !file.is_empty() => format!("{} ({file})", photo.as_str()),
                _ => photo.as_str().to_owned(),
            }
        });
        Self {
            line,
            name: name.to_owned(),
            what,
            material: material.map(Material::word),
            class: fastener.and_then(|fastener| fastener.class.as_deref()),
            baking: baking(&model.build, job.process, fastener, material),
            photo,
            masking: line.masking.join("; "),
        }
    }

    /// How many are meant to go, or went.
    fn count(&self) -> Option<u32> {
        self.line.count.or(self.line.out)
    }

    fn mind(&self, number: usize) -> Option<Item> {
        let mut says: Vec<String> = Vec::new();
        if !self.masking.is_empty() {
            says.push(format!("cover, plug or leave bare: {}", self.masking));
        }
        if let Some(baked) = &self.line.baked {
            let at = self.line.baked_at.as_ref();
            let at = at.map_or_else(String::new, |at| format!(" at {}", at.as_str()));
            says.push(format!("baked {}{at}", baked.as_str()));
        }
        says.extend(self.photo.as_ref().map(|photo| format!("picture {photo}")));
        if says.is_empty() && self.baking.is_none() {
            return None;
        }
        let mut one = item(&format!("{number}. {}", self.name), says.join("; "));
        one.under.extend(self.baking.clone().map(Block::Text));
        Some(one)
    }

    fn cells(&self, number: usize) -> Vec<String> {
        let count = |count: Option<u32>| count.map_or_else(String::new, |count| count.to_string());
        let word = |text: Option<&str>| text.unwrap_or_default().to_owned();
        let baked = self.line.baked.as_ref();
        let checks = self.line.checks.iter().map(check_words);
        vec![
            number.to_string(),
            self.name.clone(),
            self.what.clone(),
            word(self.material),
            word(self.class),
            count(self.count()),
            self.masking.clone(),
            word(self.baking.as_deref()),
            word(baked.map(|baked| baked.as_str())),
            word(self.photo.as_deref()),
            count(self.line.out),
            count(self.line.back),
            count(self.line.lost),
            count(self.line.rejected),
            checks.collect::<Vec<_>>().join("; "),
        ]
    }
}

/// The columns for a spreadsheet.
const HEADS: [&str; 15] = [
    "line",
    "what",
    "is",
    "material",
    "class",
    "count",
    "cover or leave bare",
    "baking",
    "baked",
    "picture",
    "out",
    "back",
    "lost",
    "unfit",
    "checks on return",
];

/// What goes, with room to write down what comes back.
fn bucket(goes: &[Goes<'_>]) -> Block {
    let heads = ["no.", "what", "count", "out", "back", "lost", "unfit"];
    let rows = goes.iter().enumerate().map(|(number, goes)| {
        let line = goes.line;
        let mut what = vec![goes.name.clone(), goes.what.clone()];
        // The words of a fastener hold its material already.
        if goes.class.is_none() && goes.material.is_some_and(|word| !goes.what.contains(word)) {
            what.extend(goes.material.map(str::to_owned));
        }
        what.retain(|word| !word.is_empty());
        let filled = |count: Option<u32>| match count {
            Some(count) => Entry::Text(count.to_string()),
            None => Entry::Blank,
        };
        vec![
            (number + 1).to_string().into(),
            what.join(": ").into(),
            filled(goes.count()),
            filled(line.out),
            filled(line.back),
            filled(line.lost),
            filled(line.rejected),
        ]
    });
    Block::Table {
        heads: heads.map(str::to_owned).to_vec(),
        rows: rows.collect(),
        figures: vec![true, false, true, true, true, true, true],
    }
}

fn check_words(check: &Check) -> String {
    let what = check.what.map_or("check", |what| what.word());
    let at = check.at.as_ref().map(|at| format!(" at {}", at.as_str()));
    let note = check.note.as_ref();
    let other = note.filter(|_| check.what == Some(CheckKind::Other));
    let should = check.should.as_ref().or(other);
    let should = should.map(|should| format!(": {should}"));
    let is = check.is.as_ref().map(|is| format!(", is {}", is.as_str()));
    [Some(what.to_owned()), at, should, is]
        .into_iter()
        .flatten()
        .collect()
}

/// What was ordered to be checked on return, with boxes to tick.
fn checks(job: &Job, goes: &[Goes<'_>]) -> Option<super::Section> {
    let of_lines = goes.iter().enumerate().flat_map(|(number, goes)| {
        let checks = goes.line.checks.iter();
        checks.map(move |check| ((number + 1).to_string(), check))
    });
    let all = job
        .checks
        .iter()
        .map(|check| (String::new(), check))
        .chain(of_lines);
    let rows = all.map(|(number, check)| {
        let found = |result: CheckResult| Entry::Box(check.found == Some(result));
        let what = check_words(check);
        let (good, bad) = (found(CheckResult::Good), found(CheckResult::Bad));
        vec![number.into(), what.into(), good, bad]
    });
    let rows: Vec<Vec<Entry>> = rows.collect();
    if rows.is_empty() {
        return None;
    }
    let heads = ["no.", "on return", "good", "bad"];
    let table = Block::Table {
        heads: heads.map(str::to_owned).to_vec(),
        rows,
        figures: vec![true, false, false, false],
    };
    Some(section("Checks on return".to_owned(), vec![table]))
}

/// What must be said of hydrogen where a process meets hard steel.
fn baking(
    build: &Build,
    process: Option<Process>,
    fastener: Option<&Fastener>,
    material: Option<Material>,
) -> Option<String> {
    let pickles = matches!(
        process,
        Some(Process::HotDip | Process::Phosphate | Process::HotTank)
    );
    if !pickles && !process.is_some_and(Process::electroplates) {
        return None;
    }
    let (risk, known) = brittle(build.figures.as_ref(), fastener, material)?;
    let known = known.strip_prefix("of ").unwrap_or(&known);
    if risk < Risk::Every {
        return Some(format!(
            "NOTICE: {known}. ISO 4042:1999 wants the process tried above 320 HV and an \
             agreement in writing above 365 HV (seen in an extract); ISO 4042:2018 wants no \
             baking up to 390 HV (from memory). Agree on it with the plater before it goes."
        ));
    }
    let what = if pickles {
        "Acid before the coat is a source of hydrogen by itself (ISO 4042:1999, annex, seen in an \
         extract): have it cleaned without acid."
            .to_owned()
    } else {
        let long = fastener.and_then(Fastener::baking).map_or_else(
            || {
                "8 h from 1001 MPa, 12 h from 1201 MPa, 14 h from 1301 MPa and longer above"
                    .to_owned()
            },
            hours_in_words,
        );
        format!(
            "Bake it after plating and before any passivation: {long} at {} to {} degC (ASTM \
             B850-98(2009), seen in a copy, which says that this is no guarantee), begun within \
             4 h (from memory). Write down how long and how hot. Zinc flake needs no current.",
            BAKED_AT.least, BAKED_AT.most
        )
    };
    Some(format!(
        "CAUTION: {known}: hydrogen that it takes up here can break it days later and without a \
         warning. The risk begins above 390 HV (ISO 4042:2018, from memory). {what}"
    ))
}
