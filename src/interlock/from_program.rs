//! Steps that the examination of the program answers: the answer is taken from what was found in the program, checked
//! against the step's limits as if it were typed, and recorded with the program as its source.

use super::answer::{Answer, Origin};
use super::answering;
use super::command::GivenAnswer;
use super::decide::Decided;
use super::event::Event;
use super::examined::Found;
use super::instance::Instance;
use super::recording::record;
use super::refusal::Refusal;
use super::sequence::SequencePosition;
use super::state::State;
use crate::procedure::Kind;
use crate::procedure::program_facts::ProgramFact;

impl State {
    /// The fact of the program that answers `at`, and what the examination found of it. The second is `None` where the
    /// program is not given yet or was not examined; the whole is `None` for every other step.
    pub(crate) fn fact_for(&self, at: &Instance) -> Option<(ProgramFact, Option<&Found>)> {
        let fact = self.step(at)?.from_program?.fact;
        let examined = self.examined();
        Some((fact, examined.and_then(|e| e.found_of(fact))))
    }

    /// The id of the program step.
    pub(crate) fn program_step(&self) -> Option<&str> {
        let mut steps = self.procedure.steps();
        let program = steps.find(|s| matches!(s.kind, Kind::Program { .. }))?;
        Some(&program.id)
    }

    /// Whether the examination answers `at`, so that nobody is asked.
    pub(crate) fn is_from_program(&self, at: &Instance) -> bool {
        let found = self.fact_for(at).and_then(|(_, found)| found);
        found.is_some_and(|found| !matches!(found, Found::Doubtful { .. }))
    }
}

/// Takes the answer of a step from the program.
pub(super) fn taken(state: &State, place: &SequencePosition, reason: Option<&str>) -> Decided {
    let at = place.instance();
    let Some((fact, Some(found))) = state.fact_for(&at) else {
        return Err(Refusal::WrongKind);
    };
    let mut events = match (found, &place.step.kind) {
        (Found::Against { code, line }, _) => {
            return Err(Refusal::AgainstProgram {
                what: fact.key(),
                code: code.clone(),
                line: *line,
            });
        }
        (Found::So, Kind::Confirm { answer, .. }) => {
            record(state, &at, Answer::Word(answer.clone()), None)
        }
        (Found::So | Found::Doubtful { .. }, _) => return Err(Refusal::WrongKind),
        (Found::Word(word), _) => {
            let said = GivenAnswer::Word(word.clone());
            answering::given(state, place, &said, reason, false)?
        }
        (Found::Quantity(q), _) => {
            answering::given(state, place, &GivenAnswer::Quantity(*q), reason, false)?
        }
    };
    for event in &mut events {
        if let Event::Answered { at: of, from, .. } = event
            && *of == at
        {
            *from = Some(Origin::Program);
        }
    }
    Ok(events)
}

#[cfg(test)]
mod tests {
    use super::super::answer::{Answer, Origin};
    use super::super::command::{Command, GivenAnswer};
    use super::super::event::Event;
    use super::super::examined::{Examined, Found, FoundFact, Judged};
    use super::super::refusal::Refusal;
    use super::super::testing::{TINY, TestRun, at, q};
    use crate::fingerprint::Fingerprint;
    use crate::procedure::program_facts::ProgramFact;
    use crate::program::vouched::DoubtReason;

    /// Steps that the program answers, placed after the program step of the tiny procedure.
    const ANSWERED: &str = "
      - read: z
        title: Its lowest Z
        why: It is on the plane.
        quantity: length
        from program: lowest z
        must: { at most: 1 mm }
        expect: { at most: 0 mm }
      - confirm: ends
        title: Its end
        why: The next move drags the cutter.
        answer: lifted
        wrong: [stays down]
        from program: ends
";

    fn examined(z: Found, ends: Found) -> Examined {
        let facts = [(ProgramFact::LowestZ, z), (ProgramFact::Ends, ends)];
        Examined {
            verdict: Judged::Agrees,
            found: Vec::new(),
            units: Vec::new(),
            work_offsets: Vec::new(),
            length_offsets: Vec::new(),
            speeds: Vec::new(),
            feeds: Vec::new(),
            lowest_z: None,
            facts: facts.map(|(fact, found)| FoundFact { fact, found }).into(),
            seconds: None,
        }
    }

    fn gives(rig: &mut TestRun, examined: Option<Examined>) {
        let said = GivenAnswer::File {
            path: "a.nc".into(),
            fingerprint: rig.program.unwrap(),
            bytes: 9,
            examined: examined.map(Box::new),
        };
        rig.say(at("nc"), said).unwrap();
    }

