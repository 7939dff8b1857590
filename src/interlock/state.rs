//! The state of a run: the result of applying its events in order.

use super::answer::{Answer, CodesRead, Origin};
use super::elsewhere::AlsoInUse;
use super::event::{Event, Outcome, PlateKnown, RunStart};
use super::examined::Examined;
use super::instance::Instance;
use super::service::OutOfService;
use super::standing::SeenEarlier;
use super::stopping::{Cause, CutEnd, MachineContinuity, OpenStop};
use super::surface::{SurfaceEvent, SurfaceHistory};
use super::timers::Timer;
use super::touching::OpenTouchSeries;
use crate::fingerprint::Fingerprint;
use crate::procedure::model::Kind;
use crate::procedure::shop::Item;
use crate::procedure::{Procedure, Shop, ShopList, Step};
use crate::quantity::Length;
use crate::quantity::moment::Moment;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// A valid answer, with its person and time.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct CurrentAnswer {
    /// The answer.
    pub answer: Answer,
    /// The initials of the person who answered.
    pub by: String,
    /// When it was answered.
    pub at: Moment,
    /// The stretch of the clock without a step back in which it was answered; see [`State::stretch`].
    pub stretch: u32,
    /// Where it came from.
    pub from: Origin,
    /// Where it was seen, for an answer of an earlier run that stands.
    pub seen: Option<SeenEarlier>,
}

/// A soft limit that was accepted.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Deviation {
    /// The limit, in words.
    pub limit: String,
    /// The reason that was given.
    pub reason: String,
    /// The initials of the person who gave it.
    pub by: String,
}

/// A release that was given and is not used up yet.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Release {
    /// The cut that it releases.
    pub at: Instance,
    /// When it was given.
    pub from: Moment,
    /// When it lapses.
    pub until: Moment,
    /// The initials of the operator it is for.
    pub to: String,
    /// The digest of the state in which it was given.
    pub digest: Fingerprint,
}

/// A cut under way.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct CutInProgress {
    /// The cut step and its pass.
    pub at: Instance,
    /// The height at which the tip travels.
    pub plane: Length,
    /// When cycle start was pressed.
    pub since: Moment,
}

/// The state of a run. Only [`State::new`] and [`State::apply`] build it.
#[derive(Clone, Debug)]
pub struct State {
    /// The procedure that the run began with.
    pub procedure: Arc<Procedure>,
    /// The shop file that the run began with.
    pub shop: Arc<Shop>,
    /// The data that the run began with.
    pub begun: RunStart,
    /// When the run began.
    pub began: Moment,
    /// The initials of the present operator.
    pub operator: String,
    /// Where the answers come from now.
    pub origin: Origin,
    /// Whether any answer came from a file. Such a run is never released, and its cuts count in no plate's account.
    pub from_file: bool,
    /// The valid answers.
    pub answers: BTreeMap<Instance, CurrentAnswer>,
    /// For each answer that became invalid, the cause in words.
    pub invalidated: BTreeMap<Instance, String>,
    /// Suspect answers: they depend on the machine's position, which was lost when no cut was left or while one was
    /// under way. They stay valid for now and become invalid as soon as another cut is to come.
    pub shaken: BTreeSet<Instance>,
    /// Answers of earlier runs that stood until a stop that was not planned.
    pub ended_by_stop: BTreeSet<Instance>,
    /// Whether the machine was stopped in this run, not as planned.
    pub stopped_unplanned: bool,
    /// The steps at which an answer was refused since their last valid one.
    pub refused: BTreeSet<Instance>,
    /// The accepted soft limits.
    pub deviations: BTreeMap<Instance, Deviation>,
    /// Plates and people that are in other open runs too, with the recorded reasons.
    pub also_in_use: Vec<AlsoInUse>,
    /// The series of touches under way.
    pub touching: Option<OpenTouchSeries>,
    /// The active codes typed at a codes step where some groups are still to be said.
    pub codes_so_far: Option<(Instance, CodesRead)>,
    /// The history of the surface and of the readout's zero.
    pub marks: SurfaceHistory,
    /// The places of points that were typed with their readings.
    pub placed: BTreeMap<String, [Length; 2]>,
    /// Whether quantities are shown in the run's own unit only. A wish of the person who looks, not of the record: nothing
    /// stored sets it.
    pub(crate) one_unit: bool,
    /// Timers that run while other questions go on, by their wait step.
    pub(crate) timers: BTreeMap<Instance, Timer>,
    /// The release in force, if there is one.
    pub release: Option<Release>,
    /// The release of the practice mill in force. It has its own field so that it can never be taken for a real
    /// release.
    pub practice: Option<Release>,
    /// The cut under way, if there is one.
    pub cutting: Option<CutInProgress>,
    /// A stop whose cause nobody has said yet.
    pub open_stop: Option<OpenStop>,
    /// What put the machine out of service, until it is put back.
    pub out_of_service: Option<OutOfService>,
    /// The figures of the plate's account, which replace those in the shop file.
    pub known: Option<PlateKnown>,
    /// How the run was left, in words, if it was left.
    pub left: Option<String>,
    /// How the run ended, if it ended.
    pub ended: Option<Outcome>,
    /// The time of the last event.
    pub latest: Moment,
    /// How often the clock went back so far. Times from different stretches cannot be compared.
    pub stretch: u32,
}

