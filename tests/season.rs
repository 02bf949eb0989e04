//! A season: two people, two clones, one guarded bare repository, and real git. Two hundred
//! edits by dice, with pushes, pulls, conflicts and refusals. At its end every edit is in,
//! or was replaced by somebody who saw it, or gave way between markers that both could read,
//! or was refused with words; and the build checks.
//!
//! Each edit writes a mark of its own into the records, `e17e`; so anybody can tell where it
//! is with no more than a look at the text.

#![allow(clippy::disallowed_methods, clippy::disallowed_macros)]
#![cfg(unix)]

mod bench;
mod dice;

use std::collections::{BTreeMap, BTreeSet};

use bench::Bench;
use dice::Dice;

/// What became of an edit.
#[derive(Debug, Clone, PartialEq)]
enum Fate {
    /// It must be in.
    In,
    /// Somebody who had it before their eyes wrote another in its place, or took it out.
    Replaced,
    /// It stood between markers, and a person took the other side.
    GaveWay,
    /// It was refused, with these words.
    Refused(String),
}

const PEOPLE: [&str; 2] = ["builder", "helper"];
const FILES: [&str; 3] = ["parts/engine.yaml", "parts/cooling.yaml", "jobs/all.yaml"];

struct Season {
    bench: Bench,
    dice: Dice,
    fates: BTreeMap<usize, Fate>,
    minute: u32,
    told: BTreeMap<&'static str, usize>,
}

/// The marks in a text.
fn marks(text: &str) -> BTreeSet<usize> {
    let parts: Vec<&str> = text.split('e').collect();
    let inner = parts.iter().skip(1).take(parts.len().saturating_sub(2));
    inner.filter_map(|part| part.parse().ok()).collect()
}

/// The lines of the records of a file, each with its first line's key.
fn records(text: &str) -> Vec<(String, usize, usize)> {
    let lines: Vec<&str> = text.lines().collect();
    let mut all: Vec<(String, usize, usize)> = Vec::new();
    for (number, line) in lines.iter().enumerate() {
        if line.starts_with(|c: char| c.is_ascii_lowercase()) {
            let key = line.split(':').next().unwrap().to_owned();
            all.push((key, number, number + 1));
        } else if let Some(last) = all.last_mut()
            && line.starts_with(' ')
        {
            last.2 = number + 1;
        }
    }
    all
}

impl Season {
    fn new(seed: u64) -> Self {
        let mut season = Self {
            bench: Bench::new(),
            dice: Dice(seed),
            fates: BTreeMap::new(),
            minute: 0,
            told: BTreeMap::new(),
        };
        season.ticks();
        season.must("git config --global init.defaultBranch main");
        season.must("git config --global merge.conflictStyle diff3");
        season.must("git init -q --bare shared.git && matchmark guard shared.git");
        season.must("git init -q start && mkdir -p start/parts start/jobs start/donors");
        let write = |season: &Self, file: &str, text: &str| season.bench.writes(file, text);
        write(
            &season,
            "start/build.yaml",
            "name: Lark\npeople: [builder, helper]\n",
        );
        let donors: String = (0..8)
            .map(|number| format!("donor-{number}:\n  name: Donor {number}\n\n"))
            .chain((0..24).map(|number| format!("spare-{number}:\n  name: Spare {number}\n\n")))
            .collect();
        write(&season, "start/donors/all.yaml", &donors);
        let part = |number: usize| {
            format!(
                "part-{number}:\n  name: Part {number}\n  maker: Halden\n  pieces:\n    P1:\n      donor: donor-{}\n      kept-in: box {number}\n      treated:\n        - {{what: cleaned, when: 2026-01-{:02}}}\n\n",
                number % 8,
                number + 1
            )
        };
        let some = |from: usize, to: usize| (from..to).map(part).collect::<String>();
        write(&season, "start/parts/engine.yaml", &some(0, 6));
        write(&season, "start/parts/cooling.yaml", &some(6, 12));
        let jobs: String = (0..6)
            .map(|number| {
                format!("job-{number}:\n  kind: bench\n  does: job {number}\n  note: as begun\n\n")
            })
            .collect();
        write(&season, "start/jobs/all.yaml", &jobs);
        season.must("cd start && matchmark guard && git add -A && git commit -q -m begin && git push -q ../shared.git HEAD:main");
        for person in PEOPLE {
            season.must(&format!(
                "git clone -q shared.git {person} && cd {person} && matchmark guard"
            ));
        }
        season
    }

