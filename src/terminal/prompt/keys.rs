//! Bytes of a terminal as keys.

/// What was pressed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Press {
    /// A character to be typed.
    Char(char),
    /// The line is finished.
    Enter,
    /// Ctrl-C where it is no signal.
    Interrupt,
    /// Ctrl-D: the end of input on an empty line, else as `Delete`.
    End,
    /// Takes away the character before the cursor.
    Backspace,
    /// Takes away the character under the cursor.
    Delete,
    /// Ctrl-W: takes away the word before the cursor.
    EraseWord,
    /// Ctrl-U: takes away everything before the cursor.
    EraseBefore,
    /// Ctrl-K: takes away everything from the cursor on.
    EraseAfter,
    /// One character to the left.
    Left,
    /// One character to the right.
    Right,
    /// To the beginning of the word.
    WordLeft,
    /// To the end of the word.
    WordRight,
    /// To the beginning of the line.
    Home,
    /// Behind the last character.
    Last,
    /// Ctrl-L or Ctrl-R: draw the line again.
    Redraw,
    /// Up or Ctrl-P: the answer given before.
    Older,
    /// Down or Ctrl-N: the answer given after it.
    Newer,
    /// Tab: completes what is typed.
    Complete,
}

/// Where a key of several bytes stands.
#[derive(Debug, Default, Clone, PartialEq, Eq)]
enum Within {
    #[default]
    Nothing,
    /// The first bytes of a character, and how many it has.
    Char(Vec<u8>, usize),
    Escape,
    /// After `ESC [` or `ESC O`, the parameters so far.
    Sequence(Vec<u8>),
}

/// Makes keys of bytes: UTF-8, and the sequences of ECMA-48 that terminals send for keys. What is no key here is left out
/// whole; bytes that are no UTF-8 become the replacement sign, which no answer contains.
#[derive(Debug, Default)]
pub(crate) struct Decoder {
    within: Within,
}

impl Decoder {
    /// Takes a byte; the key that is complete with it. Where it broke off the one before, there are two.
    pub(crate) fn push(&mut self, byte: u8) -> (Option<Press>, Option<Press>) {
        match std::mem::take(&mut self.within) {
            Within::Nothing => (self.begin(byte), None),
            Within::Char(mut bytes, length) => {
                if byte & 0xc0 == 0x80 {
                    bytes.push(byte);
                    (self.character(bytes, length), None)
                } else {
                    (
                        Some(Press::Char(char::REPLACEMENT_CHARACTER)),
                        self.begin(byte),
                    )
                }
            }
            Within::Escape => (self.escaped(byte), None),
            Within::Sequence(parameters) => (self.sequence(parameters, byte), None),
        }
    }

    /// Nothing came for a while: an escape key that was pressed alone begins no sequence.
    pub(crate) fn pause(&mut self) {
        if matches!(self.within, Within::Escape) {
            self.within = Within::Nothing;
        }
    }

    fn begin(&mut self, byte: u8) -> Option<Press> {
        Some(match byte {
            b'\r' | b'\n' => Press::Enter,
            0x01 => Press::Home,
            0x02 => Press::Left,
            0x03 => Press::Interrupt,
            0x04 => Press::End,
            0x05 => Press::Last,
            0x06 => Press::Right,
            0x08 | 0x7f => Press::Backspace,
            b'\t' => Press::Complete,
            0x0e => Press::Newer,
            0x10 => Press::Older,
            0x0b => Press::EraseAfter,
            0x0c | 0x12 => Press::Redraw,
            0x15 => Press::EraseBefore,
            0x17 => Press::EraseWord,
            0x1b => {
                self.within = Within::Escape;
                return None;
            }
            0x20..=0x7e => Press::Char(char::from(byte)),
            0xc2..=0xf4 => {
                let length = match byte {
                    0..0xe0 => 2,
                    0xe0..0xf0 => 3,
                    _ => 4,
                };
                return self.character(vec![byte], length);
            }
            0x80.. => Press::Char(char::REPLACEMENT_CHARACTER),
            // Other controls stand for nothing here.
            _ => return None,
        })
    }

    fn character(&mut self, bytes: Vec<u8>, length: usize) -> Option<Press> {
        if bytes.len() < length {
            self.within = Within::Char(bytes, length);
            return None;
        }
        let c = std::str::from_utf8(&bytes)
            .ok()
            .and_then(|text| text.chars().next())
            .unwrap_or(char::REPLACEMENT_CHARACTER);
        // C1 controls.
        (!c.is_control()).then_some(Press::Char(c))
    }

