//! Git's merge driver, called by git itself, whichever way git comes to merge; and what
//! git does where the driver fails. Git is the judge: what it commits, what it leaves in
//! the index, what lies in the folder.

#![cfg(target_os = "linux")]
#![allow(clippy::disallowed_methods)]

mod bench;

use bench::Bench;

const BASE: &str = "# out of the van\npump:\n  name: Pump  # as cast\n  number: WP-1\n\n\
                    rail:\n  name: Rail\n";

/// What lies in a file.
fn lies(bench: &Bench, file: &str) -> String {
    std::fs::read_to_string(bench.path(file)).unwrap()
}

/// A guarded clone with `main` and `side`, each with a commit of its own upon `BASE`.
fn parted(ours: &str, theirs: &str) -> Bench {
    parted_at("parts/all.yaml", BASE, ours, theirs)
}

fn parted_at(file: &str, base: &str, ours: &str, theirs: &str) -> Bench {
    let bench = Bench::new();
    bench.types("git init -q -b main . && matchmark guard");
    bench.writes("build.yaml", "name: Brindlet\n");
    bench.writes(file, base);
    bench.types("git add -A && git commit -qm 'The car'");
    bench.types("git switch -qc side");
    bench.writes(file, theirs);
    bench.types("git add -A && git commit -q --allow-empty -m Theirs");
    bench.types("git switch -q main");
    bench.writes(file, ours);
    assert_eq!(
        bench.types("git add -A && git commit -q --allow-empty -m Ours"),
        ""
    );
    bench
}

/// Types what is to go well; git may say which files it merged.
fn goes(bench: &Bench, line: &str) {
    let said = bench.types(line);
    let odd = said
        .lines()
        .find(|line| !line.starts_with("> Auto-merging"));
    assert_eq!(odd, None, "{line}\n{said}");
}

fn name(text: &str) -> String {
    text.replace("name: Pump", "name: Fuel pump")
}

fn number(text: &str, number: &str) -> String {
    text.replace("WP-1", number)
}

/// The ways by which git comes to merge `main` and `side`, each with the file that it ends in.
const WAYS: &[(&str, &str)] = &[
    ("git merge -q --no-edit side", "work/parts/all.yaml"),
    (
        "git merge -q --no-edit -s recursive side",
        "work/parts/all.yaml",
    ),
    (
        "git switch -q side && git rebase -q main",
        "work/parts/all.yaml",
    ),
    ("git cherry-pick side", "work/parts/all.yaml"),
    ("git cherry-pick -n side", "work/parts/all.yaml"),
    ("git merge -q --squash side", "work/parts/all.yaml"),
    (
        "git checkout -q --detach main~1 && git checkout -q side -- parts && git stash -q \
         && git switch -q main && git stash pop",
        "work/parts/all.yaml",
    ),
    (
        "git clone -q --branch side . ../clone && cd ../clone && matchmark guard >/dev/null \
         && git pull -q --rebase origin main",
        "clone/parts/all.yaml",
    ),
    (
        "git worktree add -q ../linked side && cd ../linked && git merge -q --no-edit main",
        "linked/parts/all.yaml",
    ),
    (
        "tree=$(git merge-tree --write-tree main side); ended=$?; \
         git show \"$(echo \"$tree\" | head -1)\":parts/all.yaml >../tree.yaml; exit $ended",
        "tree.yaml",
    ),
];

#[test]
fn edits_to_different_fields_merge_whichever_way_git_comes() {
    for (way, file) in WAYS {
        let bench = parted(&name(BASE), &number(BASE, "WP-2"));
        let said = bench.types(way);
        assert!(!said.contains("(exit"), "{way}\n{said}");
        assert_eq!(lies(&bench, file), name(&number(BASE, "WP-2")), "{way}");
        assert_eq!(bench.types("git ls-files -u"), "", "{way}");
    }
}

