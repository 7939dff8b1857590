//! Splits a formula into tokens.

use crate::diagnostics::Span;
use crate::quantity::parse::{DecimalMark, quantity};
use crate::quantity::{Dimension, Quantity, Unit, UnitSystem};

/// A token with its place in the formula's own text.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Token {
    /// The kind of token.
    pub kind: TokenKind,
    /// The place, in bytes of the formula.
    pub span: Span,
}

/// The kinds of token.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) enum TokenKind {
    /// A number with the unit attached to it, if any.
    Number(Quantity),
    /// A name or a word.
    Name(String),
    /// A quoted word.
    Quoted(String),
    /// An operator, comma, dot or parenthesis.
    Sign(&'static str),
    /// The end of the text.
    End,
}

const SIGNS: [&str; 15] = [
    "<=", ">=", "!=", "<", ">", "=", "+", "-", "*", "/", "(", ")", ",", ".", "\u{2212}",
];

/// Words that are operators and therefore never units or names.
pub(crate) const KEYWORDS: [&str; 4] = ["and", "or", "not", "is"];

/// Splits `text` into tokens. An error is a message with its place in the text.
pub(crate) fn tokens(text: &str) -> Result<Vec<Token>, (Span, String)> {
    let mut found = Vec::new();
    let mut pos = 0;
    while let Some(c) = text[pos..].chars().next() {
        let start = pos;
        let kind = if c.is_whitespace() {
            pos += c.len_utf8();
            continue;
        } else if c.is_ascii_digit() || (c == '.' && digit_at(text, pos + 1)) {
            number(text, &mut pos)?
        } else if c.is_alphabetic() || c == '_' {
            let rest = &text[pos..];
            let len = rest
                .find(|c: char| !(c.is_alphanumeric() || c == '_'))
                .unwrap_or(rest.len());
            pos += len;
            TokenKind::Name(rest[..len].to_owned())
        } else if c == '\'' || c == '"' {
            let rest = &text[pos + 1..];
            let Some(len) = rest.find(c) else {
                let span = Span::new(start, text.len());
                return Err((span, format!("this quote {c} is not closed")));
            };
            pos += len + 2;
            TokenKind::Quoted(rest[..len].to_owned())
        } else if let Some(sign) = SIGNS.iter().find(|s| text[pos..].starts_with(**s)) {
            pos += sign.len();
            TokenKind::Sign(if *sign == "\u{2212}" { "-" } else { sign })
        } else {
            let span = Span::new(start, start + c.len_utf8());
            return Err((span, format!("`{c}` has no meaning in a formula")));
        };
        found.push(Token {
            kind,
            span: Span::new(start, pos),
        });
    }
    found.push(Token {
        kind: TokenKind::End,
        span: Span::new(text.len(), text.len()),
    });
    Ok(found)
}

fn digit_at(text: &str, at: usize) -> bool {
    text.as_bytes().get(at).is_some_and(u8::is_ascii_digit)
}

/// Reads a number and the unit after it, if there is one. The unit is the longest text that is a unit, so that `120
/// mm/min` is a feed and `4 mm/passes` is a division of a length.
fn number(text: &str, pos: &mut usize) -> Result<TokenKind, (Span, String)> {
    let start = *pos;
    let rest = &text[start..];
    let len = rest
        .find(|c: char| !(c.is_ascii_digit() || c == '.'))
        .unwrap_or(rest.len());
    let digits = &rest[..len];
    let after = &rest[len..];
    let unit_text = after.trim_start();
    let gap = after.len() - unit_text.len();
    let (unit_len, unit) = unit_prefix(unit_text);
    let plain = Unit {
        symbol: "".into(),
        dimension: Dimension::RATIO,
        size: crate::quantity::Exact::ONE,
    };
    let unit = unit.unwrap_or(plain);
    *pos = start + len + if unit_len > 0 { gap + unit_len } else { 0 };
    let span = Span::new(start, *pos);
    let typed = quantity(digits, &unit, DecimalMark::Point)
        .map_err(|e| (Span::new(start, start + len), e.to_string()))?;
    let same = Unit::usual(typed.quantity.dimension, UnitSystem::Mm).is_some()
        || typed.quantity.dimension == unit.dimension;
    if !same {
        return Err((span, "this unit cannot be used here".to_owned()));
    }
    Ok(TokenKind::Number(typed.quantity))
}

fn unit_prefix(text: &str) -> (usize, Option<Unit>) {
    let piece = |t: &str| -> usize {
        t.find(|c: char| !(c.is_alphanumeric() || matches!(c, '%' | '°' | '^' | '_')))
            .unwrap_or(t.len())
    };
    let first = piece(text);
    if first == 0 || KEYWORDS.contains(&&text[..first]) {
        return (0, None);
    }
    if let Some(after) = text[first..].strip_prefix('/') {
        let whole = first + 1 + piece(after);
        if let Some(unit) = Unit::find(&text[..whole]) {
            return (whole, Some(unit));
        }
    }
    match Unit::find(&text[..first]) {
        Some(unit) => (first, Some(unit)),
        None => (0, None),
    }
}

#[cfg(test)]
mod tests {
    use super::{TokenKind, tokens};

    fn shown(text: &str) -> String {
        let one = |k: TokenKind| match k {
            TokenKind::Number(q) => format!("[{}]", q.canonical()),
            TokenKind::Name(n) => n,
            TokenKind::Quoted(q) => format!("'{q}'"),
            TokenKind::Sign(s) => s.to_owned(),
            TokenKind::End => String::new(),
        };
        let parts: Vec<String> = tokens(text)
            .unwrap()
            .into_iter()
            .map(|t| one(t.kind))
            .collect();
        parts.join(" ").trim_end().to_owned()
    }

    #[test]
    fn units_belong_to_the_number_before_them() {
        assert_eq!(shown("120 mm/min"), "[120 mm/min]");
        assert_eq!(shown("4 mm/passes"), "[4 mm] / passes");
        assert_eq!(shown("2*3 mm - x"), "[2] * [3 mm] - x");
        assert_eq!(shown("60% and 5 or x"), "[0.6] and [5] or x");
        assert_eq!(shown("a.b <= 'not used'"), "a . b <= 'not used'");
        assert_eq!(shown("5−3"), "[5] - [3]");
    }

    #[test]
    fn faults_have_a_place() {
        assert_eq!(tokens("1.2.3").unwrap_err().0.start, 0);
        assert_eq!(tokens("a $ b").unwrap_err().0.start, 2);
        assert!(tokens("a 'b").unwrap_err().1.contains("not closed"));
    }
}
