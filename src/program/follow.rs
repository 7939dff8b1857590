//! Follows a program from its first line to its end, including subprograms.

use super::block::Block;
use super::dialect::{Dialect, PanelSwitches};
use super::expr::Parameters;
use super::fact::UnknownReason;
use super::fault::{Fault, FaultKind};
use super::finding::OwnedLocation;
use super::lex;
use super::lines::{self, Ends, Lines, ReturnPoint};
use super::machine::{Machine, Next};
use super::motion::FileLocation;
use super::observer::Observer;
use super::program_event::ProgramEventKind;
use super::setting::Setting;
use super::source::{Source, SourceError};
use std::collections::BTreeMap;

/// Deepest nesting of calls.
const DEEPEST: usize = 10;
/// Most lines carried out inside subprograms: a file of a few lines must not run for ever.
const MOST_CALLED: u64 = 1_000_000;
/// Most subprogram labels that are stored.
const MOST_LABELS: usize = 100_000;

/// The result of following a program.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Followed {
    /// Lines read; lines of a called subprogram count again at each call.
    pub lines: u64,
    /// Blocks with words that were carried out.
    pub blocks: u64,
    /// Whether M2 or M30 was reached.
    pub ended: bool,
    /// Number of percent signs.
    pub percents: u32,
    /// The location of the first block with a slash, if any, so that the switch matters.
    pub deletable: Option<OwnedLocation>,
    /// The kinds of line ends.
    pub ends: Ends,
    /// The modal state at the end.
    pub setting: Setting,
}

/// The byte order mark that editors put before text in UTF-8.
const MARK: &[u8] = b"\xef\xbb\xbf";

struct Frame {
    back: ReturnPoint,
    start: ReturnPoint,
    left: u32,
}

/// Follows a program.
pub(crate) fn follow<S: Source, O: Observer>(
    source: &mut S,
    dialect: &Dialect,
    switches: PanelSwitches,
    observer: &mut O,
) -> Result<Followed, SourceError> {
    let mut machine = Machine::new(dialect);
    let mut block = Block::default();
    let mut followed = Followed {
        lines: 0,
        blocks: 0,
        ended: false,
        percents: 0,
        deletable: None,
        ends: Ends::default(),
        setting: Setting::default(),
    };
    let mut lines = Lines::new(source);
    let mut frames: Vec<Frame> = Vec::new();
    let mut labels: Option<BTreeMap<u32, ReturnPoint>> = None;
    let mut called: u64 = 0;
    let mut started = false;
    let mut numbers = Numbers::default();
    let mut middle: Option<OwnedLocation> = None;
    loop {
        let line = lines.line();
        let Some(window) = lines.window()? else {
            break;
        };
        // A byte order mark is not part of the first line.
        let mark = if line == 1 && window.starts_with(MARK) {
            MARK.len()
        } else {
            0
        };
        let rest = window.get(mark..).unwrap_or_default();
        let read = lex::line(rest, &machine.parameters, &mut block);
        let text = rest.get(..read).unwrap_or_default();
        let length = mark + read;
        followed.lines += 1;
        if length >= lines::LONGEST {
            block.lose(FaultKind::EndlessLine, 0, 1);
        }
        let at = FileLocation {
            line,
            number: block.number,
            text,
        };
        if mark > 0 && frames.is_empty() {
            report(FaultKind::ByteOrderMark, at, observer);
        }
        if let Some(number) = block.number
            && frames.is_empty()
            && numbers.repeats(number)
        {
            report(FaultKind::NumberRepeated, at, observer);
        }
        if let Some((start, end)) = block.comment {
            machine.report(ProgramEventKind::Comment { start, end }, at, observer);
        }
        let mut next = Next::On;
        if block.percent {
            followed.percents += 1;
            if followed.percents == 1 && started {
                report(FaultKind::Percent, at, observer);
            } else if followed.percents > 1 {
                // Text after the second percent sign is not read.
                middle = Some(OwnedLocation::of(at));
                lines.advance(length)?;
                break;
            }
        }
        if block.deletable && followed.deletable.is_none() {
            followed.deletable = Some(OwnedLocation::of(at));
        }
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
                // The line is borrowed from the buffer, which the search for the label uses too.
                let text = text.to_vec();
                let at = FileLocation {
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
                        // Nothing more can be concluded, and the rest may take for ever.
                        report(FaultKind::TooMuch, at, observer);
                        machine.lose(UnknownReason::FlowControl, at, observer);
                        break;
                    }
                    None => {
                        report(FaultKind::NoSuchSubprogram, at, observer);
                        machine.lose(UnknownReason::FlowControl, at, observer);
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
                        report(FaultKind::TooMuch, at, observer);
                        machine.lose(UnknownReason::FlowControl, at, observer);
                        break;
                    }
                    frames.pop();
                    lines.go_to(back);
                }
                None => {
                    // In the main program it starts again from the beginning, for ever.
                    report(FaultKind::FlowControl, at, observer);
                    machine.lose(UnknownReason::FlowControl, at, observer);
                    lines.advance(length)?;
                }
            },
        }
    }
    followed.ends = lines.ends();
    if !frames.is_empty() && !followed.ended {
        let at = FileLocation {
            line: lines.line(),
            number: None,
            text: &[],
        };
        report(FaultKind::CutOff, at, observer);
    }
    if let Some(location) = &middle
        && !followed.ended
        && words_follow(&mut lines)?
    {
        report(FaultKind::PercentMiddle, location.at(), observer);
    }
    tail(&mut lines, &mut followed, labels.is_some(), observer)?;
    followed.setting = machine.setting;
    Ok(followed)
}

