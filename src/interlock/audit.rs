//! Checks of a recorded start, for verifying a record: its run must contain a sign-off for every hold point before it,
//! and a release of its own. The gate checked far more when the start was recorded.

use super::answer_status::AnswerStatus;
use super::instance::Instance;
use super::state::{Release, State};
use crate::procedure::Kind;
use crate::quantity::moment::Moment;

/// Why the record of a start, or of the end of a cut, cannot be right.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum StartFault {
    /// The run has no release before the start.
    #[error("there is no release for it")]
    NotReleased,
    /// The release before it was for another cut, person or state.
    #[error("its release was for another cut, another person or another state of the run")]
    ReleasedOther,
    /// At that time the release had lapsed, or had not been given yet.
    #[error("its release did not hold at that time")]
    Lapsed,
    /// A hold point before it was not signed.
    #[error("the sign-off \"{0}\" before it is missing")]
    NotSigned(String),
    /// The end of a cut that was never started.
    #[error("this cut ended but was never started")]
    NeverStarted,
}

impl State {
    /// Checks the start recorded at `now`: its run must contain everything a start needs. `release` is the release that
    /// it used.
    ///
    /// # Errors
    /// A [`StartFault`] that says what is missing.
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

    /// Checks that every hold point before a cut is signed. A cut that is recorded as assumed needs nothing more,
    /// because a run with an answer from a file never gets a release.
    ///
    /// # Errors
    /// [`StartFault::NotSigned`] with the title of the first hold point that is not signed.
    pub(crate) fn check_signed_for(&self, of: &Instance, now: Moment) -> Result<(), StartFault> {
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

    /// Checks that the cut whose end is recorded was under way.
    ///
    /// # Errors
    /// [`StartFault::NeverStarted`] where it was not.
    pub fn check_ended(&self, of: &Instance) -> Result<(), StartFault> {
        let under_way = self
            .cutting
            .as_ref()
            .is_some_and(|cutting| cutting.at == *of);
        under_way.then_some(()).ok_or(StartFault::NeverStarted)
    }
}
