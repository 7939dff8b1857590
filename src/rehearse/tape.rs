//! The part of an NC program that the virtual mill runs by itself: straight moves, offsets, unit, length, spindle, coolant.
//!
//! Anything else is refused when the program is loaded, by line and word: a practice mill that guessed would teach
//! something false.

use super::mill::OFFSETS;
use super::{MM, Nm, THOU};
use crate::quantity::{Exact, UnitSystem};

/// One block as the mill carries it out, in the order of its fields.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Block {
    /// The line of the file, from 1.
    pub line: usize,
    /// Its text.
    pub text: String,
    /// A unit set.
    pub unit: Option<UnitSystem>,
    /// A work offset called, by index.
    pub offset: Option<usize>,
    /// A length offset called; 0 cancels.
    pub length: Option<usize>,
    /// A speed set.
    pub speed: Option<i64>,
    /// The spindle started or stopped.
    pub spindle: Option<bool>,
    /// Coolant started or stopped.
    pub coolant: Option<bool>,
    /// A move: whether it is at rapid, and the work position called for each axis.
    pub goes: Option<(bool, [Option<Nm>; 3])>,
    /// Feed in nanometres a minute, where set.
    pub feed: Option<Nm>,
    /// The program ends here.
    pub ends: bool,
}

/// A program, read.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Tape {
    /// Its file's name.
    pub name: String,
    /// Its whole text.
    pub text: String,
    /// Its blocks.
    pub blocks: Vec<Block>,
}

/// Why a program cannot be run.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("line {line}, `{word}`: {why}")]
pub struct Unknown {
    /// The line, from 1.
    pub line: usize,
    /// The word.
    pub word: String,
    /// What is wrong with it.
    pub why: &'static str,
}

impl Tape {
    /// Reads a program.
    ///
    /// # Errors
    /// The first word that this mill does not know.
    pub fn read(name: &str, text: &str) -> Result<Self, Unknown> {
        let mut blocks = Vec::new();
        let mut state = State {
            rapid: true,
            unit: UnitSystem::Mm,
        };
        for (n, line) in text.lines().enumerate() {
            if let Some(block) = block(n + 1, line, &mut state)? {
                let ends = block.ends;
                blocks.push(block);
                if ends {
                    break;
                }
            }
        }
        Ok(Self {
            name: name.to_owned(),
            text: text.to_owned(),
            blocks,
        })
    }

    /// How long it runs at a feed override, in milliseconds; rapids at 3 m a minute.
    pub fn milliseconds(&self, percent: i64) -> i64 {
        let mut at = [0; 3];
        let mut feed = 0;
        let mut sum = 0_i64;
        for block in &self.blocks {
            feed = block.feed.unwrap_or(feed);
            let Some((rapid, to)) = block.goes else {
                continue;
            };
            let to = [0, 1, 2].map(|i: usize| to[i].unwrap_or(at[i]));
            let length =
                super::cutter::root((0..3).map(|i| (to[i] - at[i]) * (to[i] - at[i])).sum());
            let speed = if rapid {
                3000 * MM
            } else {
                feed * percent / 100
            };
            sum += length * 60 / (speed / 1000).max(1);
            at = to;
        }
        sum
    }
}

struct State {
    rapid: bool,
    unit: UnitSystem,
}

/// The words of a line: a letter and what follows it. Comments in brackets and after a semicolon are left out.
fn words(line: &str) -> Vec<(char, String)> {
    let mut words: Vec<(char, String)> = Vec::new();
    let mut depth = 0_u32;
    for c in line.chars() {
        match c {
            '(' => depth += 1,
            ')' => depth = depth.saturating_sub(1),
            _ if depth > 0 => {}
            ';' => break,
            c if c.is_whitespace() || c == '%' => {}
            c if c.is_ascii_alphabetic() => words.push((c.to_ascii_uppercase(), String::new())),
            c => match words.last_mut() {
                Some((_, value)) => value.push(c),
                None => words.push((c, String::new())),
            },
        }
    }
    words
}