#[test]
fn one_field_changed_to_two_values_is_marked_whichever_way_git_comes() {
    for style in ["merge", "diff3", "zdiff3"] {
        for (way, file) in WAYS {
            let ours = name(&number(BASE, "WP-2"));
            let bench = parted(&ours, &number(BASE, "WP-3"));
            bench.types(&format!("git config --global merge.conflictStyle {style}"));
            let said = bench.types(way);
            assert!(said.contains("(exit"), "{way}\n{said}");
            assert!(said.contains("parts/pump: `number`: `WP-"), "{way}\n{said}");
            let text = lies(&bench, file);
            let lines: Vec<&str> = text
                .lines()
                .map(|line| match line.split_once(' ') {
                    Some((mark @ ("<<<<<<<" | "|||||||" | ">>>>>>>"), _)) => mark,
                    _ => line,
                })
                .collect();
            let marked = |one: &str, two: &str| {
                format!(
                    "# out of the van\npump:\n  name: Fuel pump  # as cast\n<<<<<<<\n  \
                     number: {one}\n|||||||\n  number: WP-1\n=======\n  number: {two}\n>>>>>>>\n\n\
                     rail:\n  name: Rail"
                )
            };
            let lines = lines.join("\n");
            let fits = [marked("WP-2", "WP-3"), marked("WP-3", "WP-2")].contains(&lines);
            assert!(fits, "{way}\n{text}");
            // The merge of two trees leaves nothing in the index.
            if !way.contains("merge-tree") {
                let folder = file.split_once('/').unwrap().0;
                let unmerged = bench.types(&format!("cd ../{folder} && git ls-files -u"));
                assert_eq!(unmerged.lines().count(), 3, "{way}\n{unmerged}");
            }
        }
    }
}

#[test]
fn a_change_is_taken_back_beside_a_later_one() {
    let bench = parted(&number(BASE, "WP-2"), BASE);
    bench.writes("parts/all.yaml", &name(&number(BASE, "WP-2")));
    bench.types("git commit -qam 'The name'");
    let said = bench.types("git revert --no-edit HEAD~1");
    assert!(!said.contains("(exit"), "{said}");
    assert_eq!(lies(&bench, "work/parts/all.yaml"), name(BASE));
}

#[test]
fn records_added_at_one_spot_are_both_kept() {
    let ours = format!("{BASE}\nhose: {{name: Hose}}\n");
    let theirs = format!("{BASE}\nclip: {{name: Clip}}\n");
    let bench = parted(&ours, &theirs);
    goes(&bench, "git merge -q --no-edit side");
    let text = lies(&bench, "work/parts/all.yaml");
    assert!(text.starts_with(BASE), "{text}");
    let records: serde_yaml::Value = serde_yaml::from_str(&text).unwrap();
    let mut ids: Vec<&str> = records
        .as_mapping()
        .unwrap()
        .keys()
        .map(|key| key.as_str().unwrap())
        .collect();
    ids.sort_unstable();
    assert_eq!(ids, ["clip", "hose", "pump", "rail"]);
}

#[test]
fn texts_of_any_make_are_merged_as_they_are_made() {
    let crlf = |text: &str| text.replace('\n', "\r\n");
    let bom = |text: &str| format!("\u{feff}{text}");
    let cut = |text: &str| text.trim_end().to_owned();
    let made: [&dyn Fn(&str) -> String; 4] = [&crlf, &bom, &cut, &|text| bom(&crlf(&cut(text)))];
    for make in made {
        let [base, ours, theirs, both] = [
            BASE.to_owned(),
            name(BASE),
            number(BASE, "WP-2"),
            name(&number(BASE, "WP-2")),
        ]
        .map(|text| make(&text));
        let bench = parted_at("parts/all.yaml", &base, &ours, &theirs);
        goes(&bench, "git merge -q --no-edit side");
        assert_eq!(lies(&bench, "work/parts/all.yaml"), both);
    }
}

