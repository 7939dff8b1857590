//! What a recorded start needed before it: a sign-off at every hold point and a release of its own, both found in the run's
//! own events. For whoever verifies a record; the gate asked for far more when it was recorded.

use super::answer_status::AnswerStatus;
use super::instance::Instance;
use super::state::{Release, State};
use crate::procedure::Kind;
use crate::quantity::moment::Moment;

/// Why a start, or the end of a cut, cannot have been recorded so.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum StartFault {
    /// No release stands before it.
    #[error("there is no release for it")]
    NotReleased,
    /// The release was for another cut, person or state.
    #[error("its release was for another cut, another person or another state of the run")]
    ReleasedOther,
    /// The release had lapsed, or was not given yet.
    #[error("its release did not hold at that time")]
    Lapsed,
    /// A hold point before it is not signed.
    #[error("it is not signed for: the sign-off \"{0}\" does not stand before it")]
    NotSigned(String),
    /// A cut ended that never began.
    #[error("the cut that ends there never began")]
    NeverStarted,
}

impl State {
    /// Whether what the recorded start at `now` needed stands before it; `release` is the one it spends.
    ///
    /// # Errors
    /// What is missing.
    pub fn check_started(
        &self,
        of: &Instance,
        by: &str,
        release: Option<&Release>,
        now: Moment,
    ) -> Result<(), StartFault> {
        self.check_signed_for(of, now)?;
        let release = release.ok_or(StartFault::NotReleased)?;
        if release.at != *of || release.to != by || release.digest != self.digest_before(of) {
            return Err(StartFault::ReleasedOther);
        }
        if now < release.from || now > release.until {
            return Err(StartFault::Lapsed);
        }
        Ok(())
    }

    /// Whether every hold point before a cut is signed. That is all that a cut needs which is recorded as assumed: nothing is
    /// released in a run with an answer from a file.
    ///
    /// # Errors
    /// [`StartFault::NotSigned`].
    pub fn check_signed_for(&self, of: &Instance, now: Moment) -> Result<(), StartFault> {
        let before = self.answer_statuses(now).into_iter();
        let unsigned = before
            .take_while(|(place, _)| place.instance() != *of)
            .find(|(place, standing)| {
                matches!(place.step.kind, Kind::Sign { .. }) && *standing != AnswerStatus::Holds
            });
        match unsigned {
            Some((place, _)) => Err(StartFault::NotSigned(place.step.title.clone())),
            None => Ok(()),
        }
    }

    /// Whether the cut that is recorded to end was under way.
    ///
    /// # Errors
    /// [`StartFault::NeverStarted`].
    pub fn check_ended(&self, of: &Instance) -> Result<(), StartFault> {
        let under_way = self
            .cutting
            .as_ref()
            .is_some_and(|cutting| cutting.at == *of);
        under_way.then_some(()).ok_or(StartFault::NeverStarted)
    }
}
