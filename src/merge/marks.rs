//! The text of a merge, with markers round the lines that clash.
//!
//! The markers are git's, with the common version between the two (its `diff3` style). They
//! go round whole lines: what stands beside a clash on its line is the same in all three.

use super::{Marks, Piece, Three};

/// The text with its markers.
pub(super) fn marked(pieces: &[Piece], marks: &Marks) -> String {
    let mut text = Text {
        out: String::new(),
        open: String::new(),
        parted: None,
        marks,
    };
    for piece in pieces {
        match piece {
            Piece::Agreed(agreed) => text.agreed(agreed),
            Piece::Parted(parted) => text.parted(parted),
        }
    }
    text.close();
    text.out.push_str(&text.open);
    text.out
}

struct Text<'a> {
    out: String,
    /// What agrees, from the beginning of the line that is being written.
    open: String,
    /// The lines that clash, from the beginning of the first.
    parted: Option<Three<String>>,
    marks: &'a Marks,
}

impl Text<'_> {
    fn agreed(&mut self, text: &str) {
        self.close_at_line();
        let Some(parted) = &mut self.parted else {
            self.open.push_str(text);
            if let Some(end) = self.open.rfind('\n') {
                let rest = self.open.split_off(end + 1);
                self.out.push_str(&self.open);
                self.open = rest;
            }
            return;
        };
        let end = text.find('\n').map_or(text.len(), |end| end + 1);
        let (own, rest) = text.split_at(end);
        parted.with(Three::all(own), |version, own| version.push_str(own));
        if own.ends_with('\n') {
            self.close();
            self.agreed(rest);
        }
    }

    fn parted(&mut self, texts: &Three<String>) {
        self.close_at_line();
        let open = std::mem::take(&mut self.open);
        let all = self.parted.get_or_insert_with(|| Three {
            base: open.clone(),
            ours: open.clone(),
            theirs: open,
        });
        all.base.push_str(&texts.base);
        all.ours.push_str(&texts.ours);
        all.theirs.push_str(&texts.theirs);
    }

    /// Ends the lines that clash, if what follows begins a line in all three versions.
    fn close_at_line(&mut self) {
        let whole = |text: &str| text.is_empty() || text.ends_with('\n');
        if let Some(Three { base, ours, theirs }) = &self.parted
            && whole(base)
            && whole(ours)
            && whole(theirs)
        {
            self.close();
        }
    }

    fn close(&mut self) {
        let Some(parted) = self.parted.take() else {
            return;
        };
        let lines =
            |text: &str| -> Vec<String> { text.split_inclusive('\n').map(str::to_owned).collect() };
        let (base, ours, theirs) = (
            lines(&parted.base),
            lines(&parted.ours),
            lines(&parted.theirs),
        );
        let shortest = base.len().min(ours.len()).min(theirs.len());
        let same = |of: &dyn Fn(&[String], usize) -> String| {
            let alike = |n: &usize| {
                let (one, two) = (of(&ours, *n), of(&theirs, *n));
                one == two && one == of(&base, *n)
            };
            (0..shortest).take_while(alike).count()
        };
        let before = same(&|lines, n| lines[n].clone());
        let after = same(&|lines, n| lines[lines.len() - 1 - n].clone()).min(shortest - before);
        let middle = |lines: &[String]| {
            let mut text = lines[before..lines.len() - after].concat();
            if !text.is_empty() && !text.ends_with('\n') {
                text.push('\n');
            }
            text
        };
        let line = |c: char, name: &str| {
            let mark: String = std::iter::repeat_n(c, self.marks.size).collect();
            match name {
                "" => format!("{mark}\n"),
                name => format!("{mark} {name}\n"),
            }
        };
        let names = &self.marks.names;
        self.out.extend([
            ours[..before].concat(),
            line('<', &names.ours),
            middle(&ours),
            line('|', &names.base),
            middle(&base),
            line('=', ""),
            middle(&theirs),
            line('>', &names.theirs),
            ours[ours.len() - after..].concat(),
        ]);
    }
}
