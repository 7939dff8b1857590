//! Any bytes as an NC program. The same bytes give the same report however they arrive, every finding points into the
//! text, and what is said of coverage and time can be.

use super::pick::Picks;
use skimgate::program::dialect::{Dialect, NoPoint};
use skimgate::program::rules::table;
use skimgate::program::setting::PathMode;
use skimgate::program::setup::{Cutter, Mill, Plate, Setup};
use skimgate::program::source::{Source, SourceError};
use skimgate::program::study::{ProgramStudy, study};
use skimgate::program::time::{Dynamics, Estimate};

/// Hands out no more than so many bytes at once.
struct Drops<'a>(&'a [u8], usize);

impl Source for Drops<'_> {
    fn read_at(&mut self, offset: u64, into: &mut [u8]) -> Result<usize, SourceError> {
        let most = into.len().min(self.1);
        let (few, _) = into.split_at_mut(most);
        let mut whole = self.0;
        whole.read_at(offset, few)
    }
}

pub fn run(data: &[u8]) {
    let (head, text) = data.split_at(data.len().min(4));
    let mut picks = Picks(head);
    let dialect = dialect(&mut picks);
    let setup = setup(&mut picks);
    let machine = picks.yes().then_some(MACHINE);
    let drop = 1 + usize::from(picks.byte());
    let mut whole = text;
    let found = study(&mut whole, &dialect, &setup, machine).expect("memory can be read");
    let again =
        study(&mut Drops(text, drop), &dialect, &setup, machine).expect("memory can be read");
    assert_eq!(
        format!("{found:?}"),
        format!("{again:?}"),
        "read {drop} bytes at a time"
    );
    holds(&found, text);
}

fn holds(found: &ProgramStudy, text: &[u8]) {
    let lines = text
        .split(|b| *b == b'\n')
        .flat_map(|l| l.split(|b| *b == b'\r'))
        .count();
    for finding in &found.examination.findings {
        assert!(table::rule(finding.rule.code).is_some(), "{finding:?}");
        let line = usize::try_from(finding.line).unwrap_or(usize::MAX);
        assert!(line <= lines + 1, "{finding:?} of {lines}");
    }
    if let Some(uncovered) = found.uncovered() {
        assert!((0.0..=100.0 + 1e-6).contains(&uncovered), "{uncovered}");
    }
    if let Some(time) = &found.time {
        let Estimate {
            least,
            likely,
            most,
            ..
        } = *time;
        assert!(
            0.0 <= least && least <= likely && likely <= most,
            "{time:?}"
        );
    }
}

fn dialect(picks: &mut Picks) -> Dialect {
    let byte = picks.byte();
    Dialect {
        no_point: [NoPoint::Units, NoPoint::Increments, NoPoint::Forbid][usize::from(byte % 3)],
        dwell_in_milliseconds: byte & 4 > 0,
        absolute_centres: byte & 8 > 0,
        harmless: if byte & 16 > 0 { vec![62] } else { Vec::new() },
        ..Dialect::default()
    }
}

/// Invented.
fn setup(picks: &mut Picks) -> Setup {
    let byte = picks.byte();
    let has = |bit: u8| byte & (1 << bit) > 0;
    Setup {
        plate: has(0).then(|| Plate {
            size: [240.0, 120.0],
            corner: has(1).then_some([30.0, 30.0]),
        }),
        cutter: has(2).then_some(Cutter {
            diameter: 12.0,
            corner: 0.2,
            teeth: Some(3.0),
            deepest_bite: Some(0.25),
            chip_load: Some([0.02, 0.1]),
            highest_speed: Some(10_000.0),
        }),
        mill: has(3).then_some(Mill {
            speeds: Some([200.0, 10_000.0]),
            highest_feed: Some(4000.0),
            travel: Some([500.0, 320.0]),
            lowest_z: Some(-200.0),
            coolant: Some(true),
            clear_at_home: has(6).then_some(true),
            length_offsets: has(7).then_some(false),
        }),
        lowest_z: has(4).then_some(0.0),
        stock_top: has(5).then_some(0.2),
        tool: has(6).then_some(1),
        zero: has(7).then_some([60.0, 40.0, -120.0]),
        ..Setup::default()
    }
}

/// Invented.
const MACHINE: Dynamics = Dynamics {
    acceleration: [600.0, 600.0, 400.0],
    rapid: [100.0, 100.0, 60.0],
    highest_feed: Some(50.0),
    path: PathMode::Continuous(None),
    corner: 0.02,
    block_rate: None,
    tool_change: 15.0,
    spin_up: 3.0,
};
