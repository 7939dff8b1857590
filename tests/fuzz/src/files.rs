//! Procedures and shop files: sound, or unusable with at least one error, every finding drawn in every look. Over a sound
//! procedure a run can begin.

use super::rig::{BEGUN, SHOP, beginning, look, moment};
use skimgate::diagnostics::json::FindingJson;
use skimgate::diagnostics::render::{FindingStyle, render};
use skimgate::diagnostics::{Findings, Source};
use skimgate::interlock::State;
use skimgate::procedure::file::{File, read_any};
use skimgate::procedure::shop;
use std::sync::Arc;

pub fn run(data: &[u8]) {
    let text = String::from_utf8_lossy(data).into_owned();
    let mut findings = Findings::default();
    let read = read_any(&text, &mut findings);
    assert_eq!(
        read.content.is_none(),
        findings.any_error(),
        "unusable exactly with an error: {:?}",
        findings.clone().sorted()
    );
    let source = Source::new("a.yaml", text);
    draw(&source, findings);
    if let Some(File::Procedure(procedure)) = read.content {
        let mut none = Findings::default();
        let shop = shop::read(SHOP, &mut none).expect("the invented shop is sound");
        let at = moment(BEGUN);
        let begun = beginning("r1", false);
        let state = State::new(Arc::new(*procedure), Arc::new(shop), begun, at);
        look(&state, at);
    }
}

pub fn draw(source: &Source, findings: Findings) {
    for finding in findings.sorted() {
        for look in [
            FindingStyle::Ascii,
            FindingStyle::Coloured,
            FindingStyle::Narrated,
        ] {
            assert!(!render(source, &finding, look).is_empty());
        }
        let json = FindingJson::new(source, &finding);
        assert!((json.line, json.column) <= (json.end_line, json.end_column));
    }
}
