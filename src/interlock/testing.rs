//! A run that is driven by commands, for the tests in this folder.

use super::answer::{Origin, SigningMethod};
use super::command::{Command, GivenAnswer, Signing};
use super::decide::decide;
use super::elsewhere::{Elsewhere, OpenRun};
use super::event::{Event, RunStart};
use super::instance::Instance;
use super::refusal::Refusal;
use super::state::State;
use super::stopping::{Cause, CutEnd, MachineContinuity};
use crate::diagnostics::Findings;
use crate::fingerprint::Fingerprint;
use crate::plate::Reading;
use crate::procedure::{Kind, Options, ShopList, Step, read, shop};
use crate::quantity::moment::Moment;
use crate::quantity::parse::{DecimalMark, quantity};
use crate::quantity::{Length, Quantity, Unit, UnitSystem};
use std::sync::Arc;

/// The small procedure's text.
pub(crate) const SMALL: &str = include_str!("../../tests/procedures/small.yaml");

/// The tiny procedure's text.
pub(crate) const TINY: &str = include_str!("../../tests/procedures/tiny.yaml");

pub(crate) struct TestRun {
    pub state: State,
    pub now: Moment,
    pub program: Option<Fingerprint>,
    pub events: Vec<Event>,
}

pub(crate) fn q(text: &str) -> Quantity {
    let mm = Unit::find("mm").unwrap();
    let ratio = Unit::usual(crate::quantity::Dimension::RATIO, UnitSystem::Mm).unwrap();
    quantity(text, &mm, DecimalMark::Point)
        .or_else(|_| quantity(text, &ratio, DecimalMark::Point))
        .unwrap()
        .quantity
}

pub(crate) fn length(text: &str) -> Length {
    Length::exactly(q(text)).unwrap()
}

pub(crate) fn at(step: &str) -> Instance {
    Instance::new(step, None)
}

pub(crate) fn pass(step: &str, n: u32) -> Instance {
    Instance::new(step, Some(n))
}

impl TestRun {
    pub(crate) fn new() -> Self {
        Self::of(SMALL)
    }

    /// A run of another procedure text than the small procedure's.
    pub(crate) fn of(procedure: &str) -> Self {
        let mut findings = Findings::default();
        let procedure = read::read(procedure, &mut findings);
        let shop = shop::read(
            include_str!("../../tests/procedures/shop.yaml"),
            &mut findings,
        );
        assert!(findings.is_empty(), "{:?}", findings.sorted());
        let now = Moment::from_ms(1_800_000_000_000).unwrap();
        let begun = RunStart {
            run: "r1".into(),
            rehearsal: false,
            answers_file: None,
            from: None,
            procedure: Fingerprint::of("p"),
            procedure_id: "small".into(),
            procedure_version: "1".into(),
            shop: Fingerprint::of("s"),
            machine: "north".into(),
            operator: "JT".into(),
            unit: UnitSystem::Mm,
            tool: "test".into(),
        };
        Self {
            state: State::new(
                Arc::new(procedure.unwrap()),
                Arc::new(shop.unwrap()),
                begun,
                now,
            ),
            now,
            program: Some(Fingerprint::of("nc")),
            events: Vec::new(),
        }
    }

    pub(crate) fn pass_time(&mut self, ms: i64) {
        self.now = Moment::from_ms(self.now.as_ms() + ms).unwrap();
    }

    pub(crate) fn try_do(&mut self, command: Command) -> Result<Vec<Event>, Refusal> {
        let events = decide(&self.state, self.now, &command)?;
        for event in &events {
            self.state.apply(self.now, event);
            // Every recorded event must load as it was stored.
            let text = serde_json::to_string(event).unwrap();
            assert_eq!(serde_json::from_str::<Event>(&text).unwrap(), *event);
        }
        self.events.extend(events.clone());
        self.pass_time(1000);
        Ok(events)
    }

    pub(crate) fn go(&mut self, command: Command) -> Vec<Event> {
        let shown = format!("{command:?}");
        self.try_do(command)
            .unwrap_or_else(|r| panic!("{shown}: {}", r.words(&self.state.show())))
    }

    pub(crate) fn say(&mut self, of: Instance, said: GivenAnswer) -> Result<Vec<Event>, Refusal> {
        self.try_do(Command::Answer {
            at: of,
            said,
            accept: None,
        })
    }

    pub(crate) fn word(&mut self, of: Instance, word: &str) -> Result<Vec<Event>, Refusal> {
        let plates = |s: &Step| matches!(&s.kind, Kind::Choose { options, .. } if *options == Options::From(ShopList::Plates));
        if self.state.step(&of).is_some_and(plates) {
            return self.plate(of, word, Vec::new());
        }
        self.say(of, GivenAnswer::Word(word.into()))
    }

    /// Answers with a plate that these other open runs use.
    pub(crate) fn plate(
        &mut self,
        of: Instance,
        id: &str,
        others: Vec<OpenRun>,
    ) -> Result<Vec<Event>, Refusal> {
        let id = id.into();
        self.say(of, GivenAnswer::Plate { id, others })
    }