/// How a run was left by the stop word alone, which stands for its reason.
const STOPPED_WITHOUT_WORDS: &str = "stopped: stop";

impl State {
    /// The state right after a run began.
    pub fn new(procedure: Arc<Procedure>, shop: Arc<Shop>, begun: RunStart, at: Moment) -> Self {
        let operator = begun.operator.clone();
        let origin = begun.origin();
        let begun_from_file = begun.answers_file.is_some();
        let mut state = Self {
            procedure,
            shop,
            begun,
            began: at,
            operator,
            origin,
            from_file: origin == Origin::AnswersFile || begun_from_file,
            answers: BTreeMap::new(),
            invalidated: BTreeMap::new(),
            shaken: BTreeSet::new(),
            ended_by_stop: BTreeSet::new(),
            stopped_unplanned: false,
            refused: BTreeSet::new(),
            deviations: BTreeMap::new(),
            also_in_use: Vec::new(),
            touching: None,
            codes_so_far: None,
            marks: SurfaceHistory::default(),
            placed: BTreeMap::new(),
            one_unit: false,
            timers: BTreeMap::new(),
            release: None,
            practice: None,
            cutting: None,
            open_stop: None,
            out_of_service: None,
            known: None,
            left: None,
            ended: None,
            latest: at,
            stretch: 0,
        };
        // The first step chooses the machine, and the run begins with this choice already made.
        if let Some(first) = state.procedure.steps().next() {
            let given = CurrentAnswer {
                answer: Answer::Word(state.begun.machine.clone()),
                by: state.operator.clone(),
                at,
                stretch: 0,
                from: origin,
                seen: None,
            };
            state.answers.insert(Instance::new(&first.id, None), given);
        }
        state
    }

