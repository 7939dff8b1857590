//! Reads assignments of parameters.

use super::label::flow;
use super::word::skip_blanks;
use crate::program::block::Block;
use crate::program::expr::{self, NoValue, Parameters};
use crate::program::fault::FaultKind;
use crate::program::number::Value;

/// Reads `#n=value`.
pub(super) fn assignment(
    text: &[u8],
    start: usize,
    parameters: &Parameters,
    block: &mut Block,
) -> usize {
    let broken = |block: &mut Block, end: usize| {
        block.lose(FaultKind::BadExpression, start, end);
        end.max(start + 1)
    };
    if text.get(skip_blanks(text, start + 1)) == Some(&b'<') {
        return flow(text, start, block);
    }
    let (number, end) = expr::value(text, start + 1, parameters);
    let number = match number {
        Ok(n) if (1.0..=5399.0).contains(&n) && (n - n.round()).abs() <= 0.0001 => {
            Value::Computed(n).whole()
        }
        Err(NoValue::Unset) => {
            // Any parameter may have been set.
            block.lose(FaultKind::UnsetParameter, start, end);
            None
        }
        _ => return broken(block, end),
    };
    let equals = skip_blanks(text, end);
    if text.get(equals) != Some(&b'=') {
        return broken(block, end);
    }
    let (value, end) = expr::value(text, equals + 1, parameters);
    match value {
        Ok(value) => {
            if let Some(number) = number {
                block.assignments.push((number, Some(value)));
            }
        }
        Err(NoValue::Unset) => {
            if let Some(number) = number {
                block.assignments.push((number, None));
            }
        }
        Err(NoValue::Undefined) => {
            block.lose(FaultKind::NoValue, start, end);
        }
        Err(NoValue::Unreadable) => return broken(block, end),
    }
    end
}