fn block(line: usize, text: &str, state: &mut State) -> Result<Option<Block>, Unknown> {
    let words = words(text);
    if words.is_empty() {
        return Ok(None);
    }
    let mut block = Block {
        line,
        text: text.trim().to_owned(),
        ..Block::default()
    };
    let mut to = [None; 3];
    let mut lengths = (false, 0);
    for (letter, value) in &words {
        let unknown = |why| Unknown {
            line,
            word: format!("{letter}{value}"),
            why,
        };
        let whole = || -> Result<i64, Unknown> {
            Exact::from_text(value)
                .filter(|e| e.denominator() == 1)
                .and_then(|e| i64::try_from(e.numerator()).ok())
                .ok_or_else(|| unknown("a whole number is expected"))
        };
        let length = |unit: UnitSystem| -> Result<Nm, Unknown> {
            let per = if unit == UnitSystem::Mm {
                MM
            } else {
                1000 * THOU
            };
            Exact::from_text(value)
                .and_then(|e| e.times(Exact::whole(per)))
                .and_then(|e| i64::try_from(e.round()).ok())
                .filter(|nm| nm.abs() <= 100_000 * MM)
                .ok_or_else(|| unknown("a length is expected"))
        };
        match letter {
            'N' | 'O' | 'T' => {}
            'G' => match whole()? {
                0 => state.rapid = true,
                1 => state.rapid = false,
                17 | 40 | 80 | 90 | 94 => {}
                20 => {
                    state.unit = UnitSystem::Inch;
                    block.unit = Some(UnitSystem::Inch);
                }
                21 => {
                    state.unit = UnitSystem::Mm;
                    block.unit = Some(UnitSystem::Mm);
                }
                43 => lengths.0 = true,
                49 => block.length = Some(0),
                g @ 54..=59 => {
                    block.offset = usize::try_from(g - 54).ok().filter(|i| *i < OFFSETS.len());
                }
                _ => return Err(unknown("this practice mill does not know it")),
            },
            'H' => {
                lengths.1 = usize::try_from(whole()?)
                    .ok()
                    .filter(|h| *h < 10)
                    .ok_or_else(|| unknown("this practice mill has the lengths H1 to H9"))?;
            }
            'X' => to[0] = Some(length(state.unit)?),
            'Y' => to[1] = Some(length(state.unit)?),
            'Z' => to[2] = Some(length(state.unit)?),
            'F' => block.feed = Some(length(state.unit)?),
            'S' => block.speed = Some(whole()?),
            'M' => match whole()? {
                0 | 1 | 6 => {}
                3 | 4 => block.spindle = Some(true),
                5 => block.spindle = Some(false),
                7 | 8 => block.coolant = Some(true),
                9 => block.coolant = Some(false),
                2 | 30 => block.ends = true,
                _ => return Err(unknown("this practice mill does not know it")),
            },
            _ => return Err(unknown("this practice mill does not know it")),
        }
    }
    if lengths.0 {
        block.length = Some(lengths.1);
    }
    if to.iter().any(Option::is_some) {
        block.goes = Some((state.rapid, to));
    }
    Ok(Some(block))
}

/// What a facing program is written for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Facing {
    /// The plate's corner in work positions, and its size.
    pub corner: [Nm; 2],
    /// Its length and width.
    pub size: [Nm; 2],
    /// The cutter's diameter.
    pub diameter: Nm,
    /// From row to row, at most.
    pub step_over: Nm,
    /// Speed, turns a minute.
    pub speed: i64,
    /// Feed, nanometres a minute.
    pub feed: Nm,
    /// The H number it calls; 0 for none.
    pub length: usize,
}

impl Facing {
    /// How far the rim runs past every edge at least.
    pub const OVERRUN: Nm = 2 * MM;

    /// How many rows there are, and how far apart.
    pub fn rows(&self) -> (i64, Nm) {
        let span = self.size[1] - self.diameter + 2 * Self::OVERRUN;
        let gaps = (span + self.step_over - 1) / self.step_over.max(1);
        if span <= 0 || gaps <= 0 {
            return (1, 0);
        }
        // To whole hundredths of a millimetre, upwards: a row more would be an odd one.
        let apart = (span + gaps - 1) / gaps;
        (gaps + 1, (apart + 9_999) / 10_000 * 10_000)
    }