    /// Applies one event. It never fails and never validates: a recorded event is accepted as it is.
    pub fn apply(&mut self, at: Moment, event: &Event) {
        if at < self.latest {
            self.stretch = self.stretch.saturating_add(1);
        }
        self.latest = at;
        // What was taken from the program says nothing about who or what answers questions.
        if let Some(origin) = event.origin().filter(|o| *o != Origin::Program) {
            self.origin = origin;
        }
        self.from_file |= event.is_from_file();
        // Any later event ends a release of the practice mill.
        if !matches!(
            event,
            Event::Refused { .. } | Event::Noted { .. } | Event::Looked(_)
        ) {
            self.practice = None;
        }
        if event.stops_unplanned() {
            self.end_standing();
        }
        match event {
            Event::Began(_) | Event::Noted { .. } | Event::Looked(_) => {}
            Event::Refused { at: of, .. } => {
                self.refused.insert(of.clone());
            }
            Event::Answered {
                at: of,
                answer,
                by,
                from,
                seen,
            } => self.answered(of, answer, (by, *from, seen.as_ref()), at),
            Event::Accepted {
                at: of,
                limit,
                reason,
                by,
                ..
            } => {
                let deviation = Deviation {
                    limit: limit.clone(),
                    reason: reason.clone(),
                    by: by.clone(),
                };
                self.deviations.insert(of.clone(), deviation);
                self.release = None;
            }
            Event::Touched {
                at: of,
                point,
                reading,
                closing,
                place,
                ..
            } => {
                if let Some(place) = place {
                    self.placed.insert(point.clone(), *place);
                }
                self.touched(of, point, *reading, *closing);
            }
            Event::CodesTyped { at: of, so_far, .. } => {
                self.codes_so_far = Some((of.clone(), so_far.clone()));
                self.release = None;
            }
            Event::Zeroed { at: of, .. } => self.with_touching(of, OpenTouchSeries::zeroed),
            Event::TouchTakenBack { at: of, .. } => {
                self.with_touching(of, OpenTouchSeries::take_back);
            }
            Event::TouchesRestarted { at: of, .. } => {
                self.touching = None;
                self.marks.void(of);
            }
            Event::TimerBegan { at: of, .. } => self.timer_began(of, at),
            Event::Voided { steps, because } => self.voided(steps, because),
            Event::Released {
                at: of,
                until,
                to,
                digest,
            } => {
                self.release = Some(Release {
                    at: of.clone(),
                    from: at,
                    until: *until,
                    to: to.clone(),
                    digest: *digest,
                });
            }
            Event::PracticeReleased {
                at: of,
                until,
                to,
                digest,
            } => {
                self.practice = Some(Release {
                    at: of.clone(),
                    from: at,
                    until: *until,
                    to: to.clone(),
                    digest: *digest,
                });
            }
            Event::CutStarted { at: of, plane, .. }
            | Event::CutAssumed { at: of, plane, .. }
            | Event::PracticeStarted { at: of, plane, .. } => {
                self.release = None;
                self.cutting = Some(CutInProgress {
                    at: of.clone(),
                    plane: *plane,
                    since: at,
                });
            }
            Event::CutEnded {
                at: of,
                how,
                cause,
                by,
                ..
            } => self.cut_ended(of, (*how, *cause), by, at),
            Event::HandedOver { to, .. } => {
                self.operator.clone_from(to);
                self.release = None;
            }
            Event::Paused { how, .. } => {
                self.left = Some(how.clone());
                self.release = None;
            }
            Event::Resumed { kept, .. } | Event::TakenOver { kept, .. } => {
                if kept.is_some_and(|kept| kept != MachineContinuity::Kept) {
                    self.suspect_positions();
                    self.timers.clear();
                }
                self.left = None;
                self.release = None;
            }
            Event::StopExplained { cause, .. } => self.stop_explained(*cause),
            Event::Stopped { reason, cause, .. } => {
                if cause.loses_position() {
                    self.suspect_positions();
                }
                if *cause == Cause::NotSaid && self.open_stop.is_none() {
                    self.open_stop = Some(OpenStop { cut: None });
                }
                self.timers.clear();
                self.left = Some(format!("stopped: {reason}"));
                self.release = None;
            }
            Event::AlsoInUse(also) => {
                self.also_in_use.push(also.clone());
                self.release = None;
            }
            Event::OutOfService(seen) => {
                self.suspect_positions();
                self.timers.clear();
                self.out_of_service = Some(seen.clone());
                self.release = None;
            }
            Event::BackInService { .. } => {
                self.out_of_service = None;
                self.release = None;
            }
            Event::ProgramChanged { .. } => self.release = None,
            Event::PlateKnown(known) => {
                self.known = Some(known.clone());
                self.release = None;
            }
            Event::Ended { outcome, .. } => {
                self.ended = Some(*outcome);
                self.release = None;
            }
        }
    }

