//! The account of a plate: entries made from choices and any bytes as stored ones. A finished cut never thickens a plate, steel
//! is never buried, and every figure that is shown can be.

use super::pick::Picks;
use super::rig::{BEGUN, moment};
use skimgate::quantity::{Length, UnitSystem, format::QuantityFormat};
use skimgate::report::stock;
use skimgate::stock::{Account, Basis, MeasuredBy, RecordedCut, StockEntry};

/// More entries than this say nothing new.
const MOST: usize = 60;

pub fn run(data: &[u8]) {
    let mut picks = Picks(data);
    let mut entries = Vec::new();
    let mut now = BEGUN;
    for line in data.split(|byte| *byte == b'\n').take(MOST) {
        if let Ok(entry) = serde_json::from_slice::<StockEntry>(line) {
            let text = serde_json::to_string(&entry).expect("an entry can be written");
            assert_eq!(
                serde_json::from_str::<StockEntry>(&text).ok().as_ref(),
                Some(&entry)
            );
            entries.push((moment(now), entry));
        }
    }
    let stored = entries.len();
    while !picks.is_over() && entries.len() < stored + MOST {
        now += i64::from(picks.byte()) * 60_000;
        entries.push((moment(now), entry(&mut picks)));
    }
    let Some(account) = Account::of(entries.iter().cloned()) else {
        assert!(
            entries
                .iter()
                .all(|(_, e)| !matches!(e, StockEntry::Opened(_)))
        );
        return;
    };
    told(&account);
    let opened = entries
        .iter()
        .position(|(_, e)| matches!(e, StockEntry::Opened(_)));
    let before = &entries[..=opened.unwrap_or(0)];
    let mut known = Account::of(before.iter().cloned()).expect("it is opened");
    for upto in before.len() + 1..=entries.len() {
        let next = Account::of(entries[..upto].iter().cloned()).expect("it stays open");
        let sane = |l: Length| l.counts().abs() < Length::LIMIT / 4;
        let whole = [
            known.thickness(),
            known.steel(),
            next.thickness(),
            next.steel(),
        ];
        if whole.into_iter().all(sane) {
            match &entries[upto - 1].1 {
                StockEntry::Cut(cut) if cut.most >= Length::ZERO && sane(cut.most) => {
                    assert!(next.thickness() <= known.thickness(), "{cut:?}");
                    assert!(next.steel() <= known.steel(), "{cut:?}");
                }
                StockEntry::Measured { thickness, .. } => {
                    assert_eq!(next.thickness(), *thickness);
                    assert!(next.steel() <= known.steel(), "measured {thickness:?}");
                }
                _ => {}
            }
        }
        known = next;
    }
    assert_eq!(known, account);
}

fn told(account: &Account) {
    let show = QuantityFormat::new(UnitSystem::Mm);
    let page = stock::page("plate-1", account, &show, &|at| at.to_string(), true);
    assert!(!format!("{page:?}").is_empty());
    assert!(
        stock::json("plate-1", account)
            .to_string()
            .contains("thickness_mm")
    );
    assert!(account.skims_left().count() >= 0);
}

fn length(picks: &mut Picks) -> Length {
    let counts = match picks.below(8) {
        0 => picks.long(),
        1 => -i64::from(picks.byte()) * 10_000,
        2 | 3 => i64::from(picks.byte()) * 1_000_000,
        _ => i64::from(picks.byte()) * 10_000,
    };
    Length::from_counts(counts).unwrap_or(Length::ZERO)
}

fn entry(picks: &mut Picks) -> StockEntry {
    match picks.below(8) {
        0 => StockEntry::Opened(Basis {
            thickness: length(picks),
            least_thickness: length(picks),
            steel_depth: length(picks),
            fasteners: (0..picks.below(3))
                .map(|_| (picks.text(), length(picks)))
                .collect(),
        }),
        1 | 2 => StockEntry::Measured {
            thickness: length(picks),
            reason: picks.text(),
            by: picks.text(),
            recorded_by: picks.yes().then_some(MeasuredBy::Command),
        },
        _ => StockEntry::Cut(RecordedCut {
            run: picks.of(&["r1", "r2", "r3"]).to_owned(),
            cut: picks.text(),
            most: length(picks),
            least: length(picks),
            finished: picks.yes(),
            counts: picks.below(4) > 0,
            by: picks.text(),
            skim: picks.yes().then(|| length(picks)),
        }),
    }
}
