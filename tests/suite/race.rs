//! Many processes at once for one machine and for one run: exactly one gets it, each time.

use crate::workshop::{Workshop, ended, events, whole};
use skimgate::interlock::Event;
use std::fs::File;
use std::process::Child;
use std::time::{Duration, Instant};

const RACERS: usize = 16;
const ROUNDS: usize = 20;
const PATIENCE: Duration = Duration::from_secs(60);

#[test]
fn of_sixteen_processes_one_begins_and_one_takes_up() {
    for round in 0..ROUNDS {
        let shop = Workshop::that_holds();
        let mut first = winner(&shop, round);
        let begun = events(&whole(&shop.book()));
        let began = begun.iter().filter(|e| matches!(e, Event::Began(_)));
        assert_eq!(began.count(), 1, "round {round}: {begun:#?}");
        // While it lives, nobody gets it; once it is killed, one does.
        ended(shop.walk(), 3, &["is being walked from another terminal"]);
        kill(&mut first);

        let mut second = winner(&shop, round);
        let taken = events(&whole(&shop.book()));
        assert_eq!(taken[..begun.len()], begun, "round {round}");
        let resumed: Vec<&Event> = taken
            .iter()
            .filter(|e| matches!(e, Event::Resumed { .. }))
            .collect();
        assert!(
            matches!(resumed[..], [Event::Resumed { by, after_crash: true }] if by == "AB"),
            "round {round}: {resumed:?}"
        );
        ended(shop.walk(), 3, &["is being walked from another terminal"]);
        kill(&mut second);
    }
}

/// Starts all of them; the one that is still there when the others were refused, and has come as far as the pipe.
fn winner(shop: &Workshop, round: usize) -> Child {
    let told = |racer: usize| shop.at(&format!("told-{racer}"));
    let start = |racer| {
        shop.walk()
            .stderr(File::create(told(racer)).unwrap())
            .spawn()
    };
    let mut racers: Vec<(usize, Child)> = (0..RACERS).map(|r| (r, start(r).unwrap())).collect();
    let since = Instant::now();
    while racers.len() > 1 {
        racers.retain_mut(|(racer, child)| match child.try_wait().unwrap() {
            None => true,
            Some(status) => {
                let told = std::fs::read_to_string(told(*racer)).unwrap();
                assert_eq!(status.code(), Some(3), "round {round}: {told}");
                assert!(
                    told.contains("from another") || told.contains("still open"),
                    "{told}"
                );
                false
            }
        });
        assert!(since.elapsed() < PATIENCE, "round {round}: {racers:?}");
        std::thread::sleep(Duration::from_millis(2));
    }
    let (racer, child) = racers.pop().expect("all were refused");
    // It answers until the pipe; then its record stands still.
    while !std::fs::read_to_string(told(racer))
        .unwrap()
        .contains("file> pipe")
    {
        assert!(
            since.elapsed() < PATIENCE,
            "round {round}: the winner does not go on"
        );
        std::thread::sleep(Duration::from_millis(2));
    }
    child
}

fn kill(child: &mut Child) {
    child.kill().unwrap();
    child.wait().unwrap();
}