    /// The program, in millimetres: rows along X to and fro, cutting at Z0, X0 Y0 in the air.
    pub fn program(&self) -> String {
        let mm = |nm: Nm| {
            let sign = if nm < 0 { "-" } else { "" };
            let (whole, part) = (nm.abs() / MM, nm.abs() % MM);
            let part = format!("{part:06}");
            let part = part.trim_end_matches('0');
            if part.is_empty() {
                format!("{sign}{whole}")
            } else {
                format!("{sign}{whole}.{part}")
            }
        };
        let (rows, apart) = self.rows();
        let edge = self.diameter / 2 + 3 * MM;
        let (left, right) = (self.corner[0] - edge, self.corner[0] + self.size[0] + edge);
        let first = self.corner[1] + self.diameter / 2 - Self::OVERRUN;
        let mut lines = vec![
            "%".to_owned(),
            format!(
                "(INVENTED PRACTICE PROGRAM - FACING A {} X {} MM PLATE, {} MM END MILL)",
                mm(self.size[0]),
                mm(self.size[1]),
                mm(self.diameter)
            ),
            format!(
                "(PLATE X{} TO X{}, Y{} TO Y{}. X0 Y0 LIES IN AIR)",
                mm(self.corner[0]),
                mm(self.corner[0] + self.size[0]),
                mm(self.corner[1]),
                mm(self.corner[1] + self.size[1])
            ),
            format!("({rows} ROWS {} MM APART, CUTS AT Z0)", mm(apart)),
            "G21 G17 G90 G94 G40 G49 G80".to_owned(),
            "G54".to_owned(),
            "T1 M6".to_owned(),
            format!("S{} M3", self.speed),
            if self.length == 0 {
                "G0 Z30".to_owned()
            } else {
                format!("G0 G43 H{} Z30", self.length)
            },
            "G0 X0 Y0".to_owned(),
            "M8".to_owned(),
            "G0 Z5".to_owned(),
            "G1 Z0 F250".to_owned(),
        ];
        for row in 0..rows {
            let y = first + row * apart;
            let (from, to) = if row % 2 == 0 {
                (left, right)
            } else {
                (right, left)
            };
            if row == 0 {
                lines.push(format!("G1 X{} Y{} F{}", mm(from), mm(y), mm(self.feed)));
            } else {
                lines.push(format!("Y{}", mm(y)));
            }
            lines.push(format!("X{}", mm(to)));
        }
        lines.extend(["G0 Z30", "M9", "M5", "G0 X0 Y0", "M30", "%"].map(str::to_owned));
        let mut text = lines.join("\n");
        text.push('\n');
        text
    }
}

#[cfg(test)]
mod tests {
    use super::{Facing, MM, Tape};
    use crate::quantity::UnitSystem;

    fn facing() -> Facing {
        Facing {
            corner: [30 * MM, 30 * MM],
            size: [240 * MM, 120 * MM],
            diameter: 12 * MM,
            step_over: 7 * MM,
            speed: 4000,
            feed: 600 * MM,
            length: 1,
        }
    }

    #[test]
    fn what_is_written_can_be_read_and_covers_the_plate() {
        let tape = Tape::read("facing.nc", &facing().program()).unwrap();
        let ys: Vec<i64> = tape.blocks.iter().filter_map(|b| b.goes?.1[1]).collect();
        assert!(ys.contains(&(34 * MM)));
        assert!(ys.iter().max().unwrap() + 6 * MM >= 152 * MM);
        assert!(tape.blocks.last().unwrap().ends);
        assert_eq!(
            tape.blocks.iter().filter(|b| b.length == Some(1)).count(),
            1
        );
    }

    #[test]
    fn the_shipped_program_runs_for_about_the_time_its_rows_take() {
        let text = include_str!("../../checklists/answers/facing-12mm.nc");
        let tape = Tape::read("facing-12mm.nc", text).unwrap();
        // 17 or 18 rows of 258 mm at 600 mm a minute are some seven and a half minutes.
        let minutes = tape.milliseconds(100) / 60_000;
        assert!((7..=9).contains(&minutes), "{minutes}");
        assert!(tape.milliseconds(60) > tape.milliseconds(100) * 3 / 2);
    }

    #[test]
    fn inches_are_exact_and_unknown_words_are_named() {
        let tape = Tape::read("a", "G20 G0 X1.5 Y-.0005\n").unwrap();
        assert_eq!(tape.blocks[0].unit, Some(UnitSystem::Inch));
        assert_eq!(
            tape.blocks[0].goes,
            Some((true, [Some(38_100_000), Some(-12_700), None]))
        );
        for (text, word) in [
            ("G2 X1 I1\n", "G2"),
            ("G0 X\n", "X"),
            ("#1=2\n", "#"),
            ("G43 H77\n", "H77"),
        ] {
            let error = Tape::read("a", text).unwrap_err();
            assert_eq!(error.line, 1);
            assert!(error.word.starts_with(word), "{error}");
        }
    }
}
