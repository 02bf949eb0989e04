//! Last days: whether one is near, and how far off it is.

use jiff::ToSpan;
use jiff::civil::Date;

use super::Context;
use crate::present::age::{end, how_long};

/// How many days before its last day a thing is said, unless the build sets another time.
const WARNING: i64 = 14;

/// Whether a last day is to come, and so near that it is said.
#[must_use]
pub fn is_near(cx: &Context<'_>, day: Date) -> bool {
    let today = cx.facts.as_of;
    let figures = cx.folder.model.build.figures.as_ref();
    let set = figures.and_then(|figures| end(today, figures.return_warning.as_ref()?));
    let last = set.or_else(|| today.checked_add(WARNING.days()).ok());
    day >= today && last.is_some_and(|last| day <= last)
}

/// How far off a day is: `today`, `tomorrow`, `in 9 days`.
#[must_use]
pub fn until(today: Date, day: Date) -> String {
    if day == today {
        "today".to_owned()
    } else if today.tomorrow().is_ok_and(|next| next == day) {
        "tomorrow".to_owned()
    } else {
        format!("in {}", how_long(today, day))
    }
}
