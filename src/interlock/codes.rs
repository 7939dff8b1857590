//! Decides the active codes of a control: read, completed group by group, and compared with the program, with the
//! procedure's limits, and with the codes read before.
//!
//! A line that leaves groups open is stored as it is, so that nothing typed is lost, and the open groups are asked for
//! alone. What is compared is the meaning: G21 and G71 are one unit, G49 and H0 are one length offset.

use super::answer::{AcceptedCode, Answer, CodesRead};
use super::codes_refusal::{Against, CodesRefusal, Concern, Difference};
use super::decide::Decided;
use super::event::Event;
use super::examined::Judged;
use super::instance::Instance;
use super::recording::record;
use super::refusal::Refusal;
use super::state::State;
use crate::procedure::dialect::MachineDialect;
use crate::procedure::formula::Value;
use crate::procedure::model::{Codes, CodesLimit};
use crate::procedure::program_facts::METRIC;
use crate::procedure::{ShopList, Step};
use crate::program::active::{self, ActiveCodes, ActiveGroup, LineFault, Meaning};
use crate::quantity::parse::{DecimalMark, quantity};
use crate::quantity::{Unit, UnitSystem};

fn refused(refusal: CodesRefusal) -> Refusal {
    Refusal::Codes(Box::new(refusal))
}

/// Answers a codes step with a line, or with the rest of one.
pub(super) fn answer(
    state: &State,
    at: &Instance,
    codes: &Codes,
    typed: &str,
    reason: Option<&str>,
) -> Decided {
    let before = state.codes_so_far(at).cloned();
    let line = state
        .read_codes(codes, before.as_ref(), typed)
        .map_err(|f| refused(CodesRefusal::Line(f)))?;
    let again = |so_far: &CodesRead| {
        let known = line.groups.keys().filter(|g| so_far.of(**g).is_some());
        known.count() > 1
    };
    // A whole line typed once more stands for itself.
    let so_far = before.filter(|so_far| !again(so_far)).unwrap_or_default();
    let mut read = so_far.with(typed, &line);
    let (hard, mut soft) = state.judge_codes(at, codes, &read)?;
    if !hard.is_empty() {
        return Err(refused(CodesRefusal::Differs(hard)));
    }
    // What was accepted before is accepted as long as it is what it was.
    read.accepted
        .retain(|a| soft.iter().any(|c| c.limit() == a.limit));
    soft.retain(|c| read.accepted.iter().all(|a| a.limit != c.limit()));
    if !soft.is_empty() {
        let reason = reason.map(str::trim).filter(|r| !r.is_empty());
        let Some(reason) = reason else {
            return Err(refused(CodesRefusal::Look(soft)));
        };
        read.accepted.extend(soft.iter().map(|c| AcceptedCode {
            limit: c.limit(),
            reason: reason.to_owned(),
        }));
    }
    if !state.groups_to_ask(codes, &read).is_empty() {
        return Ok(vec![Event::CodesTyped {
            at: at.clone(),
            so_far: read,
            by: state.operator.clone(),
            from: Some(state.origin),
        }]);
    }
    let accepted = accepted(state, at, &read.accepted);
    Ok(record(state, at, Answer::Codes(read), accepted))
}

/// The event for all that was accepted with a reason.
fn accepted(state: &State, at: &Instance, all: &[AcceptedCode]) -> Option<Event> {
    let mut reasons: Vec<&str> = Vec::new();
    for accepted in all {
        if !reasons.contains(&accepted.reason.as_str()) {
            reasons.push(&accepted.reason);
        }
    }
    let limits: Vec<&str> = all.iter().map(|a| a.limit.as_str()).collect();
    (!all.is_empty()).then(|| Event::Accepted {
        at: at.clone(),
        limit: limits.join("; "),
        reason: reasons.join("; "),
        by: state.operator.clone(),
        from: Some(state.origin),
    })
}

impl State {
    /// The codes typed at a step that is not complete yet.
    pub fn codes_so_far(&self, at: &Instance) -> Option<&CodesRead> {
        let (of, so_far) = self.codes_so_far.as_ref()?;
        (of == at).then_some(so_far)
    }

