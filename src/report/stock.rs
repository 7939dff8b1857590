//! How a plate's account is shown: figures, a curve of its thickness, and what happened.

use super::page::{Align, Block, Item, Page, PageFact, Table, Tone};
use crate::quantity::moment::Moment;
use crate::quantity::{Length, Quantity, format::QuantityFormat};
use crate::stock::{Account, StockEntry};
use serde_json::{Value, json};

/// How wide the curve's longest bar is, in columns.
const BAR: i64 = 12;

/// How a moment is shown.
pub(crate) type Local<'a> = &'a dyn Fn(Moment) -> String;

/// One account whole. `curve` draws bars; without it the figures stand alone.
pub fn page(
    plate: &str,
    account: &Account,
    show: &QuantityFormat,
    local: Local,
    curve: bool,
) -> Page {
    let value = |l: Length| show.both(Quantity::from(l));
    let mut facts = vec![
        PageFact::new("thickness", value(account.thickness())),
        PageFact::new("least", value(account.basis.least_thickness)),
        PageFact::new("over steel", value(account.steel())),
    ];
    facts.push(PageFact::new("runs", account.runs().to_string()));
    let left = account.skims_left();
    facts.push(PageFact::new(
        "skims left",
        format!("{}, {}", left.count(), left.words()),
    ));
    let mut page = Page::new().title(format!("Plate {plate}")).status(facts);
    page.push(Block::Table(history(account, show, local, curve)));
    if !account.basis.fasteners.is_empty() {
        let rows = account
            .fasteners()
            .into_iter()
            .map(|(name, depth)| vec![name.to_owned(), value(depth)]);
        page = page
            .toned(Tone::Strong, "Depth over each fastener now:")
            .table(Table {
                head: vec!["fastener".to_owned(), "depth".to_owned()],
                rows: rows.collect(),
                align: Vec::new(),
            });
    }
    page = page.working(working(account, show));
    if let Some(retire) = account.retire() {
        let tone = if retire.now() { Tone::Stop } else { Tone::Look };
        page = page.toned(tone, sentence(retire.words()));
    }
    page.list(notes(account).into_iter().map(Item::new)).list([
        Item::new("Reckoned where each cut took most, so the plate is no thinner than this as far as what was recorded goes."),
        Item::new(format!("A real measurement sets it right: skimgate stock measure {plate} THICKNESS --by INITIALS --reason TEXT")),
    ])
}

/// What the rows of the history have no room for.
fn notes(account: &Account) -> Vec<String> {
    let mut notes = Vec::new();
    let cuts = || {
        account.lines.iter().filter_map(|l| match &l.entry {
            StockEntry::Cut(cut) => Some(cut),
            _ => None,
        })
    };
    if cuts().any(|c| !c.counts) {
        notes.push("Not counted: answers from a file, with nobody at the machine.".to_owned());
    }
    if cuts().any(|c| c.counts && !c.finished) {
        notes.push("Broken off: taken at its worst until the cut is taken again.".to_owned());
    }
    for line in &account.lines {
        if let StockEntry::Measured { reason, by, .. } = &line.entry {
            notes.push(format!("Measured by {by}: {reason}"));
        }
    }
    notes
}

fn sentence(words: &str) -> String {
    let mut chars = words.chars();
    let first = chars.next().map(|c| c.to_uppercase().to_string());
    format!("{}{}.", first.unwrap_or_default(), chars.as_str())
}

fn working(account: &Account, show: &QuantityFormat) -> Vec<String> {
    let one = |l: Length| show.one(Quantity::from(l));
    let left = account.skims_left();
    let skim = if account.skim_is_known() {
        "a skim takes the finishing bite of the cutter that cut last, and 0.05 mm to clean the lowest place"
    } else {
        "no cut says what a skim takes, so it counts at the upper end of what is usual (common practice, no source)"
    };
    vec![
        format!(
            "by the least thickness: (thickness - least) / skim = ({} - {}) / {} -> {}",
            one(account.thickness()),
            one(account.basis.least_thickness),
            one(account.skim()),
            left.by_thickness
        ),
        format!(
            "by the steel: (over steel - 0.5 mm) / skim = ({} - 0.5 mm) / {} -> {}",
            one(account.steel()),
            one(account.skim()),
            left.by_steel
        ),
        skim.to_owned(),
    ]
}

