//! A machine that is out of service: somebody saw a state in which it must not be used, for example an emergency stop
//! that stops nothing.
//!
//! Typing another answer does not clear this. No question can be answered and nothing is released until somebody puts
//! the machine back in service with a reason. Where people are registered, this must be a trainer or an owner.

use super::answer::{Origin, Proof};
use super::decide::Decided;
use super::event::Event;
use super::invalidation::{after_lost_position, contradicted, void};
use super::refusal::Refusal;
use super::sequence::SequencePosition;
use super::signing::SignFault;
use super::state::State;
use crate::fingerprint::Fingerprint;
use crate::keys;
use crate::people::{People, Role};
use crate::procedure::Kind;
use serde::{Deserialize, Serialize};

/// The observation that put a machine out of service.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct OutOfService {
    /// The run in which it was seen.
    pub run: String,
    /// The title of the question.
    pub question: String,
    /// The state that was seen.
    pub state: String,
    /// The answer that the question asks for. Typing it does not clear the machine.
    pub good: String,
    /// The initials of the person who saw it.
    pub by: String,
    /// Where the answer came from, in the run in which it was seen. Older records do not have it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<Origin>,
}

/// What must be done first. Every message about the machine shows this text.
pub(crate) const LOCK_OUT: &str = "Do not use the machine. Switch it off, lock it out, and get a competent person. Its manual, local codes and the shop's lock-out rules come first.";

/// What clears the reason to hold.
pub(crate) const CLEARS: &str = "lock the machine out and get a competent person; then put it back in service with a reason in `skimgate walk`, as a trainer or an owner where people are registered";

impl OutOfService {
    /// The observation in one line.
    pub(crate) fn words(&self) -> String {
        let Self {
            question,
            state,
            by,
            run,
            ..
        } = self;
        format!("{question}: `{state}`, seen by {by} in run {run}")
    }
}

/// The events of an answer that means that the machine must not be used. It invalidates the previous answer of the
/// step, the answers that depend on the machine's position (because the machine is switched off), and everything that
/// depends on these.
pub(super) fn found(state: &State, place: &SequencePosition, word: &str, good: &str) -> Vec<Event> {
    let at = place.instance();
    let because = format!("{}: {word}", place.step.title);
    let mut steps = vec![at.clone()];
    steps.extend(state.depending_on(&steps));
    steps.retain(|of| state.answers.contains_key(of));
    for also in [
        contradicted(state, place, word),
        after_lost_position(state, &because),
    ] {
        if let Some(Event::Voided { steps: more, .. }) = also {
            let new: Vec<_> = more.into_iter().filter(|of| !steps.contains(of)).collect();
            steps.extend(new);
        }
    }
    let mut events = vec![Event::OutOfService(OutOfService {
        run: state.begun.run.clone(),
        question: place.step.title.clone(),
        state: word.to_owned(),
        good: good.to_owned(),
        by: state.operator.clone(),
        from: Some(state.origin),
    })];
    events.extend(void(steps, &because));
    events
}

/// The events for a run that learns from the machine's record that the machine is out of service.
pub(super) fn known(state: &State, seen: &OutOfService) -> Vec<Event> {
    if state.out_of_service.is_some() {
        return Vec::new();
    }
    let mut events = vec![Event::OutOfService(OutOfService {
        // No answer of this run says so.
        from: None,
        ..seen.clone()
    })];
    // While a cut is under way this waits until its end is recorded.
    if state.cutting.is_none() {
        events.extend(after_lost_position(state, "the machine is out of service"));
    }
    events
}

/// Puts the machine back in service.
pub(super) fn put_back(
    state: &State,
    (by, reason): (&str, &str),
    signature: Option<&str>,
    people: &People,
) -> Decided {
    let Some(seen) = &state.out_of_service else {
        return Err(Refusal::InService);
    };
    // Perhaps nobody was at the machine in this run, so a new run at a terminal must put it back.
    if state.from_file {
        return Err(Refusal::PutBackFromFile);
    }
    let by = super::answering::initials(by).ok_or(Refusal::NoInitials)?;
    let reason = reason.trim();
    let word = |w: &String| w.eq_ignore_ascii_case(reason);
    let answers = state.procedure.steps().any(|step| {
        matches!(&step.kind, Kind::Confirm { answer, wrong, .. }
            if std::iter::once(answer).chain(wrong).any(word))
    });
    if answers || word(&seen.good) || !reason.chars().any(char::is_alphabetic) {
        return Err(Refusal::NoReason(reason.to_owned()));
    }
    let list = signature.map(|_| people.digest());
    let proof = signature.map(|signature| Proof {
        key: people
            .active(&by)
            .and_then(|l| l.key())
            .unwrap_or_default()
            .to_owned(),
        signature: signature.to_owned(),
        role: people
            .active(&by)
            .and_then(|l| l.person.at_least(Role::Trainer)),
    });
    state
        .check_put_back((&by, reason), proof.as_ref(), list, people)
        .map_err(Refusal::Unsigned)?;
    Ok(vec![Event::BackInService {
        reason: reason.to_owned(),
        by,
        proof,
        list,
        from: Some(state.origin),
    }])
}

