//! Handing the folder to somebody else: what is private in it, and a record file without it.

pub mod history;
pub mod private;
pub mod strip;

use crate::folder::Folder;
use crate::model::{Kind, Model};
use crate::yaml::Route;

use private::{BadPattern, Private};

/// Why nothing can be put on paper.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NotTold {
    /// `build.yaml` can't be read.
    #[error("what is private can't be told surely: not all of build.yaml can be read")]
    Build,
    /// A pattern can't.
    #[error(transparent)]
    Pattern(#[from] BadPattern),
}

/// The records of a folder without what is private, for what is printed and handed round.
/// A record that is private as a whole is not there.
///
/// # Errors
/// When what is private can't be told.
pub fn without_private(folder: &Folder) -> Result<Model, NotTold> {
    let mut files = folder.files.iter();
    let build = files.find(|file| file.kind == Kind::Build);
    if build.is_none_or(|file| file.is_spoilt()) {
        return Err(NotTold::Build);
    }
    let private = Private::of(&folder.model.build)?;
    if private.is_empty() {
        return Ok(folder.model.clone());
    }
    let mut model = Model::default();
    for (number, file) in folder.files.iter().enumerate() {
        let Some(mut json) = file.sound() else {
            continue;
        };
        private.strip(file.kind, &Route::default(), &mut json);
        // What does not fit its type is left out here as it is in the folder's own model.
        if file.kind == Kind::Build {
            let _ = model.add(Kind::Build, "", number, &json);
            continue;
        }
        for (id, value) in json.as_object().into_iter().flatten() {
            let _ = model.add(file.kind, id, number, value);
        }
    }
    Ok(model)
}
