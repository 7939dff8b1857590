//! What a plane does to the plate, shown where the plane is chosen; and how the figures of a step came about.

use crate::interlock::Instance;
use crate::plate::{TouchedPlate, TouchedPlateError, Verdict};
use crate::procedure::formula::working;
use crate::procedure::{Kind, ShopList, Step};
use crate::quantity::Length;
use crate::report;
use crate::report::page::{Page, Tone};
use crate::walk::error::WalkError;
use crate::walk::session::Session;
use crate::walk::session::pages;

impl Session<'_> {
    pub(super) fn plane_of(&self, at: &Instance, step: &Step) -> Option<Length> {
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

    /// What a plane does to the plate: in a line, and all that can be said of it. `again` where a page of the same touches stands
    /// before it, so that what does not change with the plane is not repeated.
    pub(super) fn plane_pages(&self, plane: Length, again: bool) -> (Page, Page) {
        let show = self.show();
        match self.verdict(plane) {
            Some(Ok((land, verdict))) => {
                let line = report::touched_plate::brief(&land, &verdict, &show);
                let items = report::touched_plate::all_items(&land, &verdict, !again, &show);
                let at = show.signed().one(plane.into());
                let mut whole = Page::new()
                    .toned(Tone::Strong, format!("The plate at the plane {at}:"))
                    .list(items);
                if self.state.marks.last_cut().is_some() && !again {
                    whole = whole.text("Counted from the plate as it was touched, before any cut: what earlier passes took is in it.");
                }
                (Page::new().list([line]), whole)
            }
            Some(Err(e)) => {
                let text = format!("Nothing can be said between the touches: {e}.");
                (Page::new().toned(Tone::Look, text), Page::new())
            }
            // Without places there is no map; how far setting Z may put the plane off is shown all the same, once.
            None if again => (Page::new(), Page::new()),
            None => {
                let doubt = self.state.touch_doubt().shared;
                let text = report::touched_plate::plane_uncertainty(doubt, &show);
                (Page::new().text(text), Page::new())
            }
        }
    }

    /// The map of the plane worked out last; none where there is no plane or no touch with a place.
    pub(super) fn map_page(&self) -> Option<Page> {
        let asked = self.state.asked();
        let plane = asked.iter().rev().find_map(|place| {
            let at = place.instance();
            let answered = self.state.answers.contains_key(&at);
            answered.then(|| self.plane_of(&at, place.step))?
        });
        let (land, verdict) = self.verdict(plane?)?.ok()?;
        let cutter = self.state.chosen(ShopList::Cutters);
        let cutter = cutter.and_then(|c| c.length("diameter"));
        let map = report::touched_plate::map(&land, &verdict, cutter, &self.show());
        Some(map)
    }

    /// The map of the plane chosen last.
    pub(super) fn map_again(&mut self) -> Result<(), WalkError> {
        let page = self.map_page().unwrap_or_else(|| {
            let text = "There is no map yet: it needs a plane, and three touched points whose places are known.";
            Page::new().toned(Tone::Look, text)
        });
        Ok(self.prompter.show(&page)?)
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
