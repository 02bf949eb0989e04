//! The version that two sides began from where git had to make it up: branches that were
//! merged into each other crosswise began from two, and git merges those first. If they
//! clash, their marks are in the version that the driver is given as the common one.

use super::driver::{Bytes, Sides};
use crate::merge::{self, Merged, Three, Unread};
use crate::model::Kind;

/// Merges from a common version with the marks of a clash in it; none if it has none. A
/// merge stands only where it comes out the same from each of the versions that the marks
/// part: what one of them would take for no change, another takes for one.
pub(super) fn merged(kind: Kind, path: &str, versions: &Bytes) -> Option<Result<Merged, Unread>> {
    let text = std::str::from_utf8(&versions.base).ok()?;
    let all = parted(text)?;
    let mut came: Option<Merged> = None;
    for base in all.each() {
        let versions = Three {
            base: base.into_bytes(),
            ..versions.clone()
        };
        let one = match merge::merge(kind, path, versions) {
            Ok(one) => one,
            Err(unread) => return Some(Err(unread)),
        };
        match &came {
            _ if !one.is_clean() => return None,
            Some(came)
                if came.settled(merge::Version::Ours) != one.settled(merge::Version::Ours) =>
            {
                return None;
            }
            Some(_) => {}
            None => came = Some(one),
        }
    }
    came.map(Ok)
}

/// What stands between the marks of a clash.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Within {
    All,
    Ours,
    Base,
    Theirs,
}

/// The three texts that a text with marks holds; none if it has none, or not all of them.
fn parted(text: &str) -> Option<Three<String>> {
    let mut all = Three::<String>::default();
    let mut within = Within::All;
    let mut size = None;
    for line in text.split_inclusive('\n') {
        let marks = |c: char| {
            let count = line.chars().take_while(|found| *found == c).count();
            let ends = matches!(line[count..].chars().next(), None | Some(' ' | '\r' | '\n'));
            let asked = size.map_or(count >= 7, |size| count == size);
            (ends && asked).then_some(count)
        };
        match within {
            Within::All => {
                if let Some(count) = marks('<') {
                    size = Some(count);
                    within = Within::Ours;
                    continue;
                }
            }
            Within::Ours if marks('|').is_some() => {
                within = Within::Base;
                continue;
            }
            Within::Base if marks('=').is_some() => {
                within = Within::Theirs;
                continue;
            }
            Within::Theirs if marks('>').is_some() => {
                within = Within::All;
                continue;
            }
            _ => {}
        }
        let fits = |of: Within| within == Within::All || within == of;
        if fits(Within::Ours) {
            all.ours.push_str(line);
        }
        if fits(Within::Base) {
            all.base.push_str(line);
        }
        if fits(Within::Theirs) {
            all.theirs.push_str(line);
        }
    }
    (size.is_some() && within == Within::All).then_some(all)
}

#[cfg(test)]
mod tests {
    use super::{merged, parted};
    use crate::merge::{Merged, Three};
    use crate::model::Kind;

    const MARKED: &str = "pump:\n  name: Pump\n<<<<<<<<< one\n  number: \"2\"\n||||||||| base\n  \
                          number: \"1\"\n=========\n  number: \"3\"\n>>>>>>>>> two\n";

    fn pump(number: &str) -> String {
        format!("pump:\n  name: Pump\n  number: \"{number}\"\n")
    }

    fn came(ours: &str, theirs: &str) -> Option<Merged> {
        let versions = Three {
            base: MARKED.into(),
            ours: pump(ours).into_bytes(),
            theirs: pump(theirs).into_bytes(),
        };
        merged(Kind::Parts, "parts/all.yaml", &versions).and_then(Result::ok)
    }

    #[test]
    fn marks_hold_three_texts() {
        let all = parted(MARKED).unwrap();
        assert_eq!(all.ours, pump("2"));
        assert_eq!(all.base, pump("1"));
        assert_eq!(all.theirs, pump("3"));
        assert_eq!(parted("pump: {name: Pump}\n"), None);
        assert_eq!(parted("<<<<<<< a\npump: {name: Pump}\n"), None);
    }

    #[test]
    fn what_the_clash_makes_doubtful_is_not_chosen() {
        assert!(came("2", "2").is_some_and(|came| came.is_clean()));
        // One settled it as the other had it before: neither is plainly the newer.
        assert_eq!(came("2", "1"), None);
        assert_eq!(came("2", "3"), None);
        assert_eq!(came("4", "2"), None);
    }
}
