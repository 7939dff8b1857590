//! Checks a formula before a run: every name must be known, and every kind must be right.

use super::ast::{Expr, ExprKind, Formula, Operator, Reference};
use super::built_in::BuiltIn;
use super::functions::{self, ArgumentType, Evaluate, FUNCTIONS, Function};
use crate::diagnostics::{Findings, Span, nearest};
use crate::quantity::Dimension;

/// The kind of a value.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Type {
    /// An amount of something.
    Quantity(Dimension),
    /// A condition, true or false.
    Truth,
    /// One of these words.
    Words(Vec<String>),
    /// A word written in the formula.
    Literal(String),
    /// A finished series of touches.
    Touches,
}

impl std::fmt::Display for Type {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Quantity(d) => write!(f, "{d}"),
            Self::Truth => f.write_str("a comparison"),
            Self::Words(_) => f.write_str("an answer in words"),
            Self::Literal(w) => write!(f, "the word `{w}`"),
            Self::Touches => f.write_str("a series of touches"),
        }
    }
}

/// Why a name cannot be used.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Unknown {
    /// What is wrong with it.
    pub message: String,
    /// What to write instead.
    pub help: Option<String>,
}

impl Unknown {
    /// A name whose fault is reported elsewhere, so nothing is reported here.
    pub(crate) fn reported() -> Self {
        Self {
            message: String::new(),
            help: None,
        }
    }
}

/// The meaning of names at one place in a procedure.
pub trait Names {
    /// The kind of the value of `name`.
    fn kind_of(&self, name: &Reference) -> Result<Type, Unknown>;
    /// The kind of the value of `step` in the previous pass, or why it cannot be used.
    fn has_previous(&self, step: &str) -> Result<Type, Unknown>;
    /// The kind of an earlier step's value, although the step is not always asked.
    fn if_asked(&self, step: &str) -> Result<Type, Unknown>;
}

/// Checks a formula. Faults go to `findings`. Returns its kind when there are none.
pub fn check(formula: &Formula, names: &dyn Names, findings: &mut Findings) -> Option<Type> {
    Checker { names, findings }.expr(&formula.expr)
}

/// Checks a formula that must be of a given kind.
pub(crate) fn check_kind(
    formula: &Formula,
    wanted: Dimension,
    names: &dyn Names,
    findings: &mut Findings,
) -> bool {
    match check(formula, names, findings) {
        Some(Type::Quantity(found)) if found == wanted => true,
        Some(found) => {
            findings
                .error(
                    formula.span,
                    format!("this is {found}, but {wanted} is needed"),
                )
                .help(example(wanted));
            false
        }
        None => false,
    }
}

/// Checks a formula that must be a condition.
pub(crate) fn check_truth(formula: &Formula, names: &dyn Names, findings: &mut Findings) -> bool {
    match check(formula, names, findings) {
        Some(Type::Truth) => true,
        Some(found) => {
            findings
                .error(
                    formula.span,
                    format!("this is {found}, but a comparison is needed"),
                )
                .help("compare it with something, as in `pass.number > 1` or `enclosure is open`");
            false
        }
        None => false,
    }
}

/// Most words that a help lists.
const MOST_LISTED: usize = 20;

/// Words in one line, where there are very many only the first.
fn few(words: &[String]) -> String {
    let first: Vec<&str> = words.iter().take(MOST_LISTED).map(String::as_str).collect();
    match words.len().saturating_sub(MOST_LISTED) {
        0 => first.join(", "),
        more => format!("{} and {more} more", first.join(", ")),
    }
}

fn example(wanted: Dimension) -> &'static str {
    match wanted {
        Dimension::LENGTH => "write the unit with the number, as in `0.25 mm` or `10 thou`",
        Dimension::TIME => "write the unit with the number, as in `15 min`",
        Dimension::SPINDLE_SPEED => "write the unit with the number, as in `1000 rpm`",
        Dimension::FEED => "write the unit with the number, as in `600 mm/min`",
        Dimension::RATIO => "a plain number or a percentage, as in `3` or `60%`",
        _ => "write the unit with the number",
    }
}

