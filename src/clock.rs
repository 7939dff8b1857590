//! The clock: only this module reads the time of day and the local time zone.
//!
//! Everything below the shell gets its times from the caller, so a whole run can be replayed at any speed. Stored times
//! are UTC. Local time is only for people to read and is never stored.

use std::sync::{Mutex, PoisonError};
use std::time::{Instant, SystemTime, UNIX_EPOCH};

use jiff::tz::TimeZone;

use crate::quantity::moment::Moment;

/// A source of the present time.
pub trait Clock {
    /// The present time. It may go backwards, because system clocks can be set.
    fn now(&self) -> Moment;
}

/// The system's clock.
#[derive(Clone, Copy, Debug, Default)]
pub struct SystemClock;

impl Clock for SystemClock {
    /// A system clock that is set outside the years 0000 to 9999 reads as 1970, which makes every answer stale.
    fn now(&self) -> Moment {
        let ms = match SystemTime::now().duration_since(UNIX_EPOCH) {
            Ok(after) => i64::try_from(after.as_millis()).ok(),
            Err(before) => i64::try_from(before.duration().as_millis())
                .ok()
                .map(|ms| -ms),
        };
        ms.and_then(Moment::from_ms).unwrap_or(Moment::EPOCH)
    }
}

/// A clock that never goes back while the program runs. It continues from its last reading with a timer that nobody can
/// set, and follows the system's clock forwards only. So what lapsed stays lapsed when the system's clock is set back.
#[derive(Debug)]
pub(crate) struct SteadyClock<C = SystemClock> {
    wall: C,
    last: Mutex<(Moment, Instant)>,
}

impl SteadyClock {
    /// A clock that starts at the system's time.
    pub(crate) fn new() -> Self {
        Self::over(SystemClock)
    }
}

impl Default for SteadyClock {
    fn default() -> Self {
        Self::new()
    }
}

impl<C: Clock> SteadyClock<C> {
    /// A clock that follows the clock `wall`.
    pub(crate) fn over(wall: C) -> Self {
        let last = Mutex::new((wall.now(), Instant::now()));
        Self { wall, last }
    }
}

impl<C: Clock> Clock for SteadyClock<C> {
    fn now(&self) -> Moment {
        let mut last = self.last.lock().unwrap_or_else(PoisonError::into_inner);
        let here = Instant::now();
        let ran = i64::try_from(here.duration_since(last.1).as_millis()).unwrap_or(i64::MAX);
        let ran_to = last.0.plus_ms(ran).unwrap_or(last.0);
        let wall = self.wall.now();
        // The elapsed time is counted from one fixed point, so that no reading loses parts of a millisecond.
        if wall > ran_to {
            *last = (wall, here);
        }
        ran_to.max(wall)
    }
}

/// A clock that stands still until it is set, for tests and for repeatable results.
#[cfg(test)]
#[derive(Debug)]
pub(crate) struct FixedClock(std::sync::RwLock<Moment>);

#[cfg(test)]
impl FixedClock {
    /// A clock that stands at `moment`.
    pub(crate) fn at(moment: Moment) -> Self {
        Self(std::sync::RwLock::new(moment))
    }

    /// Sets the clock, forwards or back.
    pub(crate) fn set(&self, moment: Moment) {
        *self.0.write().unwrap_or_else(PoisonError::into_inner) = moment;
    }

    /// Moves the clock by `ms` milliseconds, back when negative. Does nothing where that would leave the calendar.
    pub(crate) fn advance_ms(&self, ms: i64) {
        if let Some(moved) = self.now().plus_ms(ms) {
            self.set(moved);
        }
    }
}

#[cfg(test)]
impl Clock for FixedClock {
    fn now(&self) -> Moment {
        *self.0.read().unwrap_or_else(PoisonError::into_inner)
    }
}

/// The time in the local time zone, with its offset: `2026-03-01 14:32:05 +01:00`.
pub(crate) fn local(moment: Moment) -> String {
    shown(moment, TimeZone::system(), "%Y-%m-%d %H:%M:%S %:z")
}

