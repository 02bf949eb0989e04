//! Three versions of a file of records, made into one by record and by field.
//!
//! What only one side changed is taken from it as it is written there, with its comments and
//! its layout. What both changed in two ways is a clash: nobody but a person can tell which
//! is right, so all three versions of it stay to be read.

mod marks;

use serde_json::Value;

use crate::model::Kind;
use crate::source::{NotText, Source};
use crate::yaml::{self, Reading, Route};

/// One of the three.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Version {
    /// What both sides began from.
    Base,
    /// What is here.
    Ours,
    /// What comes in.
    Theirs,
}

/// The same thing in the three versions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Three<T> {
    /// What both sides began from.
    pub base: T,
    /// What is here.
    pub ours: T,
    /// What comes in.
    pub theirs: T,
}

/// A version that can't be merged by record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unread {
    /// Which one.
    pub version: Version,
    /// Why, in a sentence with its line.
    pub why: String,
}

/// Something that both sides changed, each in its own way.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Clash {
    /// Where in the file, as its keys lead there.
    pub way: Route,
    /// How.
    pub how: How,
}

/// How two changes clash.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum How {
    /// One value became two.
    TwoValues,
    /// One side took out what the other changed.
    GoneAndChanged {
        /// The side that took it out.
        gone: Version,
    },
    /// One new name was given to two things.
    TwoThings,
    /// Both changed a comment.
    Comment,
    /// Both changed how it is written, and no layout can hold both.
    Layout,
}

/// What a marked conflict is called at its lines.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Marks {
    /// How many characters a marker is long; git says 7.
    pub size: usize,
    /// What the three versions are called.
    pub names: Three<String>,
}

/// A piece of the text that came of it.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Piece {
    /// All agree, or one side's change was taken.
    Agreed(String),
    /// A clash, as each version has it.
    Parted(Three<String>),
}

/// What came of three versions.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Merged {
    pieces: Vec<Piece>,
    /// What clashed, in the order of the file; none in a clean merge.
    pub clashes: Vec<Clash>,
}

/// Merges three versions of a file of records of one kind. A version that is not there is
/// an empty one.
///
/// # Errors
/// When one of them is no text, or can't be read as records.
pub fn merge(kind: Kind, path: &str, versions: Three<Vec<u8>>) -> Result<Merged, Unread> {
    merge_but(kind, path, versions, |_, _| {})
}

/// The same where ours holds more than the others were ever given: `strip` takes that out
/// of the value of what stands at a way. It is kept, and is no change of ours.
///
/// # Errors
/// When one of them is no text, or can't be read as records.
pub fn merge_but(
    kind: Kind,
    path: &str,
    versions: Three<Vec<u8>>,
    strip: impl Fn(&Route, &mut Value),
) -> Result<Merged, Unread> {
    let _ = (kind, strip);
    let Three { base, ours, theirs } = Three {
        base: read(path, Version::Base, versions.base)?,
        ours: read(path, Version::Ours, versions.ours)?,
        theirs: read(path, Version::Theirs, versions.theirs)?,
    };
    let text = |reading: &Reading| reading.source.text.clone();
    let (base, ours, theirs) = (text(&base), text(&ours), text(&theirs));
    Ok(if ours == theirs || theirs == base {
        Merged {
            pieces: vec![Piece::Agreed(ours)],
            clashes: Vec::new(),
        }
    } else if ours == base {
        Merged {
            pieces: vec![Piece::Agreed(theirs)],
            clashes: Vec::new(),
        }
    } else {
        Merged {
            pieces: vec![Piece::Parted(Three { base, ours, theirs })],
            clashes: vec![Clash {
                way: Route::default(),
                how: How::TwoValues,
            }],
        }
    })
}

fn read(path: &str, version: Version, bytes: Vec<u8>) -> Result<Reading, Unread> {
    let unread = |why: String| Unread { version, why };
    let source = Source::from_bytes(path, bytes).map_err(|why| {
        unread(match why {
            NotText::NotUtf8(at) => format!("a byte of line {} is no UTF-8", at.line),
            NotText::OtherEncoding(name) => format!("it is {name}"),
            NotText::TooLarge(_) => "it is too large".to_owned(),
        })
    })?;
    let reading = yaml::read(source);
    match reading.problems.first() {
        Some(problem) => {
            let at = reading.source.position(problem.span.range().start);
            Err(unread(format!("line {} can't be read", at.line)))
        }
        None => Ok(reading),
    }
}

impl Merged {
    /// Whether nothing clashed.
    #[must_use]
    pub fn is_clean(&self) -> bool {
        self.clashes.is_empty()
    }

    /// The text, with the usual markers round the lines of each clash.
    #[must_use]
    pub fn text(&self, marks: &Marks) -> String {
        marks::marked(&self.pieces, marks)
    }

    /// The text with every clash settled as one version has it.
    #[must_use]
    pub fn settled(&self, by: Version) -> String {
        let texts = self.pieces.iter().map(|piece| match piece {
            Piece::Agreed(text) => text.as_str(),
            Piece::Parted(texts) => texts.of(by),
        });
        texts.collect()
    }
}

impl Three<String> {
    fn of(&self, version: Version) -> &str {
        match version {
            Version::Base => &self.base,
            Version::Ours => &self.ours,
            Version::Theirs => &self.theirs,
        }
    }
}
