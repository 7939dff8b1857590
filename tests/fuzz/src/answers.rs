//! Answers files: read, or unusable with at least one error.

use super::files::draw;
use skimgate::diagnostics::{Findings, Source};
use skimgate::terminal::screen::{Screen, Style};
use skimgate::walk::Answers;
use skimgate::walk::prompts::answers::OPERATOR;

pub fn run(data: &[u8]) {
    let text = String::from_utf8_lossy(data).into_owned();
    let mut findings = Findings::default();
    let screen = Screen::new(Style::plain(80));
    let read = Answers::read("a.yaml", &text, screen, &mut findings);
    assert_eq!(
        read.is_none(),
        findings.any_error(),
        "unusable exactly with an error: {:?}",
        findings.clone().sorted()
    );
    draw(&Source::new("a.yaml", text), findings);
    if let Some(mut answers) = read {
        let _ = answers.first(OPERATOR);
        let left = answers.left_over();
        for step in ["eyes", "lows", "clearance", OPERATOR] {
            answers.skip(step, 1);
            answers.skip(step, usize::MAX);
        }
        assert!(answers.left_over().len() <= left.len());
    }
}
