//! The table of slips: every slip that the program is meant to catch, with what catches it, and a play of each.
//!
//! The rows are data (`walks.yaml`, `drills.yaml`, `programs.yaml`, `commands.yaml`). A row that plays differently from what it
//! says fails, and so does a drill or a mistake in programs without a row. An open row is a slip that nothing catches yet: it
//! fails as soon as something does, so that the table stays true. `cargo test --test suite slip_table -- --nocapture` prints
//! the table.

mod drills;
mod programs;
mod walks;

use crate::support::Bench;
use serde::Deserialize;
use serde::de::DeserializeOwned;
use std::fs;

/// Whether the first edition caught it, played on its program.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum FirstEdition {
    Caught,
    NotCaught,
}

/// The rows of one file of the table.
fn rows<T: DeserializeOwned>(file: &str) -> Vec<T> {
    let root = env!("CARGO_MANIFEST_DIR");
    let text = fs::read_to_string(format!("{root}/tests/suite/slip_table/{file}")).unwrap();
    serde_yaml::from_str(&text).unwrap_or_else(|e| panic!("{file}: {e}"))
}

/// A shipped checklist, answers or shop file.
fn checklist(name: &str) -> String {
    format!("{}/checklists/{name}", env!("CARGO_MANIFEST_DIR"))
}

/// Prints a row of the table, and stores why its play differs from it.
fn judged(wrong: &mut Vec<String>, slip: &str, caught_by: &str, played: Result<(), String>) {
    println!("{slip} | {caught_by}");
    if let Err(why) = played {
        wrong.push(format!("{slip}\n    by {caught_by}\n    {why}"));
    }
}

fn all_played(wrong: &[String]) {
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A slip of one command.
#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
struct CommandRow {
    slip: String,
    /// The command and its arguments without a slip; `SHOP` stands for the shop file.
    run: Vec<String>,
    /// What the slip puts behind them.
    #[serde(default)]
    put_in: Vec<String>,
    /// What it changes in the shop file.
    #[serde(default)]
    shop: Option<Edit>,
    /// Words of the refusal; none where nothing catches it yet.
    says: Option<String>,
    first_edition: FirstEdition,
}

/// A text in a file, and what the slip makes of it.
#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
struct Edit {
    from: String,
    to: String,
}

impl CommandRow {
    fn play(&self) -> Result<(), String> {
        let bench = Bench::new();
        let shop = fs::read_to_string(checklist("shop.yaml")).unwrap();
        let slipped = match &self.shop {
            Some(edit) if !shop.contains(&edit.from) => {
                return Err(format!("`{}` is not in the shop file", edit.from));
            }
            Some(edit) => shop.replacen(&edit.from, &edit.to, 1),
            None => shop.clone(),
        };
        let ran = |shop: &str, more: &[String]| {
            let path = bench.write("shop.yaml", shop).display().to_string();
            let words = self.run.iter().chain(more);
            let args: Vec<String> = words.map(|w| w.replace("SHOP", &path)).collect();
            bench.run(&args.iter().map(String::as_str).collect::<Vec<_>>())
        };
        let right = ran(&shop, &[]);
        if right.code != Some(0) {
            return Err(format!("without the slip: {right:#?}"));
        }
        let wrong = ran(&slipped, &self.put_in);
        let shown = crate::support::flowing(&format!("{} {}", wrong.out, wrong.err));
        match &self.says {
            None if wrong.code == Some(0) => Ok(()),
            None => Err(format!(
                "it is caught now: give the row its words: {wrong:#?}"
            )),
            Some(says) if wrong.code != Some(0) && shown.contains(says) => Ok(()),
            Some(_) => Err(format!("{wrong:#?}")),
        }
    }
}

#[test]
fn slips_of_single_commands_are_caught() {
    let mut wrong = Vec::new();
    for row in rows::<CommandRow>("commands.yaml") {
        let open = row.says.is_none() && row.first_edition == FirstEdition::Caught;
        let played = if open {
            Err("the first edition caught it".to_owned())
        } else {
            row.play()
        };
        let by = row.says.as_deref().unwrap_or("OPEN");
        judged(&mut wrong, &row.slip, by, played);
    }
    all_played(&wrong);
}
