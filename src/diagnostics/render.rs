//! Draws findings for people: a caret view, or a sentence for a screen reader. The only file that names the drawing
//! crate.

use super::finding::{Finding, Grade, Source, Span};
use crate::visible;
use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};
use std::borrow::Cow;

/// How findings are drawn.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum FindingStyle {
    /// Caret view with colours.
    Coloured,
    /// Caret view without colours, ASCII only.
    Ascii,
    /// One sentence per finding, without a drawing.
    Narrated,
}

/// Draws one finding of `source`, without a newline at the end. Characters in the file, its name or the finding that
/// would control the terminal are made visible.
pub fn render(source: &Source, finding: &Finding, look: FindingStyle) -> String {
    let (source, finding) = &shown(source, finding);
    if look == FindingStyle::Narrated {
        return narrate(source, finding);
    }
    let span = inside(source, finding.span);
    let level = match finding.grade {
        Grade::Error => Level::ERROR,
        Grade::Look => Level::WARNING.with_name("look"),
    };
    let mut annotation = AnnotationKind::Primary.span(span.start..span.end);
    if !finding.label.is_empty() {
        annotation = annotation.label(finding.label.as_str());
    }
    let snippet = Snippet::source(source.text.as_str())
        .path(source.name.as_str())
        .annotation(annotation);
    let mut group = level
        .primary_title(finding.message.as_str())
        .element(snippet);
    if let Some(help) = &finding.help {
        group = group.element(Level::HELP.message(help.as_str()));
    }
    let renderer = match look {
        FindingStyle::Coloured => Renderer::styled(),
        FindingStyle::Ascii | FindingStyle::Narrated => Renderer::plain(),
    };
    renderer.decor_style(DecorStyle::Ascii).render(&[group])
}

/// The same source and finding with control characters made visible; the location is shifted accordingly.
fn shown(source: &Source, finding: &Finding) -> (Source, Finding) {
    let mut finding = finding.clone();
    for words in [&mut finding.message, &mut finding.label] {
        *words = visible::line(words).into_owned();
    }
    finding.help = finding.help.map(|help| visible::text(&help).into_owned());
    let text = visible::text(&source.text);
    if let Cow::Owned(_) = &text {
        let place = |at: usize| {
            let before = (0..=at.min(source.text.len()))
                .rev()
                .find_map(|at| source.text.get(..at));
            visible::text(before.unwrap_or_default()).len()
        };
        finding.span = Span::new(place(finding.span.start), place(finding.span.end));
    }
    (Source::new(visible::line(&source.name), text), finding)
}

fn narrate(source: &Source, finding: &Finding) -> String {
    let (line, column) = source.line_column(finding.span.start);
    let grade = match finding.grade {
        Grade::Error => "error",
        Grade::Look => "look",
    };
    let mut text = format!(
        "{}, line {line}, column {column}: {grade}: {}",
        source.name, finding.message
    );
    if !finding.label.is_empty() {
        text.push_str(&format!(" ({})", finding.label));
    }
    text.push_str(&format!(". The line reads: {}", source.line(line).trim()));
    if let Some(help) = &finding.help {
        text.push_str(&format!(". Mend: {help}"));
    }
    text
}

/// The range, moved to character boundaries inside the text and cut off at the end of its first line, so that a finding
/// about a long list does not draw all of it; at least one character wide where there is one on the line.
fn inside(source: &Source, span: Span) -> Span {
    let text = &source.text;
    let mut start = span.start.min(text.len());
    while !text.is_char_boundary(start) {
        start -= 1;
    }
    // A location at the end of the text is shown at the last visible character.
    if start == text.len() {
        start = text.trim_end().char_indices().last().map_or(0, |(i, _)| i);
    }
    let mut end = span.end.clamp(start, text.len());
    while !text.is_char_boundary(end) {
        end += 1;
    }
    let rest = &text[start..];
    let line = rest.find(['\n', '\r']).unwrap_or(rest.len());
    end = end.min(start + line);
    if end == start && line > 0 {
        end = start + rest.chars().next().map_or(0, char::len_utf8);
    }
    Span::new(start, end)
}

#[cfg(test)]
mod tests {
    use super::{FindingStyle, render};
    use crate::diagnostics::{Findings, Source, Span};

    #[test]
    fn the_location_is_shown_with_line_column_and_help() {
        let source = Source::new("a.yaml", "title: x\nunit: furlong\n");
        let mut findings = Findings::default();
        findings
            .error(Span::new(15, 22), "no such unit")
            .help("write mm or inch");
        let finding = findings.sorted().remove(0);
        insta::assert_snapshot!(render(&source, &finding, FindingStyle::Ascii), @r"
        error: no such unit
         --> a.yaml:2:7
          |
        2 | unit: furlong
          |       ^^^^^^^
          |
          = help: write mm or inch
        ");
        insta::assert_snapshot!(render(&source, &finding, FindingStyle::Narrated),
            @"a.yaml, line 2, column 7: error: no such unit. The line reads: unit: furlong. Mend: write mm or inch");
    }

    #[test]
    fn no_wrong_range_can_panic() {
        let source = Source::new("a", "ä\n");
        for (start, end) in [(0, 0), (1, 1), (1, 2), (9, 99), (3, 1)] {
            let mut findings = Findings::default();
            findings.error(Span::new(start, end), "m");
            for look in [
                FindingStyle::Ascii,
                FindingStyle::Coloured,
                FindingStyle::Narrated,
            ] {
                assert!(render(&source, &findings.clone().sorted()[0], look).contains('m'));
            }
        }
        let empty = Source::new("a", "");
        let mut findings = Findings::default();
        findings.error(Span::new(0, 0), "m");
        assert!(render(&empty, &findings.sorted()[0], FindingStyle::Ascii).contains('m'));
    }
}