#[test]
fn files_that_are_empty_or_new_or_gone() {
    // Empty before, and filled by both.
    let (hose, clip) = ("hose: {name: Hose}\n", "clip: {name: Clip}\n");
    let both = |text: &str| text.contains(hose.trim()) && text.contains(clip.trim());
    let bench = parted_at("parts/new.yaml", "", hose, clip);
    goes(&bench, "git merge -q --no-edit side");
    assert!(both(&lies(&bench, "work/parts/new.yaml")));
    // New on both sides.
    let bench = parted(BASE, BASE);
    for (branch, text) in [("side", clip), ("main", hose)] {
        bench.types(&format!("git switch -q {branch}"));
        bench.writes("parts/new.yaml", text);
        bench.types("git add -A && git commit -qm New");
    }
    goes(&bench, "git merge -q --no-edit side");
    assert!(both(&lies(&bench, "work/parts/new.yaml")));
    // One new name for two things.
    let bench = parted(BASE, BASE);
    for (branch, text) in [
        ("side", "hose: {name: Hose}\n"),
        ("main", "hose: {name: Pipe}\n"),
    ] {
        bench.types(&format!("git switch -q {branch}"));
        bench.writes("parts/new.yaml", text);
        bench.types("git add -A && git commit -qm New");
    }
    let said = bench.types("git merge -q --no-edit side");
    assert!(said.contains("(exit 1)"), "{said}");
    let text = lies(&bench, "work/parts/new.yaml");
    assert!(
        text.contains("<<<<<<<") && text.contains("Hose") && text.contains("Pipe"),
        "{text}"
    );
    // Gone on one side, changed on the other: git stops by itself, and keeps what changed.
    let bench = parted(&name(BASE), BASE);
    bench.types("git switch -q side && git rm -q parts/all.yaml && git commit -qm Gone");
    bench.types("git switch -q main");
    let said = bench.types("git merge -q --no-edit side");
    assert!(said.contains("CONFLICT (modify/delete)"), "{said}");
    assert_eq!(lies(&bench, "work/parts/all.yaml"), name(BASE));
}

#[test]
fn a_file_that_one_side_renamed_is_merged_where_it_went() {
    let bench = parted(&name(BASE), &number(BASE, "WP-2"));
    bench.types("git mv parts/all.yaml 'parts/it'\"'\"'s \"all\".yaml' && git commit -qm Renamed");
    goes(&bench, "git merge -q --no-edit side");
    let text = lies(&bench, "work/parts/it's \"all\".yaml");
    assert_eq!(text, name(&number(BASE, "WP-2")));
}

#[test]
fn a_build_in_a_folder_of_any_name_is_found() {
    for place in ["car/", "my car's/", "two \"wings\"/a [b]/"] {
        for format in ["sha1", "sha256"] {
            let bench = Bench::new();
            bench.types(&format!("git init -q -b main --object-format={format} ."));
            bench.writes(&format!("{place}build.yaml"), "name: Brindlet\n");
            let file = format!("{place}parts/all.yaml");
            bench.writes(&file, BASE);
            bench.types("git add -A && matchmark guard && git commit -qm 'The car'");
            bench.types("git switch -qc side");
            bench.writes(&file, &number(BASE, "WP-2"));
            bench.types("git commit -qam Theirs && git switch -q main");
            bench.writes(&file, &name(BASE));
            bench.types("git commit -qam Ours");
            goes(&bench, "git merge -q --no-edit side");
            let text = lies(&bench, &format!("work/{file}"));
            assert_eq!(text, name(&number(BASE, "WP-2")));
        }
    }
}

