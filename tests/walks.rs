//! What differs between trees, and how commits follow one another, against git itself: as
//! the library reads a repository, and as git is asked where the library can't (refs in a
//! table).

#![cfg(target_os = "linux")]
#![allow(clippy::disallowed_methods)]

mod bench;

use bench::Bench;
use matchmark::changes::records::Readings;
use matchmark::shell::git::Repo;
use matchmark::shell::history::TreeAt;

/// A build in a folder of its repository, with all that a file can become.
const HISTORY: &str = r#"
c() { git add -A && git commit -q --allow-empty -m "$1"; }
c "Nothing yet"
mkdir -p car/parts car/.cache && cd car
echo 'name: Wren' >build.yaml
echo 'pump: {name: Pump}' >parts/all.yaml
echo 'rail: {name: Rail}' >"parts/long rail.yaml"
echo secret >.cache/kept.yaml
echo other >../outside.yaml
c "Begun"
git mv parts/all.yaml parts/pumps.yaml
ln -s pumps.yaml parts/link.yaml
echo picture >p-1.png
c "Moved"
git switch -qc helper
echo 'rail: {name: Fuel rail}' >"parts/long rail.yaml"
c "The rail"
git switch -q main
rm parts/link.yaml && echo 'head: {name: Head}' >parts/link.yaml
rm p-1.png && mkdir p-1.png && echo in >p-1.png/inner
c "A link no more"
git merge -q --no-edit helper
rm -r parts && echo 'no folder' >parts
c "A folder no more"
git rm -q -r . && cd .. && rm -rf car
c "All gone"
"#;

fn repository(begin: &str) -> Option<Bench> {
    let bench = Bench::new();
    let said = bench.types(begin);
    // An older git has no tables; the plain way must do.
    if said.contains("(exit") {
        assert!(begin.contains("reftable"), "{said}");
        return None;
    }
    let said = bench.types(&format!("set -e{HISTORY}"));
    assert_eq!(said, "");
    Some(bench)
}

fn lines(bench: &Bench, typed: &str) -> Vec<String> {
    let said = bench.types(typed);
    let lines = said.lines().map(|line| line.trim_start_matches("> "));
    lines.map(str::to_owned).collect()
}

#[test]
fn what_differs_is_what_git_says() {
    let ways = [
        "git init -q -b main .",
        "git init -q -b main --ref-format=reftable .",
    ];
    for begin in ways {
        let Some(bench) = repository(begin) else {
            continue;
        };
        let repo = Repo::open(Some(&bench.path("work"))).unwrap();
        let all = lines(&bench, "git rev-list HEAD");
        assert_eq!(all.len(), 8);
        let mut differences = 0;
        for (was, is) in all
            .iter()
            .flat_map(|was| all.iter().map(move |is| (was, is)))
        {
            let at = |id: &str| TreeAt {
                tree: repo.commit(id).unwrap().tree,
                prefix: "car/".to_owned(),
            };
            let (since, until) = (at(was), at(is));
            let differs = repo.differs(Some(&since), Some(&until)).unwrap();
            let mut told = Vec::new();
            for one in &differs {
                let name = |entry: &Option<matchmark::shell::history::Entry>| {
                    let none = || "0".repeat(40);
                    entry.as_ref().map_or_else(none, |entry| entry.id.clone())
                };
                told.push(format!("{} {} {}", name(&one.was), name(&one.is), one.path));
            }
            let git = lines(
                &bench,
                &format!(
                    "git diff-tree -r --no-renames --relative=car {was} {is} | \
                     sed -E 's/^:[0-9]+ [0-9]+ ([0-9a-f]+) ([0-9a-f]+) .\t\"?([^\"]*)\"?$/\\1 \\2 \\3/' | \
                     grep -v ' \\.cache' || true"
                ),
            );
            assert_eq!(told, git, "{begin}: {was} {is}");
            differences += told.len();
            // What was read is what git holds.
            let mut readings = Readings::default();
            let differing = repo.read_differs(&differs, &mut readings).unwrap();
            for (side, state) in [(&differing.since, was), (&differing.until, is)] {
                for (path, held) in side {
                    let text = lines(&bench, &format!("git show '{state}:car/{path}'"));
                    let first = text[0].split([':', ' ']).next().unwrap();
                    match held.records.first() {
                        Some((id, _)) if id == "build" => assert_eq!(first, "name"),
                        Some((id, _)) => assert_eq!(id, first),
                        None => assert_eq!(held.torn.as_deref(), Some("it is a link")),
                    }
                }
            }
        }
        assert!(differences > 50, "{differences}");
        let nothing = repo.differs(None, None).unwrap();
        assert!(nothing.is_empty());
        let begun = TreeAt {
            tree: repo.commit("HEAD~5").unwrap().tree,
            prefix: "car/".to_owned(),
        };
        let paths = |differs: Vec<matchmark::shell::history::Differs>| -> Vec<String> {
            differs.into_iter().map(|one| one.path).collect()
        };
        let new = paths(repo.differs(None, Some(&begun)).unwrap());
        assert_eq!(
            new,
            ["build.yaml", "parts/all.yaml", "parts/long rail.yaml"]
        );
        assert_eq!(new, paths(repo.differs(Some(&begun), None).unwrap()));
    }
}

#[test]
fn the_main_line_is_git_s() {
    for begin in [
        "git init -q -b main .",
        "git init -q -b main --ref-format=reftable .",
    ] {
        let Some(bench) = repository(begin) else {
            continue;
        };
        let repo = Repo::open(Some(&bench.path("work"))).unwrap();
        let head = repo.head().unwrap();
        let line: Vec<_> = repo.main_line(&head).map(Result::unwrap).collect();
        let ids: Vec<&str> = line.iter().map(|commit| commit.id.as_str()).collect();
        assert_eq!(ids, lines(&bench, "git rev-list --first-parent HEAD"));
        assert!(repo.cut_off().is_empty());
        assert_eq!(line[2].parents.len(), 2);
        assert_eq!(line[0].title, "All gone");
        assert_eq!(line[0].by.0, "builder");
        // A clone with its end cut off.
        let whole = lines(&bench, "git rev-list --first-parent HEAD");
        bench.types("git clone -q --depth 2 \"file://$PWD\" ../bin/short");
        let short = Repo::open(Some(&bench.path("bin/short"))).unwrap();
        let head = short.head().unwrap();
        let line: Vec<_> = short.main_line(&head).map(Result::unwrap).collect();
        let ids: Vec<&str> = line.iter().map(|commit| commit.id.as_str()).collect();
        assert_eq!(ids, whole[..2]);
        let cut = short.cut_off();
        assert!(cut.contains(ids[1]) && !cut.contains(ids[0]), "{cut:?}");
    }
}

#[test]
fn the_index_is_the_tree_that_git_would_write() {
    let bench = repository("git init -q -b main .").unwrap();
    let told = |bench: &Bench| {
        let repo = Repo::open(Some(&bench.path("work"))).unwrap();
        repo.index_tree().unwrap()
    };
    let git = |bench: &Bench| lines(bench, "git write-tree").concat();
    bench.writes("car/build.yaml", "name: Wren\n");
    bench.types("git add -A");
    assert_eq!(told(&bench), git(&bench));
    bench.writes("car/parts/new.yaml", "pump: {}\n");
    bench.types("git add -N car/parts/new.yaml");
    assert_eq!(told(&bench), git(&bench));
    bench.types("git update-index --split-index");
    assert_eq!(told(&bench), git(&bench));
}
