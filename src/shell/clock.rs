//! The clock.

use jiff::ZonedDateTime;
use jiff::civil::Date;

/// Today, where the builder is.
#[must_use]
pub fn today() -> Date {
    ZonedDateTime::now().date()
}