#[test]
fn several_branches_at_once_lose_nothing() {
    let bench = parted(&name(BASE), &number(BASE, "WP-2"));
    bench.types("git switch -qc third main~1");
    bench.writes(
        "parts/all.yaml",
        &BASE.replace("name: Rail", "name: Fuel rail"),
    );
    bench.types("git commit -qam Third && git switch -q main");
    let before = bench.types("git rev-parse HEAD");
    let said = bench.types("git merge --no-edit side third");
    // Git merges more than two by lines, with no driver, and gives up where it can't.
    let text = lies(&bench, "work/parts/all.yaml");
    if said.contains("(exit") {
        assert_eq!(bench.types("git rev-parse HEAD"), before);
        bench.types("git reset -q --hard");
        for branch in ["side", "third"] {
            goes(&bench, &format!("git merge -q --no-edit {branch}"));
        }
    } else {
        assert!(text.contains("WP-2"), "{text}");
    }
    let all = name(&number(BASE, "WP-2")).replace("name: Rail", "name: Fuel rail");
    assert_eq!(lies(&bench, "work/parts/all.yaml"), all);
}

/// Two branches that were each merged into the other: what they began from is two commits,
/// which git merges first. `settled` is how each settled the clash, in turn.
fn crossed(settled: [&str; 2]) -> Bench {
    let bench = parted(&number(BASE, "WP-2"), &number(BASE, "WP-3"));
    bench.types("git tag ours main && git tag theirs side");
    for (branch, other, number_settled) in
        [("main", "theirs", settled[0]), ("side", "ours", settled[1])]
    {
        bench.types(&format!(
            "git switch -q {branch} && git merge -q --no-edit {other}"
        ));
        bench.writes("parts/all.yaml", &number(BASE, number_settled));
        assert_eq!(
            bench.types(&format!("git commit -qam 'Settled on {branch}'")),
            ""
        );
    }
    bench
}

#[test]
fn branches_that_crossed_lose_nothing() {
    // Both settled it alike; the one named the pump since, the other the rail.
    let bench = crossed(["WP-2", "WP-2"]);
    bench.writes("parts/all.yaml", &name(&number(BASE, "WP-2")));
    bench.types("git commit -qam Name && git switch -q main");
    let rail = number(BASE, "WP-2").replace("name: Rail", "name: Fuel rail");
    bench.writes("parts/all.yaml", &rail);
    bench.types("git commit -qam Rail");
    goes(&bench, "git merge -q --no-edit side");
    assert_eq!(lies(&bench, "work/parts/all.yaml"), name(&rail));
    // In two ways, be it that one took what both had begun from.
    for settled in [
        ["WP-2", "WP-3"],
        ["WP-2", "WP-1"],
        ["WP-1", "WP-3"],
        ["WP-4", "WP-2"],
    ] {
        let bench = crossed(settled);
        let said = bench.types("git merge -q --no-edit main");
        assert!(said.contains("(exit 1)"), "{settled:?}\n{said}");
        let text = lies(&bench, "work/parts/all.yaml");
        for number in settled {
            assert!(
                text.contains(&format!("number: {number}\n")),
                "{settled:?}\n{text}"
            );
        }
        assert!(text.contains("<<<<<<<"), "{text}");
    }
}

#[test]
fn what_is_no_record_is_merged_as_git_would() {
    let bench = parted(BASE, BASE);
    bench.types("echo '*.yaml merge=matchmark' >.gitattributes && git add -A && git commit -qm A");
    bench.types("git switch -q side && git merge -q --no-edit main && git switch -q main");
    for (branch, text) in [("side", "a: 1\nb: 3\n"), ("main", "a: 1\nb: 2\n")] {
        bench.types(&format!("git switch -q {branch}"));
        bench.writes("notes.yaml", text);
        bench.types("git add -A && git commit -qm Notes");
    }
    let said = bench.types("git merge -q --no-edit side");
    assert!(
        said.contains("(exit 1)") && !said.contains("matchmark:"),
        "{said}"
    );
    let ours = lies(&bench, "work/notes.yaml");
    bench.types("git reset -q --hard && rm .git/info/attributes");
    bench.types("git config --remove-section merge.matchmark");
    bench.types("git merge -q --no-edit side");
    assert_eq!(ours, lies(&bench, "work/notes.yaml"));
}

