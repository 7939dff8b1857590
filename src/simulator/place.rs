//! What surrounds the mill: clothes, people, door, nozzle, chips, wrenches. Facts, seen by looking, changed by doing.

/// The surroundings.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[allow(clippy::struct_excessive_bools)] // each is a fact of its own, seen and changed by itself
pub struct Place {
    /// Safety glasses are worn.
    pub glasses: bool,
    /// Gloves are worn.
    pub gloves: bool,
    /// Somebody stands within reach of the mill.
    pub visitor: bool,
    /// The door is shut, or the chip screens are up.
    pub door: bool,
    /// The nozzle points at the cutter.
    pub nozzle: bool,
    /// A chip lies where the cutter comes down.
    pub chips: bool,
    /// Every screw of the plate is tight.
    pub plate: bool,
    /// The cutter is tight in its holder.
    pub cutter: bool,
    /// The cutter's edges are whole.
    pub edges: bool,
    /// Nothing is left lying inside.
    pub inside: bool,
    /// The face is crossed with a marker.
    pub ink: bool,
    /// Every guard is in place.
    pub guards: bool,
    /// The paper of whoever ran the mill last still hangs on the panel, its run half done.
    pub half_done: bool,
    /// The emergency stop was tried today.
    pub stop_tried: bool,
    /// The plate is warm from a cut.
    pub warm_plate: bool,
}

impl Default for Place {
    fn default() -> Self {
        Self {
            glasses: false,
            gloves: false,
            visitor: false,
            door: false,
            nozzle: true,
            chips: false,
            plate: true,
            cutter: true,
            edges: true,
            inside: true,
            ink: false,
            guards: true,
            half_done: false,
            stop_tried: false,
            warm_plate: false,
        }
    }
}

impl Place {
    /// What is seen when looking round, one line each.
    pub(crate) fn seen(&self, turning: bool, door_fitted: bool) -> Vec<&'static str> {
        let mut seen = Vec::new();
        let mut say = |is: bool, yes: &'static str, no: &'static str| {
            let text = if is { yes } else { no };
            if !text.is_empty() {
                seen.push(text);
            }
        };
        say(
            self.glasses,
            "Safety glasses sit on your nose.",
            "Your safety glasses hang on their hook.",
        );
        say(
            self.gloves,
            "Your hands are in work gloves, from the deburring before.",
            "Your hands are bare, your sleeves tight.",
        );
        say(
            self.visitor,
            "Somebody leans over the end of the table to see better.",
            "Nobody else is near; the floor line is clear.",
        );
        if door_fitted {
            say(self.door, "The door is shut.", "The door stands open.");
        } else {
            say(
                self.door,
                "The chip screens stand.",
                "The chip screens lie on the floor.",
            );
        }
        say(
            self.guards,
            "Every guard is in its place.",
            "One guard lies on the bench.",
        );
        say(
            self.nozzle,
            "The coolant nozzle points at the cutter.",
            "The coolant nozzle points past the cutter, at the back wall.",
        );
        say(
            self.chips,
            "A curl of chip lies on the plate, under the cutter.",
            "",
        );
        say(
            self.plate,
            "The screws of the plate sit alike.",
            "One screw of the plate stands a little higher than the others.",
        );
        say(
            self.cutter,
            "",
            "The cutter's shank shows a bright line just below the nut, as if it had moved.",
        );
        say(
            self.edges,
            "The cutter's edges are whole.",
            "One corner of the cutter glitters where a piece is gone.",
        );
        say(
            self.inside,
            "Nothing lies about inside.",
            "A wrench lies on the table, inside.",
        );
        say(
            self.ink,
            "Marker lines cross the whole face.",
            "The face of the plate is bare of ink.",
        );
        say(
            self.half_done,
            "A paper hangs on the panel: `back at 2, half the rows done, Z set 0.20 lower already`.",
            "",
        );
        say(self.warm_plate, "The plate feels warmer than the bed.", "");
        say(turning, "The spindle turns.", "The spindle stands.");
        seen
    }
}

#[cfg(test)]
mod tests {
    use super::Place;

    #[test]
    fn every_fact_out_of_order_can_be_seen() {
        let usual = Place::default();
        let seen = usual.seen(false, true);
        let odd: [fn(&mut Place); 9] = [
            |p| p.gloves = true,
            |p| p.visitor = true,
            |p| p.nozzle = false,
            |p| p.chips = true,
            |p| p.plate = false,
            |p| p.cutter = false,
            |p| p.edges = false,
            |p| p.inside = false,
            |p| p.half_done = true,
        ];
        for change in odd {
            let mut place = usual;
            change(&mut place);
            assert_ne!(place.seen(false, true), seen, "{place:?}");
        }
    }
}
