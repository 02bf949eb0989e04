//! One commit as a mail: who made it, when, why, and the difference it makes.
//!
//! The form is what `git format-patch` writes, so that people can read and review a
//! history as text. Pictures are not in the difference. The message names each in
//! a last line of its own, and whoever replays the patch brings it along:
//!
//! ```text
//! From 0000000000000000000000000000000000000000 Mon Sep 17 00:00:00 2001
//! From: helper <helper@example.invalid>
//! Date: Sat, 14 Feb 2026 17:35:00 +0100
//! Subject: [PATCH] Flywheel on for good
//!
//! Six new bolts, both steps.
//!
//! Picture: photos/p-001.png
//! ---
//!
//! diff --git a/parts/engine.yaml b/parts/engine.yaml
//! ```
//!
//! Only what such a history needs is read: no attachments, no encoded headers, no
//! signature below the difference.

use jiff::fmt::rfc2822;

/// A commit, read from its patch.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Patch {
    /// The name of the file it was read from.
    pub name: String,
    /// Who made it.
    pub who: String,
    /// That person's address.
    pub address: String,
    /// When, in seconds since 1970.
    pub seconds: i64,
    /// How many minutes that person's clock is ahead of UTC.
    pub offset: i32,
    /// The message: the subject, then what follows it, the names of pictures included.
    pub message: String,
    /// The pictures that come with it, by their paths.
    pub pictures: Vec<String>,
    /// Everything above the difference, as it stands in the file.
    pub head: String,
    /// The difference to the commit before.
    pub diff: String,
}

/// Why a file is no patch.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{name}: {why}")]
pub struct PatchError {
    name: String,
    why: &'static str,
}

const PICTURE: &str = "Picture: ";

impl Patch {
    /// Reads a patch.
    ///
    /// # Errors
    /// When something that a commit needs is not there.
    pub fn read(name: &str, text: &str) -> Result<Self, PatchError> {
        let fail = |why| PatchError {
            name: name.to_owned(),
            why,
        };
        let (head, diff) = match text.find("\ndiff --git ") {
            Some(end) => text.split_at(end + 1),
            // A commit may bring a picture and nothing else.
            None => (text, ""),
        };
        let (headers, body) = head
            .split_once("\n\n")
            .ok_or_else(|| fail("no empty line ends its headers"))?;
        let header = |key: &str| unfolded(headers, key);

        let from = header("From: ").ok_or_else(|| fail("it does not say `From: who <address>`"))?;
        let (who, address) = from
            .strip_suffix('>')
            .and_then(|from| from.split_once(" <"))
            .filter(|(who, address)| !who.is_empty() && !address.is_empty())
            .ok_or_else(|| fail("its `From:` is not `who <address>`"))?;
        let when = header("Date: ").ok_or_else(|| fail("it has no `Date:`"))?;
        let when = rfc2822::parse(&when)
            .map_err(|_| fail("its `Date:` is not like `Sat, 3 Jan 2026 20:45:00 +0100`"))?;
        let subject = header("Subject: ").ok_or_else(|| fail("it has no `Subject:`"))?;
        let subject = subject.strip_prefix("[PATCH] ").unwrap_or(&subject);
        if subject.is_empty() {
            return Err(fail("its `Subject:` is empty"));
        }

        let end = if body.starts_with("---\n") {
            0
        } else {
            body.find("\n---\n")
                .ok_or_else(|| fail("no line `---` ends its message"))?
        };
        let body = body[..end].trim_end();
        let last = body.rsplit("\n\n").next().unwrap_or_default();
        let pictures = last
            .lines()
            .filter_map(|line| line.strip_prefix(PICTURE))
            .map(str::to_owned)
            .collect();
        let message = match body {
            "" => format!("{subject}\n"),
            body => format!("{subject}\n\n{body}\n"),
        };
        Ok(Self {
            name: name.to_owned(),
            who: who.to_owned(),
            address: address.to_owned(),
            seconds: when.timestamp().as_second(),
            offset: when.offset().seconds() / 60,
            message,
            pictures,
            head: head.to_owned(),
            diff: diff.to_owned(),
        })
    }

    /// The first line of the message.
    #[must_use]
    pub fn subject(&self) -> &str {
        self.message.lines().next().unwrap_or_default()
    }

