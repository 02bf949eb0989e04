//! `matchmark start`, in folders of every sort, with real git looking on.

#![allow(clippy::disallowed_methods)]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;

use matchmark::model::Kind;
use serde_json::Value;
use tempfile::TempDir;

/// A workshop of its own: nothing of the person who runs the test gets in.
struct Shed {
    folder: TempDir,
}

impl Shed {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        std::fs::create_dir(folder.path().join("home")).unwrap();
        std::fs::create_dir(folder.path().join("bench")).unwrap();
        std::fs::write(folder.path().join("home/config"), "").unwrap();
        Self { folder }
    }

    fn bench(&self) -> PathBuf {
        self.folder.path().join("bench")
    }

    fn path(&self, path: &str) -> PathBuf {
        self.bench().join(path)
    }

    fn write(&self, path: &str, text: &str) {
        let path = self.path(path);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
    }

    fn read(&self, path: &str) -> String {
        std::fs::read_to_string(self.path(path)).unwrap()
    }

    fn command(&self, program: &str, inner: &str, args: &[&str]) -> (i32, String, String) {
        let home = self.folder.path().join("home");
        let output = Command::new(program)
            .args(args)
            .current_dir(self.path(inner))
            .env("HOME", &home)
            .env("XDG_CONFIG_HOME", &home)
            .env("GIT_CONFIG_GLOBAL", home.join("config"))
            .env("GIT_CONFIG_NOSYSTEM", "1")
            .env("GIT_CEILING_DIRECTORIES", self.folder.path())
            .env_remove("GIT_DIR")
            .env_remove("GIT_INDEX_FILE")
            .output()
            .unwrap();
        (
            output.status.code().unwrap(),
            String::from_utf8(output.stdout).unwrap(),
            String::from_utf8(output.stderr).unwrap(),
        )
    }

    /// Exit code, then standard output, then standard error.
    fn run(&self, args: &[&str]) -> (i32, String, String) {
        self.command(env!("CARGO_BIN_EXE_matchmark"), "", args)
    }

    /// What git says, which must be content.
    fn git(&self, inner: &str, args: &[&str]) -> String {
        let (code, out, err) = self.command("git", inner, args);
        assert_eq!(code, 0, "git {args:?}: {out}{err}");
        out
    }

    /// All files outside git's own folder, with what is in them.
    fn files(&self, inner: &str) -> BTreeMap<String, Vec<u8>> {
        fn walk(top: &Path, folder: &Path, all: &mut BTreeMap<String, Vec<u8>>) {
            for entry in std::fs::read_dir(folder).unwrap() {
                let path = entry.unwrap().path();
                let name = path.strip_prefix(top).unwrap().to_str().unwrap().to_owned();
                if name.ends_with(".git") {
                    continue;
                }
                if path.is_dir() && !path.is_symlink() {
                    walk(top, &path, all);
                } else {
                    all.insert(name, std::fs::read(&path).unwrap_or_default());
                }
            }
        }
        let mut all = BTreeMap::new();
        walk(&self.path(inner), &self.path(inner), &mut all);
        all
    }
}

const DONE: &str = "no records in 12 files: no errors, no warnings, no notes\n";

#[test]
fn a_new_folder_is_ready_for_the_first_evening() {
    let shed = Shed::new();
    let (code, out, err) = shed.run(&["start", "lark"]);
    assert_eq!((code, err.as_str()), (0, ""));
    // What the hooks say is theirs.
    let (files, rest) = out
        .split_once("\nhooks for what is committed here")
        .unwrap();
    let (hooks, next) = rest.split_once("\n\n").unwrap();
    assert!(
        hooks.contains("lark/.git/hooks\n") && hooks.ends_with("in force"),
        "{out}"
    );
    assert_eq!(
        [files, next].join("\n"),
        "\
In lark:
    made   git repository, branch main
    made   .gitattributes
    made   .gitignore
    made   .matchmark/schema: 12 schemas for editors
    made   build.yaml
    made   donors/all.yaml
    made   parts/all.yaml
    made   assemblies/all.yaml
    made   fasteners/all.yaml
    made   plugs/all.yaml
    made   routes/all.yaml
    made   circuits/all.yaml
    made   clearances/all.yaml
    made   jobs/all.yaml
    made   decisions/all.yaml
    made   photos/all.yaml

Each file says what belongs in it. Then:

    cd lark
    matchmark check
    git add -A .
    git commit
"
    );
    assert!(shed.read("lark/build.yaml").contains("\nname: lark\n"));
    // Laid out, nothing is wrong and nothing is left unsaid.
    assert_eq!(
        shed.run(&["check", "lark"]),
        (0, DONE.to_owned(), String::new())
    );
    // What it says to do next can be done.
    shed.git("lark", &["add", "-A", "."]);
    let who = [
        "-c",
        "user.name=builder",
        "-c",
        "user.email=builder@example.com",
    ];
    shed.git("lark", &[&who[..], &["commit", "-qm", "Begin"]].concat());
    assert_eq!(shed.git("lark", &["status", "--porcelain"]), "");
    assert_eq!(shed.git("lark", &["branch", "--show-current"]), "main\n");
    // And the next slip does not get in.
    shed.write("lark/parts/all.yaml", "pump: {name: Pump, number: 0412}\n");
    shed.git("lark", &["add", "-A", "."]);
    let commit = [&who[..], &["commit", "-qm", "Pump"]].concat();
    let (code, _, err) = shed.command("git", "lark", &commit);
    assert_eq!(code, 1);
    assert!(err.contains("`0412` is read as the number"), "{err}");
}