    fn count(&mut self, what: &'static str) {
        *self.told.entry(what).or_default() += 1;
    }

    fn ticks(&mut self) {
        self.minute += 11;
        let (day, minute) = (self.minute / 180, self.minute % 180);
        let (hour, minute) = (19 + minute / 60, minute % 60);
        self.bench.clock = format!(
            "2026-{:02}-{:02} {hour:02}:{minute:02}",
            1 + day / 28,
            1 + day % 28
        );
    }

    /// Types a line; whether it went well, and what came.
    fn types(&self, line: &str) -> (bool, String) {
        let said = self.bench.types(line);
        let is_well = !said.contains("> (exit ") && !said.contains("> (killed)");
        (is_well, said)
    }

    fn must(&self, line: &str) -> String {
        let (is_well, said) = self.types(line);
        assert!(is_well, "$ {line}\n{said}");
        said
    }

    /// Types as one of the two, in their clone.
    fn by(&self, person: &str, line: &str) -> (bool, String) {
        self.types(&format!(
            "cd {person} && export GIT_AUTHOR_NAME={person} GIT_COMMITTER_NAME={person} && {line}"
        ))
    }

    fn must_by(&self, person: &str, line: &str) -> String {
        let (is_well, said) = self.by(person, line);
        assert!(is_well, "{person}$ {line}\n{said}");
        said
    }

    fn reads(&self, person: &str, file: &str) -> String {
        std::fs::read_to_string(self.bench.path(&format!("work/{person}/{file}"))).unwrap()
    }

    fn writes(&self, person: &str, file: &str, text: &str) {
        self.bench.writes(&format!("{person}/{file}"), text);
    }

    /// All marks that a clone's folder holds.
    fn holds(&self, person: &str) -> BTreeSet<usize> {
        let files = FILES.iter().chain(&["donors/all.yaml"]);
        files
            .flat_map(|file| marks(&self.reads(person, file)))
            .collect()
    }