/// Whether the rest of the file has a block with words.
fn words_follow<S: Source>(lines: &mut Lines<'_, S>) -> Result<bool, SourceError> {
    let parameters = Parameters::default();
    let mut block = Block::default();
    while let Some(window) = lines.window()? {
        let length = lex::line(window, &parameters, &mut block);
        if !block.words.is_empty() {
            return Ok(true);
        }
        lines.advance(length)?;
    }
    Ok(false)
}

/// The N words seen so far, one bit each.
#[derive(Default)]
struct Numbers {
    seen: Vec<u64>,
}

impl Numbers {
    /// Whether the number was there before; records it.
    fn repeats(&mut self, number: u32) -> bool {
        if number > 99_999 {
            return false;
        }
        let (word, bit) = ((number / 64) as usize, 1_u64 << (number % 64));
        if self.seen.is_empty() {
            self.seen.resize(100_000 / 64 + 1, 0);
        }
        self.seen.get_mut(word).is_some_and(|seen| {
            let before = *seen & bit != 0;
            *seen |= bit;
            before
        })
    }
}

fn report<O: Observer>(kind: FaultKind, at: FileLocation<'_>, observer: &mut O) {
    let span = 0..u32::try_from(at.text.len()).unwrap_or(u32::MAX);
    observer.fault(&Fault { kind, span }, at);
}

/// Examines the text after the program's end: nothing, a percent sign, subprograms, or a rest of another program.
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
            // Subprograms follow the end of the main program.
            said = true;
            if !(block.label.is_some() && called) {
                let at = FileLocation {
                    line,
                    number: block.number,
                    text,
                };
                report(FaultKind::AfterEnd, at, observer);
            }
        }
        if said && followed.percents != 1 {
            break;
        }
        lines.advance(length)?;
    }
    if followed.percents == 1 {
        let at = FileLocation {
            line: lines.line(),
            number: None,
            text: &[],
        };
        report(FaultKind::Percent, at, observer);
    }
    if !followed.ended && followed.percents < 2 && followed.ends.missing {
        let at = FileLocation {
            line: lines.line().saturating_sub(1),
            number: None,
            text: &[],
        };
        report(FaultKind::CutOff, at, observer);
    }
    Ok(())
}

/// The position of every label: the line after it begins the subprogram; words on the label's own line are part of it.
fn find_labels<S: Source>(
    lines: &mut Lines<'_, S>,
) -> Result<BTreeMap<u32, ReturnPoint>, SourceError> {
    lines.go_to(ReturnPoint { offset: 0, line: 1 });
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