    fn answered(
        &mut self,
        of: &Instance,
        answer: &Answer,
        (by, from, seen): (&str, Option<Origin>, Option<&SeenEarlier>),
        at: Moment,
    ) {
        self.release = None;
        self.invalidated.remove(of);
        self.shaken.remove(of);
        self.ended_by_stop.remove(of);
        self.refused.remove(of);
        self.timers.remove(of);
        if let Answer::Touched(touched) = answer {
            if let Some(touching) = self.touching.take_if(|t| t.at == *of) {
                self.marks.push(SurfaceEvent::Frame(touching.frame()));
            }
            self.marks.void(of);
            let mut heights = touched.heights.clone();
            if matches!(self.step(of).map(|s| &s.kind), Some(Kind::Touch(t)) if t.tip_stays) {
                let known = self.marks.surface();
                heights.retain(|(point, _)| known.heights().of(point).is_none());
            }
            self.marks.push(SurfaceEvent::Touched(of.clone(), heights));
        } else {
            // A reason accepted for the previous answer does not cover this one; a new reason follows as its own event.
            self.deviations.remove(of);
        }
        if let Answer::Entered { .. } = answer {
            self.entered(of);
        }
        self.codes_so_far.take_if(|(at, _)| at == of);
        let given = CurrentAnswer {
            answer: answer.clone(),
            by: by.to_owned(),
            at,
            stretch: self.stretch,
            from: from
                .filter(|from| *from == Origin::Program)
                .unwrap_or(self.origin),
            seen: seen.cloned(),
        };
        self.answers.insert(of.clone(), given);
    }

    /// After a read-back the readout's zero is where the step says.
    fn entered(&mut self, of: &Instance) {
        let procedure = Arc::clone(&self.procedure);
        let Some(Kind::Enter(enter)) = procedure.step(&of.step).map(|s| &s.kind) else {
            return;
        };
        let zero = enter
            .sets_zero_at
            .as_ref()
            .and_then(|f| self.env(of).quantity(f).ok())
            .and_then(Length::nearest);
        if let Some(zero) = zero {
            let frame = self.marks.frame().entered(zero);
            self.marks.push(SurfaceEvent::Frame(frame));
        }
    }

    fn touched(
        &mut self,
        of: &Instance,
        point: &str,
        reading: crate::plate::Reading,
        closing: bool,
    ) {
        if self.touching.as_ref().is_none_or(|t| t.at != *of) {
            self.touching = OpenTouchSeries::begin(self, of);
            if self.touching.as_ref().is_some_and(OpenTouchSeries::is_base) {
                self.marks.push(SurfaceEvent::Base);
            }
        }
        if let Some(touching) = &mut self.touching {
            touching.touch(point, reading, closing);
        }
        self.release = None;
    }

    fn with_touching(&mut self, of: &Instance, act: impl FnOnce(&mut OpenTouchSeries)) {
        if let Some(touching) = self.touching.as_mut().filter(|t| t.at == *of) {
            act(touching);
        }
    }

    fn voided(&mut self, steps: &[Instance], because: &str) {
        for of in steps {
            self.answers.remove(of);
            self.shaken.remove(of);
            self.ended_by_stop.remove(of);
            self.deviations.remove(of);
            self.invalidated.insert(of.clone(), because.to_owned());
            self.timers.remove(of);
            self.marks.void(of);
            self.codes_so_far.take_if(|(at, _)| at == of);
            if self.touching.as_ref().is_some_and(|t| t.at == *of) {
                self.touching = None;
            }
        }
        self.release = None;
    }