    /// One edit in a clone, committed or refused.
    fn edits(&mut self, person: &str, number: usize) {
        let file = FILES[self.dice.below(FILES.len())];
        let text = self.reads(person, file);
        let is_part = file.starts_with("parts/");
        let all = records(&text);
        // Half of what is done is done at the same few things.
        let near = if self.dice.below(2) == 0 {
            2
        } else {
            all.len()
        };
        let (_, from, to) = all[self.dice.below(near)].clone();
        let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
        let find = |lines: &[String], sign: &str| {
            (from..to).find(|at| lines[*at].trim_start().starts_with(sign))
        };
        let mut is_bad = false;
        let mut other_file = None;
        match self.dice.below(25) {
            // One field gets another value.
            0..=6 => {
                let sign = [["kept-in:", "maker:"], ["does:", "note:"]][usize::from(!is_part)]
                    [self.dice.below(2)];
                let Some(at) = find(&lines, sign) else { return };
                let pad = lines[at].len() - lines[at].trim_start().len();
                lines[at] = format!("{}{sign} box e{number}e", " ".repeat(pad));
            }
            // An event more.
            7..=11 if is_part => {
                let Some(at) = find(&lines, "treated:") else {
                    return;
                };
                let end = (at + 1..to)
                    .take_while(|at| lines[*at].trim_start().starts_with("- "))
                    .last();
                let day = 1 + self.dice.below(28);
                let event = format!(
                    "        - {{what: cleaned, when: 2026-02-{day:02}, how: brush e{number}e}}"
                );
                lines.insert(end.unwrap_or(at) + 1, event);
            }
            7..=11 => {
                let Some(at) = find(&lines, "note:") else {
                    return;
                };
                lines.insert(at + 1, format!("  next-time: begin with e{number}e"));
                if find(&lines, "next-time:").is_some_and(|first| first != at + 1)
                    || lines
                        .iter()
                        .filter(|line| line.contains("next-time"))
                        .count()
                        > 6
                {
                    return;
                }
                let is_there = (from..=to.min(lines.len() - 1))
                    .filter(|at| lines[*at].starts_with("  next-time:"))
                    .count()
                    > 1;
                if is_there {
                    return;
                }
            }
            // A record more, at one of two spots.
            12..=14 => {
                let new = if is_part {
                    format!(
                        "part-new-{number}:\n  name: Part e{number}e\n  maker: Halden\n  pieces:\n    P1:\n      donor: donor-{}\n      treated:\n        - {{what: cleaned, when: 2026-01-02}}\n",
                        self.dice.below(8)
                    )
                } else {
                    format!(
                        "job-new-{number}:\n  kind: bench\n  does: job e{number}e\n  note: as begun\n"
                    )
                };
                let at = if self.dice.below(2) == 0 {
                    lines.len()
                } else {
                    from
                };
                lines.splice(
                    at..at,
                    new.lines().map(str::to_owned).chain([String::new()]),
                );
            }
            // A comment.
            15 => lines.insert(from, format!("# look again e{number}e")),
            // A record less; only one that a hand has written.
            16 if all.len() > 4 => {
                lines.drain(from..to);
                lines.insert(from, format!("# one went e{number}e"));
            }
            // A donor's name changes: a quiet file.
            17 => {
                let donors = self.reads(person, "donors/all.yaml");
                let at = self.dice.below(8);
                let Some(line) = donors
                    .lines()
                    .position(|line| line == format!("donor-{at}:"))
                else {
                    return;
                };
                let mut all: Vec<String> = donors.lines().map(str::to_owned).collect();
                all[line + 1] = format!("  name: Donor e{number}e");
                other_file = Some(("donors/all.yaml", all.join("\n") + "\n"));
            }
            // A spare donor is sold: nobody here has anything from it.
            18 | 19 => {
                let donors = self.reads(person, "donors/all.yaml");
                let all = records(&donors);
                let texts: String = FILES[..2]
                    .iter()
                    .map(|file| self.reads(person, file))
                    .collect();
                let idle = |key: &str| {
                    key.starts_with("spare-") && !texts.contains(&format!("donor: {key} "))
                };
                let all: Vec<_> = all
                    .into_iter()
                    .filter(|(key, ..)| idle(key))
                    .take(4)
                    .collect();
                if all.is_empty() {
                    return;
                }
                let (_, from, to) = all[self.dice.below(all.len())].clone();
                let mut lines: Vec<String> = donors.lines().map(str::to_owned).collect();
                lines.splice(from..to, [format!("# sold e{number}e")]);
                other_file = Some(("donors/all.yaml", lines.join("\n") + "\n"));
            }
            // Something comes from a spare donor.
            20 if is_part => {
                let donors = self.reads(person, "donors/all.yaml");
                let spare: Vec<_> = records(&donors)
                    .into_iter()
                    .filter(|(key, ..)| key.starts_with("spare-"))
                    .take(4)
                    .collect();
                let (Some(at), false) = (find(&lines, "donor:"), spare.is_empty()) else {
                    return;
                };
                let (key, ..) = &spare[self.dice.below(spare.len())];
                lines[at] = format!("      donor: {key}  # e{number}e");
            }
            // A slip: a donor that is none.
            _ if is_part => {
                let Some(at) = find(&lines, "donor:") else {
                    return;
                };
                lines[at] = format!("      donor: no-such-e{number}e");
                is_bad = true;
            }
            _ => return,
        }
        let was = self.holds(person);
        match other_file {
            Some((file, text)) => self.writes(person, file, &text),
            None => self.writes(person, file, &(lines.join("\n") + "\n")),
        }
        let is = self.holds(person);
        if !is.contains(&number) {
            self.must_by(person, "git checkout -q .");
            return;
        }
        self.ticks();
        self.count("edits");
        let past_the_hook = is_bad && self.dice.below(3) == 0;
        if past_the_hook {
            self.pushes_a_slip(person, number);
            return;
        }
        let (is_well, said) = self.by(person, &format!("git commit -q -a -m 'edit {number}'"));
        if is_well {
            assert!(!is_bad, "a slip went in\n{said}");
            for gone in was.difference(&is) {
                self.fates.insert(*gone, Fate::Replaced);
            }
            self.fates.insert(number, Fate::In);
        } else {
            assert!(is_bad, "{person} was refused edit {number}\n{said}");
            assert!(said.contains("[unknown-reference]"), "{said}");
            self.count("commits refused");
            self.fates.insert(number, Fate::Refused(said));
            self.must_by(person, "git checkout -q HEAD -- .");
        }
    }

