//! A commit message, drafted from what is told of the commit.
//!
//! The first line is meant to be kept. The list is for reading while the message is
//! written, so it stands in comments, which git takes out; where git leaves comments in,
//! there is none.

use super::grid::seen;
use super::page;
use super::text::{Colour, number};
use crate::changes::RecordChange;
use crate::changes::report::Uncompared;
use crate::changes::tell::{Told, headline};
use crate::model::build::Message;
use crate::report::changes;
use crate::report::page::{Block, Item, Page, Section};

/// The columns of a message: common practice with git, as its own manual has it for mails.
const WIDTH: usize = 72;
/// No more lines of a list stand in comments.
const MOST: usize = 100;
/// What git puts behind the comment's mark where the message ends for good.
const CUT: &str = " ------------------------ >8 ------------------------";

/// What a commit changes in one build.
#[derive(Debug, Clone)]
pub struct Part {
    /// The build's folder from the top of the repository; empty at the top.
    pub folder: String,
    /// What changed in it.
    pub changes: Vec<RecordChange>,
    /// What is told of that.
    pub told: Vec<Told>,
    /// What could not be compared.
    pub uncompared: Vec<Uncompared>,
    /// What its builder wants of a message.
    pub wants: Message,
}

/// What git makes of a message.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Habits {
    /// What a comment begins with.
    pub comment: String,
    /// Whether comments are taken out in the end.
    pub strips: bool,
}

/// Whether there is nothing in a message but comments.
#[must_use]
pub fn is_empty(message: &str, habits: &Habits) -> bool {
    let cut = format!("{}{CUT}", habits.comment);
    let lines = message.lines().take_while(|line| line.trim_end() != cut);
    let mut text = lines.filter(|line| !line.starts_with(&habits.comment));
    text.all(|line| line.trim().is_empty())
}

/// The message with a draft put before what stands in it; none if there is nothing to say.
#[must_use]
pub fn drafted(message: &str, parts: &[Part], habits: &Habits) -> Option<String> {
    let parts: Vec<&Part> = parts
        .iter()
        .filter(|part| part.wants != Message::None && !part.told.is_empty())
        .collect();
    let told: Vec<Told> = parts.iter().flat_map(|part| part.told.clone()).collect();
    let first = seen(&headline(&told, WIDTH));
    if first.trim().is_empty() {
        return None;
    }
    let mut text = as_text(&first, &habits.comment);
    let listed = |wants: Message| -> Vec<String> {
        let own = parts.iter().filter(|part| part.wants == wants);
        let lists: Vec<Vec<String>> = own.map(|part| list(part, parts.len() > 1)).collect();
        lists.join(&String::new())
    };
    for (number, line) in listed(Message::Body).iter().enumerate() {
        if number == 0 {
            text.push('\n');
        }
        text.push_str(&as_text(line, &habits.comment));
    }
    text.push('\n');
    if habits.strips {
        for line in comments(listed(Message::Comments), text.lines().count() > 2) {
            text.push_str(format!("{} {line}", habits.comment).trim_end());
            text.push('\n');
        }
    }
    if message.contains("\r\n") {
        text = text.replace('\n', "\r\n");
    }
    text.push_str(message.trim_start_matches(['\n', '\r']));
    Some(text)
}

/// A line that git does not take for a comment.
fn as_text(line: &str, comment: &str) -> String {
    let mark = if line.starts_with(comment) { " " } else { "" };
    format!("{mark}{line}\n")
}

/// What stands in comments.
fn comments(mut list: Vec<String>, has_body: bool) -> Vec<String> {
    let what = if has_body {
        "all of it"
    } else {
        "the first line"
    };
    let mut lines = vec![format!(
        "Drafted from what is staged. To stop the commit, delete {what}."
    )];
    if !list.is_empty() {
        lines.push(String::new());
        let more = list.len().saturating_sub(MOST);
        list.truncate(MOST);
        lines.append(&mut list);
        if more > 0 {
            lines.push(format!("and {} more", number(more, "line")));
        }
    }
    lines.push(String::new());
    lines
}

