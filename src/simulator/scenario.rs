//! A trainer's scenario: a YAML file that says which plate and which faults.

use super::drills::{DRILLS, Drill, find};
use super::plate::Level;
use crate::diagnostics::{Findings, nearest};
use crate::procedure::fields::Fields;
use crate::procedure::node::Scalar;
use crate::procedure::practice::Fault;
use crate::procedure::{read, yaml};

/// The JSON Schema of scenario files, for editors: its frame, with the ids of the drills put in.
pub(crate) fn schema() -> String {
    let frame = include_str!("scenario.schema.json");
    let Ok(mut schema) = serde_json::from_str::<serde_json::Value>(frame) else {
        return frame.to_owned();
    };
    if let Some(ids) = schema.pointer_mut("/properties/drills/items/enum") {
        *ids = Fault::IDS.into();
    }
    format!("{schema:#}\n")
}

/// A scenario.
#[derive(Clone, Debug)]
pub(crate) struct Scenario {
    /// What it is called.
    pub title: String,
    /// The seed; drawn anew each time where left out.
    pub seed: Option<u64>,
    /// How far from flat the plate is.
    pub level: Level,
    /// Ids of machine, plate and cutter.
    pub ids: [Option<String>; 3],
    /// The drills, in the order of the file.
    pub drills: Vec<&'static Drill>,
}

/// Whether a text says that it is a scenario: it has the key `rehearsal`.
pub(crate) fn is_one(text: &str) -> bool {
    text.lines().any(|line| {
        line.trim_start_matches('\u{feff}')
            .strip_prefix("rehearsal")
            .is_some_and(|rest| rest.trim_start().starts_with(':'))
    })
}

/// Reads a scenario; every fault goes to `findings`, and one with an error is none.
pub(crate) fn read(text: &str, findings: &mut Findings) -> Option<Scenario> {
    let root = yaml::parse(text, findings)?;
    let mut fields = Fields::of(&root, "a scenario", findings)?;
    read::format(&mut fields, findings);
    let title = fields.required_text("rehearsal", findings);
    let seed = fields
        .text("seed", findings)
        .and_then(|t| number(t, findings));
    let level = fields
        .text("level", findings)
        .map_or(Level::default(), |t| level(t, findings));
    let mut id = |key| fields.text(key, findings).map(|t| t.text.clone());
    let ids = [id("machine"), id("plate"), id("cutter")];
    let drills = fields.texts("drills", findings);
    let mut chosen: Vec<&'static Drill> = Vec::new();
    for text in drills {
        let Some(drill) = find(&text.text) else {
            let found = findings.error(text.span, format!("there is no drill `{}`", text.text));
            match nearest(&text.text, DRILLS.iter().map(Drill::id)) {
                Some(near) => found.help(format!("did you mean `{near}`?")),
                None => found.help("`skimgate rehearse --list` tells them all"),
            };
            continue;
        };
        if chosen.iter().any(|c| c.fault == drill.fault) {
            findings
                .error(
                    text.span,
                    format!("the drill `{}` stands here twice", drill.id()),
                )
                .help("a fault can be in the way once");
            continue;
        }
        chosen.push(drill);
    }
    fields.finish(&[], findings);
    let title = title?.text.clone();
    (!findings.any_error()).then_some(Scenario {
        title,
        seed,
        level,
        ids,
        drills: chosen,
    })
}

fn number(text: &Scalar, findings: &mut Findings) -> Option<u64> {
    let found = text.text.parse().ok();
    if found.is_none() {
        findings
            .error(text.span, format!("`{}` is no seed", text.text))
            .help(
                "a seed is a whole number from 0 up; leave the key out for another plate each time",
            );
    }
    found
}

fn level(text: &Scalar, findings: &mut Findings) -> Level {
    Level::from_word(&text.text).unwrap_or_else(|| {
        findings
            .error(text.span, format!("`{}` is no level", text.text))
            .help("the levels are easy, usual and hard");
        Level::default()
    })
}

#[cfg(test)]
mod tests {
    use super::{is_one, read, schema};
    use crate::diagnostics::Findings;
    use crate::simulator::Level;
    use crate::simulator::drills::{DRILLS, Drill};

    #[test]
    fn a_scenario_is_read_whole() {
        let text = "format: 1\nrehearsal: Second day\nseed: 7\nlevel: hard\ncutter: em-12\ndrills: [visitor, gloves]\n";
        assert!(is_one(text));
        assert!(!is_one("format: 1\nshop: rehearsal: x\n"));
        let scenario = read(text, &mut Findings::default()).unwrap();
        assert_eq!(scenario.seed, Some(7));
        assert_eq!(scenario.level, Level::Hard);
        assert_eq!(scenario.ids, [None, None, Some("em-12".to_owned())]);
        assert_eq!(scenario.drills.len(), 2);
    }

    #[test]
    fn every_fault_is_told_at_once() {
        let text = "format: 1\nrehearsal: x\nseed: -1\nlevel: mad\ndrill: visitor\ndrills: [visitr, gloves, gloves]\n";
        let mut findings = Findings::default();
        assert!(read(text, &mut findings).is_none());
        assert_eq!(findings.sorted().len(), 5);
    }

    #[test]
    fn the_schema_knows_every_drill_and_level() {
        for word in DRILLS
            .iter()
            .map(Drill::id)
            .chain(Level::ALL.map(Level::word))
        {
            assert!(schema().contains(&format!("\"{word}\"")), "{word}");
        }
    }
}