    /// A commit that no hook of this clone saw: the shared repository sees it.
    fn pushes_a_slip(&mut self, person: &str, number: usize) {
        let before = self.must_by(person, "git rev-parse HEAD");
        let before = before.trim_start_matches("> ").trim().to_owned();
        self.must_by(
            person,
            &format!("git commit -q --no-verify -a -m 'edit {number}'"),
        );
        let (is_well, said) = self.by(person, "git push -q origin HEAD:refs/heads/try");
        assert!(!is_well, "a slip was pushed\n{said}");
        assert!(said.contains("[unknown-reference]"), "{said}");
        self.count("pushes refused");
        self.fates.insert(number, Fate::Refused(said));
        self.must_by(person, &format!("git reset -q --hard {before}"));
    }

    /// Takes in what the other pushed, and pushes.
    fn syncs(&mut self, person: &str) {
        self.ticks();
        let is_rebase = self.dice.below(2) == 0;
        let (how, go_on) = match is_rebase {
            true => ("--rebase", "git rebase --continue"),
            false => ("--no-rebase", "git commit -q --no-edit"),
        };
        self.count(if is_rebase {
            "pulls by rebase"
        } else {
            "pulls by merge"
        });
        let (mut is_well, mut said) = self.by(person, &format!("git pull -q {how} origin main"));
        let mut rounds = 0;
        while !is_well {
            rounds += 1;
            assert!(rounds < 60, "{person} gets no further\n{said}");
            let unmerged = self.must_by(person, "git diff --name-only --diff-filter=U");
            let files: Vec<String> = unmerged
                .lines()
                .map(|line| line.trim_start_matches("> ").to_owned())
                .collect();
            if files.is_empty() {
                self.mends(person, &said);
            }
            for file in files {
                self.count("conflicts settled");
                self.settles(person, &file);
            }
            // A commit that has nothing left of its own is passed over.
            let empty = self.by(person, "git diff --cached --quiet HEAD").0;
            let line = if is_rebase && empty {
                "git rebase --skip"
            } else {
                go_on
            };
            self.ticks();
            (is_well, said) = self.by(person, line);
        }
        let (is_pushed, said) = self.by(person, "git push -q origin HEAD:main");
        if !is_pushed {
            // After a rebase nobody has asked the check yet.
            assert!(
                said.contains("[unknown-reference]"),
                "{person} can't push\n{said}"
            );
            self.count("pushes refused");
            self.mends(person, &said);
            self.must_by(person, "git commit -q -a -m 'mend what two edits made'");
            self.must_by(person, "git push -q origin HEAD:main");
        }
        self.count("pushes");
    }

