//! The account of a plate, computed from its entries.

use super::entry::{Basis, RecordedCut, StockEntry};
use crate::quantity::Length;
use crate::quantity::moment::Moment;

/// One line of an account: an entry, and the thickness after it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Line {
    /// The time at which the line was written, by the clock of the terminal that wrote it.
    pub at: Moment,
    /// The entry as stored in the ledger.
    pub entry: StockEntry,
    /// The thickness after the entry.
    pub thickness: Length,
}

/// The account of a plate: the result of its entries.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Account {
    /// The figures with which the account was opened.
    pub basis: Basis,
    /// Every entry with the thickness after it.
    pub lines: Vec<Line>,
    thickness: Length,
    /// The total taken off by cuts that count.
    taken: Length,
    /// What unfinished cuts may have taken off in places.
    pending: Length,
    steel_gone: Length,
    runs: Vec<(String, Length)>,
    /// What one skim takes off, from the latest cut that counts.
    pub(super) skim: Option<Length>,
}

impl Account {
    /// The account of these entries; `None` where no entry opens it.
    pub fn of(entries: impl IntoIterator<Item = (Moment, StockEntry)>) -> Option<Self> {
        let mut account: Option<Self> = None;
        for (at, entry) in entries {
            match (&mut account, entry) {
                (None, StockEntry::Opened(basis)) => account = Some(Self::opened(at, basis)),
                (Some(account), entry) => account.apply(at, entry),
                // Without an opening entry there is no thickness to subtract from.
                (None, _) => {}
            }
        }
        account
    }

    fn opened(at: Moment, basis: Basis) -> Self {
        let thickness = basis.thickness;
        let entry = StockEntry::Opened(basis.clone());
        Self {
            basis,
            lines: vec![Line {
                at,
                entry,
                thickness,
            }],
            thickness,
            taken: Length::ZERO,
            pending: Length::ZERO,
            steel_gone: Length::ZERO,
            runs: Vec::new(),
            skim: None,
        }
    }

    fn apply(&mut self, at: Moment, entry: StockEntry) {
        match &entry {
            StockEntry::Cut(cut) if cut.counts => self.cut(cut),
            StockEntry::Opened(_) | StockEntry::Cut(_) => {}
            StockEntry::Measured { thickness, .. } => self.measured(*thickness),
        }
        let thickness = self.thickness();
        self.lines.push(Line {
            at,
            entry,
            thickness,
        });
    }

    /// Adds a cut. An unfinished cut is made again, and the two together take off the larger of both amounts, not their
    /// sum.
    fn cut(&mut self, cut: &RecordedCut) {
        self.skim = cut.skim.or(self.skim);
        let most = self.pending.max(cut.most);
        if !cut.finished {
            self.pending = most;
            return;
        }
        self.pending = Length::ZERO;
        self.thickness = less(self.thickness, most);
        self.taken = more(self.taken, most);
        self.steel_gone = more(self.steel_gone, most);
        match self.runs.iter_mut().find(|(run, _)| *run == cut.run) {
            Some((_, taken)) => *taken = more(*taken, most),
            None => self.runs.push((cut.run.clone(), most)),
        }
    }

    fn measured(&mut self, found: Length) {
        let thinner = less(self.thickness(), found);
        if thinner > Length::ZERO {
            self.steel_gone = more(more(self.steel_gone, self.pending), thinner);
        } else {
            self.steel_gone = more(self.steel_gone, self.pending);
        }
        self.thickness = found;
        self.pending = Length::ZERO;
    }

    /// The present thickness at the thinnest place.
    pub fn thickness(&self) -> Length {
        less(self.thickness, self.pending)
    }

    /// The total taken off by cuts, at the place where they took most.
    pub(crate) fn taken(&self) -> Length {
        more(self.taken, self.pending)
    }

    /// The present thickness of metal over the shallowest steel.
    pub fn steel(&self) -> Length {
        self.depth(self.basis.steel_depth)
    }

    /// Each fastener with its present depth.
    pub(crate) fn fasteners(&self) -> Vec<(&str, Length)> {
        let all = self.basis.fasteners.iter();
        all.map(|(name, depth)| (name.as_str(), self.depth(*depth)))
            .collect()
    }

    fn depth(&self, at_first: Length) -> Length {
        less(less(at_first, self.steel_gone), self.pending)
    }

    /// The number of runs that have cut the plate.
    pub(crate) fn runs(&self) -> usize {
        self.runs.len()
    }
}

/// Subtracts lengths. The thickness of a plate is far from the limits of a length; on overflow `a` stays as it is.
fn less(a: Length, b: Length) -> Length {
    a.minus(b).unwrap_or(a)
}

fn more(a: Length, b: Length) -> Length {
    a.plus(b).unwrap_or(a)
}

#[cfg(test)]
mod tests {
    use super::Account;
    use crate::plate::SkimLimit;
    use crate::quantity::Length;
    use crate::quantity::moment::Moment;
    use crate::stock::{Basis, RecordedCut, Retire, StockEntry};
    use proptest::prelude::*;

    fn um(n: i64) -> Length {
        Length::from_counts(n * 10_000).unwrap()
    }

    fn basis() -> StockEntry {
        StockEntry::Opened(Basis {
            thickness: um(20_000),
            least_thickness: um(15_000),
            steel_depth: um(4_000),
            fasteners: vec![("a".into(), um(4_000)), ("b".into(), um(4_300))],
        })
    }

    fn cut(run: &str, most: i64, finished: bool) -> StockEntry {
        StockEntry::Cut(RecordedCut {
            run: run.into(),
            cut: "rough 1".into(),
            most: um(most),
            least: um(0),
            finished,
            counts: true,
            by: "ab".into(),
            skim: None,
        })
    }

