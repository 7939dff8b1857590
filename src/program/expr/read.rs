//! Reads and evaluates an expression.

use super::operations::{Binary, Function, function};
use super::parameters::Parameters;

/// Deepest nesting that is read; a deeper one is a fault, not a stack overflow.
const DEEPEST: u32 = 128;
/// The highest parameter number.
const HIGHEST: u32 = 5399;

/// Why an expression has no value.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum NoValue {
    /// It uses a parameter that was not set. The text was read to its end.
    Unset,
    /// The operation is undefined, such as a division by zero. The text was read to its end.
    Undefined,
    /// The text is not an expression.
    Unreadable,
}

type Part = Result<Option<f64>, NoValue>;

/// Reads one value (number, parameter, bracket or function) that begins at `at`. Gives the value, or why there is none,
/// and the position of its end.
pub fn value(text: &[u8], at: usize, parameters: &Parameters) -> (Result<f64, NoValue>, usize) {
    let mut reader = Reader {
        text,
        at,
        parameters,
        depth: 0,
        undefined: false,
    };
    let read = reader.value();
    let result = match read {
        Err(without) => Err(without),
        Ok(_) if reader.undefined => Err(NoValue::Undefined),
        Ok(None) => Err(NoValue::Unset),
        Ok(Some(value)) if value.is_finite() => Ok(value),
        Ok(Some(_)) => Err(NoValue::Undefined),
    };
    (result, reader.at)
}

/// Whether this byte and the following ones begin a value that is not a plain number.
pub fn begins(text: &[u8], at: usize) -> bool {
    match text.get(at) {
        Some(b'[' | b'#') => true,
        Some(_) => {
            let (name, end) = name(text, at);
            function(&name).is_some() && text.get(end) == Some(&b'[')
        }
        None => false,
    }
}

struct Reader<'a> {
    text: &'a [u8],
    at: usize,
    parameters: &'a Parameters,
    depth: u32,
    undefined: bool,
}

/// The letters from `at` on, without blanks, in upper case, at most six; and the position of the first byte after them
/// that is not blank.
fn name(text: &[u8], mut at: usize) -> (String, usize) {
    let mut name = String::new();
    while let Some(byte) = text.get(at) {
        match byte {
            b' ' | b'\t' => {}
            b if b.is_ascii_alphabetic() && name.len() < 6 => {
                name.push(char::from(b.to_ascii_uppercase()));
            }
            _ => break,
        }
        at += 1;
    }
    (name, at)
}

