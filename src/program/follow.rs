//! Following a program from its first line to its end, subprograms included.

use super::block::Block;
use super::dialect::{Dialect, Switches};
use super::expr::Parameters;
use super::fact::Why;
use super::fault::{Fault, FaultKind};
use super::lex;
use super::lines::{self, Ends, Lines, Place};
use super::machine::{Machine, Next};
use super::motion::At;
use super::observer::Observer;
use super::setting::Setting;
use super::source::{Source, SourceError};
use std::collections::BTreeMap;

/// Deepest nesting of calls.
const DEEPEST: usize = 10;
/// Most lines carried out inside subprograms: a file of a few lines must not keep anybody waiting.
const MOST_CALLED: u64 = 1_000_000;
/// Most labels of subprograms that are remembered.
const MOST_LABELS: usize = 100_000;

/// How following ended.
#[derive(Clone, Debug, PartialEq)]
pub struct Followed {
    /// Lines read, those of calls again each time.
    pub lines: u64,
    /// Blocks with words carried out.
    pub blocks: u64,
    /// Whether M2 or M30 was reached.
    pub ended: bool,
    /// Percent signs seen.
    pub percents: u32,
    /// Whether some block begins with a stroke, so that the switch matters.
    pub deletable: bool,
    /// Line ends seen.
    pub ends: Ends,
    /// The modal state at the end.
    pub setting: Setting,
}

struct Frame {
    back: Place,
    start: Place,
    left: u32,
}

/// Follows a program.
pub fn follow<S: Source, O: Observer>(
    source: &mut S,
    dialect: &Dialect,
    switches: Switches,
    observer: &mut O,
) -> Result<Followed, SourceError> {
    let mut machine = Machine::new(dialect);
    let mut block = Block::default();
    let mut followed = Followed {
        lines: 0,
        blocks: 0,
        ended: false,
        percents: 0,
        deletable: false,
        ends: Ends::default(),
        setting: Setting::default(),
    };
    let mut lines = Lines::new(source);
    let mut frames: Vec<Frame> = Vec::new();
    let mut labels: Option<BTreeMap<u32, Place>> = None;
    let mut called: u64 = 0;
    let mut started = false;
    loop {
        let line = lines.line();
        let Some(window) = lines.window()? else {
            break;
        };
        let length = lex::line(window, &machine.parameters, &mut block);
        let text = window.get(..length).unwrap_or_default();
        followed.lines += 1;
        if length >= lines::LONGEST {
            block.lose(FaultKind::EndlessLine, 0, 1);
        }
        let at = At {
            line,
            number: block.number,
            text,
        };
        let mut next = Next::On;
        if block.percent {
            followed.percents += 1;
            if followed.percents == 1 && started {
                say(FaultKind::Percent, at, observer);
            } else if followed.percents > 1 {
                // What follows the second percent sign is not read.
                break;
            }
        }
        followed.deletable |= block.deletable;
        if !(block.is_empty() || block.deletable && switches.block_delete) {
            started |= !block.percent;
            followed.blocks += u64::from(!block.words.is_empty());
            next = machine.block(&block, at, observer);
        }
        if !frames.is_empty() {
            called += 1;
        }
        match next {
            Next::On => lines.advance(length)?,
            Next::End => {
                followed.ended = true;
                lines.advance(length)?;
                break;
            }
            Next::Call { label, times } => {
                // The line is lent from the buffer, which the search for the label uses too.
                let text = text.to_vec();
                let at = At {
                    line,
                    number: block.number,
                    text: &text,
                };
                lines.advance(length)?;
                let back = lines.place();
                if labels.is_none() {
                    labels = Some(find_labels(&mut lines)?);
                }
                let start = labels.as_ref().and_then(|l| l.get(&label)).copied();
                lines.go_to(back);
                match start {
                    Some(start) if frames.len() < DEEPEST && called < MOST_CALLED => {
                        if times > 0 {
                            frames.push(Frame {
                                back,
                                start,
                                left: times - 1,
                            });
                            lines.go_to(start);
                        }
                    }
                    Some(_) => {
                        // Nothing more can be said, and what is left may take for ever.
                        say(FaultKind::TooMuch, at, observer);
                        machine.lose(Why::FlowControl, at, observer);
                        break;
                    }
                    None => {
                        say(FaultKind::NoSuchSubprogram, at, observer);
                        machine.lose(Why::FlowControl, at, observer);
                    }
                }
            }
            Next::Return => match frames.last_mut() {
                Some(frame) if frame.left > 0 && called < MOST_CALLED => {
                    frame.left -= 1;
                    let start = frame.start;
                    lines.go_to(start);
                }
                Some(frame) => {
                    let back = frame.back;
                    if frame.left > 0 {
                        say(FaultKind::TooMuch, at, observer);
                        machine.lose(Why::FlowControl, at, observer);
                        break;
                    }
                    frames.pop();
                    lines.go_to(back);
                }
                None => {
                    // In the main program it starts all over, for ever.
                    say(FaultKind::FlowControl, at, observer);
                    machine.lose(Why::FlowControl, at, observer);
                    lines.advance(length)?;
                }
            },
        }
    }
    followed.ends = lines.ends();
    if !frames.is_empty() && !followed.ended {
        let at = At {
            line: lines.line(),
            number: None,
            text: &[],
        };
        say(FaultKind::CutOff, at, observer);
    }
    tail(&mut lines, &mut followed, labels.is_some(), observer)?;
    followed.setting = machine.setting;
    Ok(followed)
}

