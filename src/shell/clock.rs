//! The clock.

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

use crate::changes::report::Moment;

/// Today, where the builder is.
#[must_use]
pub fn today() -> Date {
    now().local.date()
}

/// The point in time that it is, by the clock here.
#[must_use]
pub fn now() -> Moment {
    let at = Timestamp::now();
    let local = here().to_datetime(at);
    Moment { at, local }
}

/// The time zone of this machine. To look one up by its name takes longer than all else
/// that a hook does with a small build, and the file that names this machine's is the
/// zone itself.
fn here() -> TimeZone {
    let unnamed = || TimeZone::tzif("", &std::fs::read("/etc/localtime").ok()?).ok();
    match std::env::var_os("TZ") {
        None => unnamed().unwrap_or_else(TimeZone::system),
        Some(_) => TimeZone::system(),
    }
}
