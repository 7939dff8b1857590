//! Reads a formula into its tree.

use super::ast::{Expr, ExprKind, Formula, Operator, Reference};
use super::token::{KEYWORDS, Token, TokenKind, tokens};
use crate::diagnostics::{Span, nearest};
use crate::procedure::node::Scalar;

/// The deepest nesting that is accepted, so that no text can exhaust the stack.
const DEEPEST: usize = 64;
/// Units to suggest where the word after a number is not a unit.
const UNITS: [&str; 11] = [
    "mm", "in", "thou", "mm/min", "in/min", "rpm", "min", "s", "h", "kW", "mm/tooth",
];
/// The longest formula that is accepted, in bytes.
const LONGEST: usize = 2000;

/// Why a text is not a formula.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Fault {
    /// The place in the file.
    pub span: Span,
    /// What is wrong.
    pub message: String,
    /// What to write instead.
    pub help: Option<String>,
}

impl Fault {
    fn new(span: Span, message: impl Into<String>) -> Self {
        Self {
            span,
            message: message.into(),
            help: None,
        }
    }
}

/// Reads the formula written in `scalar`.
pub fn formula(scalar: &Scalar) -> Result<Formula, Fault> {
    let place = |span: Span| scalar.place(span);
    if scalar.text.len() > LONGEST {
        let help = format!("at most {LONGEST} characters; let a `work out` step above do a part");
        return Err(Fault {
            help: Some(help),
            ..Fault::new(scalar.span, "this formula is too long")
        });
    }
    let tokens = tokens(&scalar.text).map_err(|(span, m)| Fault::new(place(span), m))?;
    let mut parser = Parser {
        tokens: &tokens,
        next: 0,
        depth: 0,
        place: &place,
    };
    let expr = parser.level(1)?;
    parser.end()?;
    Ok(Formula {
        text: scalar.text.clone(),
        span: scalar.span,
        expr,
    })
}

struct Parser<'a> {
    tokens: &'a [Token],
    next: usize,
    depth: usize,
    place: &'a dyn Fn(Span) -> Span,
}

type Parsed = Result<Expr, Fault>;

