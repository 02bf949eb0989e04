//! Photos: added, taken away, and pictures that are other ones.

use super::words::Saying;
use super::{Deed, Teller};

pub(super) fn tell(teller: &mut Teller<'_>) {
    let view = teller.view();
    let about = teller.id();
    if view.is_gone() {
        let says = view.was("caption").unwrap_or_default().to_owned();
        let says = super::words::shown(&says.into());
        teller.tell(Deed::PhotoGone, about, says, None, view.leaves());
        return;
    }
    if view.is_new() {
        let mut new = Saying::of(view);
        new.say_new("", "caption");
        let when = new.new_day("taken");
        new.say_new("seen from ", "seen-from");
        // The hash tells people nothing, and the file is called as the record is.
        new.say_rest(&["sha256", "file"]);
        new.tell(teller, Deed::PhotoNew, about, when);
        return;
    }
    let hash = view.under("sha256");
    if hash.before.is_some() && hash.after.is_some() && hash.differs() {
        let says = "the picture itself is another one";
        teller.tell(Deed::PhotoChanged, about, says, None, hash.leaves());
    }
}
