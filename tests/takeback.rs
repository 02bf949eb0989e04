//! Taking back what a helper returns, by the real commands and real git: what was edited
//! comes in, exactly that, and what was kept back is as it was. What the records hold is told
//! by another reader of YAML.

#![cfg(target_os = "linux")]
#![allow(clippy::disallowed_methods)]

mod bench;
mod dice;
#[allow(dead_code)]
mod hand;

use std::collections::BTreeMap;
use std::io::Write;

use bench::Bench;
use dice::Dice;
use hand::edits;
use matchmark::changes::{Name, Records};
use matchmark::folder::kind_of;
use matchmark::handover::private::Private;
use matchmark::handover::strip::strip;
use matchmark::merge::{Marks, Three};
use matchmark::source::Source;
use matchmark::takeback::{Files, States, Taken, take};
use matchmark::yaml;
use serde_json::Value;

// ---------------------------------------------------------------- by the commands

const BUILD: &str = "name: Brindlet
people: [builder, helper]
private:
  - donors/*/price
  - jobs/**/price
";
const DONORS: &str = "# What was bought.
pell-van:
  maker: Pell
  price: 310 EUR  # too much
tarn-hatch: {maker: Tarn, price: 120 EUR}
";
const PARTS: &str = "pump:
  name: Pump
  pieces:
    P1: {donor: pell-van}
rail: {name: Rail}
";
const JOBS: &str = "order-1:
  kind: order
  from: the counter
  lines:
    - {what: parts/pump, count: 1, price: 40 EUR}
fit-pump:
  does: Fit the pump
";

/// A build with private fields that is handed over in a form.
fn handed(form: &str) -> Bench {
    let bench = Bench::new();
    bench.writes("lark/build.yaml", BUILD);
    bench.writes("lark/donors/all.yaml", DONORS);
    bench.writes("lark/parts/all.yaml", PARTS);
    bench.writes("lark/jobs/all.yaml", JOBS);
    let said = bench.types(&format!(
        "cd lark && git init -q -b main . && git add -A && git commit -qm Begin && \
         matchmark handover ../{form}"
    ));
    assert!(!said.contains("(exit"), "{said}");
    bench
}

/// A bench with what was handed over laid out for the helper, and how it goes back.
fn at_the_helpers(form: &str) -> (Bench, &'static str) {
    let (bench, open, back) = match form {
        "folder" => (handed("out"), "cp -r out helper", "helper"),
        "archive" => {
            let bench = handed("out.zip");
            let file = std::fs::File::open(bench.path("work/out.zip")).unwrap();
            let mut archive = zip::ZipArchive::new(file).unwrap();
            archive.extract(bench.path("work/helper")).unwrap();
            (bench, "true", "back.zip")
        }
        _ => (
            handed("out.bundle"),
            "git clone -q out.bundle helper",
            "back.bundle",
        ),
    };
    let said = bench.types(open);
    assert!(!said.contains("(exit"), "{said}");
    (bench, back)
}

fn send_back(bench: &Bench, back: &str) {
    let pack = match back {
        "back.zip" => {
            zipped(bench, |_| {});
            "true"
        }
        "back.bundle" => {
            "cd helper && git add -A && { git diff --cached --quiet || \
             GIT_AUTHOR_NAME=helper GIT_AUTHOR_EMAIL=helper@example.invalid \
             git commit -qm 'What I did'; } && git bundle create -q ../back.bundle HEAD main"
        }
        _ => "true",
    };
    let said = bench.types(pack);
    assert!(!said.contains("(exit"), "{said}");
}

type Writer = zip::ZipWriter<std::fs::File>;

/// The helper's folder as an archive, with whatever else is put into it.
fn zipped(bench: &Bench, more: impl FnOnce(&mut Writer)) {
    let file = std::fs::File::create(bench.path("work/back.zip")).unwrap();
    let mut archive = Writer::new(file);
    let helper = bench.path("work/helper");
    for entry in walkdir::WalkDir::new(&helper).sort_by_file_name() {
        let entry = entry.unwrap();
        let inner = entry.path().strip_prefix(&helper).unwrap();
        if entry.file_type().is_file() {
            put(
                &mut archive,
                inner.to_str().unwrap(),
                &std::fs::read(entry.path()).unwrap(),
            );
        }
    }
    more(&mut archive);
    archive.finish().unwrap();
}

