//! The tree of a formula. Each node has its place in the file.

use crate::diagnostics::Span;
use crate::quantity::Quantity;
use std::collections::BTreeSet;

/// A formula with the text it was read from.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Formula {
    /// The text as written in the file.
    pub text: String,
    /// Its place in the file.
    pub span: Span,
    /// Its tree.
    pub expr: Expr,
}

/// A node of a formula.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Expr {
    /// The kind of node.
    pub kind: ExprKind,
    /// Its place in the file.
    pub span: Span,
}

/// The kinds of node.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum ExprKind {
    /// A quantity written out.
    Number(Quantity),
    /// A word written in quotes, or bare after `is`.
    Word(String),
    /// A name: `plane`, `cutter.diameter`.
    Name(Reference),
    /// A call of a function with arguments.
    Call(String, Vec<Expr>),
    /// The negative of a number.
    Negated(Box<Expr>),
    /// `not` a condition.
    Not(Box<Expr>),
    /// An operator with its two sides.
    Binary(Operator, Box<Expr>, Box<Expr>),
}

/// An operator between two sides.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Operator {
    /// `+`
    Plus,
    /// `-`
    Minus,
    /// `*`
    Times,
    /// `/`
    Over,
    /// `<`
    Below,
    /// `<=`
    AtMost,
    /// `>`
    Above,
    /// `>=`
    AtLeast,
    /// `=` or `is`
    Equal,
    /// `!=` or `is not`
    Unequal,
    /// `and`
    And,
    /// `or`
    Or,
}

impl Operator {
    /// The sign or word of the operator.
    pub(crate) fn symbol(self) -> &'static str {
        match self {
            Self::Plus => "+",
            Self::Minus => "-",
            Self::Times => "*",
            Self::Over => "/",
            Self::Below => "<",
            Self::AtMost => "<=",
            Self::Above => ">",
            Self::AtLeast => ">=",
            Self::Equal => "=",
            Self::Unequal => "!=",
            Self::And => "and",
            Self::Or => "or",
        }
    }

    /// The precedence; a larger number binds more tightly.
    pub(crate) fn strength(self) -> u8 {
        match self {
            Self::Or => 1,
            Self::And => 2,
            Self::Below
            | Self::AtMost
            | Self::Above
            | Self::AtLeast
            | Self::Equal
            | Self::Unequal => 3,
            Self::Plus | Self::Minus => 4,
            Self::Times | Self::Over => 5,
        }
    }
}

/// A name in a formula: the text before the dot and the text after it, if any.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Reference {
    /// A step id, or one of `machine`, `plate`, `cutter`, `surface`, `zero`, `pass`, `value`.
    pub head: String,
    /// A fact of it.
    pub tail: Option<String>,
}

impl std::fmt::Display for Reference {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match &self.tail {
            Some(tail) => write!(f, "{}.{tail}", self.head),
            None => f.write_str(&self.head),
        }
    }
}

impl Expr {
    /// Calls `visit` on this node and every node below it.
    pub(crate) fn walk<'a>(&'a self, visit: &mut impl FnMut(&'a Expr)) {
        visit(self);
        match &self.kind {
            ExprKind::Number(_) | ExprKind::Word(_) | ExprKind::Name(_) => {}
            ExprKind::Call(_, args) => args.iter().for_each(|a| a.walk(visit)),
            ExprKind::Negated(e) | ExprKind::Not(e) => e.walk(visit),
            ExprKind::Binary(_, a, b) => {
                a.walk(visit);
                b.walk(visit);
            }
        }
    }

    /// Every name used, once.
    pub(crate) fn references(&self) -> BTreeSet<&Reference> {
        let mut found = BTreeSet::new();
        self.walk(&mut |e| {
            if let ExprKind::Name(name) = &e.kind {
                found.insert(name);
            }
        });
        found
    }
}
