//! Asking for the active codes of the control: the line first, then each group that it leaves open.

use crate::interlock::Instance;
use crate::interlock::command::GivenAnswer;
use crate::procedure::formula::Formula;
use crate::procedure::model::Codes;
use crate::procedure::program_facts::METRIC;
use crate::program::active::ActiveGroup;
use crate::report::page::{Page, Tone};
use crate::terminal::prompt::QuestionPart;
use crate::walk::prompts::Prompted;
use crate::walk::session::Session;

impl Session<'_> {
    /// Asks a codes step until all groups are known that must be.
    pub(crate) fn codes(&mut self, at: &Instance, codes: &Codes) -> Prompted<()> {
        // Up must not bring back the line of an earlier reading: it is to be read anew.
        self.may_be_recalled = false;
        for expected in [self.codes_of_program(codes), self.codes_needed(at, codes)]
            .into_iter()
            .flatten()
        {
            self.prompter
                .show(&Page::new().toned(Tone::Quiet, expected))?;
        }
        loop {
            let so_far = self.state.codes_so_far(at).cloned();
            let open = so_far
                .as_ref()
                .and_then(|so_far| self.state.groups_to_ask(codes, so_far).into_iter().next());
            let (prompt, page) = match open {
                None => ("active codes".to_owned(), first()),
                Some(group) => (group.word().to_owned(), missing(group)),
            };
            self.asked = page;
            self.prompter.show(&self.asked)?;
            self.answer(at, &prompt, &QuestionPart::Answer, |_, said| {
                Ok(GivenAnswer::Codes(said.to_owned()))
            })?;
            if self.state.codes_so_far(at).is_none() {
                return self.unknown_words(at);
            }
        }
    }

    /// What the program needs, where the step may show it.
    fn codes_of_program(&self, codes: &Codes) -> Option<String> {
        let examined = self.state.examined().filter(|_| !codes.blind)?;
        let unit = |unit: &String| match unit.as_str() {
            METRIC => "mm".to_owned(),
            other => other.to_owned(),
        };
        let mut parts: Vec<String> = examined.units.iter().map(unit).collect();
        parts.extend(examined.work_offsets.iter().cloned());
        parts.extend(examined.length_offsets.iter().map(|h| match h {
            0 => "no length offset".to_owned(),
            h => format!("H{h}"),
        }));
        (!parts.is_empty()).then(|| format!("The program runs with: {}.", parts.join(", ")))
    }

    /// What the procedure needs, where the step may show it.
    fn codes_needed(&self, at: &Instance, codes: &Codes) -> Option<String> {
        if codes.blind {
            return None;
        }
        let env = self.state.env(at);
        let show = self.show();
        let wanted = |(group, formula): &(ActiveGroup, Formula)| {
            let value = env.eval(formula).ok()?;
            Some(format!("{} {}", group.word(), value.filled(&show)))
        };
        let must: Vec<String> = codes.must.wanted.iter().filter_map(wanted).collect();
        let because = codes.must.because.as_ref();
        let because = because.map_or(String::new(), |b| format!(" ({b})"));
        (!must.is_empty()).then(|| format!("Needed: {}{because}.", must.join(", ")))
    }

    /// Names the words of the line that are not known.
    fn unknown_words(&mut self, at: &Instance) -> Prompted<()> {
        let unknown = self
            .state
            .answer(at)
            .and_then(|a| a.codes())
            .map(|c| c.unknown.clone());
        if let Some(unknown) = unknown.filter(|u| !u.is_empty()) {
            let text = format!(
                "Not known here: {}. Look up in the control's manual what it does; the record has it as typed.",
                unknown.join(", ")
            );
            self.prompter.show(&Page::new().toned(Tone::Look, text))?;
        }
        Ok(())
    }
}

fn first() -> Page {
    Page::new().next("Type the line of active codes as the control shows it, in any order.")
}

fn missing(group: ActiveGroup) -> Page {
    let row = group.row();
    let none = match row.off {
        Some(_) => " Type `none` where none is active.",
        None => "",
    };
    Page::new().next(format!(
        "Not in the line: {}. Read it on the page of the {}.{none}",
        row.about, row.page
    ))
}
