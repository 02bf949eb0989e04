//! The cavities of a plug, or the slots of a fuse box, as a plug lists them:
//! single ones and runs, with commas between (`1-40`, `A1-A4, B1-B4`, `A-H`).
//!
//! A cavity is called as it is moulded: `01` is not `1`. A run goes from a
//! lower number to a higher one behind the same letters, or from one letter to
//! a later one.

use thiserror::Error;

/// A list of cavities, read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cavities(Vec<Run>);

#[derive(Debug, Clone, PartialEq, Eq)]
enum Run {
    One(String),
    /// From number to number, both included, with these letters in front.
    Numbers(String, u32, u32),
    /// From letter to letter, both included.
    Letters(char, char),
}

impl Cavities {
    /// Reads a list.
    ///
    /// # Errors
    ///
    /// [`CavitiesError`], one plain sentence each.
    pub fn parse(text: &str) -> Result<Self, CavitiesError> {
        read(text).map_err(|error| {
            // A suggestion is only made if it would itself be accepted.
            let accepted = |list: String| read(&list).is_ok().then_some(list);
            match error {
                CavitiesError::Falls { written, .. } => {
                    let (first, last) = written.split_once('-').unwrap_or_default();
                    let turned = |part: &str| match part.trim() == written {
                        true => part.replace(&written, &format!("{last}-{first}")),
                        false => part.to_owned(),
                    };
                    let parts: Vec<String> = text.split(',').map(turned).collect();
                    let instead = accepted(parts.join(","));
                    CavitiesError::Falls { written, instead }
                }
                CavitiesError::Form { written, .. } => {
                    let plain = [" to ", " - ", "–", "—", ".."]
                        .iter()
                        .fold(text.to_owned(), |list, sign| list.replace(sign, "-"));
                    let instead = accepted(plain.replace([';', '/'], ","));
                    CavitiesError::Form { written, instead }
                }
                CavitiesError::Ends { .. } => error,
            }
        })
    }

    /// Whether a cavity is among them.
    #[must_use]
    pub fn has(&self, cavity: &str) -> bool {
        self.0.iter().any(|run| match run {
            Run::One(name) => name == cavity,
            Run::Numbers(letters, from, to) => split(cavity)
                .is_some_and(|(own, number)| own == letters && (*from..=*to).contains(&number)),
            Run::Letters(from, to) => {
                let mut letters = cavity.chars();
                letters.next().is_some_and(|c| (*from..=*to).contains(&c))
                    && letters.next().is_none()
            }
        })
    }

    /// Whether every run of another list begins and ends among them.
    #[must_use]
    pub fn hold(&self, others: &Self) -> bool {
        others.0.iter().all(|run| match run {
            Run::One(name) => self.has(name),
            Run::Numbers(letters, from, to) => [from, to]
                .iter()
                .all(|number| self.has(&format!("{letters}{number}"))),
            Run::Letters(from, to) => [from, to]
                .iter()
                .all(|letter| self.has(&letter.to_string())),
        })
    }
}

/// Why a text is no list of cavities. `instead` holds the whole list as it
/// should be written, where that can be told.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum CavitiesError {
    /// Something else than names and runs.
    #[error("`{written}` is no cavity and no run of them; write it as in `1-40` or `A1-A4, B1-B4`")]
    Form {
        /// The part of the list.
        written: String,
        /// The list.
        instead: Option<String>,
    },
    /// A run that goes down.
    #[error("`{written}` runs backwards; write the lower end first")]
    Falls {
        /// The run.
        written: String,
        /// The list.
        instead: Option<String>,
    },
    /// A run whose ends are of two sorts.
    #[error(
        "the ends of `{written}` make no run; write the same letters at both ends, as in `A1-A4`"
    )]
    Ends {
        /// The run.
        written: String,
    },
}

impl CavitiesError {
    /// The whole list to write instead, where it can be told; it is itself
    /// accepted.
    #[must_use]
    pub fn suggestion(&self) -> Option<String> {
        match self {
            Self::Form { instead, .. } | Self::Falls { instead, .. } => instead.clone(),
            Self::Ends { .. } => None,
        }
    }
}

fn read(text: &str) -> Result<Cavities, CavitiesError> {
    text.split(',')
        .map(|part| run(part.trim()))
        .collect::<Result<_, _>>()
        .map(Cavities)
}

