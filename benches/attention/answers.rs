//! An answers file as data, and the same walk with fewer roughing passes.

use serde_json::{Map, Value};

/// Answers by step, in the order of the file.
pub type AnswerMap = Map<String, Value>;

/// The step that says after each roughing pass what it left.
const INSPECTED: &str = "surface_roughed";
/// The touch of the fresh face before the finishing skim, and what it shows in the middle of the plate where the last of the
/// roughing passes was left out: the plane is then -0.22 mm, and machine Z at height 0 is -151.40 mm.
const FRESH_FACE: &str = "finish_stand";
const AFTER_THE_SECOND_PASS: &str = "C 0 mm; -151.62 mm";

/// Reads an answers file.
pub fn read(text: &str) -> AnswerMap {
    serde_yaml::from_str(text).unwrap()
}

/// The answers as text: JSON is YAML.
pub fn written(answers: &AnswerMap) -> String {
    serde_json::to_string_pretty(answers).unwrap()
}

/// The same walk without what is there to be refused and with only its first roughing passes, the last of which leaves the
/// plate clean. `passes` is at least 2 and at most what the answers have.
pub fn first_passes(answers: &AnswerMap, passes: usize) -> AnswerMap {
    let mut out = answers.clone();
    for value in out.values_mut() {
        if let Value::Array(items) = value {
            items.retain(|item| item.get("try").is_none());
        }
    }
    let count = |map: &AnswerMap, step: &str| map[step].as_array().map_or(1, Vec::len);
    let all = count(&out, INSPECTED);
    assert!((2..=all).contains(&passes), "{passes} of {all} passes");
    let left = all - passes;
    if left > 0 {
        let (point, shows) = AFTER_THE_SECOND_PASS.split_once(' ').unwrap();
        let touch = Value::Object([(point.to_owned(), shows.into())].into_iter().collect());
        out.insert(FRESH_FACE.to_owned(), touch);
    }
    for (step, value) in &mut out {
        let Value::Array(items) = value else { continue };
        if step == INSPECTED {
            items.drain(..left);
        } else if items.len() + 1 >= all {
            // One for each pass, or for each but the first.
            items.truncate(items.len() - left);
        }
    }
    out
}
