//! A bench to type at: real git and the program, in a folder of its own and with nobody's
//! settings.

use std::path::PathBuf;
use std::process::Command;

use tempfile::TempDir;

pub struct Bench {
    root: TempDir,
    /// What git takes for the time: `2026-03-01 20:00`.
    pub clock: String,
}

impl Bench {
    pub fn new() -> Self {
        let root = tempfile::tempdir().unwrap();
        let bench = Self {
            root,
            clock: "2026-03-01 20:00".to_owned(),
        };
        for folder in ["bin", "home", "work"] {
            std::fs::create_dir(bench.path(folder)).unwrap();
        }
        let program = assert_cmd::cargo::cargo_bin("matchmark");
        std::os::unix::fs::symlink(program, bench.path("bin/matchmark")).unwrap();
        bench
    }

    pub fn path(&self, inner: &str) -> PathBuf {
        self.root.path().canonicalize().unwrap().join(inner)
    }

    /// A shell that is to take a line, with the bench's own git settings and clock.
    pub fn shell(&self) -> Command {
        let path = std::env::var("PATH").unwrap();
        let bin = self.path("bin");
        let date = format!("{} +0100", self.clock);
        let mut command = Command::new("sh");
        for (name, _) in std::env::vars() {
            if name.starts_with("GIT_") || name == "NO_COLOR" {
                command.env_remove(name);
            }
        }
        command
            .current_dir(self.path("work"))
            .env("PATH", format!("{}:{path}", bin.display()))
            .env("HOME", self.path("home"))
            .env("LC_ALL", "C.UTF-8")
            .env("GIT_CONFIG_NOSYSTEM", "1")
            .env("GIT_CONFIG_GLOBAL", self.path("home/gitconfig"))
            .env("GIT_TERMINAL_PROMPT", "0")
            .env("GIT_EDITOR", "true")
            .env("GIT_AUTHOR_NAME", "builder")
            .env("GIT_AUTHOR_EMAIL", "builder@example.invalid")
            .env("GIT_AUTHOR_DATE", &date)
            .env("GIT_COMMITTER_NAME", "builder")
            .env("GIT_COMMITTER_EMAIL", "builder@example.invalid")
            .env("GIT_COMMITTER_DATE", &date);
        command
    }

    /// Types a line; what came, as it is written down: after `> `, and `> (exit 1)` last if
    /// it was not 0.
    #[allow(dead_code)]
    pub fn types(&self, line: &str) -> String {
        let output = self
            .shell()
            .arg("-c")
            .arg(format!("exec 2>&1\n{line}"))
            .output()
            .unwrap();
        let root = self.path("");
        let root = root.to_str().unwrap().trim_end_matches('/');
        let program = assert_cmd::cargo::cargo_bin("matchmark");
        let said = String::from_utf8(output.stdout)
            .unwrap()
            .replace(root, "~")
            .replace(program.to_str().unwrap(), "~/bin/matchmark");
        let mut came: Vec<String> = said.lines().map(str::to_owned).collect();
        match output.status.code() {
            Some(0) => {}
            Some(code) => came.push(format!("(exit {code})")),
            None => came.push("(killed)".to_owned()),
        }
        came.iter()
            .map(|line| format!("> {line}").trim_end().to_owned() + "\n")
            .collect()
    }

    pub fn writes(&self, file: &str, text: &str) {
        let path = self.path("work").join(file);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
    }
}
