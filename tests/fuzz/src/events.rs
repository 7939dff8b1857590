//! Stored event bodies. What can be decoded is written again as the same, folds after anything, and leaves a state over
//! which anything can be asked.

use super::pick::Picks;
use super::rig::{BEGUN, begin, look, moment, tell};
use super::runs::command;
use skimgate::interlock::decide;
use skimgate::interlock::event::{Event, TimedEvent};

/// More events than this say nothing new.
const MOST: usize = 60;

pub fn run(data: &[u8]) {
    let mut state = begin(false);
    let mut events = Vec::new();
    let mut now = BEGUN;
    // Each line is a byte by which the clock moves, then the body.
    for line in data.split(|byte| *byte == b'\n').take(MOST) {
        let Some((clock, body)) = line.split_first() else {
            continue;
        };
        let Ok(event) = serde_json::from_slice::<Event>(body) else {
            continue;
        };
        let text = serde_json::to_string(&event).expect("an event can be written");
        assert_eq!(
            serde_json::from_str::<Event>(&text).ok().as_ref(),
            Some(&event)
        );
        now += (i64::from(*clock) - 64) * 30_000;
        let at = moment(now);
        state.apply(at, &event);
        events.push(TimedEvent { at, event });
    }
    let at = moment(now + 1000);
    look(&state, at);
    tell(&events, &state);
    let mut picks = Picks(data);
    for _ in 0..8 {
        let command = command(&mut picks, &state, at);
        if let Err(refusal) = decide(&state, at, &command) {
            assert!(!refusal.words(&state.show()).is_empty());
        }
    }
}