/// Without the git command there are no hooks, and all else is there.
#[test]
fn hooks_that_can_not_be_had_are_said() {
    let shed = Shed::new();
    let output = Command::new(env!("CARGO_BIN_EXE_matchmark"))
        .args(["start", "lark"])
        .current_dir(shed.bench())
        .env("HOME", shed.folder.path().join("home"))
        .env("XDG_CONFIG_HOME", shed.folder.path().join("home"))
        .env("PATH", "")
        .output()
        .unwrap();
    let out = String::from_utf8(output.stdout).unwrap();
    assert_eq!(output.status.code(), Some(0));
    assert!(out.contains("\nno hooks: "), "{out}");
    assert!(out.contains("\n    to do: `matchmark guard`\n"), "{out}");
    assert!(shed.path("lark/.git").is_dir() && shed.path("lark/photos/all.yaml").exists());
}

#[test]
fn files_end_their_lines_with_lf_and_stay_within_the_page() {
    let shed = Shed::new();
    shed.run(&["start", "lark"]);
    for (path, bytes) in shed.files("lark") {
        let text = String::from_utf8(bytes).unwrap();
        assert!(!text.contains('\r') && text.ends_with('\n'), "{path}");
        for line in text.lines().filter(|_| !path.ends_with(".json")) {
            assert!(line.chars().count() <= 80, "{path}: {line}");
            assert_eq!(line, line.trim_end(), "{path}");
        }
    }
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = |path| {
            std::fs::metadata(shed.path(path))
                .unwrap()
                .permissions()
                .mode()
        };
        let other = shed.path("other");
        std::fs::write(&other, "").unwrap();
        assert_eq!(mode("lark/build.yaml"), mode("other"), "as any new file");
    }
}

/// An editor finds the schema by the first line, and it is the kind's own.
#[test]
fn the_first_line_leads_to_the_schema_of_the_kind() {
    let shed = Shed::new();
    shed.run(&["start", "lark"]);
    for kind in Kind::ALL {
        let file = match kind {
            Kind::Build => "lark/build.yaml".to_owned(),
            _ => format!("lark/{kind}/all.yaml"),
        };
        let text = shed.read(&file);
        let first = text.lines().next().unwrap();
        let schema = first.strip_prefix("# yaml-language-server: $schema=");
        let path = shed.path(&file).parent().unwrap().join(schema.unwrap());
        let schema = std::fs::read_to_string(path).unwrap();
        assert_eq!(schema, kind.schema_text(), "{file}");
        let schema: Value = serde_json::from_str(&schema).unwrap();
        let id = schema["$id"].as_str().unwrap();
        assert!(
            id.ends_with(&format!("/{}.json", kind.folder())),
            "{file}: {id}"
        );
    }
}

