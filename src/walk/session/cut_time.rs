//! How long a cut took, beside what was expected of it.

use crate::interlock::{Command, CutEnd, Instance};
use crate::procedure::Kind;
use crate::report::page::{Page, Tone};
use crate::terminal::prompt::{QuestionPart, Taken};
use crate::walk::prompts::Prompted;
use crate::walk::prompts::kit::{self, AtStep};
use crate::walk::session::Session;
use crate::walk::session::kinds::wait::duration;
use std::time::Duration;

impl Session<'_> {
    /// Whether a cut takes its time here: one from an answers file or on the practice mill takes none.
    fn takes_time(&self) -> bool {
        !self.reads_file() && !self.state.begun.rehearsal
    }

    /// How long the program was reckoned to run when it was examined.
    pub(crate) fn expected(&self) -> Option<Duration> {
        let seconds = self.state.examined()?.seconds?;
        Some(Duration::from_secs(seconds.into()))
    }

    /// How long the cut took beside what its program was reckoned to run; nothing where nobody stood at the machine.
    pub(crate) fn compared_with_expected(&self, how: CutEnd) -> Option<String> {
        let cutting = self.state.cutting.as_ref()?;
        if how != CutEnd::Finished || self.left_meanwhile || !self.takes_time() {
            return None;
        }
        let took = u64::try_from(self.now().since(cutting.since)?).ok()?;
        let minutes = crate::terminal::screen::minutes;
        Some(format!(
            "It took {}; the program was reckoned to run {}.",
            minutes(Duration::from_millis(took)),
            minutes(self.expected()?)
        ))
    }

    /// What is odd about the time that a cut took which is said to have finished: less than half of what was expected, or
    /// more than twice (common practice, no source). Nothing is, where nothing was expected and where nobody stood at the
    /// machine; and a run that was left meanwhile tells no end too late, since nobody was there to see it.
    pub(crate) fn odd_time(&self, at: &Instance, how: CutEnd) -> Option<String> {
        let cutting = self.state.cutting.as_ref()?;
        if how != CutEnd::Finished || !self.takes_time() {
            return None;
        }
        let Kind::Cut { expected, .. } = &self.state.step(at)?.kind else {
            return None;
        };
        let of_step = || {
            let time = self.state.env(at).quantity(expected.as_ref()?).ok()?;
            Some(duration(time))
        };
        let expected = self.expected().or_else(of_step)?;
        // Of a shorter cut the person's own delay at the key is the larger part.
        if expected < Duration::from_secs(60) {
            return None;
        }
        let took = self.now().since(cutting.since)?;
        let took = Duration::from_millis(u64::try_from(took).ok()?);
        let which = if took * 2 < expected {
            "much sooner"
        } else if took > expected * 2 && !self.left_meanwhile {
            "much later"
        } else {
            return None;
        };
        let minutes = crate::terminal::screen::minutes;
        Some(format!(
            "It ended {which} than expected: after {}, and {} were reckoned.",
            minutes(took),
            minutes(expected)
        ))
    }

    /// Asks about a cut that ended far too early or late; what is said becomes a note of the run.
    pub(crate) fn explain(&mut self, at: &Instance, odd: &str) -> Prompted<()> {
        let page = Page::new()
            .toned(Tone::Look, odd)
            .text("A skipped part of the program, another program, a feed override or a hold each look like this. Look at the whole face before you go on.")
            .next("Type in a few words why.");
        self.prompter.show(&page)?;
        let mut asker = AtStep { session: self, at };
        let part = QuestionPart::Other("why".to_owned());
        let said = kit::text(&mut asker, "why", &part)?;
        let text = format!("{odd} {said}");
        self.must_commit(&Command::Note { text })?;
        Ok(self.prompter.taken(Taken::Otherwise)?)
    }
}
