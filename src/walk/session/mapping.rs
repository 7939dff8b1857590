//! What a plane does to the plate, shown where the plane is chosen; and how the figures of a step came about.

use crate::interlock::Instance;
use crate::plate::{PlacedPoint, TouchedPlate, TouchedPlateError, Verdict};
use crate::procedure::formula::working;
use crate::procedure::{Kind, ShopList, Step};
use crate::quantity::Length;
use crate::report;
use crate::report::page::{Page, Tone};
use crate::walk::error::WalkError;
use crate::walk::session::Session;
use crate::walk::session::pages;

/// The word that shows the map again.
const MAP: &str = "map";

/// What was drawn last: the plane and the touches under it.
pub(crate) type Drawn = (Length, Vec<PlacedPoint>);

impl Session<'_> {
    fn plane_of(&self, at: &Instance, step: &Step) -> Option<Length> {
        let Kind::WorkOut {
            value, map: true, ..
        } = &step.kind
        else {
            return None;
        };
        Length::nearest(self.state.env(at).quantity(value).ok()?)
    }

    fn verdict(&self, plane: Length) -> Option<Result<(TouchedPlate, Verdict), TouchedPlateError>> {
        let land = self.state.land()?;
        Some(land.and_then(|land| {
            let verdict = land.verdict(plane)?;
            Ok((land, verdict))
        }))
    }

    /// Shows the map of the plane that a step works out; only the plane's doubt where too few points have places. A plane drawn
    /// already is not drawn again, and of the same touches nothing is said twice.
    pub(crate) fn show_map(&mut self, at: &Instance, step: &Step) -> Result<(), WalkError> {
        let Some(plane) = self.plane_of(at, step) else {
            return Ok(());
        };
        let drawn = (plane, self.state.spots());
        let Some(found) = self.verdict(plane) else {
            // Without places there is no map; what setting Z may do to the plane is shown all the same, once.
            if self.drawn.replace(drawn).is_some() {
                return Ok(());
            }
            let doubt = report::touched_plate::plane_uncertainty(
                self.state.touch_doubt().shared,
                &self.show(),
            );
            return Ok(self.prompter.show(&Page::new().text(doubt))?);
        };
        if self.drawn.as_ref() == Some(&drawn) {
            let text = "The map of this plane stands above.";
            return Ok(self.prompter.show(&Page::new().toned(Tone::Quiet, text))?);
        }
        let known = self.drawn.as_ref().is_some_and(|(_, s)| *s == drawn.1);
        if found.is_ok() {
            self.drawn = Some(drawn);
        }
        self.draw(at, found, known)
    }

    /// `known` where all that the touches say by themselves was shown before.
    fn draw(
        &mut self,
        at: &Instance,
        found: Result<(TouchedPlate, Verdict), TouchedPlateError>,
        known: bool,
    ) -> Result<(), WalkError> {
        let page = match found {
            Ok((land, verdict)) => {
                let cutter = self.state.chosen(ShopList::Cutters);
                let cutter = cutter.and_then(|c| c.length("diameter"));
                let show = self.show();
                let mut page = if known {
                    report::touched_plate::another(&land, &verdict, cutter, &show)
                } else {
                    report::touched_plate::page(&land, &verdict, cutter, &show)
                };
                if self.state.marks.last_cut().is_some() {
                    page = page.text("Counted from the plate as it was touched, before any cut: what earlier passes took is in it.");
                }
                page.toned(
                    Tone::Quiet,
                    format!("{} `{MAP}` shows the map again.", why(&at.step)),
                )
            }
            Err(e) => Page::new().toned(
                Tone::Look,
                format!("Nothing can be said between the touches: {e}."),
            ),
        };
        Ok(self.prompter.show(&page)?)
    }

    /// The map of the plane chosen last, again.
    pub(crate) fn map_again(&mut self) -> Result<(), WalkError> {
        let planes: Vec<(Instance, Length)> = self
            .state
            .asked()
            .into_iter()
            .filter(|place| self.state.answers.contains_key(&place.instance()))
            .filter_map(|place| {
                let at = place.instance();
                let plane = self.plane_of(&at, self.state.step(&at)?)?;
                Some((at, plane))
            })
            .collect();
        let last = planes.into_iter().next_back();
        let found = last.and_then(|(at, plane)| Some((at, self.verdict(plane)?)));
        let Some((at, found)) = found else {
            let text = "There is no map yet: it needs a plane, and three touched points whose places are known.";
            return Ok(self.prompter.show(&Page::new().toned(Tone::Look, text))?);
        };
        self.draw(&at, found, false)
    }

    /// How the value of a step came about, or why a question is asked. Whether there is such a step.
    pub(crate) fn show_why(&mut self, here: &Instance, id: &str) -> Result<bool, WalkError> {
        let Some(step) = self.state.procedure.step(id).cloned() else {
            return Ok(false);
        };
        let at = self.state.referred(id, here);
        let at = at.unwrap_or_else(|| Instance::new(id, None));
        let Kind::WorkOut { value, ways, .. } = &step.kind else {
            self.prompter.show(&pages::help(&self.state, &at))?;
            return Ok(true);
        };
        let show = self.show();
        let lines = working::lines(id, value, &self.state.env(&at), &show);
        let mut page = Page::new()
            .gap()
            .toned(Tone::Strong, format!("Why: {}", step.title))
            .text(step.why.clone())
            .working(lines);
        if let Some(ways) = self.ways(&at, ways) {
            page = page.then(report::ways::working(&ways, &show));
        }
        if let Some(Ok((land, verdict))) = self.plane_of(&at, &step).and_then(|p| self.verdict(p)) {
            let lines = report::touched_plate::working(&land, &verdict, &show);
            page = page
                .toned(Tone::Strong, "Why, between the touches:")
                .working(lines.lines().iter().cloned());
        }
        self.prompter.show(&page)?;
        Ok(true)
    }
}

/// How to ask for the working of a step.
pub(crate) fn why(step: &str) -> String {
    format!("`why {step}` shows formula, inputs and source of these figures.")
}
