//! Text that goes into HTML and SVG.

use crate::visible;

/// Text that stands for itself in HTML and XML. Characters that XML 1.0 does not allow are
/// shown, but for line ends and tabs, which are left out.
pub fn escaped(text: &str) -> String {
    visible::text(text)
        .chars()
        .filter(|c| !c.is_control())
        .map(|c| match c {
            '&' => "&amp;".to_owned(),
            '<' => "&lt;".to_owned(),
            '>' => "&gt;".to_owned(),
            '"' => "&quot;".to_owned(),
            other => other.to_string(),
        })
        .collect()
}