fn put(archive: &mut Writer, name: &str, bytes: &[u8]) {
    let options = zip::write::SimpleFileOptions::default();
    archive.start_file(name, options).unwrap();
    archive.write_all(bytes).unwrap();
}

fn read(bench: &Bench, file: &str) -> String {
    std::fs::read_to_string(bench.path("work").join(file)).unwrap()
}

const FORMS: [&str; 3] = ["folder", "archive", "bundle"];

#[test]
fn what_was_not_edited_changes_nothing() {
    for form in FORMS {
        let (bench, back) = at_the_helpers(form);
        send_back(&bench, back);
        for how in ["", "--write", "--commit"] {
            let said = bench.types(&format!("cd lark && matchmark takeback ../{back} {how}"));
            assert!(said.contains("Nothing was changed"), "{form}: {said}");
            assert!(!said.contains("(exit"), "{form}: {said}");
        }
        for (file, text) in [
            ("build.yaml", BUILD),
            ("donors/all.yaml", DONORS),
            ("parts/all.yaml", PARTS),
            ("jobs/all.yaml", JOBS),
        ] {
            assert_eq!(read(&bench, &format!("lark/{file}")), text, "{form}");
        }
        assert_eq!(bench.types("cd lark && git status --short"), "", "{form}");
        assert_eq!(bench.types("cd lark && git rev-list --count HEAD"), "> 1\n");
    }
}

#[test]
fn edits_come_in_and_what_is_private_stays() {
    for form in FORMS {
        let (bench, back) = at_the_helpers(form);
        let given = read(&bench, "helper/donors/all.yaml");
        assert!(!given.contains("310") && !given.contains("120"), "{given}");
        // The helper renames a donor, puts it into a file of its own, and adds a note.
        bench.writes(
            "helper/donors/hatch.yaml",
            "tarn-estate: {maker: Tarn, note: no doors}\n",
        );
        bench.types("cd helper && sed -i '/^tarn-hatch/d' donors/all.yaml");
        bench.types("cd helper && sed -i 's/maker: Pell/maker: Pell and Sons/' donors/all.yaml");
        bench.types("cd helper && sed -i 's/count: 1/count: 2/' jobs/all.yaml");
        send_back(&bench, back);
        // The builder goes on meanwhile, with something staged that has nothing to do with it.
        bench.types("cd lark && sed -i 's/name: Rail/name: Rail, note: bent/' parts/all.yaml");
        bench.types("cd lark && git commit -qam 'The rail is bent'");
        bench.types("cd lark && echo todo >todo.txt && git add todo.txt");

        let shown = bench.types(&format!("cd lark && matchmark takeback ../{back}"));
        assert!(shown.contains("Nothing is written yet"), "{form}: {shown}");
        assert_eq!(read(&bench, "lark/donors/all.yaml"), DONORS, "{form}");
        let said = bench.types(&format!("cd lark && matchmark takeback ../{back} --commit"));
        assert!(said.contains("committed:"), "{form}: {said}");

        let donors = read(&bench, "lark/donors/all.yaml") + &read(&bench, "lark/donors/hatch.yaml");
        let donors = edits::theirs(&donors).unwrap();
        let is: Value = serde_yaml::from_str(
            "pell-van: {maker: Pell and Sons, price: 310 EUR}\n\
             tarn-estate: {maker: Tarn, price: 120 EUR, note: no doors}\n",
        )
        .unwrap();
        assert_eq!(Value::Object(donors), is, "{form}");
        let text = read(&bench, "lark/donors/all.yaml");
        assert!(
            text.contains("  price: 310 EUR  # too much\n"),
            "{form}: {text}"
        );
        let jobs = edits::theirs(&read(&bench, "lark/jobs/all.yaml")).unwrap();
        let line = &jobs["order-1"]["lines"][0];
        assert_eq!(line["count"], 2, "{form}");
        assert_eq!(line["price"], "40 EUR", "{form}");
        assert!(
            read(&bench, "lark/parts/all.yaml").contains("note: bent"),
            "{form}"
        );

        // Only what came back is in the commit, by whoever did it; the rest is still staged.
        let status = bench.types("cd lark && git status --short");
        assert_eq!(status, "> A  todo.txt\n", "{form}");
        let by = bench.types("cd lark && git log -1 --format='%an, %cn'");
        if form == "bundle" {
            assert_eq!(by, "> helper, builder\n");
        }
        let again = bench.types(&format!("cd lark && matchmark takeback ../{back} --commit"));
        assert!(again.contains("All of it is in already"), "{form}: {again}");
        assert!(!again.contains("(exit"), "{form}: {again}");
        // The bench names the example's owner and no settings; git made one commit more.
        assert_eq!(bench.types("cd lark && git rev-list --count HEAD"), "> 3\n");
    }
}

