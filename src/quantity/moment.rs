//! A moment in time, to the millisecond.
//!
//! Invariants: always within the years 0000 to 9999 of the proleptic Gregorian calendar, so every moment can be written
//! in RFC 3339; always written in UTC with three decimals, so comparing the texts compares the moments.
//!
//! Milliseconds and not nanoseconds, because a moment that is stored and read back must equal itself in every tool that
//! reads the record. `clock` reads the clock and converts to local time; this module does neither.

use std::fmt;
use std::str::FromStr;

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

/// Milliseconds from 1970-01-01T00:00:00Z to 0000-01-01T00:00:00Z.
const FIRST_MS: i64 = -62_167_219_200_000;

/// A moment in time. Written as RFC 3339 in UTC with milliseconds: `2026-03-01T13:32:05.250Z`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(into = "String", try_from = "String")]
pub struct Moment(Timestamp);

/// A text that is not a moment.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{text}` is not a moment in time; write it like 2026-03-01T14:32:05+01:00 ({why})")]
pub struct NotAMoment {
    text: String,
    why: String,
}

impl Moment {
    /// 1970-01-01T00:00:00Z.
    pub(crate) const EPOCH: Self = Self(Timestamp::UNIX_EPOCH);

    /// The moment `ms` milliseconds after 1970-01-01T00:00:00Z, or `None` outside the years 0000 to 9999.
    pub fn from_ms(ms: i64) -> Option<Self> {
        if ms < FIRST_MS {
            return None;
        }
        Timestamp::from_millisecond(ms).ok().map(Self)
    }

    /// Milliseconds after 1970-01-01T00:00:00Z.
    pub fn as_ms(self) -> i64 {
        self.0.as_millisecond()
    }

    /// Milliseconds from `earlier` to this moment; `None` when `earlier` is in fact later, so that a clock that was set
    /// back is never taken for a short time.
    pub(crate) fn since(self, earlier: Self) -> Option<i64> {
        // Both sides are at most 2^48 ms from the epoch, so this cannot overflow.
        Some(self.as_ms() - earlier.as_ms()).filter(|ms| *ms >= 0)
    }

    /// The moment `ms` milliseconds later (earlier when negative), or `None` outside the years 0000 to 9999.
    pub fn plus_ms(self, ms: i64) -> Option<Self> {
        self.as_ms().checked_add(ms).and_then(Self::from_ms)
    }

    /// The timestamp, for local display.
    pub(crate) fn timestamp(self) -> Timestamp {
        self.0
    }
}

impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.3}", self.0)
    }
}

impl FromStr for Moment {
    type Err = NotAMoment;

    /// Reads RFC 3339 with any offset; digits below the millisecond are cut off.
    fn from_str(text: &str) -> Result<Self, NotAMoment> {
        let not = |why: &dyn fmt::Display| NotAMoment {
            text: text.chars().take(80).collect(),
            why: why.to_string(),
        };
        // The crate accepts more than RFC 3339 allows: no seconds, spaces, zone names in brackets.
        if !has_the_shape(text) {
            return Err(not(&"date, T, time with seconds, then Z or an offset"));
        }
        let timestamp: Timestamp = text.parse().map_err(|error| not(&error))?;
        Self::from_ms(timestamp.as_millisecond()).ok_or_else(|| not(&"before the year 0"))
    }
}

/// Whether `text` has the shape `dddd-dd-ddTdd:dd:dd[.d+](Z|±dd:dd)` of RFC 3339 section 5.6.
fn has_the_shape(text: &str) -> bool {
    let Some((head, tail)) = text.split_at_checked(19) else {
        return false;
    };
    let offset = match tail.strip_prefix('.') {
        Some(fraction) => {
            let offset = fraction.trim_start_matches(|c: char| c.is_ascii_digit());
            if offset.len() == fraction.len() {
                return false;
            }
            offset
        }
        None => tail,
    };
    fits(head, "dddd-dd-ddTdd:dd:dd")
        && (matches!(offset, "Z" | "z") || fits(offset, "+dd:dd") || fits(offset, "-dd:dd"))
}

fn fits(text: &str, shape: &str) -> bool {
    text.len() == shape.len()
        && text.bytes().zip(shape.bytes()).all(|(c, s)| match s {
            b'd' => c.is_ascii_digit(),
            other => c.eq_ignore_ascii_case(&other),
        })
}

