//! The licence of every crate that is built, dependencies of dependencies
//! included. Needs no network: cargo reads what it has already fetched.

#![allow(clippy::disallowed_methods)]

use std::process::Command;

use spdx::{Expression, LicenseReq};

/// Licences that ask for no more than their text and the authors' names, or for nothing.
const ALLOWED: &[&str] = &[
    "0BSD",
    "Apache-2.0",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "CC0-1.0",
    "ISC",
    "MIT",
    "MIT-0",
    "Unicode-3.0",
    "Zlib",
];

fn allowed(requirement: &LicenseReq) -> bool {
    requirement
        .license
        .id()
        .is_some_and(|id| ALLOWED.contains(&id.name))
}

#[test]
fn every_dependency_may_be_used() {
    let output = Command::new(env!("CARGO"))
        .args(["metadata", "--format-version", "1", "--locked", "--offline"])
        .args(["--filter-platform", &host()])
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap();
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let metadata: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let packages = metadata["packages"].as_array().unwrap();
    assert!(packages.len() > 50, "cargo lists the dependencies");
    let mut refused = Vec::new();
    for package in packages {
        let name = package["name"].as_str().unwrap();
        let licence = package["license"].as_str().unwrap_or("");
        let fine = Expression::parse_mode(licence, spdx::ParseMode::LAX)
            .is_ok_and(|expression| expression.evaluate(allowed));
        if !fine {
            refused.push(format!("{name}: {licence}"));
        }
    }
    assert!(refused.is_empty(), "{refused:#?}");
}

/// The platform that the tests run on, as cargo calls it.
fn host() -> String {
    let output = Command::new("rustc").arg("-vV").output().unwrap();
    let about = String::from_utf8(output.stdout).unwrap();
    about
        .lines()
        .find_map(|line| line.strip_prefix("host: "))
        .unwrap()
        .to_owned()
}
