//! The functions and operators of expressions (NISTIR 6556, 3.3.2.3).

#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Function {
    Abs,
    Acos,
    Asin,
    Atan,
    Cos,
    Exp,
    Fix,
    Fup,
    Ln,
    Round,
    Sin,
    Sqrt,
    Tan,
}

pub(super) fn function(name: &str) -> Option<Function> {
    Some(match name {
        "ABS" => Function::Abs,
        "ACOS" => Function::Acos,
        "ASIN" => Function::Asin,
        "ATAN" => Function::Atan,
        "COS" => Function::Cos,
        "EXP" => Function::Exp,
        "FIX" => Function::Fix,
        "FUP" => Function::Fup,
        "LN" => Function::Ln,
        "ROUND" => Function::Round,
        "SIN" => Function::Sin,
        "SQRT" => Function::Sqrt,
        "TAN" => Function::Tan,
        _ => return None,
    })
}

#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Binary {
    Power,
    Times,
    Over,
    Modulo,
    Plus,
    Minus,
    And,
    Or,
    Xor,
}

impl Binary {
    /// The precedence. RS-274 has three levels: power, then multiplication, division and modulo, then all others.
    pub(super) fn rank(self) -> u8 {
        match self {
            Self::Power => 3,
            Self::Times | Self::Over | Self::Modulo => 2,
            _ => 1,
        }
    }

    pub(super) fn apply(self, a: f64, b: f64) -> f64 {
        let truth = |t: bool| f64::from(u8::from(t));
        match self {
            Self::Power => a.powf(b),
            Self::Times => a * b,
            Self::Over => a / b,
            // The remainder is never negative in RS-274.
            Self::Modulo => a.rem_euclid(b),
            Self::Plus => a + b,
            Self::Minus => a - b,
            Self::And => truth(a != 0.0 && b != 0.0),
            Self::Or => truth(a != 0.0 || b != 0.0),
            Self::Xor => truth((a != 0.0) != (b != 0.0)),
        }
    }
}