impl State {
    /// The text to sign for putting the machine back in service: its kind, the run, the machine, what was seen, the
    /// signer, the reason, the time of the last event, and the digest of the list of people.
    pub fn text_to_put_back(&self, by: &str, reason: &str, list: Option<Fingerprint>) -> String {
        let seen = self.out_of_service.as_ref();
        let mut whole = Fingerprint::builder()
            .field("skimgate back in service 1")
            .field(&self.begun.run)
            .field(&self.begun.machine)
            .field(seen.map_or(String::new(), OutOfService::words))
            .field(by)
            .field(reason)
            .field(self.latest.to_string());
        if let Some(list) = list {
            whole = whole.field("list").field(list.to_string());
        }
        format!("skimgate back in service 1\n{}", whole.finish())
    }

    /// Checks that the machine is put back in service by somebody who may do so, according to the list `people`: where
    /// people are registered, a trainer or an owner with their own key, over that list.
    ///
    /// # Errors
    /// The [`SignFault`] that says why not.
    pub(crate) fn check_put_back(
        &self,
        (by, reason): (&str, &str),
        proof: Option<&Proof>,
        list: Option<Fingerprint>,
        people: &People,
    ) -> Result<(), SignFault> {
        let Some(proof) = proof else {
            return if people.is_empty() {
                Ok(())
            } else {
                Err(SignFault::NoKey)
            };
        };
        if people.is_empty() {
            return Err(SignFault::NobodyListed);
        }
        let listed = people
            .active(by)
            .filter(|l| l.person.at_least(Role::Trainer).is_some())
            .ok_or_else(|| SignFault::PutsNothingBack(by.to_owned()))?;
        if listed.key() != Some(proof.key.as_str()) {
            return Err(SignFault::OtherKey(by.to_owned()));
        }
        match list {
            None => return Err(SignFault::NoList),
            Some(list) if list != people.digest() => return Err(SignFault::OtherList),
            Some(_) => {}
        }
        if keys::holds(
            &proof.key,
            &self.text_to_put_back(by, reason, list),
            &proof.signature,
        ) {
            Ok(())
        } else {
            Err(SignFault::Broken(by.to_owned()))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::answer_status::Next;
    use super::super::command::Command;
    use super::super::crew::{hold_point, key, listed, signed_by, without};
    use super::super::event::{Event, Outcome};
    use super::super::gate::{self, HoldReason};
    use super::super::refusal::Refusal;
    use super::super::signing::SignFault;
    use super::super::testing::{TINY, TestRun, at, pass, resume};
    use super::OutOfService;
    use crate::people::People;
    use std::sync::Arc;

    const BAD: &str = "it ran away";

    fn put_back(
        rig: &TestRun,
        by: &str,
        reason: &str,
        with: Option<&str>,
        people: People,
    ) -> Command {
        let list = with.map(|_| people.digest());
        let text = rig.state.text_to_put_back(by, reason, list);
        Command::PutBack {
            reason: reason.to_owned(),
            by: by.to_owned(),
            signature: with.map(|who| key(who).sign(&text)),
            people: Arc::new(people),
        }
    }

    fn by_word(rig: &mut TestRun, reason: &str) -> Result<Vec<Event>, Refusal> {
        let command = put_back(rig, "jt", reason, None, People::default());
        rig.try_do(command)
    }

    /// A released run in which the state is then seen: all that becomes invalid, and all that is refused until the
    /// machine is put back.
    #[test]
    fn a_machine_out_of_service_is_held_until_it_is_put_back_with_a_reason() {
        let mut rig = TestRun::of(TINY);
        rig.word(at("cutter"), "c12").unwrap();
        rig.word(at("eyes"), "worn").unwrap();
        rig.word(at("home"), "homed").unwrap();
        rig.load_program();
        rig.number(pass("bite", 1), "0.1").unwrap();
        rig.work_out(pass("plane", 1));
        rig.sign(hold_point()).unwrap();
        rig.release().unwrap();
        let events = rig.word(at("home"), BAD).unwrap();
        assert!(matches!(
            &events[..],
            [Event::OutOfService(_), Event::Voided { .. }]
        ));
        assert!(rig.state.release.is_none());
        for gone in [at("home"), pass("bite", 1), pass("plane", 1), hold_point()] {
            assert!(rig.state.answer(&gone).is_none(), "{gone}");
        }
        assert!(rig.state.answer(&at("eyes")).is_some());
        for _ in 0..2 {
            assert_eq!(rig.state.next(rig.now), Next::OutOfService);
            let holds = gate::release(&rig.state, rig.now, rig.program, &People::default());
            let first = holds.unwrap_err().remove(0);
            assert!(
                matches!(first.why, HoldReason::OutOfService(_)),
                "{first:?}"
            );
            assert!(first.clears().contains("get a competent person"));
            for word in ["homed", BAD, "not homed"] {
                let result = rig.word(at("home"), word);
                assert!(
                    matches!(result, Err(Refusal::OutOfService(_))),
                    "{result:?}"
                );
            }
            assert!(matches!(
                rig.word(at("eyes"), "worn"),
                Err(Refusal::OutOfService(_))
            ));
            for none in ["", "  ", "homed", "Homed", BAD, "worn", "7", "-"] {
                assert!(
                    matches!(by_word(&mut rig, none), Err(Refusal::NoReason(_))),
                    "{none}"
                );
            }
            // It remains after the run is left and resumed.
            rig.go(Command::Pause { how: "left".into() });
            rig.go(resume("JT"));
        }
        let whole = Command::End {
            outcome: Outcome::Complete,
        };
        assert!(rig.try_do(whole).is_err());
        by_word(&mut rig, "new contactor, tried by CD").unwrap();
        assert_eq!(by_word(&mut rig, "again"), Err(Refusal::InService));
        assert!(matches!(rig.state.next(rig.now), Next::Ask(of, _) if of == at("home")));
        rig.word(at("home"), "homed").unwrap();
    }

    #[test]
    fn where_people_are_registered_a_trainer_or_an_owner_puts_it_back_with_their_key() {
        let mut rig = signed_by("JT", None);
        rig.word(at("home"), BAD).unwrap();
        let fault = |rig: &mut TestRun, by, with, people| {
            let command = put_back(rig, by, "mended", with, people);
            match rig.try_do(command) {
                Err(Refusal::Unsigned(fault)) => fault,
                other => panic!("{other:?}"),
            }
        };
        for by in ["JT", "OP", "LE", "ZZ"] {
            for with in ["JT", "TR"] {
                let result = fault(&mut rig, by, Some(with), listed());
                assert_eq!(result, SignFault::PutsNothingBack(by.into()));
            }
        }
        assert_eq!(fault(&mut rig, "TR", None, listed()), SignFault::NoKey);
        let broken = fault(&mut rig, "TR", Some("OW"), listed());
        assert_eq!(broken, SignFault::Broken("TR".into()));
        let gone = fault(&mut rig, "TR", Some("TR"), without("TR"));
        assert_eq!(gone, SignFault::PutsNothingBack("TR".into()));
        // A signature over one reason is not valid for another.
        let broken = Err(Refusal::Unsigned(SignFault::Broken("TR".into())));
        let mut signed_over = |reason: &str, list| {
            let text = rig.state.text_to_put_back("TR", "mended", list);
            rig.try_do(Command::PutBack {
                reason: reason.into(),
                by: "TR".into(),
                signature: Some(key("TR").sign(&text)),
                people: Arc::new(listed()),
            })
        };
        assert_eq!(signed_over("as before", Some(listed().digest())), broken);
        // It is not valid over another list of people either, or over none.
        for list in [Some(without("LE").digest()), None] {
            assert_eq!(signed_over("mended", list), broken);
        }
        for by in ["TR", "OW"] {
            let mut rig = signed_by("JT", None);
            rig.word(at("home"), BAD).unwrap();
            let command = put_back(&rig, by, "mended", Some(by), listed());
            rig.try_do(command).unwrap();
            assert!(rig.state.out_of_service.is_none());
        }
    }

    /// A state seen in an earlier run holds the next run from its beginning, and also a run under way.
    #[test]
    fn the_record_of_the_machine_is_adopted_once() {
        let seen = OutOfService {
            run: "r0".into(),
            question: "Machine homed".into(),
            state: BAD.into(),
            good: "homed".into(),
            by: "CD".into(),
            from: None,
        };
        let mut rig = signed_by("JT", None);
        let know = Command::KnowOutOfService(seen.clone());
        rig.go(know.clone());
        assert!(rig.state.answer(&hold_point()).is_none());
        assert_eq!(rig.state.out_of_service.as_ref(), Some(&seen));
        assert!(rig.go(know).is_empty());
    }

    #[test]
    fn a_run_from_an_answers_file_puts_nothing_back() {
        let mut rig = TestRun::of(TINY);
        rig.state.from_file = true;
        rig.word(at("cutter"), "c12").unwrap();
        rig.word(at("eyes"), "worn").unwrap();
        rig.word(at("home"), BAD).unwrap();
        assert_eq!(by_word(&mut rig, "mended"), Err(Refusal::PutBackFromFile));
    }
}