    fn escaped(&mut self, byte: u8) -> Option<Press> {
        match byte {
            b'[' | b'O' => {
                self.within = Within::Sequence(Vec::new());
                None
            }
            0x1b => {
                self.within = Within::Escape;
                None
            }
            b'b' => Some(Press::WordLeft),
            b'f' => Some(Press::WordRight),
            0x08 | 0x7f => Some(Press::EraseWord),
            // Alt and a key that stands for nothing; a line's end, and what signals, is never left out.
            b'\r' | b'\n' | 0x03 | 0x04 => self.begin(byte),
            _ => None,
        }
    }

    fn sequence(&mut self, mut parameters: Vec<u8>, byte: u8) -> Option<Press> {
        match byte {
            // Parameters and what may stand behind them; none of the keys has more than a few.
            0x20..=0x3f => {
                if parameters.len() < 16 {
                    parameters.push(byte);
                }
                self.within = Within::Sequence(parameters);
                None
            }
            0x40..=0x7e => {
                let by_word = parameters.ends_with(b";5") || parameters.ends_with(b";3");
                match (byte, parameters.as_slice()) {
                    (b'D', _) if by_word => Some(Press::WordLeft),
                    (b'C', _) if by_word => Some(Press::WordRight),
                    (b'A', _) => Some(Press::Older),
                    (b'B', _) => Some(Press::Newer),
                    (b'D', _) => Some(Press::Left),
                    (b'C', _) => Some(Press::Right),
                    (b'H', _) | (b'~', b"1" | b"7") => Some(Press::Home),
                    (b'F', _) | (b'~', b"4" | b"8") => Some(Press::Last),
                    (b'~', b"3") => Some(Press::Delete),
                    _ => None,
                }
            }
            // Broken off: what comes instead counts.
            _ => self.begin(byte),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Decoder, Press};

    fn pressed(bytes: &[u8]) -> Vec<Press> {
        let mut decoder = Decoder::default();
        let keys = bytes
            .iter()
            .flat_map(|&byte| <[_; 2]>::from(decoder.push(byte)));
        keys.flatten().collect()
    }

    #[test]
    fn characters_of_any_length_are_one_key_each() {
        let keys: Vec<Press> = "aé∅🔧".chars().map(Press::Char).collect();
        assert_eq!(pressed("aé∅🔧".as_bytes()), keys);
    }

    #[test]
    fn bytes_that_are_no_text_become_the_replacement_sign() {
        let bad = Press::Char(char::REPLACEMENT_CHARACTER);
        assert_eq!(pressed(b"\xff"), [bad]);
        assert_eq!(pressed(b"\xc3a"), [bad, Press::Char('a')]);
        assert_eq!(pressed(b"\xed\xa0\x80"), [bad]);
        assert_eq!(pressed(b"\xe2\x88\r"), [bad, Press::Enter]);
    }

    #[test]
    fn sequences_of_keys_are_read_and_others_left_out_whole() {
        assert_eq!(
            pressed(b"\x1b[D\x1b[C\x1bOH\x1b[F\x1b[3~\x1b[1;5D\x1b[1;3C\x1bb"),
            [
                Press::Left,
                Press::Right,
                Press::Home,
                Press::Last,
                Press::Delete,
                Press::WordLeft,
                Press::WordRight,
                Press::WordLeft,
            ]
        );
        assert_eq!(pressed(b"\x1b[200~1\x1b[201~\x1b[5~"), [Press::Char('1')]);
        assert_eq!(pressed(b"\x00\x07\xc2\x9b1"), [Press::Char('1')]);
        assert_eq!(
            pressed(b"\x1b[A\x1bOB\x10\x0e\t"),
            [
                Press::Older,
                Press::Newer,
                Press::Older,
                Press::Newer,
                Press::Complete,
            ]
        );
    }

    #[test]
    fn an_escape_key_pressed_alone_takes_no_other_key_with_it() {
        let mut decoder = Decoder::default();
        assert_eq!(decoder.push(0x1b), (None, None));
        decoder.pause();
        assert_eq!(decoder.push(b'1'), (Some(Press::Char('1')), None));
        assert_eq!(pressed(b"\x1b\r"), [Press::Enter]);
        assert_eq!(pressed(b"\x1b[1\r"), [Press::Enter]);
    }
}