/// What is told of one build, in lines.
fn list(part: &Part, named: bool) -> Vec<String> {
    let mut sections = changes::told(&part.told, &part.changes);
    let torn = part.uncompared.iter().map(|one| Item {
        about: one.file.clone(),
        says: one.why.clone(),
        under: Vec::new(),
    });
    let torn: Vec<Item> = torn.collect();
    if !torn.is_empty() {
        sections.push(Section {
            head: "Not compared".to_owned(),
            blocks: vec![Block::Items(torn)],
        });
    }
    let title = match (named, part.folder.trim_end_matches('/')) {
        (false, _) => String::new(),
        (true, "") => "At the top".to_owned(),
        (true, folder) => format!("In {folder}"),
    };
    let page = Page {
        title,
        lead: Vec::new(),
        sections,
    };
    let text = page::text(&page, WIDTH, Colour::No);
    text.trim_matches('\n').lines().map(str::to_owned).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::changes::tell::Deed;

    fn told(about: &str) -> Told {
        Told {
            deed: Deed::New,
            about: about.to_owned(),
            says: format!("part: {about}"),
            when: None,
            lines: Vec::new(),
            short: String::new(),
            many: 1,
            change: None,
            leaves: Vec::new(),
        }
    }

    fn part(abouts: &[&str], wants: Message) -> Part {
        Part {
            folder: String::new(),
            changes: Vec::new(),
            told: abouts.iter().map(|about| told(about)).collect(),
            uncompared: Vec::new(),
            wants,
        }
    }

    fn habits(comment: &str, strips: bool) -> Habits {
        Habits {
            comment: comment.to_owned(),
            strips,
        }
    }

    #[test]
    fn a_message_is_empty_where_git_says_so() {
        let hash = habits("#", true);
        assert!(is_empty("", &hash));
        assert!(is_empty("\n# a\n \n#\n", &hash));
        assert!(!is_empty("\nmine\n# a\n", &hash));
        assert!(!is_empty(" # set in\n", &hash));
        assert!(!is_empty("# a\n", &habits(";", true)));
        let cut = format!("\n# a\n#{CUT}\ndiff --git\n");
        assert!(is_empty(&cut, &hash));
        assert!(!is_empty(&cut, &habits("//", true)));
    }

    #[test]
    fn no_line_of_ours_is_taken_for_a_comment() {
        for comment in ["#", ";", "//", "R", "p", "@@", "-"] {
            let part = part(&["parts/a", "#b", "parts/c"], Message::Body);
            let habits = habits(comment, false);
            let text = drafted("", &[part], &habits).unwrap_or_default();
            assert!(
                text.lines().all(|line| !line.starts_with(comment)),
                "{text}"
            );
            assert!(text.contains("#b  "), "{text}");
        }
    }

    #[test]
    fn lines_end_as_they_did_and_a_long_list_is_cut() {
        let hash = habits("#", true);
        let short = part(&["parts/a"], Message::Comments);
        let text = drafted("\r\n# kept\r\n", &[short], &hash).unwrap_or_default();
        assert!(
            text.starts_with("parts/a is new\r\n\r\n# Drafted"),
            "{text}"
        );
        assert!(text.ends_with("#\r\n# kept\r\n"), "{text}");
        assert_eq!(text.matches('\n').count(), text.matches("\r\n").count());

        let names: Vec<String> = (0..500).map(|number| format!("parts/p{number}")).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let long = part(&names, Message::Comments);
        let text = drafted("", &[long], &hash).unwrap_or_default();
        assert!(
            text.starts_with("500 new parts (p0, p1, p2, …)\n"),
            "{text}"
        );
        assert!(text.contains("\n# and 401 lines more\n"), "{text}");
        assert!(text.lines().count() < MOST + 10);
    }

    #[test]
    fn nothing_to_say_is_no_draft() {
        let hash = habits("#", true);
        assert_eq!(drafted("", &[], &hash), None);
        assert_eq!(drafted("", &[part(&[], Message::Body)], &hash), None);
        assert_eq!(drafted("", &[part(&["a"], Message::None)], &hash), None);
    }
}