#[test]
fn what_cant_be_read_is_merged_by_lines_and_said() {
    let torn = |text: &str| text.replace("rail:\n  name: Rail\n", "rail: [\n");
    let bench = parted(&number(BASE, "WP-2"), BASE);
    bench.types("git switch -q side");
    bench.writes("parts/all.yaml", &torn(BASE));
    bench.types("git commit -q --no-verify -am Torn && git switch -q main");
    let said = bench.types("git merge -q --no-commit side");
    assert!(
        said.contains("parts/all.yaml: merged by lines, not by records: in what comes in, line "),
        "{said}"
    );
    assert_eq!(
        lies(&bench, "work/parts/all.yaml"),
        torn(&number(BASE, "WP-2"))
    );
    // With a clash in it: all three versions, whatever git is set to.
    bench.types("git reset -q --hard && git switch -q side");
    bench.writes("parts/all.yaml", &torn(&number(BASE, "WP-3")));
    bench.types("git commit -q --no-verify -am Torn && git switch -q main");
    let said = bench.types("git merge -q --no-edit side");
    assert!(said.contains("(exit 1)"), "{said}");
    let text = lies(&bench, "work/parts/all.yaml");
    for number in ["number: WP-1", "number: WP-2", "number: WP-3", "|||||||"] {
        assert!(text.contains(number), "{text}");
    }
    // What git itself takes for no text.
    let wide = |text: &str| -> Vec<u8> {
        let wide = text.encode_utf16().flat_map(u16::to_le_bytes);
        [0xff, 0xfe].into_iter().chain(wide).collect()
    };
    let bench = parted(&number(BASE, "WP-2"), BASE);
    bench.types("git switch -q side");
    std::fs::write(
        bench.path("work/parts/all.yaml"),
        wide(&number(BASE, "WP-3")),
    )
    .unwrap();
    bench.types("git commit -q --no-verify -am Wide && git switch -q main");
    let said = bench.types("git merge -q --no-edit side");
    assert!(said.contains("(exit 1)"), "{said}");
    let bytes = std::fs::read(bench.path("work/parts/all.yaml")).unwrap();
    let holds = |part: &[u8]| bytes.windows(part.len()).any(|window| window == part);
    assert!(holds(&wide(&number(BASE, "WP-3"))) && holds(b"number: WP-2\n") && holds(b"<<<<<<<"));
}

#[test]
fn a_driver_that_fails_stops_git_and_loses_nothing() {
    let fails = [
        ("gone", "", "is not where it was"),
        ("panics", "exit 101", ""),
        ("could not run", "exit 2", ""),
        ("another 127", "exit 127", ""),
        (
            "writes half, then is killed",
            "echo half >\"$5\"; kill -9 $$",
            "",
        ),
        (
            "a full disk",
            "trap '' XFSZ; ulimit -f 0; exec \"$real\" \"$@\"",
            "",
        ),
    ];
    for (what, script, says) in fails {
        for way in [
            "git merge --no-edit side",
            "git rebase main side",
            "git cherry-pick side",
        ] {
            let bench = parted(&name(BASE), &number(BASE, "WP-2"));
            let program = bench.path("bin/matchmark");
            let real = std::fs::read_link(&program).unwrap();
            std::fs::remove_file(&program).unwrap();
            let mut fake = bench.path("nowhere");
            if !script.is_empty() {
                fake = bench.path("fake");
                let head = format!("#!/bin/sh\nreal='{}'\n", real.display());
                std::fs::write(&fake, format!("{head}{script}\n")).unwrap();
                bench.types("chmod +x ../fake");
            }
            let driver = format!(
                "git config merge.matchmark.driver \"$(git config merge.matchmark.driver | \
                 sed \"s|program='[^']*'|program='{}'|\")\"",
                fake.display()
            );
            assert_eq!(bench.types(&driver), "");
            let before = bench.types("git rev-parse main side");
            let said = bench.types(way);
            assert!(said.contains("(exit"), "{what}, {way}\n{said}");
            assert!(said.contains(says), "{what}, {way}\n{said}");
            assert_eq!(
                bench.types("git rev-parse main side"),
                before,
                "{what}, {way}"
            );
            // No side alone: what lies there is what was committed, and nothing is staged.
            assert_eq!(bench.types("git status --short"), "", "{what}, {way}");
            assert_eq!(
                lies(&bench, "work/parts/all.yaml"),
                name(BASE),
                "{what}, {way}"
            );
        }
    }
}