/// The samples say what is so: with the `# ` off they make one build without a fault,
/// in which each kind has a record.
#[test]
fn the_samples_are_right_together() {
    let shed = Shed::new();
    shed.run(&["start", "lark"]);
    let paths: Vec<String> = shed.files("lark").into_keys().collect();
    for path in paths.iter().filter(|path| path.ends_with(".yaml")) {
        let path = format!("lark/{path}");
        let text = shed.read(&path);
        let take = "\n# Take the `# ` off a line, and write what is so; all below is invented:\n\n";
        let (head, sample) = text.split_once(take).unwrap();
        let bare = sample.lines().map(|line| match line {
            "#" => "\n".to_owned(),
            _ => format!("{}\n", line.strip_prefix("# ").unwrap()),
        });
        shed.write(&path, &format!("{head}\n{}", bare.collect::<String>()));
    }
    let (code, out, err) = shed.run(&["check", "lark", "--level", "error"]);
    assert_eq!((code, err.as_str()), (0, ""), "{out}");
    assert!(out.contains("12 records in 12 files: no errors, "), "{out}");
    let build = shed.read("lark/build.yaml");
    let schema: Value = serde_json::from_str(Kind::Build.schema_text()).unwrap();
    for key in schema["properties"].as_object().unwrap().keys() {
        assert!(
            build.contains(&format!("\n{key}:")),
            "build.yaml lacks `{key}`"
        );
    }
    for kind in &Kind::ALL[1..] {
        let text = shed.read(&format!("lark/{kind}/all.yaml"));
        assert!(
            text.lines()
                .any(|line| line.starts_with(|c: char| c.is_lowercase())),
            "{kind}"
        );
    }
}

#[test]
fn git_treats_the_files_as_they_are_meant() {
    let shed = Shed::new();
    shed.run(&["start", "lark"]);
    let said = |path: &str| {
        let keys = ["text", "eol", "merge", "diff"];
        let args = [&["check-attr"], &keys[..], &["--", path]].concat();
        let answer = shed.git("lark", &args);
        let values = answer.lines().map(|line| line.rsplit(": ").next().unwrap());
        values.map(str::to_owned).collect::<Vec<_>>().join(" ")
    };
    assert_eq!(said("parts/all.yaml"), "auto lf matchmark matchmark-parts");
    assert_eq!(said("notes.txt"), "auto lf unspecified unspecified");
    assert_eq!(said("photos/p-001.jpg"), "unset lf unset unset");
    assert_eq!(said("papers/receipt.pdf"), "unset lf unset unset");
    for (path, ignored) in [
        ("parts/all.yaml~", 0),
        ("parts/.all.yaml.swp", 0),
        ("parts/#all.yaml#", 0),
        (".matchmark-x1", 0),
        (".matchmark/schema/parts.json", 1),
        ("parts/all.yaml", 1),
    ] {
        let (code, _, _) = shed.command("git", "lark", &["check-ignore", "-q", path]);
        assert_eq!(code, ignored, "{path}");
    }
    // Git merges and compares on its own while nothing else is set up.
    let who = [
        "-c",
        "user.name=builder",
        "-c",
        "user.email=builder@example.com",
    ];
    let commit = |text: &str| {
        shed.write("lark/parts/all.yaml", text);
        shed.git("lark", &["add", "-A", "."]);
        shed.git("lark", &[&who[..], &["commit", "-qm", "x"]].concat());
    };
    commit("a: {name: A}\n\n\n\nb: {name: B}\n");
    shed.git("lark", &["checkout", "-qb", "helper"]);
    commit("a: {name: A}\n\n\n\nb: {name: Bee}\n");
    shed.git("lark", &["checkout", "-q", "main"]);
    commit("a: {name: Ay}\n\n\n\nb: {name: B}\n");
    shed.git(
        "lark",
        &[&who[..], &["merge", "-q", "-m", "x", "helper"]].concat(),
    );
    assert_eq!(
        shed.read("lark/parts/all.yaml"),
        "a: {name: Ay}\n\n\n\nb: {name: Bee}\n"
    );
}

#[test]
fn a_second_run_changes_nothing_and_says_so() {
    let shed = Shed::new();
    shed.run(&["start", "lark"]);
    let before = shed.files("lark");
    let (code, out, err) = shed.run(&["start", "lark/"]);
    assert_eq!((code, err.as_str()), (0, ""));
    assert!(!out.contains("made"), "{out}");
    assert!(
        out.contains("    left   git repository: it is there\n"),
        "{out}"
    );
    assert!(
        out.contains("    left   parts: there are files in it\n"),
        "{out}"
    );
    assert!(
        out.ends_with("\nNo file here was changed: all of them are there.\n"),
        "{out}"
    );
    assert_eq!(shed.files("lark"), before);
    // What was taken away comes back, and an empty file is a file.
    std::fs::remove_dir_all(shed.path("lark/jobs")).unwrap();
    std::fs::remove_file(shed.path("lark/.matchmark/schema/jobs.json")).unwrap();
    shed.write("lark/build.yaml", "");
    shed.write("lark/.matchmark/schema/parts.json", "{}");
    let (_, out, _) = shed.run(&["start", "lark"]);
    assert!(out.contains("    made   jobs/all.yaml\n"), "{out}");
    assert!(
        out.contains("    made   .matchmark/schema: 1 schema for editors\n"),
        "{out}"
    );
    assert!(
        out.contains("    left   .matchmark/schema/parts.json: of another version\n           Take those away, "),
        "{out}"
    );
    assert_eq!(shed.read("lark/build.yaml"), "");
    assert_eq!(shed.read("lark/.matchmark/schema/parts.json"), "{}");
    assert_eq!(
        shed.read("lark/jobs/all.yaml").as_bytes(),
        before["jobs/all.yaml"]
    );
}

