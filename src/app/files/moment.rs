//! When a photo was taken, as its EXIF block says: the camera's own clock, no time zone.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::io::Cursor;

/// A moment of the camera's clock, in seconds since the beginning of the year 0 of the Gregorian calendar.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Moment(pub i64);

impl Moment {
    /// When the photo in a file was taken; `None` where that is not said.
    pub fn of_photo(bytes: &[u8]) -> Option<Self> {
        let block = exif::Reader::new()
            .read_from_container(&mut Cursor::new(bytes))
            .ok()?;
        let field = [exif::Tag::DateTimeOriginal, exif::Tag::DateTimeDigitized]
            .into_iter()
            .find_map(|tag| block.get_field(tag, exif::In::PRIMARY))?;
        let exif::Value::Ascii(texts) = &field.value else {
            return None;
        };
        std::str::from_utf8(texts.first()?)
            .ok()
            .and_then(Self::parse)
    }

    /// The moment written as numbers from year to minute or second, with anything between them.
    pub fn parse(text: &str) -> Option<Self> {
        let mut numbers = text
            .split(|c: char| !c.is_ascii_digit())
            .filter(|part| !part.is_empty())
            .map(|part| part.parse::<i64>().ok());
        let mut next = || numbers.next().flatten();
        let (year, month, day) = (next()?, next()?, next()?);
        let (hour, minute, second) = (next()?, next()?, next().unwrap_or(0));
        let is_sound = (1900..=9999).contains(&year)
            && (1..=12).contains(&month)
            && (1..=31).contains(&day)
            && hour < 24
            && minute < 60
            && second <= 60;
        is_sound.then(|| Self((days(year, month, day) * 24 + hour) * 3600 + minute * 60 + second))
    }
}

/// Days since 1 March of the year 0 (Gregorian, going on backwards); the year begins in March, so that the odd month
/// comes last.
fn days(year: i64, month: i64, day: i64) -> i64 {
    let (year, month) = if month > 2 {
        (year, month - 3)
    } else {
        (year - 1, month + 9)
    };
    365 * year + year / 4 - year / 100 + year / 400 + (153 * month + 2) / 5 + day - 1
}

impl fmt::Display for Moment {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (days_left, rest) = (self.0.div_euclid(86_400), self.0.rem_euclid(86_400));
        let year = (days_left as f64 / 365.2425) as i64;
        let year = [year + 1, year, year - 1]
            .into_iter()
            .find(|&year| days(year, 3, 1) <= days_left)
            .unwrap_or(year);
        let in_year = days_left - days(year, 3, 1);
        let month = (5 * in_year + 2) / 153;
        let day = in_year - (153 * month + 2) / 5 + 1;
        let (year, month) = if month < 10 {
            (year, month + 3)
        } else {
            (year + 1, month - 9)
        };
        let (hour, minute) = (rest / 3600, rest / 60 % 60);
        write!(out, "{year:04}-{month:02}-{day:02} {hour:02}:{minute:02}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: EXIF 2.3 (JEITA CP-3451), tag 0x9003: "YYYY:MM:DD HH:MM:SS".
    #[test]
    fn moments_are_read_and_written() {
        let check = |text: &str, expected: Option<&str>| {
            let met = Moment::parse(text).map(|moment| moment.to_string());
            assert_eq!(met.as_deref(), expected, "{text}");
        };
        check("2026:05:04 10:02:59", Some("2026-05-04 10:02"));
        check("2024-02-29 23:59", Some("2024-02-29 23:59"));
        check("2025-12-31T00:00:00", Some("2025-12-31 00:00"));
        check("2026-01-01 00:00", Some("2026-01-01 00:00"));
        check("0000:00:00 00:00:00", None);
        check("2026:05:04", None);
        check("    :  :     :  :  ", None);
    }

    #[test]
    fn moments_are_in_order() {
        let at = |text| Moment::parse(text).unwrap();
        // Source: the calendar; a day has 86 400 seconds, 2024 was a leap year.
        assert_eq!(
            at("2024-03-01 00:00").0 - at("2024-02-28 00:00").0,
            2 * 86_400
        );
        assert_eq!(
            at("2026-01-01 00:00").0 - at("2025-01-01 00:00").0,
            365 * 86_400
        );
        assert_eq!(
            at("2026-05-04 10:05:01").0 - at("2026-05-04 10:04:00").0,
            61
        );
    }
}