    pub(crate) fn number(&mut self, of: Instance, text: &str) -> Result<Vec<Event>, Refusal> {
        self.say(of, GivenAnswer::Quantity(q(text)))
    }

    pub(crate) fn touch(
        &mut self,
        of: Instance,
        point: &str,
        readout: &str,
    ) -> Result<Vec<Event>, Refusal> {
        self.try_do(Command::Touch {
            at: of,
            point: point.into(),
            reading: Reading {
                readout: Some(length(readout)),
                machine: None,
            },
            closing: false,
            place: None,
            accept: None,
        })
    }

    pub(crate) fn work_out(&mut self, of: Instance) -> Quantity {
        let events = self.go(Command::WorkOut {
            at: of,
            accept: None,
        });
        match events.last() {
            Some(Event::Answered {
                answer: super::answer::Answer::Quantity(q),
                ..
            }) => *q,
            other => panic!("{other:?}"),
        }
    }

    pub(crate) fn sign(&mut self, of: Instance) -> Result<Vec<Event>, Refusal> {
        self.try_do(Command::Sign {
            at: of,
            initials: "jt".into(),
            means: SigningMethod::TypedWithCode,
            with: Signing::default(),
        })
    }

    pub(crate) fn load_program(&mut self) {
        let said = GivenAnswer::File {
            path: "a.nc".into(),
            fingerprint: self.program.unwrap(),
            bytes: 9,
            examined: None,
        };
        self.say(at("nc"), said).unwrap();
    }

    /// Answers everything up to the touch-off.
    pub(crate) fn prepare(&mut self) {
        self.word(at("cutter"), "c12").unwrap();
        self.word(at("plate"), "bed-a").unwrap();
        self.word(at("eyes"), "worn").unwrap();
        self.word(at("home"), "homed").unwrap();
        self.number(at("speed"), "3000 rpm").unwrap();
        self.number(at("warm"), "5 s").unwrap();
        self.load_program();
    }

    /// Makes the touches of the worked example.
    pub(crate) fn touch_off(&mut self) {
        for (point, reading) in [
            ("P1", "0"),
            ("P2", "-0.12"),
            ("P3", "0.31"),
            ("P4", "0.08"),
            ("P5", "-0.05"),
        ] {
            self.touch(at("corners"), point, reading).unwrap();
            if reading.starts_with('-') {
                self.go(Command::Zeroed {
                    at: at("corners"),
                    shows: q("0"),
                });
            }
        }
        self.go(Command::FinishTouches { at: at("corners") });
        self.work_out(at("found"));
    }

    /// Answers a roughing pass up to its sign-off. Returns the plane and the entry.
    pub(crate) fn rough(
        &mut self,
        n: u32,
        clearance: &str,
        standing: &str,
    ) -> (Quantity, Quantity) {
        self.number(pass("clearance", n), clearance).unwrap();
        let plane = self.work_out(pass("plane", n));
        self.work_out(pass("over_steel", n));
        self.number(pass("standing", n), standing).unwrap();
        let zero = Quantity::from(self.state.marks.frame().zero.unwrap());
        let entry = zero.plus(q(standing)).unwrap().minus(plane).unwrap();
        self.say(pass("entry", n), GivenAnswer::Quantity(entry))
            .unwrap();
        (plane, entry)
    }

    pub(crate) fn release(&mut self) -> Result<Vec<Event>, Refusal> {
        let program = self.program;
        self.try_do(Command::Release {
            program,
            people: Arc::default(),
        })
    }

    pub(crate) fn start(&mut self) -> Result<Vec<Event>, Refusal> {
        let program = self.program;
        self.try_do(Command::Start {
            program,
            people: Arc::default(),
        })
    }

    pub(crate) fn cut(&mut self, sign_at: Instance) {
        self.sign(sign_at).unwrap();
        self.release().unwrap();
        self.start().unwrap();
        self.go(ended(CutEnd::Finished));
    }
}

/// The command that records how the cut ended. A stopped cut has the cause "planned".
pub(crate) fn ended(how: CutEnd) -> Command {
    Command::EndCut {
        how,
        cause: Cause::Planned,
        said: String::new(),
    }
}

/// The command that resumes the run, with the machine as it was.
pub(crate) fn resume(by: &str) -> Command {
    Command::Resume {
        by: by.into(),
        from: Origin::Terminal,
        kept: Some(MachineContinuity::Kept),
        elsewhere: Elsewhere::default(),
    }
}

/// A run of this procedure in which everything up to the first sign-off is answered.
pub(super) fn ready_with(procedure: &str) -> TestRun {
    let mut rig = TestRun::of(procedure);
    rig.prepare();
    rig.touch_off();
    rig.rough(1, "0", "0");
    rig
}

/// The same of the small procedure.
pub(super) fn ready() -> TestRun {
    ready_with(SMALL)
}

/// Why cycle start is held.
pub(super) fn reasons(rig: &TestRun) -> Vec<super::gate::HoldReason> {
    match super::gate::start(
        &rig.state,
        rig.now,
        rig.program,
        &crate::people::People::default(),
        super::gate::Requester::Holder,
    ) {
        Ok(_) => Vec::new(),
        Err(holds) => holds.into_iter().map(|h| h.why).collect(),
    }
}