#[test]
fn what_clashes_is_told_and_marked_only_when_asked() {
    let (bench, back) = at_the_helpers("folder");
    bench.types("cd helper && sed -i 's/name: Pump/name: Water pump/' parts/all.yaml");
    bench.types("cd helper && sed -i 's/name: Rail/name: Fuel rail/' parts/all.yaml");
    bench.types("cd lark && sed -i 's/name: Pump/name: Oil pump/' parts/all.yaml");
    let before = read(&bench, "lark/parts/all.yaml");
    let take = |how: &str| bench.types(&format!("cd lark && matchmark takeback ../{back} {how}"));
    let said = take("");
    for part in [
        "parts/pump/name",
        "`Oil pump` here, `Water pump` came back",
        "`Pump` was handed",
        "(exit 1)",
    ] {
        assert!(said.contains(part), "{part} in {said}");
    }
    let said = take("--commit");
    assert!(said.contains("what clashes can't be committed"), "{said}");
    assert_eq!(read(&bench, "lark/parts/all.yaml"), before);
    let said = take("--write");
    assert!(said.contains("(exit 1)"), "{said}");
    let text = read(&bench, "lark/parts/all.yaml");
    for part in [
        "<<<<<<< here\n  name: Oil pump\n",
        "  name: Pump\n=======\n  name: Water pump\n>>>>>>> came back\n",
        "rail: {name: Fuel rail}\n",
    ] {
        assert!(text.contains(part), "{part} in {text}");
    }
}

#[test]
fn a_private_field_that_the_helper_filled_in_stays() {
    let (bench, back) = at_the_helpers("folder");
    bench
        .types("cd helper && sed -i 's/maker: Pell/maker: Pell\\n  price: 1 EUR/' donors/all.yaml");
    let said = bench.types(&format!("cd lark && matchmark takeback ../{back} --write"));
    assert!(said.contains("donors/pell-van/price"), "{said}");
    assert!(said.contains("is private and was not given"), "{said}");
    assert!(said.contains("(exit 1)"), "{said}");
    assert_eq!(read(&bench, "lark/donors/all.yaml"), DONORS);
}

#[test]
fn changes_of_ones_own_are_not_committed_with_it() {
    let (bench, back) = at_the_helpers("folder");
    bench.types("cd helper && sed -i 's/name: Pump/name: Water pump/' parts/all.yaml");
    bench.types("cd lark && sed -i 's/name: Rail/name: Fuel rail/' parts/all.yaml");
    let before = read(&bench, "lark/parts/all.yaml");
    let said = bench.types(&format!("cd lark && matchmark takeback ../{back} --commit"));
    assert!(said.contains("holds changes of your own"), "{said}");
    assert_eq!(read(&bench, "lark/parts/all.yaml"), before);
    let said = bench.types(&format!("cd lark && matchmark takeback ../{back} --write"));
    assert!(said.contains("written: `parts/all.yaml`"), "{said}");
    let parts = edits::theirs(&read(&bench, "lark/parts/all.yaml")).unwrap();
    assert_eq!(parts["pump"]["name"], "Water pump");
    assert_eq!(parts["rail"]["name"], "Fuel rail");
}

