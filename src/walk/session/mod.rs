//! A run in hand: its state, its place in the book, and the person at the desk.

pub(crate) mod answer_step;
pub(crate) mod begin;
pub(crate) mod cut_time;
pub(crate) mod drive;
pub(crate) mod elsewhere;
mod from_program;
pub(crate) mod keys;
pub(crate) mod kinds;
pub(crate) mod mapping;
pub(crate) mod pages;
pub(crate) mod prompt_commands;
pub(crate) mod questions;
pub(crate) mod refused;
pub(crate) mod resume;
pub(crate) mod service;
pub(crate) mod standing;
mod stopping;
mod summary;
pub(crate) mod takeover;
pub(crate) mod thickness;
pub(crate) mod wording;

use crate::book::{Book, Claim};
use crate::clock::Clock;
use crate::interlock::answer::Origin;
use crate::interlock::{Event, Instance, State};
use crate::people::People;
use crate::quantity::format::QuantityFormat;
use crate::quantity::moment::Moment;
use crate::report::page::{Page, PageFact};
use crate::terminal::prompt::{Completions, Prompter};
use crate::walk::error::WalkError;
use crate::walk::prompts::keyring::{self, UnlockOutcome};
use crate::walk::session::summary::Summary;
use crate::walk::session::wording::Words;
use crate::walk::store::commit::Unchanged;
use crate::walk::store::people_list;
use std::path::PathBuf;
use std::sync::Arc;

/// A run in hand. While it lives, no other terminal can take the machine's run.
pub(crate) struct Session<'a> {
    /// What the run adds up to.
    pub state: State,
    /// Who is asked.
    pub prompter: &'a mut dyn Prompter,
    pub(crate) book: Book,
    pub(crate) clock: &'a dyn Clock,
    pub(crate) n: u32,
    /// The folder that relative program paths count from.
    pub(crate) folder: PathBuf,
    /// The question gone back to, if one was.
    pub(crate) back_to: Option<Instance>,
    /// The phase whose heading was shown last.
    pub(crate) heading: Option<(String, Option<u32>)>,
    /// What can be answered at the question at hand, to be shown again after help.
    pub(crate) asked: Page,
    /// What Tab completes at the question at hand, beside the commands of every prompt.
    pub(crate) completions: Completions,
    /// Whether its answer may be recalled later.
    pub(crate) may_be_recalled: bool,
    /// Values worked out since the last question.
    pub(crate) summary: Summary,
    /// The words that the question at hand offers.
    pub(crate) offered: Vec<String>,
    /// How many words are used.
    pub(crate) words: Words,
    /// How many were asked for, where somebody did.
    pub(crate) wished_words: Option<Words>,
    /// The status line shown last in this phase.
    pub(crate) status_shown: Vec<PageFact>,
    /// Cautions shown already in this phase.
    pub(crate) cautioned: Vec<String>,
    /// The book with the list of people, in a rehearsal where any are registered: its own book has none.
    pub(crate) shop_book: Option<Book>,
    /// Whether the cut under way went on while the run was left, so that its time says nothing.
    pub(crate) left_meanwhile: bool,
    /// What earlier runs answered, as far as it may stand in this one.
    pub(crate) standing: standing::Standing,
    pub(crate) claim: Claim,
    /// Whether the claim is withheld: something could not be stored while a release stood.
    pub(crate) withheld: bool,
}

/// How a run was left.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Left {
    /// With Ctrl-C, the end of input, or the word for leaving: saved, to be resumed.
    Saved,
    /// With the stop word.
    Stopped,
    /// It is over: complete.
    Complete,
    /// It is over: given up.
    Abandoned,
}

impl<'a> Session<'a> {
    /// A run in hand.
    pub(crate) fn new(
        state: State,
        n: u32,
        book: Book,
        claim: Claim,
        clock: &'a dyn Clock,
        prompter: &'a mut dyn Prompter,
        folder: PathBuf,
    ) -> Self {
        let mut state = state;
        state.one_unit = true;
        Self {
            state,
            prompter,
            book,
            clock,
            n,
            folder,
            back_to: None,
            heading: None,
            asked: Page::new(),
            completions: Completions::default(),
            may_be_recalled: true,
            summary: Summary::default(),
            offered: Vec::new(),
            words: Words::default(),
            wished_words: None,
            status_shown: Vec::new(),
            cautioned: Vec::new(),
            shop_book: None,
            left_meanwhile: false,
            standing: standing::Standing::default(),
            claim,
            withheld: false,
        }
    }

    /// Now.
    pub(crate) fn now(&self) -> Moment {
        self.clock.now()
    }

    /// How quantities are shown.
    pub(crate) fn show(&self) -> QuantityFormat {
        self.state.show()
    }

    /// Whether the answers come from a file now.
    pub(crate) fn reads_file(&self) -> bool {
        self.state.origin == Origin::AnswersFile
    }

    /// The people as they are now.
    pub(crate) fn people(&mut self) -> Result<Arc<People>, WalkError> {
        self.insist(None, |session| {
            Ok(Arc::new(people_list::load(&session.book)?))
        })
    }

    /// Opens the key of somebody on the list with the PIN they type.
    pub(crate) fn unlock(
        &mut self,
        people: &mut People,
        initials: &str,
    ) -> Result<UnlockOutcome, WalkError> {
        keyring::unlock(&mut self.book, people, self.prompter, self.clock, initials)
    }

    /// Records that something typed was not taken, shows why, and tells the desk.
    pub(crate) fn refuse(
        &mut self,
        at: &Instance,
        typed: &str,
        why: &str,
    ) -> Result<(), WalkError> {
        self.insist(None, |session| {
            let now = session.now();
            let lists_people = !people_list::load(&session.book)?.is_empty();
            let (typed, stored) = refused::stored(&session.state, at, typed, why, lists_people);
            let event = Event::Refused {
                at: at.clone(),
                typed,
                why: stored,
                by: session.state.operator.clone(),
                from: Some(session.state.origin),
            };
            session.append(&[event], now, Unchanged::default())
        })?;
        let page = Page::new().toned(
            crate::report::page::Tone::Stop,
            format!("Not taken: {why}."),
        );
        self.prompter.show(&page)?;
        Ok(self.prompter.refused(why)?)
    }
}