    /// A person looks at what stands between the markers and takes one side.
    fn settles(&mut self, person: &str, file: &str) {
        let text = self.reads(person, file);
        assert!(
            text.contains("<<<<<<< ") && text.contains("||||||| "),
            "no markers:\n{text}"
        );
        let mut kept = String::new();
        let mut between = [String::new(), String::new(), String::new()];
        let mut now = None;
        for line in text.split_inclusive('\n') {
            now = match line {
                _ if line.starts_with("<<<<<<< ") => Some(0),
                _ if line.starts_with("||||||| ") => Some(1),
                _ if line.starts_with("=======") && now == Some(1) => Some(2),
                _ if line.starts_with(">>>>>>> ") => {
                    // The side that holds more, else either.
                    let [ours, _, theirs] = &between;
                    let takes_ours = match (marks(ours).len(), marks(theirs).len()) {
                        (a, b) if a == b => self.dice.below(2) == 0,
                        (a, b) => a > b,
                    };
                    let (taken, left) = if takes_ours {
                        (ours, theirs)
                    } else {
                        (theirs, ours)
                    };
                    for mark in marks(left).difference(&marks(taken)) {
                        self.fates.insert(*mark, Fate::GaveWay);
                    }
                    kept.push_str(taken);
                    between = Default::default();
                    None
                }
                _ => {
                    match now {
                        Some(side) => between[side].push_str(line),
                        None => kept.push_str(line),
                    }
                    now
                }
            };
        }
        assert_eq!(now, None, "markers without an end:\n{text}");
        // What gave way may stand elsewhere still, and what somebody took is in again.
        self.writes(person, file, &kept);
        self.must_by(person, &format!("git add {file}"));
    }

    /// A check said that two good edits made a bad build: the person does what it says.
    fn mends(&mut self, person: &str, said: &str) {
        let missing: BTreeSet<&str> = said
            .split("there is no donor `")
            .skip(1)
            .filter_map(|rest| rest.split('`').next())
            .collect();
        assert!(
            !missing.is_empty(),
            "{person} is not told what to mend:\n{said}"
        );
        let mut donors = self.reads(person, "donors/all.yaml");
        for name in missing {
            assert!(!donors.contains(&format!("{name}:\n")), "{said}\n{donors}");
            donors.push_str(&format!("\n{name}:\n  name: kept after all\n"));
        }
        self.writes(person, "donors/all.yaml", &donors);
        self.must_by(person, "git add donors/all.yaml");
        self.count("two good edits, mended");
    }
}

/// How many edits: all in a full run, fewer in a plain one.
fn many() -> usize {
    let cases = std::env::var("PROPTEST_CASES").ok();
    let cases = cases.and_then(|cases| cases.parse().ok()).unwrap_or(30);
    cases.clamp(30, 200)
}

#[test]
fn a_season() {
    let mut season = Season::new(0x9E37_79B9_7F4A_7C15);
    let all = many();
    let mut number = 0;
    let mut tries = 0;
    while season.fates.len() < all {
        tries += 1;
        assert!(tries < 20 * all, "too little was done");
        let person = PEOPLE[season.dice.below(2)];
        for _ in 0..=season.dice.below(4) {
            number += 1;
            season.edits(person, number);
        }
        if season.dice.below(2) == 0 {
            season.syncs(person);
        }
    }
    for person in ["builder", "helper", "builder"] {
        season.syncs(person);
    }
    // Both have the same, it checks, and every edit is accounted for.
    season.must("cd shared.git && git rev-parse main > ../tip");
    for person in PEOPLE {
        season.must_by(person, "git pull -q --ff-only origin main && test \"$(git rev-parse HEAD)\" = \"$(cat ../tip)\"");
        season.must_by(person, "matchmark check --level error");
        season.must_by(person, "test -z \"$(git status --porcelain)\"");
    }
    let held = season.holds("builder");
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for (mark, fate) in &season.fates {
        let word = match fate {
            Fate::In => "in",
            Fate::Replaced => "replaced",
            Fate::GaveWay => "gave way",
            Fate::Refused(_) => "refused",
        };
        *counts.entry(word).or_default() += 1;
        let log = || {
            season
                .types(&format!(
                    "cd builder && git log --oneline --graph -S e{mark}e"
                ))
                .1
        };
        match fate {
            Fate::In => assert!(held.contains(mark), "edit {mark} is lost\n{}", log()),
            Fate::Refused(words) => {
                assert!(!held.contains(mark), "edit {mark} was refused and is in");
                assert!(words.contains("to do:"), "{words}");
            }
            Fate::Replaced | Fate::GaveWay => {}
        }
    }
    println!("{:?}\n{counts:?}", season.told);
    assert!(held.iter().all(|mark| season.fates.contains_key(mark)));
}