fn history(account: &Account, show: &QuantityFormat, local: Local, curve: bool) -> Table {
    let one = |l: Length| show.one(Quantity::from(l));
    let top = account
        .lines
        .iter()
        .map(|l| l.thickness.counts())
        .max()
        .unwrap_or(0);
    let floor = account.basis.least_thickness.counts();
    let bar = |thickness: Length| {
        let room = (top - floor).max(1);
        let long = ((thickness.counts() - floor).max(0) * BAR + room / 2) / room;
        "#".repeat(usize::try_from(long.min(BAR)).unwrap_or(0))
    };
    let mut table = Table {
        head: ["when", "what", "thickness"].map(str::to_owned).into(),
        rows: Vec::new(),
        align: vec![Align::Left, Align::Left, Align::Right],
    };
    if curve {
        table.head.push("above the least".to_owned());
    }
    for line in &account.lines {
        let what = match &line.entry {
            StockEntry::Opened(_) => "as in the shop file".to_owned(),
            StockEntry::Cut(cut) => {
                let how = match (cut.counts, cut.finished) {
                    (false, _) => ", not counted",
                    (true, false) => ", broken off",
                    (true, true) => "",
                };
                format!("{} -{}{how}", cut.cut, one(cut.most))
            }
            StockEntry::Measured { by, .. } => format!("measured by {by}"),
        };
        let when: String = local(line.at).chars().take(10).collect();
        let mut row = vec![when, what, one(line.thickness)];
        if curve {
            row.push(bar(line.thickness));
        }
        table.rows.push(row);
    }
    table
}

/// One row a plate.
pub(crate) fn list(accounts: &[(String, Account)], show: &QuantityFormat) -> Page {
    let one = |l: Length| show.one(Quantity::from(l));
    let rows = accounts.iter().map(|(plate, a)| {
        vec![
            plate.clone(),
            one(a.thickness()),
            one(a.steel()),
            a.runs().to_string(),
            a.skims_left().count().to_string(),
            a.skims_left().limit.words().to_owned(),
            a.retire()
                .map_or("", |r| r.words().split(':').next().unwrap_or(""))
                .to_owned(),
        ]
    });
    Page::new().table(Table {
        head: [
            "plate",
            "thickness",
            "over steel",
            "runs",
            "skims left",
            "limited by",
            "",
        ]
        .map(str::to_owned)
        .into(),
        rows: rows.collect(),
        align: Vec::new(),
    })
}

/// One account for programs.
pub fn json(plate: &str, account: &Account) -> Value {
    let lines: Vec<Value> = account
        .lines
        .iter()
        .map(|l| {
            let mut line = json!({"at": l.at.to_string(), "kind": l.entry.kind(), "thickness_mm": l.thickness.mm()});
            let more = match &l.entry {
                StockEntry::Opened(_) => json!({}),
                StockEntry::Cut(c) => json!({
                    "run": c.run, "cut": c.cut, "most_mm": c.most.mm(), "least_mm": c.least.mm(),
                    "finished": c.finished, "counts": c.counts, "by": c.by,
                }),
                StockEntry::Measured { thickness, reason, by, .. } => {
                    json!({
                        "measured_mm": thickness.mm(), "reason": reason, "by": by, "run": l.entry.measured_in_run(),
                    })
                }
            };
            if let (Some(line), Some(more)) = (line.as_object_mut(), more.as_object()) {
                line.extend(more.clone());
            }
            line
        })
        .collect();
    let fasteners: serde_json::Map<String, Value> = account
        .fasteners()
        .into_iter()
        .map(|(name, depth)| (name.to_owned(), json!(depth.mm())))
        .collect();
    let left = account.skims_left();
    json!({
        "format": 1,
        "plate": plate,
        "thickness_mm": account.thickness().mm(),
        "least_thickness_mm": account.basis.least_thickness.mm(),
        "over_steel_mm": account.steel().mm(),
        "fastener_depths_mm": fasteners,
        "taken_mm": account.taken().mm(),
        "skim_mm": account.skim().mm(),
        "skims_left": left.count(),
        "skims_limited_by": left.limit.key(),
        "skims_above_least": left.by_thickness,
        "skims_above_steel": left.by_steel,
        "retire": account.retire().is_some_and(crate::stock::Retire::now),
        "advice": account.retire().map(crate::stock::Retire::words),
        "lines": lines,
    })
}