#[test]
fn an_existing_repository_is_used() {
    let shed = Shed::new();
    shed.git("", &["init", "-q", "-b", "trunk"]);
    shed.write("README", "ours\n");
    let (code, out, _) = shed.run(&["start", "cars/lark"]);
    assert_eq!(code, 0);
    assert!(
        out.contains("    left   git repository: it is there\n"),
        "{out}"
    );
    assert!(!shed.path("cars/lark/.git").exists());
    assert_eq!(shed.git("", &["branch", "--show-current"]), "trunk\n");
    assert_eq!(shed.read("README"), "ours\n");
    // A second build beside it, and one at the top of a repository.
    assert_eq!(shed.run(&["start", "cars/wren"]).0, 0);
    let other = Shed::new();
    other.git("", &["init", "-q"]);
    let (code, out, _) = other.run(&["start"]);
    assert_eq!(code, 0);
    assert!(out.starts_with("In .:\n") && !out.contains("cd "), "{out}");
    assert!(other.read("build.yaml").contains("\nname: bench\n"));
}

#[test]
fn the_branch_is_the_one_that_the_builder_wants() {
    let shed = Shed::new();
    let config = shed.folder.path().join("home/config");
    let set = |branch: &str| {
        let text = format!("[init]\n\tdefaultBranch = {branch}\n");
        std::fs::write(&config, text).unwrap();
    };
    set("trunk");
    let (_, out, _) = shed.run(&["start", "lark"]);
    assert!(
        out.contains("    made   git repository, branch trunk\n"),
        "{out}"
    );
    assert_eq!(shed.git("lark", &["branch", "--show-current"]), "trunk\n");
    set("a..b");
    let (code, out, err) = shed.run(&["start", "wren"]);
    assert_eq!((code, out.as_str()), (2, ""));
    assert!(err.contains("`a..b` can't be a branch"), "{err}");
    assert!(!shed.path("wren/.git").exists());
}

#[test]
fn what_is_there_is_kept() {
    let shed = Shed::new();
    let own = "\u{feff}* -text\r\n*.png   binary\r\n*.yaml merge=union";
    shed.write("lark/.gitattributes", own);
    shed.write("lark/.gitignore", "/scrap\n");
    shed.write("lark/parts/engine/head.yaml", "head: {name: Head}\n");
    shed.write("lark/photos/p-1.jpg", "no picture");
    shed.write("lark/jobs", "a list\n");
    shed.write("lark/notes.txt", "note\r\n");
    let before = shed.files("lark");
    let (code, out, err) = shed.run(&["start", "lark"]);
    assert_eq!((code, err.as_str()), (0, ""));
    for line in [
        "    added  22 lines to .gitattributes\n",
        "    added  12 lines to .gitignore\n",
        "    left   parts: there are files in it\n",
        "    left   jobs/all.yaml: jobs is a link or a file\n",
        "    made   photos/all.yaml\n",
        "    made   build.yaml\n",
    ] {
        assert!(out.contains(line), "{line}{out}");
    }
    assert!(!shed.path("lark/parts/all.yaml").exists());
    let after = shed.files("lark");
    for path in [
        "parts/engine/head.yaml",
        "photos/p-1.jpg",
        "jobs",
        "notes.txt",
    ] {
        assert_eq!(after[path], before[path], "{path}");
    }
    // Ours stand above, theirs untouched below, and theirs have the last word.
    let attributes = shed.read("lark/.gitattributes");
    let theirs = own.trim_start_matches('\u{feff}');
    assert!(attributes.starts_with(
        "\u{feff}# For Matchmark; what stands below has the last word.\n* text=auto eol=lf\n"
    ));
    assert!(
        attributes.ends_with(&format!("\n\n{theirs}")),
        "{attributes}"
    );
    assert_eq!(attributes.matches("*.png").count(), 1);
    let merge = shed.git(
        "lark",
        &["check-attr", "merge", "diff", "text", "--", "a.yaml"],
    );
    assert_eq!(
        merge,
        "a.yaml: merge: union\na.yaml: diff: unspecified\na.yaml: text: unset\n"
    );
    assert!(shed.read("lark/.gitignore").ends_with("\n\n/scrap\n"));
    let (_, out, _) = shed.run(&["start", "lark"]);
    assert!(
        out.ends_with("No file here was changed: all of them are there.\n"),
        "{out}"
    );
}

