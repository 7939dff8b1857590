//! The drills, one row each.
//!
//! The faults and what is right are common practice, no source.

use super::super::MM;
use super::super::tape::Tape;
use super::{Drill, Harm};
use crate::procedure::practice::Fault;
use crate::quantity::UnitSystem;

/// All drills.
pub const DRILLS: &[Drill] = &[
    Drill {
        fault: Fault::OtherProgram,
        heard: "",
        apply: |w| {
            let other = w.store.iter().find(|p| p.name != w.facts.program);
            w.tape = other.and_then(|p| Tape::read(&p.name, &p.text).ok());
        },
        present: |w| w.tape.as_ref().is_none_or(|t| t.name != w.facts.program),
        harm: Harm::Cut,
        order: &["load"],
        known: "The program's first comment names its cutter; the setup sheet names the program.",
        right: "Load the program of this cutter. Rows made for a wider cutter leave strips of old skin.",
    },
    Drill {
        fault: Fault::OldOffset,
        heard: "",
        apply: |w| {
            if let Some(offset) = w.mill.offsets.first_mut() {
                offset[0] = 12_700_000;
            }
        },
        present: |w| w.mill.offsets.first().is_some_and(|o| o[0].abs() > 50_000),
        harm: Harm::Cut,
        order: &["home|go", "zero x|set x"],
        known: "At the home corner, which is the program's X0 Y0, the X readout shows -12.700 mm and not zero.",
        right: "Go to the place of X0 Y0 and zero X there. Every row would lie half an inch aside, over a stud.",
    },
    Drill {
        fault: Fault::OtherOffset,
        heard: "",
        apply: |w| {
            w.mill.active = 1;
            if let Some(offset) = w.mill.offsets.get_mut(1) {
                *offset = [0, 0, -80 * MM];
            }
        },
        present: |w| w.mill.active != 0,
        harm: Harm::Cut,
        order: &["offset g54|offset program"],
        known: "The readout names G55; the program calls G54.",
        right: "Make G54 active before touching. Z would be set in one offset and cut in another.",
    },
    Drill {
        fault: Fault::LengthActive,
        heard: "",
        apply: |w| w.mill.length = 5,
        present: |w| w.mill.length == 5,
        harm: Harm::Cut,
        order: &["length 1|length off|length"],
        known: "The readout names H5; the program calls another or none.",
        right: "Make the program's length offset active before touching. Touched with H5 and run without, the cut goes 25 mm off.",
    },
    Drill {
        fault: Fault::OtherUnit,
        heard: "",
        apply: |w| w.mill.system = UnitSystem::Inch,
        present: |w| w.mill.system != UnitSystem::Mm,
        harm: Harm::Cut,
        order: &["unit mm|unit"],
        known: "The readout says inch and has four places; the program sets G21.",
        right: "Switch the control to millimetres. A figure typed at the wrong prompt is 25.4 times off.",
    },
    Drill {
        fault: Fault::Visitor,
        heard: "Steps behind you, and a voice: `May I watch?`",
        apply: |w| w.place.visitor = true,
        present: |w| w.place.visitor,
        harm: Harm::Cut,
        order: &["send"],
        known: "Steps were heard, and `look` shows somebody at the table.",
        right: "Answer what is so, send the visitor behind the line, then answer again.",
    },
    Drill {
        fault: Fault::Gloves,
        heard: "The edges are sharp: you take your gloves to stone them.",
        apply: |w| w.place.gloves = true,
        present: |w| w.place.gloves,
        harm: Harm::Touch,
        order: &["gloves off"],
        known: "You took gloves for the edges, and `look` shows them on your hands.",
        right: "Gloves off before the spindle turns. A turning cutter pulls the glove in, and the hand with it.",
    },
    Drill {
        fault: Fault::SlippedCutter,
        heard: "A short squeak comes from the spindle.",
        apply: |w| {
            w.place.cutter = false;
            w.mill.slipped += 120_000;
        },
        present: |w| !w.place.cutter,
        harm: Harm::Cut,
        order: &[
            "spindle off|spindle 0",
            "tighten cutter|change",
            "touch|down",
        ],
        known: "A squeak, a bright line on the shank, and the first corner reads differently when touched again.",
        right: "Stop the spindle, tighten the cutter, touch everything again: every reading before the slip is of another cutter.",
    },
    Drill {
        fault: Fault::ChipUnder,
        heard: "",
        apply: |w| w.place.chips = true,
        present: |w| w.place.chips,
        harm: Harm::Cut,
        order: &["spindle off|spindle 0", "brush", "touch|down"],
        known: "`look` shows a curl of chip; the touch gives no ring, only a glitter, 0.15 mm too high.",
        right: "Lift, stop the spindle, brush, touch that point again. A height too high makes the plane too high.",
    },
    Drill {
        fault: Fault::Nozzle,
        heard: "",
        apply: |w| w.place.nozzle = false,
        present: |w| !w.place.nozzle,
        harm: Harm::Cut,
        order: &["nozzle"],
        known: "`look` shows it pointing at the back wall; so does trying the coolant.",
        right: "Aim it with the spindle stopped. Aluminium welds to a dry edge.",
    },
    Drill {
        fault: Fault::Door,
        heard: "A click from the front of the mill.",
        apply: |w| w.place.door = false,
        present: |w| !w.place.door,
        harm: Harm::Cut,
        order: &["door shut|door up|door close"],
        known: "A click was heard, and `look` shows the door open.",
        right: "Shut it, see that it latches, and only then sign. Chips and coolant fly out of an open door.",
    },
    Drill {
        fault: Fault::ColdSpindle,
        heard: "The telephone: it takes more than half an hour, the spindle standing.",
        apply: |w| {
            w.mill.spindle = 0;
            w.mill.warm = 0;
            w.mill.time += 40 * 60;
        },
        present: |w| !w.mill.is_warm(),
        harm: Harm::Touch,
        order: &["spindle 3000|spindle", "wait 20|wait"],
        known: "Half an hour went by with the spindle standing.",
        right: "Run it warm again before touching. It grows by a skim's worth, and the cut would go that much deeper.",
    },
    Drill {
        fault: Fault::StopPressed,
        heard: "Your elbow meets the red key. Everything stops with a thud.",
        apply: |w| {
            w.press_stop();
        },
        present: |w| !w.mill.homed || w.mill.stopped,
        harm: Harm::Cut,
        order: &["reset", "home", "touch|down"],
        known: "The readout says STOPPED and NOT HOMED.",
        right: "`stop` in the walk, the key out, home, and touch everything again: where the axes stood is lost, and Z with it.",
    },
    Drill {
        fault: Fault::FeedLeft,
        heard: "",
        apply: |w| w.mill.feed = 40,
        present: |w| w.mill.feed != 100,
        harm: Harm::Cut,
        order: &["feed 100"],
        known: "The readout shows feed 40 %.",
        right: "Feed back to 100 for roughing. At 40 the edges rub, and the pass takes more than twice its time.",
    },
    Drill {
        fault: Fault::ProudScrew,
        heard: "",
        apply: |w| {
            let top = w.plate.steel.get(2).map_or(0, |s| w.plate.over(s.at)) - 350_000;
            if let Some(screw) = w.plate.steel.get_mut(2) {
                screw.top = top;
            }
        },
        present: super::super::world::World::steel_stands_high,
        harm: Harm::Cut,
        order: &["sink"],
        known: "`measure steel` gives 0.35 mm where the record says several millimetres.",
        right: "Hold, drive the screw down to its depth, measure again. The cutter would shatter on it.",
    },
    Drill {
        fault: Fault::HalfDone,
        heard: "",
        apply: |w| {
            w.place.half_done = true;
            if let Some(offset) = w.mill.offsets.first_mut() {
                offset[2] -= 200_000;
            }
            w.block = 20;
        },
        present: |w| w.place.half_done,
        harm: Harm::Cut,
        order: &["paper", "reset", "home"],
        known: "A paper on the panel says so, and the program stands in its middle.",
        right: "Ask its writer first, put the program at its beginning, home, and begin the whole run anew.",
    },
    Drill {
        fault: Fault::LoosePlate,
        heard: "Something ticked in the plate while it cooled.",
        apply: |w| w.place.plate = false,
        present: |w| !w.place.plate,
        harm: Harm::Cut,
        order: &["spindle off|spindle 0", "tighten plate", "touch|down"],
        known: "The wrench gives half a turn on one screw; `look` shows it standing higher.",
        right: "Spindle stopped, tighten crosswise, touch off again: a plate that gave does not lie where it was touched.",
    },
    Drill {
        fault: Fault::ChippedEdge,
        heard: "",
        apply: |w| w.place.edges = false,
        present: |w| !w.place.edges,
        harm: Harm::Touch,
        order: &["spindle off|spindle 0", "change"],
        known: "`look` shows one corner glittering.",
        right: "Spindle stopped, put a sound cutter in, before anything is touched with it.",
    },
    Drill {
        fault: Fault::WrenchInside,
        heard: "",
        apply: |w| w.place.inside = false,
        present: |w| !w.place.inside,
        harm: Harm::Cut,
        order: &["clear"],
        known: "`look` shows a wrench inside.",
        right: "Take it out with the spindle stopped. The cutter would throw it.",
    },
    Drill {
        fault: Fault::GuardOff,
        heard: "",
        apply: |w| w.place.guards = false,
        present: |w| !w.place.guards,
        harm: Harm::Cut,
        order: &["guard"],
        known: "`look` shows it on the bench.",
        right: "Put it back before anything turns.",
    },
];