#[test]
fn what_makes_a_bad_build_is_not_committed() {
    let (bench, back) = at_the_helpers("folder");
    bench.types("cd helper && sed -i 's/donor: pell-van/donor: pel-van/' parts/all.yaml");
    let said = bench.types(&format!("cd lark && matchmark takeback ../{back} --commit"));
    assert!(said.contains("there is no donor `pel-van`"), "{said}");
    assert!(said.contains("nothing is written"), "{said}");
    assert_eq!(read(&bench, "lark/parts/all.yaml"), PARTS);
}

#[test]
fn line_ends_and_marks_of_another_machine_are_no_edit() {
    let (bench, back) = at_the_helpers("folder");
    let crlf = |file: &str| {
        let text = read(&bench, file).replace('\n', "\r\n");
        bench.writes(file, &format!("\u{FEFF}{text}"));
    };
    for file in ["build", "donors/all", "parts/all", "jobs/all"] {
        crlf(&format!("helper/{file}.yaml"));
    }
    let take = || bench.types(&format!("cd lark && matchmark takeback ../{back} --write"));
    let said = take();
    assert!(said.contains("Nothing was changed"), "{said}");
    bench.types("cd helper && sed -i 's/name: Pump/name: Water pump/' parts/all.yaml");
    take();
    let is = PARTS.replace("name: Pump", "name: Water pump");
    assert_eq!(read(&bench, "lark/parts/all.yaml"), is);
}

#[test]
fn a_copy_that_lies_beside_its_file_is_named_and_left() {
    let bench = handed("out");
    let said = bench.types(
        "sed 's/Rail/Fuel rail/' out/parts/all.yaml >'out/parts/all - copy.yaml' && \
         matchmark takeback out --folder lark",
    );
    assert!(said.contains("Nothing of it is taken."), "{said}");
    assert!(said.contains("parts/all - copy.yaml"), "{said}");
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    let why = "its records stand in parts/all.yaml as well";
    assert!(said.contains(why), "{said}");

    // What stands there alone is new, wherever it lies.
    let said = bench.types(
        "echo 'hose: {name: Hose}' >>'out/parts/all - copy.yaml' && \
         matchmark takeback out --folder lark",
    );
    assert!(!said.contains(why), "{said}");
}

#[test]
fn it_must_answer_a_handover_that_is_known() {
    let (bench, back) = at_the_helpers("folder");
    let take = |how: &str| bench.types(&format!("cd lark && matchmark takeback {how}"));
    for (how, says) in [
        (".".to_owned(), "is this build itself"),
        ("../nothing".to_owned(), "can't be read"),
        ("build.yaml".to_owned(), "is no folder, no zip archive"),
        (
            format!("../{back} --handed 2020-01-01-1"),
            "known here: `2026-",
        ),
    ] {
        let said = take(&how);
        assert!(said.contains(says), "{how}: {said}");
        assert!(said.contains("(exit 2)"), "{how}: {said}");
    }
    bench.types("rm helper/handed-over.yaml");
    let said = take(&format!("../{back}"));
    assert!(
        said.contains("does not tell which handover it answers"),
        "{said}"
    );
    bench.types("rm helper/build.yaml");
    let said = take(&format!("../{back}"));
    assert!(said.contains("holds no build.yaml"), "{said}");
}

/// A commit's name proves a guess at what stands in it.
#[test]
fn a_pack_is_known_again_without_the_names_of_what_is_private() {
    let (bench, back) = at_the_helpers("folder");
    let said = bench.types(
        "cd lark && for id in $(git rev-parse HEAD HEAD: HEAD:donors HEAD:donors/all.yaml); \
         do grep -rc $id ../out/handed-over.yaml ../out/READ-FIRST.md; done | sort | uniq -c",
    );
    assert!(said.contains("4 ../out/handed-over.yaml:0"), "{said}");
    assert!(said.contains("4 ../out/READ-FIRST.md:0"), "{said}");
    let take = format!("cd lark && matchmark takeback ../{back}");
    let said = bench.types(&take);
    assert!(said.contains("Nothing was changed"), "{said}");
    bench.types("sed -i 's/^state: .*/state: \"1234\"/' helper/handed-over.yaml");
    let said = bench.types(&take);
    assert!(said.contains("elsewhere is another state"), "{said}");
    assert!(said.contains("(exit 2)"), "{said}");
}

