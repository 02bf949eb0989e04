//! What is done with files that hold no records.
//!
//! A picture comes in where a record names it: then the check looks at it. Nothing else
//! does. It could be a program or a setting, nobody here would look at it, and it is quickly
//! copied by hand by whoever wants it. Nothing that holds no records is ever taken away: a
//! helper who sends the records back alone has not thrown the pictures out.

use crate::picture::named::is_picture;

/// The files that a pack holds beside the build. They tell of the handover and are no part
/// of the build.
pub const OF_THE_PACK: [&str; 4] = [
    "handed-over.yaml",
    "READ-FIRST.md",
    "READ-FIRST.html",
    "jobs.csv",
];

/// Git's names for what a file held at four moments; none where it was not there.
#[derive(Debug, Clone, Copy, Default)]
pub struct Moments<'a> {
    /// As it was given.
    pub given: Option<&'a str>,
    /// The same moment, here.
    pub whole: Option<&'a str>,
    /// As it came back.
    pub returned: Option<&'a str>,
    /// As it is here now.
    pub now: Option<&'a str>,
}

/// What is done with a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Nothing: it came back as it was, or is here already.
    Same,
    /// It is taken.
    Take,
    /// It did not come back; what is here stays.
    Missing,
    /// It is not taken, for a reason.
    Left(&'static str),
    /// It was changed here as well, otherwise.
    Clash,
}

/// What is done with a file; `is_named` tells whether a record will name it.
#[must_use]
pub fn verdict(path: &str, moments: Moments<'_>, is_named: bool) -> Verdict {
    let Moments {
        given,
        whole,
        returned,
        now,
    } = moments;
    if OF_THE_PACK.contains(&path) || returned == given {
        return Verdict::Same;
    }
    if returned.is_none() {
        return match now {
            Some(_) => Verdict::Missing,
            None => Verdict::Same,
        };
    }
    if returned == now {
        return Verdict::Same;
    }
    if !is_picture(path) {
        return Verdict::Left(
            "it holds no records and is no picture, so nothing here checks it; copy it by hand \
             if you want it",
        );
    }
    if !is_named {
        return Verdict::Left("no record names it; copy it by hand if you want it");
    }
    if now != whole {
        return Verdict::Clash;
    }
    Verdict::Take
}

/// Whether bytes begin as those of a picture do: JPEG, PNG, GIF, TIFF, WebP, or a form that
/// lies in boxes as HEIF does.
#[must_use]
pub fn begin_as_a_picture(bytes: &[u8]) -> bool {
    let starts = |with: &[u8]| bytes.starts_with(with);
    starts(b"\xFF\xD8\xFF")
        || starts(b"\x89PNG\r\n\x1A\n")
        || starts(b"GIF8")
        || starts(b"II*\0")
        || starts(b"MM\0*")
        || (starts(b"RIFF") && bytes.get(8..12) == Some(b"WEBP"))
        || bytes.get(4..8) == Some(b"ftyp")
}

#[cfg(test)]
mod tests {
    use super::{Moments, Verdict, verdict};

    #[test]
    fn only_a_picture_that_a_record_names_comes_in() {
        let of = |[given, whole, returned, now]: [&'static str; 4]| {
            let some = |id: &'static str| Some(id).filter(|id| !id.is_empty());
            Moments {
                given: some(given),
                whole: some(whole),
                returned: some(returned),
                now: some(now),
            }
        };
        let picture = "photos/p.jpg";
        for (path, moments, named, is) in [
            (picture, ["a", "b", "a", "b"], true, Verdict::Same),
            (picture, ["", "", "c", ""], true, Verdict::Take),
            (picture, ["a", "b", "c", "b"], true, Verdict::Take),
            (picture, ["a", "b", "c", "d"], true, Verdict::Clash),
            (picture, ["a", "b", "c", "c"], true, Verdict::Same),
            (picture, ["", "", "c", "d"], true, Verdict::Clash),
            (picture, ["a", "b", "", "b"], true, Verdict::Missing),
            (picture, ["a", "b", "", ""], true, Verdict::Same),
            ("jobs.csv", ["a", "", "b", ""], true, Verdict::Same),
        ] {
            assert_eq!(verdict(path, of(moments), named), is, "{path} {moments:?}");
        }
        for (path, named) in [(picture, false), ("run.sh", true), ("notes.yaml", true)] {
            let left = verdict(path, of(["", "", "c", ""]), named);
            assert!(matches!(left, Verdict::Left(_)), "{path}");
        }
    }
}