impl Reader<'_> {
    fn peek(&mut self) -> Option<u8> {
        while let Some(b' ' | b'\t') = self.text.get(self.at) {
            self.at += 1;
        }
        match self.text.get(self.at) {
            Some(b'\n' | b'\r') | None => None,
            Some(byte) => Some(byte.to_ascii_uppercase()),
        }
    }

    fn take(&mut self, wanted: u8) -> Result<(), NoValue> {
        if self.peek() == Some(wanted) {
            self.at += 1;
            Ok(())
        } else {
            Err(NoValue::Unreadable)
        }
    }

    fn value(&mut self) -> Part {
        self.depth += 1;
        if self.depth > DEEPEST {
            return Err(NoValue::Unreadable);
        }
        let read = match self.peek() {
            Some(b'[') => self.bracket(),
            Some(b'#') => self.parameter(),
            Some(b'+') => {
                self.at += 1;
                self.value()
            }
            Some(b'-') => {
                self.at += 1;
                self.value().map(|v| v.map(|v| -v))
            }
            Some(b'0'..=b'9' | b'.') => self.number().map(Some),
            Some(_) => self.function(),
            None => Err(NoValue::Unreadable),
        };
        self.depth -= 1;
        read
    }

    fn parameter(&mut self) -> Part {
        self.at += 1;
        if self.peek() == Some(b'<') {
            while let Some(byte) = self.peek() {
                self.at += 1;
                if byte == b'>' {
                    return Ok(None);
                }
            }
            return Err(NoValue::Unreadable);
        }
        let Some(number) = self.value()? else {
            return Ok(None);
        };
        let whole = number.round();
        if (number - whole).abs() > 0.0001 || !(1.0..=f64::from(HIGHEST)).contains(&whole) {
            return Err(NoValue::Unreadable);
        }
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        Ok(self.parameters.get(whole as u32))
    }

    fn number(&mut self) -> Result<f64, NoValue> {
        let mut digits = String::new();
        let mut point = false;
        while let Some(byte) = self.peek() {
            match byte {
                b'0'..=b'9' => digits.push(char::from(byte)),
                b'.' if !point => {
                    point = true;
                    digits.push('.');
                }
                _ => break,
            }
            self.at += 1;
        }
        if digits == "." || digits.len() > 40 {
            return Err(NoValue::Unreadable);
        }
        digits.parse().map_err(|_| NoValue::Unreadable)
    }

    fn function(&mut self) -> Part {
        let (word, end) = name(self.text, self.at);
        let function = function(&word).ok_or(NoValue::Unreadable)?;
        self.at = end;
        let argument = self.bracket()?;
        if function == Function::Atan {
            self.take(b'/')?;
            let other = self.bracket()?;
            let both = argument.zip(other);
            return Ok(both.map(|(y, x)| y.atan2(x).to_degrees()));
        }
        Ok(argument.map(|x| match function {
            Function::Abs => x.abs(),
            Function::Acos => x.acos().to_degrees(),
            Function::Asin => x.asin().to_degrees(),
            Function::Cos => x.to_radians().cos(),
            Function::Exp => x.exp(),
            Function::Fix => x.floor(),
            Function::Fup => x.ceil(),
            Function::Ln => x.ln(),
            Function::Round => x.round(),
            Function::Sin => x.to_radians().sin(),
            Function::Sqrt => x.sqrt(),
            Function::Tan | Function::Atan => x.to_radians().tan(),
        }))
        .inspect(|v| self.undefined |= v.is_some_and(|v| !v.is_finite()))
    }

    fn bracket(&mut self) -> Part {
        self.take(b'[')?;
        let result = self.operations(1)?;
        self.take(b']')?;
        Ok(result)
    }

    /// Reads operators of this rank and above, from left to right.
    fn operations(&mut self, rank: u8) -> Part {
        if rank > 3 {
            return self.value();
        }
        let mut left = self.operations(rank + 1)?;
        while let Some((operation, end)) = self.operation() {
            if operation.rank() != rank {
                break;
            }
            self.at = end;
            let right = self.operations(rank + 1)?;
            left = left.zip(right).map(|(a, b)| operation.apply(a, b));
            self.undefined |= left.is_some_and(|v| !v.is_finite());
        }
        Ok(left)
    }

    fn operation(&mut self) -> Option<(Binary, usize)> {
        let byte = self.peek()?;
        let one = self.at + 1;
        Some(match byte {
            b'+' => (Binary::Plus, one),
            b'-' => (Binary::Minus, one),
            b'/' => (Binary::Over, one),
            b'*' => {
                let mut next = one;
                while let Some(b' ' | b'\t') = self.text.get(next) {
                    next += 1;
                }
                if self.text.get(next) == Some(&b'*') {
                    (Binary::Power, next + 1)
                } else {
                    (Binary::Times, one)
                }
            }
            _ => {
                let all = [
                    ("MOD", Binary::Modulo),
                    ("AND", Binary::And),
                    ("XOR", Binary::Xor),
                    ("OR", Binary::Or),
                ];
                return all
                    .into_iter()
                    .find_map(|(word, binary)| Some((binary, self.word(word)?)));
            }
        })
    }

    /// The end of the word that begins here; blanks may separate its letters.
    fn word(&self, word: &str) -> Option<usize> {
        let mut at = self.at;
        for letter in word.bytes() {
            while let Some(b' ' | b'\t') = self.text.get(at) {
                at += 1;
            }
            if self.text.get(at)?.to_ascii_uppercase() != letter {
                return None;
            }
            at += 1;
        }
        Some(at)
    }
}

#[cfg(test)]
mod tests {
    use super::{NoValue, Parameters, value};

    fn result(text: &str) -> Result<f64, NoValue> {
        value(text.as_bytes(), 0, &Parameters::default()).0
    }

    /// NISTIR 6556, 3.3.2.3: precedence as in "2 + 3 * 4", and the worked line `[2.0 / 3 * 1.5 - 5.5 / 11.0]` = 0.5 of
    /// 3.3.2.3.
    #[test]
    fn groups_bind_as_rs_274_says() {
        assert_eq!(result("[2.0 / 3 * 1.5 - 5.5 / 11.0]"), Ok(0.5));
        assert_eq!(result("[1 + 2 * 3 ** 2]"), Ok(19.0));
        assert_eq!(result("[-4 MOD 3]"), Ok(2.0));
    }

    #[test]
    fn an_expression_without_a_value_gives_the_reason() {
        assert_eq!(result("[1/0]"), Err(NoValue::Undefined));
        assert_eq!(result("SQRT[-1]"), Err(NoValue::Undefined));
        assert_eq!(result("[0 * #7]"), Err(NoValue::Unset));
        assert_eq!(result("[1 + ]"), Err(NoValue::Unreadable));
        assert_eq!(result("[1"), Err(NoValue::Unreadable));
        assert_eq!(result("#9999"), Err(NoValue::Unreadable));
    }

    #[test]
    fn deep_nesting_is_refused_and_does_not_overflow() {
        let deep = "[".repeat(200_000);
        assert_eq!(result(&deep), Err(NoValue::Unreadable));
        let hashes = "#".repeat(200_000);
        assert_eq!(result(&hashes), Err(NoValue::Unreadable));
    }
}
