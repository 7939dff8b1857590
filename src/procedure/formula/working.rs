//! Shows a formula, as written and with its numbers.

use super::ast::{Expr, ExprKind, Formula, Operator};
use super::eval::{Env, eval, quantity};
use super::function_values;
use super::token::KEYWORDS;
use super::value::Value;
use crate::quantity::format::QuantityFormat;
use crate::quantity::{Quantity, Unit, UnitSystem};

/// The largest number of decimal places that is written.
const MOST_PLACES: u32 = 12;

/// The formula in standard spelling, with only the necessary parentheses.
pub fn written(expr: &Expr) -> String {
    draw(expr, 0, &|e| match &e.kind {
        ExprKind::Number(q) => number(*q),
        ExprKind::Word(w) => quoted(w),
        ExprKind::Name(name) => name.to_string(),
        _ => String::new(),
    })
}

/// A word in quotes, because a bare word is a name. No word contains both kinds of quotes.
fn quoted(word: &str) -> String {
    let mark = if word.contains('\'') { '"' } else { '\'' };
    format!("{mark}{word}{mark}")
}

/// Whether a word can be written without quotes after `is`.
fn is_bare(word: &str) -> bool {
    let letter = |c: char| c.is_alphabetic() || c == '_';
    word.starts_with(letter)
        && word.chars().all(|c| c.is_alphanumeric() || c == '_')
        && !KEYWORDS.contains(&word)
}

/// A number in a unit in which it is a finite decimal, or else as a division in parentheses. Without them one second,
/// which is 1/60 min, would be read as another formula.
fn number(q: Quantity) -> String {
    let usual = || [UnitSystem::Mm, UnitSystem::Inch].map(|s| Unit::usual(q.dimension, s));
    let mut units = usual()
        .into_iter()
        .flatten()
        .chain(Unit::spellings().filter_map(Unit::find));
    let decimal = units.find_map(|unit| {
        let (text, exact) = q.in_unit(&unit).ok()?.decimal(MOST_PLACES);
        exact.then(|| format!("{text} {}", unit.symbol).trim_end().to_owned())
    });
    let divided = || {
        let unit = usual().into_iter().flatten().next()?;
        let amount = q.in_unit(&unit).ok()?;
        let top = format!("{} {}", amount.numerator(), unit.symbol);
        Some(format!("({} / {})", top.trim_end(), amount.denominator()))
    };
    decimal.or_else(divided).unwrap_or_else(|| q.canonical())
}

/// The formula with the value of every name instead of the name.
pub(crate) fn filled(expr: &Expr, env: &dyn Env, show: &QuantityFormat) -> String {
    draw(expr, 0, &|e| match &e.kind {
        // A call inside the formula is replaced by its value, because it has its own line of working.
        ExprKind::Call(..) if !std::ptr::eq(e, &raw const *expr) => match eval(e, env) {
            Ok(Value::Quantity(q)) if q.amount.is_negative() => format!("({})", show.one(q)),
            Ok(value) => value.filled(show),
            Err(_) => "?".to_owned(),
        },
        ExprKind::Number(q) => show.one(*q),
        ExprKind::Word(w) => w.clone(),
        ExprKind::Name(name) => match env.value_of(name) {
            // A negative value after another sign needs parentheses to be read correctly.
            Some(Value::Quantity(q)) if q.amount.is_negative() => format!("({})", show.one(q)),
            Some(value) => value.filled(show),
            None => "not asked".to_owned(),
        },
        _ => String::new(),
    })
}

/// The lines of working for a value: its name, the formula, the formula with numbers, and the result. Calls inside the
/// formula come first, on their own lines.
pub fn lines(name: &str, formula: &Formula, env: &dyn Env, show: &QuantityFormat) -> Vec<String> {
    let mut lines = vec![format!("{name} = {}", written(&formula.expr))];
    let mut inner = Vec::new();
    formula.expr.walk(&mut |e| {
        let whole = std::ptr::eq(e, &raw const formula.expr);
        if let (ExprKind::Call(..), false) = (&e.kind, whole)
            && let Ok(value) = eval(e, env)
        {
            inner.push(format!(
                "  {} = {}",
                filled(e, env, show),
                value.shown(show)
            ));
        }
    });
    lines.extend(inner.into_iter().rev());
    let numbers = filled(&formula.expr, env, show);
    let result = match eval(&formula.expr, env) {
        Ok(value) => {
            let remark = remark(formula, env).map_or(String::new(), |r| format!(", {r}"));
            format!("{}{remark}", value.shown(show))
        }
        Err(why) => why.to_string(),
    };
    let plain_result = matches!(formula.expr.kind, ExprKind::Number(_) | ExprKind::Name(_));
    if !plain_result {
        lines.push(format!("  = {numbers}"));
    }
    lines.push(format!("  = {result}"));
    lines
}