    /// Reads a line. Where one group is still to be said, a word or a number alone is its value.
    fn read_codes(
        &self,
        codes: &Codes,
        so_far: Option<&CodesRead>,
        typed: &str,
    ) -> Result<ActiveCodes, LineFault> {
        let asked = so_far.and_then(|so_far| self.groups_to_ask(codes, so_far).into_iter().next());
        match asked.and_then(|group| alone(group, typed)) {
            Some(code) => active::read(&code, &self.meanings()),
            None => active::read(typed, &self.meanings()),
        }
    }

    /// Whether a line would be accepted at a codes step as it is.
    pub(crate) fn accepts_codes(&self, at: &Instance, codes: &Codes, line: &str) -> bool {
        let Ok(read) = active::read(line, &self.meanings()) else {
            return false;
        };
        let read = CodesRead::default().with(line, &read);
        let judged = self.judge_codes(at, codes, &read);
        judged.is_ok_and(|(hard, soft)| hard.is_empty() && soft.is_empty())
    }

    /// The codes to which the control of this run's machine gives another meaning.
    pub fn meanings(&self) -> Vec<Meaning> {
        let machine = self.shop.item(ShopList::Machines, &self.begun.machine);
        machine
            .and_then(|m| m.dialect.as_ref())
            .map(MachineDialect::meanings)
            .unwrap_or_default()
    }

    /// Whether this run's machine uses length offsets.
    fn uses_length_offsets(&self) -> bool {
        let machine = self.shop.item(ShopList::Machines, &self.begun.machine);
        machine.and_then(|m| m.fact("length_offsets")) != Some(&Value::Word("not used".to_owned()))
    }

    /// The groups that must be known and are not, in the order in which they are asked for.
    pub fn groups_to_ask(&self, codes: &Codes, read: &CodesRead) -> Vec<ActiveGroup> {
        let lengths = [ActiveGroup::LengthOffset, ActiveGroup::H];
        let has = |group: ActiveGroup| read.of(group).is_some();
        let no_h = read.of(ActiveGroup::LengthOffset) == Some("G49");
        let mut open: Vec<ActiveGroup> = codes
            .must_show
            .iter()
            .copied()
            .filter(|group| self.uses_length_offsets() || !lengths.contains(group))
            .filter(|group| match group {
                ActiveGroup::Motion => !has(ActiveGroup::Motion) && !has(ActiveGroup::Cycle),
                ActiveGroup::H => !has(ActiveGroup::H) && !no_h,
                group => !has(*group),
            })
            .collect();
        let needs_h = has(ActiveGroup::LengthOffset) && !no_h && !has(ActiveGroup::H);
        if needs_h
            && codes.must_show.contains(&ActiveGroup::LengthOffset)
            && !open.contains(&ActiveGroup::H)
        {
            // Its number stands next to G43.
            open.insert(0, ActiveGroup::H);
        }
        open
    }

    /// The value of a group in formulas; `None` where it is not known.
    pub fn value_of_group(&self, codes: &CodesRead, group: ActiveGroup) -> Option<Value> {
        let word = |text: &str| Some(Value::Word(text.to_owned()));
        let none = match codes.of(ActiveGroup::LengthOffset) {
            Some(code) => code == "G49",
            None => !self.uses_length_offsets() && codes.of(ActiveGroup::H).is_none(),
        };
        let text = match (group, codes.of(group)) {
            (ActiveGroup::H, _) if none => "0",
            (ActiveGroup::LengthOffset, None) if none => "G49",
            // Where only a cycle or its end is shown, that is the motion.
            (ActiveGroup::Motion, None) => codes.of(ActiveGroup::Cycle)?,
            (_, text) => text?,
        };
        let Some((_, dimension)) = group.row().number else {
            return word(text);
        };
        let per_minute = codes
            .of(ActiveGroup::FeedMode)
            .is_none_or(|mode| mode == "G94");
        if group == ActiveGroup::Feed && !per_minute {
            return None;
        }
        let system = match codes.of(ActiveGroup::Unit) {
            Some("inch") => UnitSystem::Inch,
            _ => UnitSystem::Mm,
        };
        let unit = Unit::usual(dimension, system)?;
        let typed = quantity(text, &unit, DecimalMark::Point).ok()?;
        Some(Value::Quantity(typed.quantity))
    }