    fn measured(thickness: i64) -> StockEntry {
        StockEntry::Measured {
            thickness: um(thickness),
            reason: "micrometer".into(),
            by: "ab".into(),
            recorded_by: None,
        }
    }

    fn account(entries: Vec<StockEntry>) -> Account {
        let at: Moment = "2026-03-01T13:32:05.250Z".parse().unwrap();
        let all = std::iter::once(basis()).chain(entries);
        Account::of(all.map(|e| (at, e))).unwrap()
    }

    // Computed by hand: thickness 0.985 in, least 0.875 in, 0.006 in for each skim: 18 left.
    #[test]
    fn skims_left_of_an_inch_plate() {
        let thou = |n: i64| Length::from_counts(n * 254_000).unwrap();
        let at: Moment = "2026-03-01T13:32:05.250Z".parse().unwrap();
        let opened = StockEntry::Opened(Basis {
            thickness: thou(991),
            least_thickness: thou(875),
            steel_depth: thou(400),
            fasteners: Vec::new(),
        });
        let taken = RecordedCut {
            run: "r".into(),
            cut: "c".into(),
            most: thou(6),
            least: thou(2),
            finished: true,
            counts: true,
            by: "ab".into(),
            skim: Some(thou(6)),
        };
        let account = Account::of([(at, opened), (at, StockEntry::Cut(taken))]).unwrap();
        assert_eq!((account.thickness(), account.skim()), (thou(985), thou(6)));
        assert_eq!(account.skims_left().count(), 18);
    }

    #[test]
    fn cuts_reduce_the_depth_of_the_steel_by_the_same_amount() {
        let a = account(vec![
            cut("r1", 360, true),
            cut("r1", 80, true),
            cut("r2", 100, true),
        ]);
        assert_eq!(
            (a.thickness(), a.taken(), a.steel(), a.runs()),
            (um(19_460), um(540), um(3_460), 2)
        );
        assert_eq!(a.fasteners(), [("a", um(3_460)), ("b", um(3_760))]);
        // No cut says what a skim takes, so 0.25 mm is used. (19.46 - 15) / 0.25 = 17.8 and (3.46 - 0.5) / 0.25 = 11.8.
        assert_eq!(a.skim(), um(250));
        let left = a.skims_left();
        assert_eq!((left.by_thickness, left.by_steel), (17, 11));
        assert_eq!((left.count(), left.limit), (11, SkimLimit::Steel));
        assert_eq!(a.retire(), None);
        assert_eq!(
            a.lines.iter().map(|l| l.thickness).collect::<Vec<_>>(),
            [20_000, 19_640, 19_560, 19_460].map(um)
        );
    }

    #[test]
    fn an_unfinished_cut_counts_with_its_largest_amount_and_only_once() {
        let a = account(vec![cut("r1", 200, false)]);
        assert_eq!((a.thickness(), a.steel()), (um(19_800), um(3_800)));
        let a = account(vec![
            cut("r1", 200, false),
            cut("r1", 180, false),
            cut("r1", 200, true),
        ]);
        assert_eq!((a.thickness(), a.taken()), (um(19_800), um(200)));
    }

    #[test]
    fn a_measurement_sets_the_thickness_and_never_increases_the_depth_of_steel() {
        let a = account(vec![cut("r1", 200, true), measured(19_700)]);
        assert_eq!((a.thickness(), a.steel()), (um(19_700), um(3_700)));
        let a = account(vec![cut("r1", 200, true), measured(19_900)]);
        assert_eq!((a.thickness(), a.steel()), (um(19_900), um(3_800)));
        let a = account(vec![cut("r1", 200, false), measured(20_000)]);
        assert_eq!((a.thickness(), a.steel()), (um(20_000), um(3_800)));
    }

    #[test]
    fn what_came_from_a_file_does_not_count() {
        let StockEntry::Cut(mut shown) = cut("r1", 200, true) else {
            panic!()
        };
        shown.counts = false;
        let a = account(vec![StockEntry::Cut(shown)]);
        assert_eq!((a.thickness(), a.runs(), a.lines.len()), (um(20_000), 0, 2));
    }

    #[test]
    fn it_says_when_a_plate_must_be_retired() {
        let retire = |entries| account(entries).retire();
        assert_eq!(retire(vec![]), None);
        assert_eq!(retire(vec![measured(15_000)]), Some(Retire::Thin));
        assert_eq!(retire(vec![cut("r", 3_500, true)]), Some(Retire::Steel));
        assert_eq!(retire(vec![cut("r", 3_300, true)]), Some(Retire::NoSkim));
        assert_eq!(
            retire(vec![cut("a", 1_000, true), cut("b", 2_000, true)]),
            Some(Retire::Soon)
        );
        assert!(Retire::NoSkim.now() && !Retire::Soon.now());
        assert_eq!(Account::of([]), None);
    }

    proptest! {
        // In every sequence of entries, no cut increases the thickness, and steel never gets deeper.
        #[test]
        fn cuts_only_take(events in proptest::collection::vec((0..3, 0_i64..500), 0..30)) {
            let entries: Vec<StockEntry> = events
                .into_iter()
                .map(|(kind, n)| match kind {
                    0 => cut("r", n, true),
                    1 => cut("r", n, false),
                    _ => measured(19_000 + n),
                })
                .collect();
            let (mut before, mut steel) = (um(20_000), um(4_000));
            for k in 0..=entries.len() {
                let a = account(entries.iter().take(k).cloned().collect());
                if k > 0 && matches!(entries.get(k - 1), Some(StockEntry::Cut(_))) {
                    prop_assert!(a.thickness() <= before);
                }
                prop_assert!(a.steel() <= steel);
                (before, steel) = (a.thickness(), a.steel());
            }
        }
    }
}