#[test]
fn a_result_that_cant_be_put_in_its_place_is_no_merge() {
    let bench = parted(BASE, BASE);
    bench.writes("base", "");
    bench.writes("theirs", "pump: {name: Pump}\n");
    // A folder that nobody writes in, whoever runs this.
    let said = bench.types(
        "matchmark merge --base base --ours /proc/self/comm --theirs theirs --path parts/a.yaml",
    );
    assert!(said.contains("(exit 2)"), "{said}");
}

#[test]
fn the_program_is_looked_for_where_it_may_be_now() {
    let bench = parted(&name(BASE), &number(BASE, "WP-2"));
    bench.types(
        "git config merge.matchmark.driver \"$(git config merge.matchmark.driver | \
         sed \"s|program='[^']*'|program='/nowhere'|\")\"",
    );
    goes(&bench, "git merge -q --no-edit side");
    assert_eq!(
        lies(&bench, "work/parts/all.yaml"),
        name(&number(BASE, "WP-2"))
    );
}

#[test]
fn guard_leaves_what_somebody_set_and_takes_its_own_out() {
    let bench = parted(BASE, BASE);
    let set = "git config --get-regexp '^merge[.]' | cut -c1-40";
    assert_eq!(
        bench.types(
            "matchmark guard >/dev/null && git config --get-all merge.matchmark.driver | wc -l"
        ),
        "> 1\n"
    );
    bench.types("matchmark guard --remove");
    assert!(bench.types(set).contains("(exit 1)") || bench.types(set).is_empty());
    assert_eq!(bench.types("test -e .git/info/attributes"), "> (exit 1)\n");
    bench.types("git config merge.matchmark.driver 'theirs %A'");
    let said = bench.types("matchmark guard");
    assert!(
        said.contains("merges by record and by field: in force where nothing else is set"),
        "{said}"
    );
    assert!(
        said.contains("`merge.matchmark.driver`: left alone: somebody set it (local settings)"),
        "{said}"
    );
    assert_eq!(
        bench.types("git config merge.matchmark.driver"),
        "> theirs %A\n"
    );
    bench.types("git config --unset merge.matchmark.driver && matchmark guard --remove");
    bench.writes(".gitattributes", "/parts/** merge=union\n");
    let said = bench.types("matchmark guard");
    assert!(
        said.contains("attributes give it to the driver `union`"),
        "{said}"
    );
    assert_eq!(
        bench.types("git check-attr merge parts/all.yaml"),
        "> parts/all.yaml: merge: union\n"
    );
    assert_eq!(
        bench.types("git check-attr merge jobs/all.yaml"),
        "> jobs/all.yaml: merge: matchmark\n"
    );
    bench.types("git config merge.matchmark.recursive binary");
    let said = bench.types("matchmark guard");
    assert!(
        said.contains("`merge.matchmark.recursive`: left alone"),
        "{said}"
    );
    bench.types("matchmark guard --remove");
    assert_eq!(
        bench.types("git config --get-regexp '^merge[.]'"),
        "> merge.matchmark.recursive binary\n"
    );
}

#[test]
fn a_hostile_name_is_shown_as_its_number() {
    let bench = parted(&number(BASE, "WP-2"), &number(BASE, "\"a\\e[2Jb\""));
    let said = bench.types("git merge -q --no-edit side");
    assert!(said.contains("(exit 1)"), "{said}");
    assert!(
        said.contains("a\\u{1b}[2Jb") && !said.contains('\u{1b}'),
        "{said}"
    );
}

