//! Many processes at once for one machine and for one run: exactly one gets it, each time.

use crate::workshop::{Standing, Workshop, ended, events, settled};
use skimgate::interlock::Event;
use std::time::{Duration, Instant};

const RACERS: usize = 16;
const ROUNDS: usize = 20;
const PATIENCE: Duration = Duration::from_secs(60);

#[test]
fn of_sixteen_processes_one_begins_and_one_takes_up() {
    for round in 0..ROUNDS {
        let shop = Workshop::new();
        let first = winner(&shop, round);
        let begun = events(&settled(&shop.book()));
        let began = begun.iter().filter(|e| matches!(e, Event::Began(_)));
        assert_eq!(began.count(), 1, "round {round}: {begun:#?}");
        // While it lives, nobody gets it; once it is killed, one does.
        ended(shop.walk(), 3, &["is in use at another terminal"]);
        first.kill();

        let second = winner(&shop, round);
        let taken = events(&settled(&shop.book()));
        assert_eq!(taken[..begun.len()], begun, "round {round}");
        let resumed: Vec<&Event> = taken
            .iter()
            .filter(|e| matches!(e, Event::Resumed { .. }))
            .collect();
        assert!(
            matches!(resumed[..], [Event::Resumed { by, after_crash: true, .. }] if by == "AB"),
            "round {round}: {resumed:?}"
        );
        ended(shop.walk(), 3, &["is in use at another terminal"]);
        second.kill();
    }
}

/// Starts all of them; the one that is still there when the others were refused.
fn winner(shop: &Workshop, round: usize) -> Standing {
    let mut racers: Vec<Standing> = (0..RACERS).map(|_| shop.stands()).collect();
    let since = Instant::now();
    while racers.len() > 1 {
        let mut still = Vec::new();
        for mut racer in racers {
            if racer.child.try_wait().unwrap().is_none() {
                still.push(racer);
                continue;
            }
            let (code, told) = racer.goes_on();
            assert_eq!(code, Some(3), "round {round}: {told}");
            assert!(
                told.contains("at another terminal") || told.contains("still open"),
                "{told}"
            );
        }
        racers = still;
        assert!(
            since.elapsed() < PATIENCE,
            "round {round}: {} left",
            racers.len()
        );
        std::thread::sleep(Duration::from_millis(2));
    }
    racers.pop().expect("all were refused")
}