/// A remark that explains the formula's value, for example which of two limits decided it.
pub(crate) fn remark(formula: &Formula, env: &dyn Env) -> Option<String> {
    let ExprKind::Call(name, args) = &formula.expr.kind else {
        return None;
    };
    let values: Option<Vec<Quantity>> = args.iter().map(|a| quantity(a, env).ok()).collect();
    function_values::remark(name, &values?)
}

/// An argument of a call. A negative value needs no parentheses there.
fn argument(expr: &Expr, leaf: &dyn Fn(&Expr) -> String) -> String {
    let text = draw(expr, 0, leaf);
    let alone = matches!(expr.kind, ExprKind::Name(_) | ExprKind::Call(..));
    match text.strip_prefix('(').and_then(|t| t.strip_suffix(')')) {
        Some(inner) if alone => inner.to_owned(),
        _ => text,
    }
}

/// Writes `expr`, with `leaf` for its leaves, in parentheses where its operator binds more loosely than `around`.
fn draw(expr: &Expr, around: u8, leaf: &dyn Fn(&Expr) -> String) -> String {
    match &expr.kind {
        ExprKind::Call(name, args) => {
            let whole = leaf(expr);
            if !whole.is_empty() {
                return whole;
            }
            let args: Vec<String> = args.iter().map(|a| argument(a, leaf)).collect();
            format!("{name}({})", args.join(", "))
        }
        ExprKind::Negated(e) => format!("-{}", draw(e, 6, leaf)),
        ExprKind::Not(e) => format!("not {}", draw(e, 3, leaf)),
        ExprKind::Binary(op, a, b) => {
            let own = op.strength();
            let is = match op {
                Operator::Equal => Some("is"),
                Operator::Unequal => Some("is not"),
                _ => None,
            };
            let text = if let (Some(is), ExprKind::Word(word)) = (is, &b.kind) {
                let word = if is_bare(word) { word.clone() } else { leaf(b) };
                format!("{} {is} {word}", draw(a, own, leaf))
            } else {
                format!(
                    "{} {} {}",
                    draw(a, own, leaf),
                    op.symbol(),
                    draw(b, own + 1, leaf)
                )
            };
            if own < around {
                format!("({text})")
            } else {
                text
            }
        }
        _ => leaf(expr),
    }
}

#[cfg(test)]
mod tests {
    use super::super::ast::Formula;
    use super::super::parse::formula;
    use super::{number, written};
    use crate::diagnostics::Span;
    use crate::procedure::node::{Bytes, Scalar};
    use crate::quantity::{Quantity, Unit};

    fn read(text: &str) -> Formula {
        let scalar = Scalar {
            text: text.to_owned(),
            span: Span::new(0, text.len()),
            bytes: Bytes::Run(0),
            quoted: false,
        };
        formula(&scalar).unwrap()
    }

    /// A word that is not after `is` is written in quotes, because it would otherwise be read as a name.
    #[test]
    fn words_read_again_as_words() {
        for (typed, own) in [
            ("'closed'", "'closed'"),
            ("x is closed", "x is closed"),
            ("x = 'closed'", "x is closed"),
            ("x != 'not yet'", "x is not 'not yet'"),
            ("x is 'and'", "x is 'and'"),
            ("'closed' = x", "'closed' = x"),
            ("x is \"it's\"", "x is \"it's\""),
        ] {
            let formula = read(typed);
            assert_eq!(written(&formula.expr), own);
            assert_eq!(written(&read(own).expr), own);
        }
    }

    /// By hand: a second is 1/60 min, and a thirtieth of a minute is two seconds. `x / 1/60 min` would be read as
    /// another formula.
    #[test]
    fn numbers_are_written_as_decimals() {
        let of = |text: &str, unit: &str| {
            let amount = crate::quantity::Exact::from_text(text).unwrap();
            number(Quantity::of(amount, &Unit::find(unit).unwrap()).unwrap())
        };
        assert_eq!(of("1", "s"), "1 s");
        assert_eq!(of("2", "s"), "2 s");
        assert_eq!(of("6", "s"), "0.1 min");
        assert_eq!(of("0.006", "in"), "0.1524 mm");
        // 21 m in a day of 1440 minutes: 21000 / 1440 = 175 / 12.
        assert_eq!(of("21", "m/d"), "(175 mm/min / 12)");
    }
}