fn run(written: &str) -> Result<Run, CavitiesError> {
    let name = |text: &str| {
        text.split('.')
            .all(|part| !part.is_empty() && part.chars().all(|c| c.is_ascii_alphanumeric()))
    };
    let no_form = || CavitiesError::Form {
        written: written.to_owned(),
        instead: None,
    };
    let Some((first, last)) = written.split_once('-') else {
        return if name(written) {
            Ok(Run::One(written.to_owned()))
        } else {
            Err(no_form())
        };
    };
    if !(name(first) && name(last)) {
        return Err(no_form());
    }
    let falls = || CavitiesError::Falls {
        written: written.to_owned(),
        instead: None,
    };
    match (split(first), split(last), letter(first), letter(last)) {
        (Some((a, from)), Some((b, to)), ..) if a == b => {
            if from <= to {
                Ok(Run::Numbers(a.to_owned(), from, to))
            } else {
                Err(falls())
            }
        }
        (_, _, Some(from), Some(to)) if from.is_uppercase() == to.is_uppercase() => {
            if from <= to {
                Ok(Run::Letters(from, to))
            } else {
                Err(falls())
            }
        }
        _ => Err(CavitiesError::Ends {
            written: written.to_owned(),
        }),
    }
}

/// The letters in front and the number behind. A number with noughts in front
/// is a name of its own.
fn split(text: &str) -> Option<(&str, u32)> {
    let at = text.find(|c: char| c.is_ascii_digit())?;
    let (letters, digits) = text.split_at(at);
    let bare = digits.len() == 1 || !digits.starts_with('0');
    digits
        .parse()
        .ok()
        .filter(|_| bare)
        .map(|number| (letters, number))
}

fn letter(text: &str) -> Option<char> {
    let mut all = text.chars();
    all.next()
        .filter(|c| c.is_ascii_alphabetic() && all.next().is_none())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cavities(text: &str) -> Cavities {
        Cavities::parse(text).unwrap_or_else(|error| panic!("{text}: {error}"))
    }

    #[test]
    fn runs_of_cavities() {
        for (list, cavity) in [
            ("1-40", "21"),
            ("1-8, A1-A4", "A3"),
            ("30, 31, 85-87", "31"),
            ("A-H", "C"),
            ("87a,85", "87a"),
            ("01, 02", "01"),
            ("1-4 , 7 ,9-12", "9"),
        ] {
            assert!(cavities(list).has(cavity), "{list}: {cavity}");
        }
        for wrong in ["0", "41", "A1", "021", "", "-", "4294967296", "2 1", "²"] {
            assert!(!cavities("1-40").has(wrong), "{wrong}");
        }
        for wrong in ["I", "a", "AB", ""] {
            assert!(!cavities("A-H").has(wrong), "{wrong}");
        }
        assert!(cavities("1-40").hold(&cavities("12-36, 40")));
        assert!(!cavities("1-40").hold(&cavities("12-46")));
    }

    #[test]
    fn a_mistake_is_one_sentence_and_a_correction() {
        let form = "is no cavity and no run of them; write it as in `1-40` or `A1-A4, B1-B4`";
        for (text, message, instead) in [
            ("1 to 40", &*format!("`1 to 40` {form}"), Some("1-40")),
            ("1–40", &*format!("`1–40` {form}"), Some("1-40")),
            ("1..40", &*format!("`1..40` {form}"), Some("1-40")),
            ("1-", &*format!("`1-` {form}"), None),
            ("1, ", &*format!("`` {form}"), None),
            ("1-2-3", &*format!("`1-2-3` {form}"), None),
            (
                "40-1",
                "`40-1` runs backwards; write the lower end first",
                Some("1-40"),
            ),
            (
                "A1-A4, 7-5",
                "`7-5` runs backwards; write the lower end first",
                Some("A1-A4, 5-7"),
            ),
            (
                "H-A",
                "`H-A` runs backwards; write the lower end first",
                Some("A-H"),
            ),
            (
                "A1-B4",
                "the ends of `A1-B4` make no run; write the same letters at both ends, as in `A1-A4`",
                None,
            ),
            (
                "01-10",
                "the ends of `01-10` make no run; write the same letters at both ends, as in `A1-A4`",
                None,
            ),
        ] {
            let error = Cavities::parse(text).expect_err(text);
            assert_eq!(error.to_string(), message, "{text}");
            assert_eq!(error.suggestion().as_deref(), instead, "{text}");
        }
    }
}