/// A stored time as [`local`] writes it, or unchanged where it cannot be read.
pub(crate) fn local_text(stored: &str) -> String {
    stored.parse().map_or_else(|_| stored.to_owned(), local)
}

/// The time of day in local time: `14:32`.
pub(crate) fn local_time(moment: Moment) -> String {
    shown(moment, TimeZone::system(), "%H:%M")
}

fn shown(moment: Moment, zone: TimeZone, format: &'static str) -> String {
    moment
        .timestamp()
        .to_zoned_datetime(zone)
        .strftime(format)
        .to_string()
}

#[cfg(test)]
mod tests {
    use super::{Clock, FixedClock, SteadyClock, SystemClock, local, local_time, shown};
    use crate::quantity::moment::Moment;
    use jiff::tz::TimeZone;
    use std::time::{SystemTime, UNIX_EPOCH};

    fn moment(text: &str) -> Moment {
        text.parse().unwrap()
    }

    #[test]
    fn system_clock_is_the_systems() {
        let before = SystemTime::now()
            .duration_since(UNIX_EPOCH)
            .unwrap()
            .as_millis();
        let now = u128::try_from(SystemClock.now().as_ms()).unwrap();
        let after = SystemTime::now()
            .duration_since(UNIX_EPOCH)
            .unwrap()
            .as_millis();
        assert!(before <= now && now <= after, "{before} {now} {after}");
    }

    #[test]
    fn a_steady_clock_continues_when_the_other_is_set_back_and_follows_it_forwards() {
        let begun = moment("2026-03-01T14:00:00Z");
        let steady = SteadyClock::over(FixedClock::at(begun));
        std::thread::sleep(std::time::Duration::from_millis(20));
        // The clock is set back before it is read again.
        steady.wall.set(moment("2026-03-01T13:00:00Z"));
        let first = steady.now();
        assert!(first >= begun.plus_ms(20).unwrap(), "{first}");
        steady.wall.set(moment("2026-03-01T14:05:00Z"));
        assert_eq!(steady.now(), moment("2026-03-01T14:05:00Z"));
        steady.wall.set(moment("2026-03-01T14:01:00Z"));
        let after = steady.now();
        assert!(after >= moment("2026-03-01T14:05:00Z"), "{after}");
    }

    #[test]
    fn a_fixed_clock_moves_only_when_it_is_set() {
        let clock = FixedClock::at(moment("2026-03-01T14:00:00Z"));
        assert_eq!(clock.now(), clock.now());
        clock.advance_ms(90_000);
        assert_eq!(clock.now(), moment("2026-03-01T14:01:30Z"));
        clock.set(moment("2026-02-28T00:00:00Z"));
        assert_eq!(clock.now(), moment("2026-02-28T00:00:00Z"));
        clock.advance_ms(i64::MAX);
        assert_eq!(clock.now(), moment("2026-02-28T00:00:00Z"));
    }

    /// Source: GNU date, `TZ=Europe/Berlin date -d 2026-03-29T00:59:59Z '+%F %T %:z'` and one second later (summer
    /// time begins between the two).
    #[test]
    fn local_time_follows_the_zone() {
        let berlin = || TimeZone::get("Europe/Berlin").unwrap();
        let long = "%Y-%m-%d %H:%M:%S %:z";
        for (utc, local) in [
            ("2026-03-29T00:59:59Z", "2026-03-29 01:59:59 +01:00"),
            ("2026-03-29T01:00:00Z", "2026-03-29 03:00:00 +02:00"),
        ] {
            assert_eq!(shown(moment(utc), berlin(), long), local);
        }
        assert_eq!(
            shown(moment("2026-03-01T13:32:05Z"), berlin(), "%H:%M"),
            "14:32"
        );
    }

    #[test]
    fn local_display_names_the_moment_again() {
        let now = moment("2026-03-01T13:32:05Z");
        let shown = local(now);
        let (date, rest) = shown.split_once(' ').unwrap();
        let (time, offset) = rest.split_once(' ').unwrap();
        assert_eq!(moment(&format!("{date}T{time}{offset}")), now);
        assert_eq!(local_time(now), time[..5]);
    }
}
