//! The date on which a document is made.

use std::time::{SystemTime, UNIX_EPOCH};

const DAY_S: u64 = 86_400;

/// Today's date (UTC) as `2026-11-25`; that of `SOURCE_DATE_EPOCH` where it is set, so that a
/// document can be made again bit for bit.
pub(crate) fn today() -> String {
    let fixed = std::env::var("SOURCE_DATE_EPOCH").ok().and_then(|s| s.parse().ok());
    let now = || SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |d| d.as_secs());
    date(fixed.unwrap_or_else(now) / DAY_S)
}

/// Date of a day counted from 1970-01-01 in the Gregorian calendar, by counting years from March
/// (derived: a cycle of 400 years has 146 097 days).
fn date(days: u64) -> String {
    let shifted = days + 719_468;
    let (era, day_of_era) = (shifted / 146_097, shifted % 146_097);
    let leap = day_of_era / 1460 + day_of_era / 146_096;
    let year_of_era = (day_of_era + day_of_era / 36_524 - leap) / 365;
    let day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let from_march = (5 * day_of_year + 2) / 153;
    let day = day_of_year - (153 * from_march + 2) / 5 + 1;
    let month = if from_march < 10 { from_march + 3 } else { from_march - 9 };
    let year = era * 400 + year_of_era + u64::from(month <= 2);
    format!("{year:04}-{month:02}-{day:02}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_become_dates() {
        assert_eq!(date(0), "1970-01-01");
        assert_eq!(date(11_016), "2000-02-29");
        assert_eq!(date(20_782), "2026-11-25");
        assert_eq!(date(47_540), "2100-02-28");
        assert_eq!(date(47_541), "2100-03-01");
    }
}