#[test]
fn a_message_that_does_not_go_along_is_not_said_to_be_left_out() {
    let bench = handed("out");
    let said = bench.types(
        "cd lark && git commit -q --allow-empty -m 'Paid 310 EUR' && \
         matchmark handover ../second && matchmark handover --history all ../third.bundle",
    );
    assert!(!said.contains("(exit"), "{said}");
    assert_eq!(
        said.matches("in the message of 1 commit").count(),
        1,
        "{said}"
    );
    let said = bench.types("grep -c message second/handed-over.yaml");
    assert!(said.contains("(exit 1)"), "{said}");
}

#[test]
fn a_filled_in_job_sheet_comes_back_alone() {
    let (bench, _) = at_the_helpers("folder");
    let sheet = include_str!("first_page/jobs.csv");
    let mut lines = sheet.lines();
    let heads: Vec<String> = lines
        .next()
        .unwrap()
        .split(',')
        .map(|head| head.trim_matches(['"', '\u{feff}']).to_lowercase())
        .collect();
    let fill = |job: &str, filled: &[(&str, &str)]| -> String {
        let cells = heads.iter().enumerate().map(|(number, head)| {
            let cell = filled.iter().find(|(name, _)| head.starts_with(name));
            match (number, cell) {
                (0, _) => job.to_owned(),
                (_, Some((_, text))) => (*text).to_owned(),
                _ => String::new(),
            }
        });
        cells.collect::<Vec<_>>().join(";")
    };
    let filled = [
        heads.join(";"),
        fill(
            "fit-pump",
            &[
                ("left as", "two bolts in by hand"),
                ("hours", "1.5"),
                ("worked", "2026-03-04"),
                ("by", "helper"),
            ],
        ),
        fill("fit-pumb", &[("left as", "nothing")]),
        fill("order-1", &[("done", "2026-02-31")]),
    ];
    bench.writes("filled.csv", &(filled.join("\r\n") + "\r\n"));
    let said = bench.types("cd lark && matchmark takeback ../filled.csv --write");
    for part in ["line 3", "`fit-pump` is", "line 4", "(exit 1)"] {
        assert!(said.contains(part), "{part} in {said}\n{sheet}");
    }
    let jobs = edits::theirs(&read(&bench, "lark/jobs/all.yaml")).unwrap();
    let is: Value = serde_yaml::from_str(
        "order-1: {kind: order, from: the counter, lines: [{what: parts/pump, count: 1, price: 40 EUR}]}\n\
         fit-pump: {does: Fit the pump, left-as: two bolts in by hand, spent: [{when: 2026-03-04, for: 1.5 h, by: helper}]}\n",
    )
    .unwrap();
    assert_eq!(Value::Object(jobs), is, "{said}\n{sheet}");
    let said = bench.types("cd lark && matchmark takeback ../filled.csv");
    assert!(!said.contains("Nothing is written yet"), "{said}");
}

// ---------------------------------------------------------------- hostile

