//! The record of a run as a sheet to print, and as lines for a spreadsheet: what was cut, who signed what, every answer
//! against the limits that held when it was given.

use super::page::{Align, Item, Page, Table, Tone};
use super::plan::{self, Values};
use super::spreadsheet;
use super::{cuts, run, standing, touches, words};
use crate::interlock::event::{Event, TimedEvent};
use crate::interlock::sequence::SequencePosition;
use crate::interlock::{Answer, Instance, State};
use crate::procedure::ShopList;
use crate::quantity::Length;
use crate::quantity::moment::Moment;
use crate::scene::Scene;
use std::collections::BTreeMap;

/// The limits of steps, in words, as they stood when each was answered last: a plane's limits move with the surface.
pub(crate) type Limits = BTreeMap<Instance, Vec<String>>;

/// Takes the limits of an answer down, before the event is folded.
pub(crate) fn take_down(limits: &mut Limits, state: &State, event: &Event) {
    let Event::Answered { at, .. } = event else {
        return;
    };
    let place = state.asked().into_iter().find(|p| p.instance() == *at);
    let of = place.as_ref().and_then(|p| state.limits_of(p));
    let lines = of.map_or(Vec::new(), |of| {
        state.limit_words(at, of, &state.show_at(at))
    });
    limits.insert(at.clone(), lines);
}

/// What a sheet is made of.
pub(crate) struct Sheet<'a> {
    /// The run's events.
    pub events: &'a [TimedEvent],
    /// What they add up to.
    pub state: &'a State,
    /// The limits, see [`take_down`].
    pub limits: &'a Limits,
    /// The digest of the last entry.
    pub digest: &'a str,
    /// The program's path over the plate, or why it is not drawn.
    pub path: Result<Scene, String>,
    /// How a moment is written for people.
    pub local: &'a dyn Fn(Moment) -> String,
}

