//! What a filled-in job sheet changes in the records of its jobs.
//!
//! An empty cell says nothing. Of a line that can't be taken wholly nothing is taken, because
//! nobody knows what its other cells were meant to go with; the other lines are.

use serde_json::{Map, Value, json};

use super::{Files, Said};
use crate::changes::records::Held;
use crate::folder::{Content, kind_of};
use crate::model::Kind;
use crate::near;
use crate::render::job_sheet::JobLine;
use crate::source::Source;
use crate::yaml::edit::{Edit, apply};
use crate::yaml::{self, Route};

/// Puts the lines into the files that came back. What of them is not taken is said.
pub fn put(files: &mut Files, given: &Files, lines: &[JobLine]) -> Vec<Said> {
    let refused = lines.iter().filter_map(|line| {
        let why = put_line(files, given, line).err()?;
        Some(Said::of(format!("job sheet, line {}", line.line), why))
    });
    refused.collect()
}

fn put_line(files: &mut Files, given: &Files, line: &JobLine) -> Result<(), String> {
    let id = line.job.as_str();
    let (_, was) = job(given, id).ok_or_else(|| no_job(given, id))?;
    let (path, back) = job(files, id)
        .ok_or_else(|| format!("the job `{id}` was taken out in the records that came with it"))?;
    let mut meant: Vec<(&str, Value)> = Vec::new();
    if let Some(state) = line.state {
        meant.push(("state", json!(state.word())));
    }
    if let Some(left_as) = &line.left_as {
        meant.push(("left-as", json!(left_as)));
    }
    if let Some(done) = line.done {
        meant.push(("done", json!(done.to_string())));
    }
    // Who worked and what they noted goes with the hours where there are any.
    let day = line.worked.or(line.done);
    let with_hours = line.spent.is_some() || line.worked.is_some() || line.by.is_some();
    if let (true, Some(day)) = (with_hours, day) {
        let mut spent = Map::new();
        spent.insert("when".to_owned(), json!(day.to_string()));
        let more = [("for", &line.spent), ("by", &line.by), ("note", &line.note)];
        for (key, value) in more {
            if let Some(value) = value {
                spent.insert(key.to_owned(), json!(value));
            }
        }
        let all = was.get("spent").and_then(Value::as_array).cloned();
        let mut all = all.unwrap_or_default();
        all.push(Value::Object(spent));
        meant.push(("spent", json!(all)));
    } else if with_hours {
        return Err("hours and who worked need a day; fill in that too".to_owned());
    } else if let Some(note) = &line.note {
        let note = match was.get("note").and_then(Value::as_str) {
            Some(before) => format!("{}\n{note}", before.trim_end()),
            None => note.clone(),
        };
        meant.push(("note", json!(note)));
    }
    let mut edits = Vec::new();
    for (field, value) in meant {
        let (was, back) = (was.get(field), back.get(field));
        if back == Some(&value) {
            continue;
        }
        if was != back {
            return Err(format!(
                "`{field}` of the job `{id}` was changed otherwise in the records that came with it"
            ));
        }
        let way = Route::default().then(id).then(field);
        edits.push(Edit::Set { way, value });
    }
    let bytes = files.get(&path).cloned().unwrap_or_default();
    let source = Source::from_bytes(&*path, bytes);
    let source = source.map_err(|_| format!("{path} can't be read"))?;
    let text = apply(&yaml::read(source), &edits).map_err(|error| error.to_string())?;
    files.insert(path, text.into_bytes());
    Ok(())
}

/// A job, and the file that it stands in.
fn job(files: &Files, id: &str) -> Option<(String, Value)> {
    let jobs = files
        .iter()
        .filter(|(path, _)| kind_of(path) == Some(Kind::Jobs));
    jobs.filter_map(|(path, bytes)| {
        let held = Held::read(path, Kind::Jobs, Content::Bytes(bytes.clone()));
        Some((path.clone(), held.get(id)?.clone()))
    })
    .next()
}

fn no_job(files: &Files, id: &str) -> String {
    let jobs = files
        .iter()
        .filter(|(path, _)| kind_of(path) == Some(Kind::Jobs));
    let ids = jobs.flat_map(|(path, bytes)| {
        let held = Held::read(path, Kind::Jobs, Content::Bytes(bytes.clone()));
        held.records.into_iter().map(|(id, _)| id)
    });
    let ids: Vec<String> = ids.collect();
    let ids: Vec<&str> = ids.iter().map(String::as_str).collect();
    let id = near::shortened(id);
    match near::nearest(&id, &ids).first() {
        Some(near) => format!("no job is called `{id}`; `{near}` is"),
        None => format!("no job was handed over as `{id}`"),
    }
}