#[test]
fn a_folder_runs_nothing_and_leads_nowhere() {
    let (bench, _) = at_the_helpers("bundle");
    bench.writes("secret.yaml", "secret: {name: Secret}\n");
    let ran = bench.path("ran");
    bench.writes(
        "run.sh",
        &format!("#!/bin/sh\ntouch {}\ncat\n", ran.display()),
    );
    let run = bench.path("work/run.sh");
    let run = run.display();
    let said = bench.types(&format!(
        "chmod +x run.sh && cd helper && git config core.fsmonitor {run} && \
         git config core.sshCommand {run} && git config filter.x.smudge {run} && \
         git config filter.x.clean {run} && git config filter.x.required true && \
         git config core.hooksPath {hooks} && mkdir -p .git/hooks && \
         for hook in post-checkout reference-transaction post-index-change pre-commit; do \
         cp {run} .git/hooks/$hook; done; printf '* filter=x\\n' >.gitattributes; \
         ln -s ../../secret.yaml parts/link.yaml; ln -s /etc links; mkfifo parts/pipe.yaml; \
         sed -i 's/name: Pump/name: \"Pump \\\\u202e\"/' parts/all.yaml",
        hooks = bench.path("work/helper/.git/hooks").display()
    ));
    assert!(!said.contains("(exit"), "{said}");
    let odd = bench
        .path("work/helper/parts")
        .join("a\u{1b}[2J\u{202e}.yaml");
    std::fs::write(odd, "odd: {name: Odd}\n").unwrap();
    let said = bench.types("cd lark && timeout 60 matchmark takeback ../helper --write");
    assert!(!ran.exists(), "{said}");
    assert!(said.contains("parts/link.yaml"), "{said}");
    assert!(said.contains("links are not followed"), "{said}");
    assert!(said.contains("it is no ordinary file"), "{said}");
    assert!(!said.contains(['\u{1b}', '\u{202e}']), "{said}");
    let files = bench.types("cd lark && find . -path ./.git -prune -o -type f -print | sort");
    let meant = "> ./build.yaml\n> ./donors/all.yaml\n> ./jobs/all.yaml\n> ./parts/all.yaml\n";
    assert_eq!(files, meant);
}

#[test]
fn an_archive_writes_only_into_the_build() {
    let (bench, _) = at_the_helpers("archive");
    zipped(&bench, |archive| {
        for name in [
            "../up.yaml",
            "/top.yaml",
            "parts/../../up.yaml",
            "C:/c.yaml",
            "parts\\..\\b.yaml",
            ".git/hooks/post-checkout",
            ".GIT/config",
            "git~1/config",
            "parts/a.yaml:s",
            "parts/ALL.yaml",
        ] {
            put(archive, name, b"odd: {name: Odd}\n");
        }
        let options = zip::write::SimpleFileOptions::default();
        archive
            .add_symlink("parts/link.yaml", "/etc/passwd", options)
            .unwrap();
        put(archive, "parts/bomb.yaml", &vec![b'#'; 40 << 20]);
        put(
            archive,
            &format!("{}a.yaml", "deep/".repeat(40)),
            b"odd: {name: Odd}\n",
        );
    });
    let said = bench.types(
        "cd lark && (ulimit -v 4000000; timeout 120 matchmark takeback ../back.zip --write)",
    );
    for part in [
        "leads out of the folder",
        "links are not followed",
        "larger than",
        "lies too deep",
        "but for capitals",
    ] {
        assert!(said.contains(part), "{part} in {said}");
    }
    let files = bench.types("cd lark && git status --short");
    assert_eq!(files, "", "{said}");
    assert_eq!(
        bench.types("ls"),
        "> back.zip\n> helper\n> lark\n> out.zip\n"
    );
}

