//! The clock.

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

/// Today, where the builder is.
#[must_use]
pub fn today() -> Date {
    here().to_datetime(Timestamp::now()).date()
}

/// The point in time that it is.
#[must_use]
pub fn now() -> Timestamp {
    Timestamp::now()
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