    /// The patch as text, with other pictures and another difference in it.
    #[must_use]
    pub fn rewritten(&self, pictures: &[String], diff: &str) -> String {
        let head = self.head.trim_end().trim_end_matches("---").trim_end();
        let mut text: String = head
            .lines()
            .filter(|line| !line.starts_with(PICTURE))
            .map(|line| format!("{line}\n"))
            .collect();
        text.truncate(text.trim_end().len());
        text.push('\n');
        if !pictures.is_empty() {
            text.push('\n');
        }
        for picture in pictures {
            text.push_str(&format!("{PICTURE}{picture}\n"));
        }
        // A message without a body still has its empty line before `---`.
        if !text.contains("\n\n") {
            text.push('\n');
        }
        text.push_str("---\n\n");
        text.push_str(diff);
        text
    }
}

/// A header's value; a long one goes on in lines that begin with a space.
fn unfolded(headers: &str, key: &str) -> Option<String> {
    let mut lines = headers.lines();
    let mut value = lines.find_map(|line| line.strip_prefix(key))?.to_owned();
    for more in lines.take_while(|line| line.starts_with([' ', '\t'])) {
        value.push(' ');
        value.push_str(more.trim_start());
    }
    Some(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    const DIFF: &str = "diff --git a/build.yaml b/build.yaml\n--- a/build.yaml\n";

    fn text() -> String {
        format!(
            "From 0000000000000000000000000000000000000000 Mon Sep 17 00:00:00 2001\n\
             From: helper <helper@example.invalid>\n\
             Date: Sat, 14 Feb 2026 17:35:00 -0330\n\
             Subject: [PATCH] Flywheel on for good,\n run out at 0.04 mm\n\n\
             Six bolts.\n\nBoth steps.\n\nPicture: photos/p-001.png\nPicture: photos/p-002.png\n\
             ---\n\n{DIFF}"
        )
    }

    #[test]
    fn who_when_what_and_pictures() {
        let patch = Patch::read("14.patch", &text()).unwrap();
        assert_eq!(
            (patch.who.as_str(), patch.address.as_str()),
            ("helper", "helper@example.invalid")
        );
        assert_eq!((patch.seconds, patch.offset), (1_771_103_100, -210));
        assert_eq!(patch.subject(), "Flywheel on for good, run out at 0.04 mm");
        assert!(patch.message.ends_with(
            "\n\nSix bolts.\n\nBoth steps.\n\nPicture: photos/p-001.png\nPicture: photos/p-002.png\n"
        ));
        assert_eq!(patch.pictures, ["photos/p-001.png", "photos/p-002.png"]);
        assert_eq!(patch.diff, DIFF);
        assert_eq!(patch.rewritten(&patch.pictures, DIFF), text());
    }

    #[test]
    fn a_message_may_be_one_line() {
        let text = text();
        let (head, _) = text.split_once("\n\n").unwrap();
        let patch = Patch::read("x", &format!("{head}\n\n---\n\n{DIFF}")).unwrap();
        assert_eq!(patch.message, "Flywheel on for good, run out at 0.04 mm\n");
        assert!(patch.pictures.is_empty());
        let again = patch.rewritten(&["photos/p-001.png".to_owned()], DIFF);
        let again = Patch::read("x", &again).unwrap();
        assert_eq!(again.pictures, ["photos/p-001.png"]);
        assert_eq!(again.diff, DIFF);
        let bare = again.rewritten(&[], DIFF);
        assert_eq!(Patch::read("x", &bare).unwrap(), patch);
    }

    #[test]
    fn what_is_missing_is_said() {
        let text = text();
        for (was, is, why) in [
            (
                "From: helper",
                "Form: helper",
                "it does not say `From: who <address>`",
            ),
            (
                " <helper@example.invalid>",
                "",
                "its `From:` is not `who <address>`",
            ),
            (
                "Date: Sat",
                "Date: Sun",
                "its `Date:` is not like `Sat, 3 Jan 2026 20:45:00 +0100`",
            ),
            ("Date: ", "When: ", "it has no `Date:`"),
            ("Subject: ", "About: ", "it has no `Subject:`"),
            ("\n---\n\n", "\n\n", "no line `---` ends its message"),
        ] {
            let error = Patch::read("14.patch", &text.replacen(was, is, 1)).unwrap_err();
            assert_eq!(error.to_string(), format!("14.patch: {why}"));
        }
        assert!(Patch::read("x", "").is_err());
    }
}