#[test]
fn a_bundle_writes_only_into_the_build() {
    let (bench, _) = at_the_helpers("bundle");
    // Trees that git itself would not make: it is told the entries one by one.
    let said = bench.types(
        "cd helper && blob=$(echo 'odd: {name: Odd}' | git hash-object -w --stdin) && \
         link=$(printf /etc/passwd | git hash-object -w --stdin) && \
         head=$(git rev-parse HEAD) && \
         parts=$( { git ls-tree HEAD:parts; printf '120000 blob %s\\tlink.yaml\\n' $link; \
         printf '100644 blob %s\\tC:a.yaml\\n' $blob; } | git mktree) && \
         tree=$( { git ls-tree HEAD | grep -v '\tparts$'; printf '040000 tree %s\\tparts\\n' $parts; \
         printf '160000 commit %s\\tsub\\n' $head; } | git mktree) && \
         new=$(git commit-tree $tree -p HEAD -m 'Odd things') && git update-ref refs/heads/main $new \
         && git bundle create -q ../odd.bundle HEAD main && \
         bad=$( { git ls-tree HEAD; printf '100644 blob %s\\t.GIT\\n' $blob; } | git mktree) && \
         new=$(git commit-tree $bad -p HEAD -m 'Worse') && git update-ref refs/heads/main $new && \
         git bundle create -q ../worse.bundle HEAD main",
    );
    assert!(!said.contains("(exit"), "{said}");
    let said = bench.types("cd lark && matchmark takeback ../odd.bundle --write");
    for part in [
        "links are not followed",
        "another repository",
        "leads out of the folder",
    ] {
        assert!(said.contains(part), "{part} in {said}");
    }
    assert_eq!(bench.types("cd lark && git status --short"), "", "{said}");
    let said = bench.types("cd lark && matchmark takeback ../worse.bundle --write");
    assert!(said.contains("git does not take"), "{said}");
    assert!(said.contains("(exit 2)"), "{said}");
    let said = bench.types(
        "cd lark && head -c 600 ../odd.bundle >../torn.bundle && matchmark takeback ../torn.bundle",
    );
    assert!(said.contains("git does not take"), "{said}");
    assert_eq!(
        bench.types("cd lark && git for-each-ref | grep -vc handed"),
        "> 1\n"
    );
}

#[test]
fn a_tree_that_names_itself_over_and_over_is_not_walked() {
    let (bench, _) = at_the_helpers("bundle");
    let said = bench.types(
        "cd helper && blob=$(echo a | git hash-object -w --stdin) && \
         tree=$(printf '100644 blob %s\\ta\\n' $blob | git mktree) && \
         for depth in 1 2 3 4 5 6 7 8 9 10; do \
         tree=$(for n in 0 1 2 3 4 5 6 7 8 9; do printf '040000 tree %s\\td%s\\n' $tree $n; done \
         | git mktree); done && \
         top=$( { git ls-tree HEAD; printf '040000 tree %s\\tz\\n' $tree; } | git mktree) && \
         new=$(git commit-tree $top -p HEAD -m 'So many') && git update-ref refs/heads/main $new && \
         git bundle create -q ../many.bundle HEAD main",
    );
    assert!(!said.contains("(exit"), "{said}");
    let said = bench.types("cd lark && timeout 60 matchmark takeback ../many.bundle --write");
    assert!(said.contains("holds more than 50000 files"), "{said}");
    assert!(said.contains("(exit 2)"), "{said}");
}

// ---------------------------------------------------------------- at random

fn stripped(files: &Files, private: &Private) -> Files {
    let each = files.iter().map(|(path, bytes)| {
        let source = Source::from_bytes(path, bytes.clone()).unwrap();
        let reading = yaml::read(source);
        let text = strip(kind_of(path).unwrap(), &reading, private)
            .unwrap()
            .text;
        (path.clone(), text.into_bytes())
    });
    each.collect()
}

fn records(files: &Files) -> Records {
    let mut all = Records::new();
    for (path, bytes) in files {
        let kind = kind_of(path).unwrap();
        let held = edits::theirs(std::str::from_utf8(bytes).unwrap()).unwrap();
        for (id, value) in held {
            all.insert(Name { kind, id }, value);
        }
    }
    all
}

fn after(now: &Files, taken: &Taken) -> Files {
    let mut files = now.clone();
    for file in &taken.files {
        match &file.is {
            Some(bytes) => files.insert(file.path.clone(), bytes.clone()),
            None => files.remove(&file.path),
        };
    }
    files
}

fn taken_back(
    given: &Files,
    whole: &Files,
    returned: &Files,
    now: &Files,
    private: &Private,
) -> Taken {
    let states = States {
        given: given.clone(),
        whole: whole.clone(),
        returned: returned.clone(),
        now: now.clone(),
    };
    let marks = Marks {
        size: 7,
        names: Three::default(),
    };
    take(
        states,
        |kind, way, value| private.strip(kind, way, value),
        &marks,
    )
}