fn say<O: Observer>(kind: FaultKind, at: At<'_>, observer: &mut O) {
    let span = 0..u32::try_from(at.text.len()).unwrap_or(u32::MAX);
    observer.fault(&Fault { kind, span }, at);
}

/// What stands behind the end: nothing, a percent sign, subprograms, or what was left of another program.
fn tail<S: Source, O: Observer>(
    lines: &mut Lines<'_, S>,
    followed: &mut Followed,
    called: bool,
    observer: &mut O,
) -> Result<(), SourceError> {
    let parameters = Parameters::default();
    let mut block = Block::default();
    let mut said = false;
    while followed.percents != 2 {
        let line = lines.line();
        let Some(window) = lines.window()? else {
            break;
        };
        let length = lex::line(window, &parameters, &mut block);
        let text = window.get(..length).unwrap_or_default();
        if block.percent {
            followed.percents += 1;
        } else if !block.is_empty() && !said {
            // Subprograms stand behind the end of the main program.
            said = true;
            if !(block.label.is_some() && called) {
                let at = At {
                    line,
                    number: block.number,
                    text,
                };
                say(FaultKind::AfterEnd, at, observer);
            }
        }
        if said && followed.percents != 1 {
            break;
        }
        lines.advance(length)?;
    }
    if followed.percents == 1 {
        let at = At {
            line: lines.line(),
            number: None,
            text: &[],
        };
        say(FaultKind::Percent, at, observer);
    }
    if !followed.ended && followed.percents < 2 && followed.ends.missing {
        let at = At {
            line: lines.line().saturating_sub(1),
            number: None,
            text: &[],
        };
        say(FaultKind::CutOff, at, observer);
    }
    Ok(())
}

/// Where every label stands: the line behind it begins the subprogram, words on the label's own line are part of it.
fn find_labels<S: Source>(lines: &mut Lines<'_, S>) -> Result<BTreeMap<u32, Place>, SourceError> {
    lines.go_to(Place { offset: 0, line: 1 });
    let parameters = Parameters::default();
    let mut block = Block::default();
    let mut labels = BTreeMap::new();
    while labels.len() < MOST_LABELS {
        let place = lines.place();
        let Some(window) = lines.window()? else {
            break;
        };
        let length = lex::line(window, &parameters, &mut block);
        if let Some(label) = block.label {
            labels.entry(label).or_insert(place);
        }
        lines.advance(length)?;
    }
    Ok(labels)
}
