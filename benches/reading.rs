//! The floor of the benchmark: reading alone.
//!
//!     reading FOLDER [--typed]
//!
//! It takes the files of a build folder from the disk and makes of each its tree
//! with a span on every key and value, on as many threads as `matchmark check`
//! uses (`RAYON_NUM_THREADS` counts here too). No schema, no rule, no index. With
//! `--typed` it also makes the JSON and the typed records. What `check` takes
//! beyond this is what checking costs; `benches/run.sh` compares the two.
//!
//! It measures nothing itself: the whole process is timed from outside, as a
//! builder at the prompt would wait for it.

use std::hint::black_box;
use std::path::PathBuf;
use std::process::ExitCode;

use rayon::prelude::*;

use matchmark::folder::{Content, RawFile, kind_of};
use matchmark::model::{Kind, Model};
use matchmark::shell::{disk, terminal};
use matchmark::source::Source;
use matchmark::yaml::{self, Node, Reading};

fn main() -> ExitCode {
    let mut folder = None;
    let mut typed = false;
    for argument in std::env::args_os().skip(1) {
        match argument.to_str() {
            Some("--typed") => typed = true,
            // `cargo bench` adds this of its own accord.
            Some("--bench") => {}
            _ => folder = Some(PathBuf::from(argument)),
        }
    }
    let Some(folder) = folder else {
        terminal::complain("reading: name a build folder, or use benches/run.sh\n");
        return ExitCode::from(2);
    };
    let files = match disk::yaml_files(&folder) {
        Ok(files) => files,
        Err(error) => {
            terminal::complain(&format!("reading: {error}\n"));
            return ExitCode::from(2);
        }
    };
    // As in the check, everything that was read is there at the end.
    let (readings, models): (Vec<Reading>, Vec<Model>) = files
        .into_par_iter()
        .filter_map(|file| {
            let reading = black_box(read(file)?);
            let model = if typed {
                records(&reading)
            } else {
                Model::default()
            };
            Some((reading, black_box(model)))
        })
        .unzip();
    let bytes: usize = readings.iter().map(|one| one.source.text.len()).sum();
    let problems: usize = readings.iter().map(|one| one.problems.len()).sum();
    let records: usize = readings
        .iter()
        .filter(|one| kind_of(&one.source.path).is_some_and(|kind| kind != Kind::Build))
        .map(|one| one.tree.root.as_ref().map_or(&[][..], Node::entries).len())
        .sum();
    let made: usize = models.iter().map(Model::len).sum();
    let _ = terminal::print(&format!(
        "{{\"files\": {}, \"records\": {records}, \"bytes\": {bytes}, \"typed\": {made}, \"failures\": {problems}}}\n",
        readings.len()
    ));
    black_box((&readings, &models));
    // The check does not give back its trees one by one either.
    std::mem::forget((readings, models));
    if problems > 0 || (typed && made != records) {
        return ExitCode::from(1);
    }
    ExitCode::SUCCESS
}

fn read(file: RawFile) -> Option<Reading> {
    let Content::Bytes(bytes) = file.content else {
        return None;
    };
    Some(yaml::read(Source::from_bytes(file.path, bytes).ok()?))
}

/// The typed records of a file.
fn records(reading: &Reading) -> Model {
    let mut model = Model::default();
    let (Some(kind), Some(root)) = (kind_of(&reading.source.path), &reading.tree.root) else {
        return model;
    };
    let json = root.to_json(&reading.source);
    match (&json, kind) {
        (_, Kind::Build) => {
            let _ = model.add(kind, "build", 0, &json);
        }
        (serde_json::Value::Object(records), _) => {
            for (id, value) in records {
                let _ = model.add(kind, id, 0, value);
            }
        }
        _ => {}
    }
    black_box(&json);
    model
}