    fn loaded(examined: Option<Examined>) -> TestRun {
        let text = TINY.replacen(
            "        rests on: [cutter]\n",
            &format!("        rests on: [cutter]{ANSWERED}"),
            1,
        );
        let mut rig = TestRun::of(&text);
        rig.word(at("cutter"), "c12").unwrap();
        rig.word(at("eyes"), "worn").unwrap();
        rig.word(at("home"), "homed").unwrap();
        gives(&mut rig, examined);
        rig
    }

    fn z(value: &str) -> Found {
        Found::Quantity(q(value))
    }

    fn take(rig: &mut TestRun, step: &str, reason: Option<&str>) -> Result<Vec<Event>, Refusal> {
        rig.try_do(Command::TakeFromProgram {
            at: at(step),
            accept: reason.map(str::to_owned),
        })
    }

    fn doubt() -> Found {
        Found::Doubtful {
            why: DoubtReason::NotFollowed,
            line: Some(7),
            block: "M98 P1".to_owned(),
        }
    }

    #[test]
    fn what_is_vouched_for_is_taken_and_says_where_it_is_from() {
        let mut rig = loaded(Some(examined(z("-0.1"), Found::So)));
        assert!(rig.state.is_from_program(&at("z")) && !rig.state.is_from_program(&at("home")));
        assert_eq!(rig.number(at("z"), "-0.1"), Err(Refusal::ReadInProgram));
        take(&mut rig, "z", None).unwrap();
        take(&mut rig, "ends", None).unwrap();
        let given = |step: &str| {
            let given = &rig.state.answers[&at(step)];
            (given.answer.clone(), given.from)
        };
        assert_eq!(given("z"), (Answer::Quantity(q("-0.1")), Origin::Program));
        assert_eq!(
            given("ends"),
            (Answer::Word("lifted".into()), Origin::Program)
        );
        // The person goes on answering from where they are.
        assert_eq!(rig.state.origin, Origin::Terminal);
        assert!(!rig.state.from_file);
        assert_eq!(take(&mut rig, "home", None), Err(Refusal::WrongKind));
    }

    #[test]
    fn limits_judge_what_is_read_as_if_it_were_typed() {
        let mut rig = loaded(Some(examined(z("0.5"), Found::So)));
        assert!(matches!(take(&mut rig, "z", None), Err(Refusal::Soft(_))));
        let events = take(&mut rig, "z", Some("the zero is lower")).unwrap();
        assert!(events.iter().any(|e| matches!(e, Event::Accepted { .. })));
        let mut rig = loaded(Some(examined(z("1.5"), Found::So)));
        let refused = take(&mut rig, "z", Some("all the same"));
        assert!(matches!(refused, Err(Refusal::Hard(_))), "{refused:?}");
    }

    #[test]
    fn a_program_that_is_against_it_cannot_be_talked_round() {
        let against = Found::Against {
            code: "end-low".into(),
            line: None,
        };
        let mut rig = loaded(Some(examined(z("0"), against)));
        take(&mut rig, "z", None).unwrap();
        for reason in [None, Some("I lift it by hand")] {
            let refused = take(&mut rig, "ends", reason);
            assert!(matches!(refused, Err(Refusal::AgainstProgram { .. })));
        }
        assert_eq!(rig.word(at("ends"), "lifted"), Err(Refusal::ReadInProgram));
    }

    #[test]
    fn what_is_not_vouched_for_is_asked() {
        for examined in [None, Some(examined(doubt(), doubt()))] {
            let mut rig = loaded(examined);
            assert!(!rig.state.is_from_program(&at("z")));
            assert_eq!(take(&mut rig, "z", None), Err(Refusal::WrongKind));
            rig.number(at("z"), "-0.2").unwrap();
            assert_eq!(rig.state.answers[&at("z")].from, Origin::Terminal);
        }
    }

    /// A signature covers where an answer is from, and a changed program ends what was read in it.
    #[test]
    fn what_was_read_is_signed_over_and_ends_with_the_program() {
        let digest = |rig: &TestRun| rig.state.digest_before(&at("swept"));
        let mut read = loaded(Some(examined(z("-0.1"), doubt())));
        let mut typed = loaded(Some(examined(doubt(), doubt())));
        take(&mut read, "z", None).unwrap();
        typed.number(at("z"), "-0.1").unwrap();
        let mut same = typed.state.clone();
        same.answers
            .insert(at("nc"), read.state.answers[&at("nc")].clone());
        let of_typed = same.digest_before(&at("swept"));
        assert_ne!(digest(&read), of_typed);
        read.go(Command::LookAtProgram {
            program: Some(Fingerprint::of("another")),
        });
        assert!(!read.state.answers.contains_key(&at("z")));
        read.program = Some(Fingerprint::of("another"));
        gives(&mut read, Some(examined(z("-0.3"), doubt())));
        take(&mut read, "z", None).unwrap();
        assert_eq!(
            read.state.answer(&at("z")),
            Some(&Answer::Quantity(q("-0.3")))
        );
    }
}