    /// What is against the codes: what nobody can waive, and what somebody may accept. Groups that are not known yet are
    /// not judged.
    pub fn judge_codes(
        &self,
        at: &Instance,
        codes: &Codes,
        read: &CodesRead,
    ) -> Result<(Vec<Difference>, Vec<Concern>), Refusal> {
        let mut hard = self.against_limit(at, codes, &codes.must, read)?;
        hard.extend(self.against_program(at, codes, read));
        let mut soft: Vec<Concern> = Vec::new();
        for difference in self.against_earlier(at, codes, read) {
            if difference.group.row().moves {
                hard.push(difference);
            } else {
                soft.push(Concern::Unexpected(difference));
            }
        }
        let expected = self.against_limit(at, codes, &codes.expect, read)?;
        soft.extend(expected.into_iter().map(Concern::Unexpected));
        for group in ActiveGroup::ALL {
            let Some(value) = read.of(*group) else {
                continue;
            };
            let named = soft
                .iter()
                .any(|c| matches!(c, Concern::Unexpected(d) if d.group == *group));
            // What the procedure itself needs or expects is not left over.
            let wanted = codes.must.wanted.iter().chain(&codes.expect.wanted);
            let wanted = wanted.filter(|(g, _)| g == group).count() > 0;
            if let Some(does) = group.left_over(value).filter(|_| !named && !wanted) {
                soft.push(Concern::LeftOver(value.to_owned(), does));
            }
        }
        let mut once: Vec<Difference> = Vec::new();
        for difference in hard {
            if !once.iter().any(|d| d.group == difference.group) {
                once.push(difference);
            }
        }
        Ok((once, soft))
    }

    fn against_limit(
        &self,
        at: &Instance,
        codes: &Codes,
        limit: &CodesLimit,
        read: &CodesRead,
    ) -> Result<Vec<Difference>, Refusal> {
        let mut found = Vec::new();
        for (group, formula) in &limit.wanted {
            let Some(value) = self.value_of_group(read, *group) else {
                continue;
            };
            let wanted = self
                .env(at)
                .eval(formula)
                .map_err(|e| Refusal::NoValue(e.to_string()))?;
            let same = match (&value, &wanted) {
                (Value::Quantity(a), Value::Quantity(b)) => {
                    a.compare(*b).is_ok_and(std::cmp::Ordering::is_eq)
                }
                (Value::Word(a), Value::Word(b)) => a == b || a == "mm" && b == METRIC,
                (a, b) => a == b,
            };
            if !same {
                let show = self.show();
                found.push(Difference {
                    group: *group,
                    shown: value.filled(&show),
                    against: Against::Procedure(limit.because.clone()),
                    wanted: (!codes.blind).then(|| wanted.filled(&show)),
                });
            }
        }
        Ok(found)
    }