/// Two files of parts; `main` moved the rail to the second as it was.
fn moved_here(theirs: &str) -> Bench {
    let bench = parted(BASE, theirs);
    let (pump, rail) = BASE.split_at(BASE.find("rail:").unwrap());
    bench.writes("parts/all.yaml", pump);
    bench.writes("parts/fuel.yaml", rail);
    goes(&bench, "git add -A && git commit -qm Moved");
    bench
}

#[test]
fn a_record_moved_here_and_taken_out_there_is_told_once() {
    let without = &BASE[..BASE.find("rail:").unwrap()];
    let bench = moved_here(without);
    let said = bench.types("git merge -q --no-edit side");
    let lost = "parts/rail: taken out there, and still in the merge";
    assert!(said.contains(lost) && said.contains("(exit"), "{said}");
    assert!(bench.path("work/.git/MERGE_HEAD").exists());
    // It was meant so.
    let said = bench.types("git commit -q --no-edit");
    assert_eq!(said, "");
    assert!(lies(&bench, "work/parts/fuel.yaml").contains("rail:"));
    // Whoever does it again by hand is asked nothing more; another merge is another one.
    bench.types("git reset -q --hard HEAD~1 && git commit -q --allow-empty -m More");
    let said = bench.types("git merge -q --no-edit side");
    assert!(said.contains(lost), "{said}");
    assert_eq!(
        bench.types("git rm -qf parts/fuel.yaml && git commit -q --no-edit"),
        ""
    );
    assert_eq!(bench.types("git status --short"), "");
}

#[test]
fn what_was_dropped_by_taking_one_side_of_a_file_is_told() {
    let theirs = number(BASE, "WP-3").replace("name: Rail", "name: Fuel rail");
    let theirs = format!("{theirs}\nhose:\n  name: Hose\n");
    let bench = parted(&number(BASE, "WP-2"), &theirs);
    bench.types("git merge -q --no-edit side");
    bench.types("git checkout -q --ours parts && git add parts");
    let said = bench.types("git commit -q --no-edit");
    assert!(said.contains("to 2 records"), "{said}");
    assert!(said.contains("parts/hose: new there"), "{said}");
    assert!(said.contains("parts/rail: changed there"), "{said}");
    assert!(!said.contains("parts/pump"), "{said}");
    assert_eq!(bench.types("git commit -q --no-edit"), "");
}

#[test]
fn a_merge_that_holds_both_sides_is_told_nothing() {
    let bench = moved_here(&name(BASE));
    goes(&bench, "git merge -q --no-edit side");
    assert!(lies(&bench, "work/parts/all.yaml").contains("Fuel pump"));
    assert!(lies(&bench, "work/parts/fuel.yaml").contains("rail:"));
}

#[test]
fn a_file_that_is_gone_on_one_side_is_kept_or_let_go() {
    let bench = parted(&name(BASE), BASE);
    bench.types("git switch -q side && git rm -q parts/all.yaml && git commit -qm Gone");
    bench.types("git switch -q main && git merge -q --no-edit side");
    let said = bench.types("matchmark merge");
    let gone = "parts/all.yaml: the whole file is gone there, and changed or renamed here\n";
    assert!(said.contains(gone), "{said}");
    assert!(said.contains("`git rm` it"), "{said}");
    assert!(!said.contains("marks"), "{said}");
}

#[test]
fn what_comes_in_past_the_check_is_refused_where_only_news_stops() {
    let bench = Bench::new();
    bench.types("git init -q -b main . && matchmark guard");
    bench.writes("build.yaml", "name: Brindlet\nstops: added\n");
    bench.writes("parts/all.yaml", BASE);
    bench.types("git add -A && git commit -qm 'The car' && git switch -qc side");
    bench.writes("parts/odd.yaml", "hose: {name: Hose, colour-of: none}\n");
    bench.types("git add -A && git commit -q --no-verify -m Odd && git switch -q main");
    bench.types("git commit -q --allow-empty -m More");
    let said = bench.types("git merge -q --no-edit side");
    assert!(said.contains("is refused: 1 error"), "{said}");
    assert_eq!(bench.types("git log -1 --format=%s"), "> More\n");
}