struct Checker<'a> {
    names: &'a dyn Names,
    findings: &'a mut Findings,
}

impl Checker<'_> {
    fn unknown(&mut self, span: Span, unknown: Unknown) -> Option<Type> {
        if unknown.message.is_empty() {
            return None;
        }
        let finding = self.findings.error(span, unknown.message);
        if let Some(help) = unknown.help {
            finding.help(help);
        }
        None
    }

    fn expr(&mut self, e: &Expr) -> Option<Type> {
        match &e.kind {
            ExprKind::Number(q) => Some(Type::Quantity(q.dimension)),
            ExprKind::Word(w) => Some(Type::Literal(w.clone())),
            ExprKind::Name(name) => match self.names.kind_of(name) {
                Ok(found) => Some(found),
                Err(unknown) => self.unknown(e.span, unknown),
            },
            ExprKind::Call(name, args) => self.call(name, args, e.span),
            ExprKind::Negated(inner) => {
                let kind = self.quantity(inner)?;
                Some(Type::Quantity(kind))
            }
            ExprKind::Not(inner) => {
                self.truth(inner)?;
                Some(Type::Truth)
            }
            ExprKind::Binary(op, a, b) => self.binary(*op, a, b, e.span),
        }
    }

    fn quantity(&mut self, e: &Expr) -> Option<Dimension> {
        match self.expr(e)? {
            Type::Quantity(d) => Some(d),
            Type::Touches => {
                self.findings
                    .error(e.span, "a series of touches is not a number")
                    .help("ask for one of its heights, as in `lowest(...)` or `highest(...)`");
                None
            }
            other => {
                self.findings
                    .error(e.span, format!("this is {other}, but a number is needed"));
                None
            }
        }
    }

    fn truth(&mut self, e: &Expr) -> Option<()> {
        match self.expr(e)? {
            Type::Truth => Some(()),
            other => {
                self.findings.error(
                    e.span,
                    format!("this is {other}, but a comparison is needed"),
                );
                None
            }
        }
    }

    fn binary(&mut self, op: Operator, a: &Expr, b: &Expr, span: Span) -> Option<Type> {
        match op {
            Operator::And | Operator::Or => {
                let (a, b) = (self.truth(a), self.truth(b));
                a.and(b).map(|()| Type::Truth)
            }
            Operator::Equal | Operator::Unequal => self.equality(a, b, span),
            _ => {
                let (a, b) = (self.quantity(a), self.quantity(b));
                let (a, b) = (a?, b?);
                self.arithmetic(op, a, b, span)
            }
        }
    }

    fn arithmetic(&mut self, op: Operator, a: Dimension, b: Dimension, span: Span) -> Option<Type> {
        let product = match op {
            Operator::Times => a.times(b),
            Operator::Over => a.over(b),
            _ if a == b => {
                let comparison = op.strength() == 3;
                return Some(if comparison {
                    Type::Truth
                } else {
                    Type::Quantity(a)
                });
            }
            _ => {
                let verb = match op {
                    Operator::Plus => "added to",
                    Operator::Minus => "taken from each other as",
                    _ => "compared with",
                };
                let message = if op == Operator::Minus {
                    format!("{b} cannot be subtracted from {a}")
                } else {
                    format!("{a} cannot be {verb} {b}")
                };
                self.findings
                    .error(span, message)
                    .help("both sides must be of one kind; is a unit missing?");
                return None;
            }
        };
        if product.is_none() {
            self.findings
                .error(span, "these powers of units are too high");
        }
        product.map(Type::Quantity)
    }

    fn equality(&mut self, a: &Expr, b: &Expr, span: Span) -> Option<Type> {
        let (left, right) = (self.expr(a), self.expr(b));
        match (left?, right?) {
            (Type::Quantity(x), Type::Quantity(y)) => self.arithmetic(Operator::Equal, x, y, span),
            (Type::Words(words), Type::Literal(word)) => {
                if words.contains(&word) {
                    return Some(Type::Truth);
                }
                let finding = self
                    .findings
                    .error(b.span, format!("`{word}` is not one of its answers"));
                let help = match nearest(&word, words.iter().map(String::as_str)) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => format!("the answers are: {}", few(&words)),
                };
                finding.help(help);
                None
            }
            (Type::Words(x), Type::Words(y)) => {
                if x.iter().any(|w| y.contains(w)) {
                    return Some(Type::Truth);
                }
                self.findings.error(
                    span,
                    "these two have no answer in common, so they are never equal",
                );
                None
            }
            (x, y) => {
                self.findings
                    .error(span, format!("{x} cannot be compared with {y}"))
                    .help("compare a number with a number, and an answer with one of its words");
                None
            }
        }
    }

    fn call(&mut self, name: &str, args: &[Expr], span: Span) -> Option<Type> {
        let Some(function) = functions::find(name) else {
            let known = FUNCTIONS.iter().map(|f| f.name);
            let help = match nearest(name, known.clone()) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!(
                    "the functions are: {}",
                    known.collect::<Vec<_>>().join(", ")
                ),
            };
            self.findings
                .error(span, format!("`{name}` is not a function known here"))
                .help(help);
            return None;
        };
        let too_many = !function.variadic && args.len() > function.wants.len();
        if args.len() < function.least || too_many {
            self.findings
                .error(
                    span,
                    format!("`{name}` is called with the wrong number of values"),
                )
                .help(function.about);
            return None;
        }
        let mut same = None;
        let mut sound = true;
        if let Evaluate::Surface(_) = function.evaluate
            && let Err(unknown) = self.names.kind_of(&BuiltIn::SurfaceLowest.reference())
        {
            return self.unknown(span, unknown);
        }
        for (index, arg) in args.iter().enumerate() {
            let wants = function.wants(index)?;
            sound &= self.argument(function, wants, arg, &mut same).is_some();
        }
        if sound {
            function.type_given(same)
        } else {
            None
        }
    }

    fn argument(
        &mut self,
        function: &Function,
        wants: ArgumentType,
        arg: &Expr,
        same: &mut Option<Dimension>,
    ) -> Option<()> {
        let wanted = match wants {
            ArgumentType::Step | ArgumentType::AskedOrNot => {
                let ExprKind::Name(Reference { head, tail: None }) = &arg.kind else {
                    self.findings
                        .error(arg.span, "the name of a step is needed here")
                        .help(function.about);
                    return None;
                };
                let found = match wants {
                    ArgumentType::AskedOrNot => self.names.if_asked(head),
                    _ => self.names.has_previous(head),
                };
                return match found {
                    Ok(Type::Quantity(d)) => {
                        *same = Some(d);
                        Some(())
                    }
                    Ok(other) => {
                        self.findings
                            .error(arg.span, format!("this is {other}, but a number is needed"));
                        None
                    }
                    Err(unknown) => {
                        self.unknown(arg.span, unknown);
                        None
                    }
                };
            }
            ArgumentType::Touches => {
                return match self.expr(arg)? {
                    Type::Touches => Some(()),
                    other => {
                        self.findings
                            .error(
                                arg.span,
                                format!("this is {other}, but a touch step is needed"),
                            )
                            .help(function.about);
                        None
                    }
                };
            }
            ArgumentType::Kind(d) => Some(d),
            ArgumentType::Same => *same,
        };
        let found = self.quantity(arg)?;
        match wanted {
            Some(wanted) if wanted != found => {
                self.findings
                    .error(arg.span, format!("this is {found}, but {wanted} is needed"))
                    .help(function.about);
                None
            }
            _ => {
                if wants == ArgumentType::Same {
                    *same = Some(found);
                }
                Some(())
            }
        }
    }
}