    /// What differs from the program that was given and examined before.
    fn against_program(&self, at: &Instance, codes: &Codes, read: &CodesRead) -> Vec<Difference> {
        let before = self
            .program()
            .is_some_and(|(program, ..)| self.comes_before(program, at));
        let examined = self
            .examined()
            .filter(|e| before && e.verdict != Judged::CannotVouch);
        let Some(examined) = examined else {
            return Vec::new();
        };
        let units: Vec<String> = examined
            .units
            .iter()
            .map(|unit| {
                if unit == METRIC {
                    "mm".to_owned()
                } else {
                    unit.clone()
                }
            })
            .collect();
        let lengths: Vec<String> = examined
            .length_offsets
            .iter()
            .map(ToString::to_string)
            .collect();
        let shown = |group: ActiveGroup| read.of(group).map(str::to_owned);
        let h = read.effective_h();
        [
            (ActiveGroup::Unit, shown(ActiveGroup::Unit), units, true),
            (
                ActiveGroup::WorkOffset,
                shown(ActiveGroup::WorkOffset),
                examined.work_offsets.clone(),
                true,
            ),
            // One length offset can be active while the program runs, so all that it uses must be that one.
            (ActiveGroup::H, h.map(|h| h.to_string()), lengths, false),
        ]
        .into_iter()
        .filter_map(|(group, shown, program, one_is_enough)| {
            let shown = shown?;
            let fits = if one_is_enough {
                program.is_empty() || program.contains(&shown)
            } else {
                program.iter().all(|p| *p == shown)
            };
            (!fits).then(|| Difference {
                group,
                shown: if group == ActiveGroup::H {
                    format!("H{shown}")
                } else {
                    shown
                },
                against: Against::Program,
                wanted: (!codes.blind).then(|| match group {
                    ActiveGroup::H => program
                        .iter()
                        .map(|h| format!("H{h}"))
                        .collect::<Vec<_>>()
                        .join(", "),
                    _ => program.join(", "),
                }),
            })
        })
        .collect()
    }

    /// What changed since the step that this one repeats.
    fn against_earlier(&self, at: &Instance, codes: &Codes, read: &CodesRead) -> Vec<Difference> {
        let earlier = codes.same_as.as_ref().and_then(|id| self.referred(id, at));
        let Some(earlier) = earlier else {
            return Vec::new();
        };
        let Some(before) = self.answer(&earlier).and_then(Answer::codes) else {
            return Vec::new();
        };
        let title = self
            .step(&earlier)
            .map(|s: &Step| s.title.clone())
            .unwrap_or_default();
        // What the work in between changes by itself says nothing.
        let passing = |group: &ActiveGroup| {
            matches!(
                group,
                ActiveGroup::Motion
                    | ActiveGroup::Spindle
                    | ActiveGroup::Coolant
                    | ActiveGroup::Mist
                    | ActiveGroup::Feed
                    | ActiveGroup::Speed
                    | ActiveGroup::Tool
                    | ActiveGroup::D
                    | ActiveGroup::H
            )
        };
        let mut found: Vec<Difference> = ActiveGroup::ALL
            .iter()
            .filter(|group| !passing(group))
            .filter_map(|group| Some((*group, before.of(*group)?, read.of(*group)?)))
            .filter(|(_, was, is)| was != is)
            .map(|(group, was, is)| Difference {
                group,
                shown: is.to_owned(),
                against: Against::Earlier(title.clone()),
                wanted: (!codes.blind).then(|| was.to_owned()),
            })
            .collect();
        if let (Some(was), Some(is)) = (before.effective_h(), read.effective_h())
            && was != is
        {
            found.push(Difference {
                group: ActiveGroup::H,
                shown: format!("H{is}"),
                against: Against::Earlier(title),
                wanted: (!codes.blind).then(|| format!("H{was}")),
            });
        }
        found
    }

    /// Whether one instance comes before another in the sequence.
    fn comes_before(&self, one: &Instance, other: &Instance) -> bool {
        let places = self.sequence();
        let index = |of: &Instance| places.iter().position(|p| p.instance() == *of);
        index(one).zip(index(other)).is_some_and(|(a, b)| a < b)
    }
}

/// What a word or a number alone means where one group is asked for: a code of it. `None` where it is neither.
fn alone(group: ActiveGroup, typed: &str) -> Option<String> {
    let typed = typed.trim();
    if let Some((letter, _)) = group.row().number {
        let number = typed.chars().all(|c| c.is_ascii_digit() || c == '.');
        return number.then(|| format!("{letter}{typed}"));
    }
    let off = ["none", "off", "not active"]
        .iter()
        .any(|w| typed.eq_ignore_ascii_case(w));
    match group.row().off.filter(|_| off)? {
        // No code is shown while there is no shift; this one ends it.
        "none" => Some("G92.1".to_owned()),
        code => Some(code.to_owned()),
    }
}
