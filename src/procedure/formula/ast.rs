//! A formula as a tree, each node with its place in the file.

use crate::diagnostics::Span;
use crate::quantity::Quantity;
use std::collections::BTreeSet;

/// A formula with the text it was read from.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Formula {
    /// The text as written.
    pub text: String,
    /// Its place in the file.
    pub span: Span,
    /// Its tree.
    pub expr: Expr,
}

/// A node of a formula.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Expr {
    /// What it is.
    pub kind: ExprKind,
    /// Where it stands in the file.
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
    /// A function of arguments.
    Call(String, Vec<Expr>),
    /// Minus something.
    Negated(Box<Expr>),
    /// `not` something.
    Not(Box<Expr>),
    /// Two sides and what stands between them.
    Binary(Operator, Box<Expr>, Box<Expr>),
}

/// What stands between two sides.
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
    /// How it is written.
    pub fn symbol(self) -> &'static str {
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

    /// How tightly it binds; larger is tighter.
    pub fn strength(self) -> u8 {
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

/// What a name in a formula refers to: the text before the dot and the one after it, if any.
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
    pub fn walk<'a>(&'a self, visit: &mut impl FnMut(&'a Expr)) {
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
    pub fn references(&self) -> BTreeSet<&Reference> {
        let mut found = BTreeSet::new();
        self.walk(&mut |e| {
            if let ExprKind::Name(name) = &e.kind {
                found.insert(name);
            }
        });
        found
    }
}