impl Sheet<'_> {
    /// The sheet to print.
    pub(crate) fn page(&self) -> Page {
        let mut page = run::head(self.events, self.state, self.local)
            .title("Cuts")
            .then(self.cuts())
            .title("The plate")
            .then(self.plate())
            .then(touches::taken(
                &self.state.marks.surface(),
                &self.state.show(),
            ));
        page = page.title("Sign-offs").then(self.signed()).title("Program");
        page = match &self.path {
            Ok(scene) => page.scene(scene.clone()),
            Err(why) => page.text(why.clone()),
        };
        page = page
            .then(self.accepted())
            .then(run::happened(self.events, self.state, self.local));
        page = self.answers(page);
        page.title("What this is")
            .text(
                "A record of what people said they saw. No sensor stood behind it, and it says of no machine that it is safe.",
            )
            .toned(
                Tone::Quiet,
                format!(
                    "Digest of the last entry: {}. `skimgate record verify` checks the book against it.",
                    self.digest
                ),
            )
    }

    /// The plate as it was touched, and what the last plane made of it; nothing where too few touches have places.
    fn plate(&self) -> Page {
        let state = self.state;
        let Some(Ok(land)) = state.land() else {
            return Page::new();
        };
        let first = land.lowest().map(|touch| touch.1);
        let Some(plane) = state.marks.last_cut().or(first) else {
            return Page::new();
        };
        let cutter = state.chosen(ShopList::Cutters);
        let mut page = Page::new().text("Heights as they were touched, before any cut.");
        let diameter = cutter.and_then(|c| c.length("diameter"));
        if let Some(scene) = plan::of_plate(&land, plane, diameter, Values::Heights, &state.show())
        {
            page = page.scene(scene);
        }
        page
    }

    fn cuts(&self) -> Page {
        let show = self.state.show().signed();
        let rows: Vec<Vec<String>> = cuts::of(self.events)
            .iter()
            .map(|cut| {
                let cleared = cut
                    .cleared
                    .map_or(String::new(), |answer| words::answer(answer, &show));
                let (took, how) = cut.ended.map_or_else(Default::default, |(how, cause, at)| {
                    let took = at.since(cut.since);
                    let took = took.map_or(String::new(), |ms| format!("{} s", ms / 1000));
                    (took, words::ended(how, cause))
                });
                vec![
                    words::title(self.state, cut.at),
                    show.both(cut.plane.into()),
                    if cut.assumed {
                        "assumed, not made: answers from a file".to_owned()
                    } else {
                        format!("{}, {}", cut.by, (self.local)(cut.since))
                    },
                    cleared,
                    took,
                    how,
                ]
            })
            .collect();
        if rows.is_empty() {
            return Page::new().text("Nothing was cut.");
        }
        let head = ["cut", "plane", "cycle start", "cleared", "took", "the cut"];
        Page::new().table(Table {
            head: head.map(str::to_owned).into(),
            rows,
            align: Vec::new(),
        })
    }

    fn signed(&self) -> Page {
        let rows: Vec<Vec<String>> = self
            .state
            .asked()
            .iter()
            .filter_map(|place| {
                let at = place.instance();
                let given = self.state.answers.get(&at)?;
                let Answer::Signed { digest, .. } = &given.answer else {
                    return None;
                };
                Some(vec![
                    words::title(self.state, &at),
                    words::answer(&given.answer, &self.state.show()),
                    (self.local)(given.at),
                    digest.to_string(),
                ])
            })
            .collect();
        if rows.is_empty() {
            return Page::new().text("Nothing that holds is signed.");
        }
        let head = ["what", "who", "when", "over the state with the digest"];
        Page::new().table(Table {
            head: head.map(str::to_owned).into(),
            rows,
            align: Vec::new(),
        })
    }

    fn accepted(&self) -> Page {
        let items: Vec<Item> = self
            .state
            .deviations
            .iter()
            .map(|(at, d)| {
                let title = words::title(self.state, at);
                let text = format!(
                    "{title}: outside {}; accepted by {}: {}",
                    d.limit, d.by, d.reason
                );
                Item::toned(Tone::Look, text)
            })
            .collect();
        if items.is_empty() {
            return Page::new();
        }
        Page::new().title("Accepted outside its limits").list(items)
    }

    fn answers(&self, mut page: Page) -> Page {
        let asked = self.state.asked();
        let heading = |place: &SequencePosition| (place.phase.id.clone(), place.pass);
        let mut at = 0;
        while let Some(first) = asked.get(at) {
            let here: Vec<&SequencePosition> = asked
                .iter()
                .skip(at)
                .take_while(|p| heading(p) == heading(first))
                .collect();
            at += here.len();
            let rows = here.iter().map(|place| self.row(place)).collect();
            let title = match first.pass {
                Some(n) => format!(
                    "{}, {} pass {n}",
                    first.phase.title,
                    first.phase.each.as_deref().unwrap_or_default()
                ),
                None => first.phase.title.clone(),
            };
            let head = ["step", "answer", "limits then", "by"];
            page = page.title(title).table(Table {
                head: head.map(str::to_owned).into(),
                rows,
                align: vec![Align::Left; 4],
            });
        }
        page
    }

    fn row(&self, place: &SequencePosition) -> Vec<String> {
        let at = place.instance();
        let title = place.step.title.clone();
        let Some(given) = self.state.answers.get(&at) else {
            let text = match self.state.invalidated.get(&at) {
                Some(because) => format!("no longer holds: {because}"),
                None => "not answered".to_owned(),
            };
            return vec![title, text];
        };
        let limits = self.limits.get(&at).map_or(String::new(), |l| l.join("; "));
        let answer = words::answer_in_words(self.state, &at, &given.answer);
        let by = words::by(given, self.state).unwrap_or_else(|| given.by.clone());
        let seen = given
            .seen
            .as_ref()
            .map(|seen| standing::seen(seen, self.local));
        let by = format!("{by}{}", words::after_comma(&seen.unwrap_or_default()));
        vec![title, answer, limits, by]
    }

    /// One line an answer that holds, comma-separated. Lengths stand in millimetres in a column of their own.
    pub(crate) fn lines(&self) -> String {
        let head = [
            "run",
            "practice",
            "machine",
            "phase",
            "pass",
            "step",
            "title",
            "answer",
            "value_mm",
            "limits",
            "accepted_by",
            "accepted_because",
            "by",
            "from",
            "at",
            "seen_run",
            "seen_by",
            "seen_at",
        ];
        let b = &self.state.begun;
        let mut out = spreadsheet::line(head);
        for place in self.state.asked() {
            let at = place.instance();
            let Some(given) = self.state.answers.get(&at) else {
                continue;
            };
            let [_, answer, limits, _] =
                <[String; 4]>::try_from(self.row(&place)).unwrap_or_default();
            let deviation = self.state.deviations.get(&at);
            let [accepted, because] =
                deviation.map_or(Default::default(), |d| [d.by.clone(), d.reason.clone()]);
            let pass = at.pass.map_or(String::new(), |n| n.to_string());
            let seen = given.seen.as_ref();
            let [seen_run, seen_by, seen_at] = seen.map_or(Default::default(), |seen| {
                [seen.run.clone(), seen.by.clone(), seen.at.to_string()]
            });
            let fields = [
                b.run.as_str(),
                if b.rehearsal { "yes" } else { "no" },
                &b.machine,
                &place.phase.id,
                &pass,
                &at.step,
                &place.step.title,
                &answer,
                &mm(&given.answer),
                &limits,
                &accepted,
                &because,
                &given.by,
                given.from.word(),
                &given.at.to_string(),
                &seen_run,
                &seen_by,
                &seen_at,
            ];
            out.push_str(&spreadsheet::line(fields));
        }
        out
    }
}

/// A length in millimetres; empty for whatever else was answered.
fn mm(answer: &Answer) -> String {
    let quantity = match answer {
        Answer::Quantity(q) => *q,
        Answer::Entered { value, .. } => *value,
        _ => return String::new(),
    };
    Length::nearest(quantity).map_or(String::new(), |l| l.mm().to_string())
}
