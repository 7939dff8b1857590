//! Slips of a walk: the shipped answers with the slip put in must stop where the table says, and walk to the end without it.

use super::{Edit, FirstEdition, all_played, checklist, judged, rows};
use crate::attention::answers::{AnswerMap, read, written};
use crate::support::{Bench, Ran, flowing};
use serde::Deserialize;
use std::fs;

/// A slip in a walk with one roughing pass.
#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
struct WalkRow {
    slip: String,
    /// What differs in the shop file, without a slip.
    #[serde(default)]
    shop: Option<Edit>,
    /// Answers that differ from the shipped ones and hold no slip; null takes one out.
    #[serde(default)]
    given: AnswerMap,
    /// The answers of the slip.
    #[serde(default)]
    put_in: AnswerMap,
    caught: Caught,
    first_edition: FirstEdition,
}

/// What stops the walk.
#[derive(Deserialize, Debug, PartialEq, Eq)]
#[serde(rename_all = "kebab-case")]
enum Caught {
    /// The answer to the step is refused with these words.
    Refused(String, String),
    /// It goes on only with a reason of a named person; the question has these words.
    WantsReason(String, String),
    /// The step is asked again, though it was answered.
    AsksAgain(String),
    /// The machine is out of service.
    OutOfService,
    /// Open: the walk comes to its end.
    Passes,
    /// Open: nothing in the whole walk speaks of it.
    NeverNamed(Vec<String>),
    /// The walk shows the words and goes on: nothing to refuse, but a doubt to name.
    Shows(String),
}

impl Caught {
    fn is_open(&self) -> bool {
        matches!(self, Self::Passes | Self::NeverNamed(_))
    }

    /// How the table prints it.
    fn words(&self) -> String {
        match self {
            Self::Refused(step, says) => format!("`{step}` refuses it: {says}"),
            Self::WantsReason(step, says) => format!("`{step}` wants a reason: {says}"),
            Self::AsksAgain(step) => format!("`{step}` is asked again"),
            Self::OutOfService => "the machine is out of service".to_owned(),
            Self::Passes | Self::NeverNamed(_) => "OPEN".to_owned(),
            Self::Shows(words) => format!("shown: {words}"),
        }
    }

    /// Checks how a walk with the slip ended.
    fn check(&self, ran: &Ran) -> Result<(), String> {
        let shown = flowing(&ran.err);
        let end = shown.rsplit_once("error: ").map_or("", |(_, end)| end);
        let ended = |words: String, says: &str| {
            ran.code != Some(0) && end.contains(&words) && shown.contains(says)
        };
        let holds = match self {
            // An answer that is none of the choices would be refused whatever the procedure asks.
            Self::Refused(step, says) => {
                ended(format!("the answer to `{step}` was refused"), says)
                    && end.contains(says)
                    && !end.contains("is none of the answers")
            }
            Self::WantsReason(step, says) => {
                ended(format!("the answer to `{step}` is no reason"), says)
                    || ended(format!("no answer left for the step `{step}`"), says)
            }
            Self::AsksAgain(step) => ended(
                format!("no answer left for the step `{step}`"),
                "Asked again",
            ),
            Self::OutOfService => ended("the machine, which is out of service".to_owned(), ""),
            Self::Passes => ran.code == Some(0),
            Self::NeverNamed(words) => {
                let lower = shown.to_lowercase();
                ran.code == Some(0) && words.iter().all(|w| !lower.contains(w))
            }
            Self::Shows(words) => ran.code == Some(0) && shown.contains(words),
        };
        let now = if self.is_open() {
            "; caught now? then give the row what catches it"
        } else {
            ""
        };
        if holds {
            Ok(())
        } else {
            Err(format!("status {:?}{now}: ...{}", ran.code, tail(&shown)))
        }
    }
}

/// The last words of what was shown.
fn tail(shown: &str) -> String {
    let start = shown.chars().count().saturating_sub(400);
    shown.chars().skip(start).collect()
}

fn shipped() -> AnswerMap {
    read(&fs::read_to_string(checklist("answers/one-roughing.yaml")).unwrap())
}

/// The shipped answers with some of them replaced. A step that the shipped ones do not answer may be added.
fn with(changed: &[&AnswerMap]) -> AnswerMap {
    let mut answers = shipped();
    for (step, answer) in changed.iter().flat_map(|map| map.iter()) {
        if answer.is_null() {
            answers.remove(step);
        } else {
            answers.insert(step.clone(), answer.clone());
        }
    }
    answers
}

fn walked(answers: &AnswerMap, shop: Option<&Edit>) -> Ran {
    let bench = Bench::new();
    let mut text = fs::read_to_string(checklist("shop.yaml")).unwrap();
    if let Some(edit) = shop {
        assert!(
            text.contains(&edit.from),
            "`{}` is not in the shop file",
            edit.from
        );
        text = text.replacen(&edit.from, &edit.to, 1);
    }
    let shop = bench.write("shop.yaml", &text).display().to_string();
    let program = fs::read_to_string(checklist("answers/facing-12mm.nc")).unwrap();
    bench.write("facing-12mm.nc", &program);
    let file = bench.write("answers.yaml", &written(answers));
    bench.run(&[
        "walk",
        &checklist("base-plate.yaml"),
        "--shop",
        &shop,
        "--answers",
        &file.display().to_string(),
    ])
}

/// Walks with the slip, and without it where its answers are not the shipped ones.
fn play(row: &WalkRow) -> Result<(), String> {
    if row.caught.is_open() && row.first_edition == FirstEdition::Caught {
        return Err("the first edition caught it".to_owned());
    }
    if !row.given.is_empty() {
        without_slip(&row.given, row.shop.as_ref())?;
    }
    row.caught.check(&walked(
        &with(&[&row.given, &row.put_in]),
        row.shop.as_ref(),
    ))
}

fn without_slip(given: &AnswerMap, shop: Option<&Edit>) -> Result<(), String> {
    let ran = walked(&with(&[given]), shop);
    if ran.code == Some(0) {
        Ok(())
    } else {
        Err(format!("without the slip: {}", tail(&flowing(&ran.err))))
    }
}

/// Walks wait for the disk, so some go on at the same time.
const AT_ONCE: usize = 4;

#[test]
fn slips_in_a_walk_are_caught_where_the_table_says() {
    without_slip(&AnswerMap::new(), None).unwrap();
    let rows: Vec<WalkRow> = rows("walks.yaml");
    let parts = rows.chunks(rows.len().div_ceil(AT_ONCE));
    let played: Vec<Result<(), String>> = std::thread::scope(|scope| {
        let players: Vec<_> = parts
            .map(|part| scope.spawn(|| part.iter().map(play).collect::<Vec<_>>()))
            .collect();
        players
            .into_iter()
            .flat_map(|p| p.join().unwrap())
            .collect()
    });
    let mut wrong = Vec::new();
    for (row, played) in rows.iter().zip(played) {
        judged(&mut wrong, &row.slip, &row.caught.words(), played);
    }
    all_played(&wrong);
}
