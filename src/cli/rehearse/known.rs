//! What practice knows: the facts, words and drills that a procedure can name, and what of one procedure it cannot judge.

use super::RehearseArgs;
use crate::cli::failure::Failure;
use crate::diagnostics::nearest;
use crate::procedure::Procedure;
use crate::procedure::practice::facts::Is;
use crate::procedure::practice::faults::Comes;
use crate::procedure::practice::words::Group;
use crate::procedure::practice::{Fact, Fault, MillWord};
use crate::report::page::{Item, Page, Tone};
use crate::simulator::drills::{self, DRILLS, Drill};
use crate::simulator::scenario::Scenario;
use crate::walk::practice::truth::is_unjudged;

/// What `practice:` of a step can name.
pub(super) fn facts() -> Page {
    let facts = Fact::ALL.iter().map(|fact| {
        let row = fact.row();
        let gives = match row.is {
            Is::State { .. } | Is::Holding { .. } => "so or not".to_owned(),
            Is::Word(words) => words.join(", "),
            Is::Number(dimension, _) => dimension.to_string(),
        };
        Item::new(format!("{}: {} ({gives})", row.name, row.about))
    });
    let mut page = Page::new()
        .toned(Tone::Strong, "Facts, for `true when` and `reads`")
        .list(facts)
        .gap()
        .toned(Tone::Strong, "Words of the mill, for `first` and `mend`");
    for group in Group::ALL {
        let words = MillWord::ALL.iter().filter(|w| w.group() == group);
        let words = words.map(|w| Item::new(format!("{}: {}", w.typed(), w.does())));
        page = page.text(group.title()).list(words);
    }
    page.gap()
        .text("Drills, for `drill`: `skimgate rehearse --list`.")
}

/// The drills of a rehearsal: those named, or as many as are asked for, drawn by the seed.
pub(super) fn chosen(
    args: &RehearseArgs,
    scenario: Option<&Scenario>,
    seed: u64,
    procedure: &Procedure,
) -> Result<Vec<&'static Drill>, Failure> {
    let named = match scenario {
        Some(scenario) => scenario.drills.clone(),
        None if args.drill.is_empty() => {
            return Ok(drills::drawn(seed, args.drills, procedure));
        }
        None => args
            .drill
            .iter()
            .map(|id| {
                drills::find(id).ok_or_else(|| {
                    let failure = Failure::usage(format!("there is no drill `{id}`"));
                    match nearest(id, Fault::IDS.iter().copied()) {
                        Some(near) => failure.hint(format!("did you mean `{near}`?")),
                        None => failure.hint("`skimgate rehearse --list` lists them"),
                    }
                })
            })
            .collect::<Result<_, _>>()?,
    };
    match named.iter().find(|d| !d.is_judged_in(procedure)) {
        None => Ok(named),
        Some(drill) => Err(Failure::usage(format!(
            "the procedure `{}` cannot judge the drill `{}`",
            procedure.id,
            drill.id()
        ))
        .hint(match drill.fault.row().comes {
            Comes::First => {
                let facts = drill.fault.row().upsets.iter().map(|f| f.name());
                let facts: Vec<&str> = facts.collect();
                format!(
                    "let the `practice:` of a step ask for {}",
                    facts.join(" or ")
                )
            }
            Comes::AtStep | Comes::AfterTouches(_) => format!(
                "write `practice: {{ drill: {} }}` into the step where it comes",
                drill.id()
            ),
        })),
    }
}

/// At most so many steps are named in one line.
const NAMED: usize = 8;

/// What the rehearsal cannot judge: steps without `practice:`, and drills that no step can catch.
pub(super) fn not_judged(procedure: &Procedure) -> Page {
    let line = |what: &str, names: &[&str]| {
        let shown: Vec<&str> = names.iter().take(NAMED).copied().collect();
        let more = match names.len().saturating_sub(NAMED) {
            0 => String::new(),
            n => format!(" and {n} more"),
        };
        format!("{what}: {}{more}.", shown.join(", "))
    };
    let steps = procedure.steps().filter(|s| is_unjudged(procedure, s));
    let steps: Vec<&str> = steps.map(|s| s.id.as_str()).collect();
    let drills = DRILLS.iter().filter(|d| !d.is_judged_in(procedure));
    let drills: Vec<&str> = drills.map(Drill::id).collect();
    let mut page = Page::new();
    for (what, names) in [
        ("Not judged here, having no `practice:`", steps),
        ("Drills that this procedure cannot judge", drills),
    ] {
        if !names.is_empty() {
            page = page.toned(Tone::Look, line(what, &names));
        }
    }
    page
}