    fn cut_ended(&mut self, of: &Instance, (how, cause): (CutEnd, Cause), by: &str, at: Moment) {
        if let Some(cutting) = self.cutting.take()
            && how == CutEnd::Finished
        {
            self.marks.push(SurfaceEvent::Cut(cutting.plane));
        }
        if how == CutEnd::EmergencyStop || cause.loses_position() {
            self.suspect_positions();
            self.timers.clear();
        }
        if cause == Cause::NotSaid {
            self.open_stop = Some(OpenStop {
                cut: Some(of.clone()),
            });
        }
        let given = CurrentAnswer {
            answer: Answer::Word(how.word().to_owned()),
            by: by.to_owned(),
            at,
            stretch: self.stretch,
            from: self.origin,
            seen: None,
        };
        self.invalidated.remove(of);
        self.answers.insert(of.clone(), given);
    }

    fn stop_explained(&mut self, cause: Cause) {
        self.release = None;
        let cut = self.open_stop.take().and_then(|stop| stop.cut);
        // Where no words were stored with the stop, the cause says how it was left.
        if self.left.as_deref() == Some(STOPPED_WITHOUT_WORDS) {
            self.left = Some(format!("stopped: {}", cause.word()));
        }
        if cause.loses_position() {
            self.suspect_positions();
        }
        if cause == Cause::EmergencyStop
            && let Some(given) = cut.and_then(|of| self.answers.get_mut(&of))
        {
            given.answer = Answer::Word(CutEnd::EmergencyStop.word().to_owned());
        }
    }

    /// Whether a step's answer becomes invalid when the machine may have lost its position: the procedure marks the
    /// step, or it is a height or an entry for a cut. Steps that depend on these follow from [`State::depending_on`].
    ///
    /// What a control has active is lost with its power, so codes count as positions.
    pub(crate) fn depends_on_position(&self, step: &Step) -> bool {
        let measured = matches!(step.kind, Kind::Touch(_) | Kind::Enter(_) | Kind::Codes(_));
        step.after_lost_position || measured && self.is_for_cutting(step)
    }

    /// Marks as suspect what depends on the lost position. The next event invalidates it, unless no cut is left or one
    /// is still under way.
    fn suspect_positions(&mut self) {
        let places = self.sequence();
        let marked = places.iter().filter(|p| self.depends_on_position(p.step));
        let mut shaken: BTreeSet<Instance> = marked
            .map(super::sequence::SequencePosition::instance)
            .collect();
        shaken.retain(|of| self.answers.contains_key(of));
        self.shaken = shaken;
        self.codes_so_far = None;
    }

    /// Whether a series of touches or a line of codes was begun there and is not complete.
    pub(crate) fn is_half_answered(&self, of: &Instance) -> bool {
        let touching = self.touching.as_ref().is_some_and(|t| t.at == *of);
        touching || self.codes_so_far(of).is_some()
    }

    /// The answer of an instance, if it is valid.
    pub fn answer(&self, of: &Instance) -> Option<&Answer> {
        self.answers.get(of).map(|g| &g.answer)
    }

    /// The step of an instance.
    pub fn step(&self, of: &Instance) -> Option<&Step> {
        self.procedure.step(&of.step)
    }

    /// The item chosen from a list in the shop file; `None` until one is chosen.
    pub fn chosen(&self, list: ShopList) -> Option<&Item> {
        let step = self.procedure.steps().find(|s| {
            matches!(&s.kind, Kind::Choose { options: crate::procedure::Options::From(of), .. } if *of == list)
        })?;
        let id = self.answer(&Instance::new(&step.id, None))?.word()?;
        self.shop.item(list, id)
    }

    /// The result of the program's examination, where it was examined.
    pub(crate) fn examined(&self) -> Option<&Examined> {
        self.answers.values().find_map(|given| match &given.answer {
            Answer::File { examined, .. } => examined.as_deref(),
            _ => None,
        })
    }

    /// The examined NC program: its instance, path and fingerprint.
    pub fn program(&self) -> Option<(&Instance, &str, Fingerprint)> {
        self.answers
            .iter()
            .find_map(|(of, given)| match &given.answer {
                Answer::File {
                    path, fingerprint, ..
                } => Some((of, path.as_str(), *fingerprint)),
                _ => None,
            })
    }
}