/// What a helper did to a stripped build is what is different in the whole one afterwards.
#[test]
fn any_edits_come_in_exactly() {
    let private =
        Private::by(["*/*/note", "*/*/source", "donors/*/price", "jobs/**/price"]).unwrap();
    let library: Vec<edits::File> = edits::library()
        .into_iter()
        .filter(|file| file.path != "build.yaml")
        .collect();
    let mut dice = Dice(0x0007_ac4e_b0b5);
    let (mut edited, mut kept) = (0, 0);
    for round in 0..25 {
        let files = edits::some_files(&library, &mut dice);
        let whole: Files = files
            .iter()
            .map(|file| (file.path.clone(), file.text.clone().into_bytes()))
            .collect();
        let sound = whole.iter().all(|(path, bytes)| {
            let reading = yaml::read(Source::from_bytes(path, bytes.clone()).unwrap());
            strip(kind_of(path).unwrap(), &reading, &private).is_ok()
        });
        if !sound || files.is_empty() {
            continue;
        }
        let given = stripped(&whole, &private);
        let nothing = taken_back(&given, &whole, &given, &whole, &private);
        assert!(!nothing.edited && nothing.files.is_empty(), "round {round}");
        let mut helper: Vec<edits::File> = Vec::new();
        for (path, bytes) in &given {
            let text = String::from_utf8(bytes.clone()).unwrap();
            helper.push(edits::File::new(path, text, true).unwrap());
        }
        for _ in 0..1 + dice.below(4) {
            let what = dice.below(edits::EDITS);
            edits::one_edit(what, &mut helper, &mut dice);
        }
        let returned: Files = helper
            .iter()
            .map(|file| (file.path.clone(), file.text.clone().into_bytes()))
            .collect();
        if returned.keys().any(|path| kind_of(path).is_none()) {
            continue;
        }
        let taken = taken_back(&given, &whole, &returned, &whole, &private);
        let is = after(&whole, &taken);
        // Nothing is lost or invented of what the helper can have seen.
        if taken.left.is_empty() && taken.clashes.is_empty() {
            let mut seen = records(&is);
            let mut meant = records(&returned);
            for all in [&mut seen, &mut meant] {
                for (name, value) in all.iter_mut() {
                    let way = yaml::Route::default().then(&*name.id);
                    private.strip(name.kind, &way, value);
                }
            }
            assert_eq!(
                seen,
                meant,
                "round {round}\n{}",
                shown(&whole, &returned, &is)
            );
            edited += usize::from(taken.edited);
        }
        // What was kept back of a record that is still there is as it was.
        let (before, now) = (records(&whole), records(&is));
        for (name, value) in &before {
            let Some(new) = now.get(name) else { continue };
            for field in ["note", "price"] {
                let way = yaml::Route::default().then(&*name.id);
                let mut open = value.clone();
                private.strip(name.kind, &way, &mut open);
                let is_private = value.get(field).is_some() && open.get(field).is_none();
                if is_private && taken.left.is_empty() {
                    kept += 1;
                    assert_eq!(new.get(field), value.get(field), "round {round}: {name}");
                }
            }
        }
        let again = taken_back(&given, &whole, &returned, &is, &private);
        if taken.clashes.is_empty() && taken.left.is_empty() {
            assert!(
                again.clashes.is_empty(),
                "round {round}: {:?}",
                again.clashes
            );
            assert_eq!(records(&after(&is, &again)), records(&is), "round {round}");
        }
    }
    assert!(edited > 5 && kept > 10, "{edited} edited, {kept} kept");
}

fn shown(whole: &Files, returned: &Files, is: &Files) -> String {
    let mut text = String::new();
    for (head, files) in [("whole", whole), ("returned", returned), ("is", is)] {
        let differing: BTreeMap<&String, &Vec<u8>> = files
            .iter()
            .filter(|(path, bytes)| returned.get(*path) != Some(bytes) || head == "returned")
            .collect();
        for (path, bytes) in differing {
            text.push_str(&format!(
                "== {head} {path}\n{}\n",
                String::from_utf8_lossy(bytes)
            ));
        }
    }
    text
}