impl Parser<'_> {
    fn peek(&self) -> (&TokenKind, Span) {
        match self.tokens.get(self.next).or(self.tokens.last()) {
            Some(token) => (&token.kind, (self.place)(token.span)),
            None => (&TokenKind::End, (self.place)(Span::default())),
        }
    }

    fn fail<T>(&self, message: impl Into<String>) -> Result<T, Fault> {
        Err(Fault::new(self.peek().1, message))
    }

    /// The fault of an unknown unit: a word directly after a number is meant as its unit.
    fn no_unit<T>(&self, word: &str) -> Result<T, Fault> {
        let help = match nearest(word, UNITS) {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("units are for instance {}", UNITS.join(", ")),
        };
        Err(Fault {
            help: Some(help),
            ..Fault::new(self.peek().1, format!("`{word}` is not a unit known here"))
        })
    }

    fn take_sign(&mut self, wanted: &str) -> bool {
        let found = matches!(self.peek().0, TokenKind::Sign(s) if *s == wanted);
        self.next += usize::from(found);
        found
    }

    fn take_word(&mut self, wanted: &str) -> bool {
        let found = matches!(self.peek().0, TokenKind::Name(n) if n == wanted);
        self.next += usize::from(found);
        found
    }

    fn end(&self) -> Result<(), Fault> {
        match self.peek().0 {
            TokenKind::End => Ok(()),
            TokenKind::Name(n) if matches!(self.before(), Some(TokenKind::Number(_))) => {
                self.no_unit(n)
            }
            TokenKind::Name(n) => self.fail(format!("an operator is missing before `{n}`")),
            TokenKind::Sign(s) => self.fail(format!("`{s}` is not expected here")),
            _ => self.fail("an operator is missing before this"),
        }
    }

    /// The next operator, if it binds at least as tightly as `strength`.
    fn operator(&mut self, strength: u8) -> Option<Operator> {
        use Operator::{
            Above, And, AtLeast, AtMost, Below, Equal, Minus, Or, Over, Plus, Times, Unequal,
        };
        let found = match self.peek().0 {
            TokenKind::Sign(s) => [
                Plus, Minus, Times, Over, Below, AtMost, Above, AtLeast, Equal, Unequal,
            ]
            .into_iter()
            .find(|o| o.symbol() == *s)?,
            TokenKind::Name(n) => match n.as_str() {
                "and" => And,
                "or" => Or,
                "is" => Equal,
                _ => return None,
            },
            _ => return None,
        };
        if found.strength() < strength {
            return None;
        }
        let was_is = matches!(self.peek().0, TokenKind::Name(n) if n == "is");
        self.next += 1;
        if was_is && self.take_word("not") {
            return Some(Unequal);
        }
        Some(found)
    }

    /// A chain of operators that bind at least as tightly as `strength`, from left to right.
    fn level(&mut self, strength: u8) -> Parsed {
        self.depth += 1;
        if self.depth > DEEPEST {
            return self.fail("this formula is nested too deep");
        }
        let mut left = self.one()?;
        while let Some(op) = self.operator(strength) {
            let bare_word = matches!(op, Operator::Equal | Operator::Unequal)
                && matches!(self.before(), Some(TokenKind::Name(n)) if n == "is" || n == "not");
            let right = if bare_word {
                self.word()?
            } else {
                self.level(op.strength() + 1)?
            };
            let span = left.span.to(right.span);
            left = Expr {
                kind: ExprKind::Binary(op, Box::new(left), Box::new(right)),
                span,
            };
            if op.strength() == 3
                && matches!(
                    self.peek().0,
                    TokenKind::Sign("<" | "<=" | ">" | ">=" | "=" | "!=")
                )
            {
                return self.fail("comparisons do not chain; join two with `and`");
            }
        }
        self.depth -= 1;
        Ok(left)
    }

    fn before(&self) -> Option<&TokenKind> {
        Some(&self.tokens.get(self.next.checked_sub(1)?)?.kind)
    }

    /// The word after `is` or `is not`: bare or quoted.
    fn word(&mut self) -> Parsed {
        let (kind, span) = self.peek();
        let word = match kind {
            TokenKind::Name(w) if !KEYWORDS.contains(&w.as_str()) => w.clone(),
            TokenKind::Quoted(w) => w.clone(),
            _ => {
                return self.fail("a word is needed after `is`; put it in quotes if it has blanks");
            }
        };
        self.next += 1;
        Ok(Expr {
            kind: ExprKind::Word(word),
            span,
        })
    }

    fn one(&mut self) -> Parsed {
        let (kind, span) = self.peek();
        match kind {
            TokenKind::Number(q) => {
                let q = *q;
                self.next += 1;
                Ok(Expr {
                    kind: ExprKind::Number(q),
                    span,
                })
            }
            TokenKind::Quoted(w) => {
                let kind = ExprKind::Word(w.clone());
                self.next += 1;
                Ok(Expr { kind, span })
            }
            TokenKind::Sign("-") => {
                self.next += 1;
                self.deeper(Self::one).map(|e| Expr {
                    span: span.to(e.span),
                    kind: ExprKind::Negated(Box::new(e)),
                })
            }
            TokenKind::Sign("(") => {
                self.next += 1;
                let inner = self.level(1)?;
                if !self.take_sign(")") {
                    return self.fail("a `)` is missing here");
                }
                Ok(inner)
            }
            TokenKind::Name(n) if n == "not" => {
                self.next += 1;
                self.deeper(|p| p.level(3)).map(|e| Expr {
                    span: span.to(e.span),
                    kind: ExprKind::Not(Box::new(e)),
                })
            }
            TokenKind::Name(n) if !KEYWORDS.contains(&n.as_str()) => {
                let name = n.clone();
                self.next += 1;
                self.name(name, span)
            }
            TokenKind::End => self.fail("something is missing at the end of this formula"),
            TokenKind::Name(n) => self.fail(format!("`{n}` is not expected here")),
            TokenKind::Sign(s) => self.fail(format!("`{s}` is not expected here")),
        }
    }

    fn deeper(&mut self, read: impl FnOnce(&mut Self) -> Parsed) -> Parsed {
        self.depth += 1;
        if self.depth > DEEPEST {
            return self.fail("this formula is nested too deep");
        }
        let read = read(self);
        self.depth -= 1;
        read
    }

    fn name(&mut self, head: String, span: Span) -> Parsed {
        if self.take_sign("(") {
            let mut args = Vec::new();
            if !self.take_sign(")") {
                loop {
                    args.push(self.level(1)?);
                    if self.take_sign(")") {
                        break;
                    }
                    if !self.take_sign(",") {
                        return self.fail("a `,` or `)` is missing here");
                    }
                }
            }
            let end = self.tokens.get(self.next.saturating_sub(1));
            let end = end.map_or(span, |t| (self.place)(t.span));
            return Ok(Expr {
                kind: ExprKind::Call(head, args),
                span: span.to(end),
            });
        }
        let mut tail = None;
        let mut whole = span;
        if self.take_sign(".") {
            let (kind, at) = self.peek();
            let TokenKind::Name(n) = kind else {
                return self.fail("a name is missing after the dot");
            };
            tail = Some(n.clone());
            whole = span.to(at);
            self.next += 1;
        }
        Ok(Expr {
            kind: ExprKind::Name(Reference { head, tail }),
            span: whole,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::formula;
    use crate::diagnostics::Span;
    use crate::procedure::formula::working::written;
    use crate::procedure::node::{Bytes, Scalar};

    fn read(text: &str) -> Result<String, String> {
        let scalar = Scalar {
            text: text.to_owned(),
            span: Span::new(0, text.len()),
            bytes: Bytes::Run(0),
            quoted: false,
        };
        formula(&scalar)
            .map(|f| written(&f.expr))
            .map_err(|fault| fault.message)
    }

    #[test]
    fn operators_bind_as_in_arithmetic() {
        assert_eq!(read("a - b - c").unwrap(), "a - b - c");
        assert_eq!(read("a - (b - c)").unwrap(), "a - (b - c)");
        assert_eq!(read("(a + b) * c").unwrap(), "(a + b) * c");
        assert_eq!(read("a + b * c").unwrap(), "a + b * c");
        assert_eq!(read("-a * b").unwrap(), "-a * b");
        assert_eq!(
            read("a is open and not b < 2").unwrap(),
            "a is open and not b < 2"
        );
        assert_eq!(
            read("x is not 'skin left' or y").unwrap(),
            "x is not 'skin left' or y"
        );
        assert_eq!(read("f(a, min(b, 2 mm))").unwrap(), "f(a, min(b, 2 mm))");
    }

    #[test]
    fn faults_say_what_is_missing() {
        for (text, part) in [
            ("", "missing at the end"),
            ("a +", "missing at the end"),
            ("a b", "operator is missing"),
            ("(a", "`)` is missing"),
            ("f(a b)", "`,` or `)`"),
            ("a.", "name is missing"),
            ("a < b < c", "do not chain"),
            ("a is", "a word is needed"),
            ("* a", "not expected"),
        ] {
            let message = read(text).unwrap_err();
            assert!(message.contains(part), "{text}: {message}");
        }
        assert!(read(&"(".repeat(500)).unwrap_err().contains("deep"));
        assert!(read(&"-".repeat(1500)).unwrap_err().contains("deep"));
        assert!(read(&"x".repeat(5000)).unwrap_err().contains("too long"));
    }
}