#[test]
fn an_odd_name_stays_a_name() {
    for (name, in_file, in_shell) in [
        ("my lark", "name: my lark\n", "'my lark'"),
        ("Größe 2", "name: Größe 2\n", "'Größe 2'"),
        ("no", "name: \"no\"\n", "no"),
        ("1971", "name: \"1971\"\n", "1971"),
        ("a: b #c", "name: \"a: b #c\"\n", "'a: b #c'"),
        ("it's", "name: \"it's\"\n", "'it'\\''s'"),
        ("NAME", "name: NAME\n", "NAME"),
    ] {
        let shed = Shed::new();
        let (code, out, err) = shed.run(&["start", name]);
        assert_eq!((code, err.as_str()), (0, ""), "{name}");
        assert!(out.contains(&format!("\n    cd {in_shell}\n")), "{out}");
        let build = shed.read(&format!("{name}/build.yaml"));
        assert!(build.contains(&format!("\n{in_file}\n")), "{build}");
        assert_eq!(shed.run(&["check", name]).1, DONE);
        assert!(shed.path(name).join(".git").is_dir());
    }
}

/// What can't be done is said, with what to do, and nothing comes of it.
#[test]
fn where_no_build_can_lie_it_says_so() {
    let shed = Shed::new();
    shed.write("file", "mine\n");
    shed.git("", &["init", "-q", "--bare", "store.git"]);
    shed.git("", &["init", "-q", "repo"]);
    shed.write("broken/.git", "nonsense\n");
    shed.write("wren/build.yaml", "name: Wren\n");
    shed.write("wren/parts/all.yaml", "a: {name: A}\n");
    let before = shed.files("");
    let mut refused = vec![
        ("file", "file is no folder"),
        ("file/lark", "file/lark can't be written: "),
        ("store.git", "store.git lies in a bare repository"),
        ("store.git/lark", "store.git/lark lies in a bare repository"),
        ("repo/.git/lark", "repo/.git/lark lies in git's own folder"),
        (
            "wren/parts",
            "wren/parts lies in another build folder, wren",
        ),
        (
            "wren/parts/new",
            "wren/parts/new lies in another build folder, wren",
        ),
    ];
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink("repo", shed.path("link")).unwrap();
        refused.extend([("link", "link is a link"), ("link/", "link is a link")]);
    }
    #[cfg(target_os = "linux")]
    refused.push(("/proc/lark", "/proc/lark can't be written: "));
    for (folder, said) in refused {
        let (code, out, err) = shed.run(&["start", folder]);
        assert_eq!((code, out.as_str()), (2, ""), "{folder}: {err}");
        assert!(err.starts_with(&format!("matchmark: {said}")), "{err}");
        let advice = "\n    to do: name another folder: `matchmark start DIR`\n";
        assert!(err.ends_with(advice), "{err}");
    }
    #[cfg(unix)]
    std::fs::remove_file(shed.path("link")).unwrap();
    assert_eq!(shed.files(""), before);
    let (code, _, err) = shed.run(&["start", "broken"]);
    assert_eq!(code, 2, "{err}");
    assert_eq!(shed.files(""), before);
}

/// Nothing is written through a link.
#[cfg(unix)]
#[test]
fn links_in_the_folder_are_left_alone() {
    use std::os::unix::fs::symlink;
    let shed = Shed::new();
    shed.write("elsewhere/keep", "mine\n");
    shed.write("elsewhere/attributes", "mine\n");
    std::fs::create_dir(shed.path("lark")).unwrap();
    symlink("../elsewhere", shed.path("lark/parts")).unwrap();
    symlink("../elsewhere", shed.path("lark/.matchmark")).unwrap();
    symlink("../elsewhere/attributes", shed.path("lark/.gitattributes")).unwrap();
    symlink("../elsewhere/none", shed.path("lark/build.yaml")).unwrap();
    let before = shed.files("elsewhere");
    let (code, out, err) = shed.run(&["start", "lark"]);
    assert_eq!((code, err.as_str()), (0, ""));
    for line in [
        "    left   .gitattributes: it is there\n",
        "    left   .matchmark/schema: .matchmark is a link or a file\n",
        "    left   build.yaml: it is there\n",
        "    left   parts/all.yaml: parts is a link or a file\n",
    ] {
        assert!(out.contains(line), "{line}{out}");
    }
    assert_eq!(shed.files("elsewhere"), before);
}