impl From<Moment> for String {
    fn from(moment: Moment) -> Self {
        moment.to_string()
    }
}

impl TryFrom<String> for Moment {
    type Error = NotAMoment;

    fn try_from(text: String) -> Result<Self, NotAMoment> {
        text.parse()
    }
}

#[cfg(test)]
mod tests {
    use super::{FIRST_MS, Moment};

    fn moment(text: &str) -> Moment {
        text.parse().unwrap()
    }

    /// Source: RFC 3339 section 5.8, the first three examples; the milliseconds are GNU date's, `date -u -d TEXT +%s.%N`.
    #[test]
    fn reads_the_examples_of_the_rfc() {
        let examples = [
            ("1985-04-12T23:20:50.52Z", 482_196_050_520),
            ("1996-12-19T16:39:57-08:00", 851_042_397_000),
            ("1937-01-01T12:00:27.87+00:20", -1_041_337_172_130),
        ];
        for (text, ms) in examples {
            assert_eq!(moment(text).as_ms(), ms, "{text}");
        }
    }

    #[test]
    fn is_written_in_utc_with_milliseconds() {
        for (text, written) in [
            ("2026-03-01T14:32:05+01:00", "2026-03-01T13:32:05.000Z"),
            ("2026-03-01T13:32:05.2509999Z", "2026-03-01T13:32:05.250Z"),
            ("0000-01-01T00:00:00Z", "0000-01-01T00:00:00.000Z"),
        ] {
            assert_eq!(moment(text).to_string(), written);
            assert_eq!(moment(written), moment(text));
        }
    }

    #[test]
    fn refuses_what_is_not_rfc_3339() {
        for text in [
            "",
            "now",
            "2026-03-01",
            "2026-03-01T14:32Z",
            "2026-03-01T14:32:05",
            "2026-03-01 14:32:05Z",
            "2026-03-01T14:32:05.Z",
            "2026-03-01T14:32:05.5",
            "2026-03-01T14:32:05+0100",
            "2026-03-01T14:32:05Z[UTC]",
            "2026-02-30T14:32:05Z",
            "2026-03-01T25:32:05Z",
            "-002026-03-01T14:32:05Z",
            "0000-01-01T00:00:00+01:00",
            "2026-03-01T14:32:0éZ",
        ] {
            assert!(text.parse::<Moment>().is_err(), "{text:?} was read");
        }
    }

    #[test]
    fn the_time_since_a_later_moment_is_none() {
        let (early, late) = (
            moment("2026-03-01T14:00:00Z"),
            moment("2026-03-01T14:00:00.250Z"),
        );
        assert!(early < late);
        assert_eq!(late.since(early), Some(250));
        assert_eq!(early.since(early), Some(0));
        assert_eq!(early.since(late), None);
    }

    #[test]
    fn adding_stays_within_the_calendar() {
        assert_eq!(Moment::EPOCH.plus_ms(1).map(Moment::as_ms), Some(1));
        assert_eq!(Moment::EPOCH.plus_ms(i64::MAX), None);
        assert_eq!(Moment::EPOCH.plus_ms(i64::MIN), None);
        let first = Moment::from_ms(FIRST_MS).unwrap();
        assert_eq!(first.to_string(), "0000-01-01T00:00:00.000Z");
        assert_eq!(first.plus_ms(-1), None);
    }

    #[test]
    fn is_a_plain_string_in_json() {
        let json = "\"2026-03-01T13:32:05.250Z\"";
        let read: Moment = serde_json::from_str(json).unwrap();
        assert_eq!(serde_json::to_string(&read).unwrap(), json);
    }

    proptest::proptest! {
        #[test]
        fn texts_order_as_moments_do(a in FIRST_MS..250_000_000_000_000, b in FIRST_MS..250_000_000_000_000) {
            let (a, b) = (Moment::from_ms(a).unwrap(), Moment::from_ms(b).unwrap());
            proptest::prop_assert_eq!(moment(&a.to_string()), a);
            proptest::prop_assert_eq!(a.to_string().cmp(&b.to_string()), a.cmp(&b));
        }
    }
}
