//! The drills, one row each.
//!
//! The faults and what is right are common practice, no source.

use super::super::MM;
use super::super::tape::Tape;
use super::{Drill, Harm, When};
use crate::quantity::UnitSystem;

/// All drills.
pub const DRILLS: &[Drill] = &[
    Drill {
        id: "other-program",
        title: "A program made for another cutter",
        when: When::Start,
        heard: "",
        apply: |w| {
            let other = w
                .store
                .iter()
                .find(|(name, _)| *name != w.facts.program)
                .cloned();
            w.tape = other.and_then(|(name, text)| Tape::read(&name, &text).ok());
        },
        present: |w| w.tape.as_ref().is_none_or(|t| t.name != w.facts.program),
        harm: Harm::Cut,
        order: &["load"],
        steps: &["program_cutter", "program_step_over"],
        known: "The program's first comment names its cutter; the setup sheet names the program.",
        right: "Load the program of this cutter. Rows made for a wider cutter leave strips of old skin.",
    },
    Drill {
        id: "old-offset",
        title: "Yesterday's X zero",
        when: When::Start,
        heard: "",
        apply: |w| {
            if let Some(offset) = w.mill.offsets.first_mut() {
                offset[0] = 12_700_000;
            }
        },
        present: |w| w.mill.offsets.first().is_some_and(|o| o[0].abs() > 50_000),
        harm: Harm::Cut,
        order: &["home|go", "zero x|set x"],
        steps: &["xy_zero"],
        known: "At the home corner, which is the program's X0 Y0, the X readout shows -12.700 mm and not nought.",
        right: "Go to the place of X0 Y0 and zero X there. Every row would lie half an inch aside, over a stud.",
    },
    Drill {
        id: "other-offset",
        title: "Another work offset is active",
        when: When::Start,
        heard: "",
        apply: |w| {
            w.mill.active = 1;
            if let Some(offset) = w.mill.offsets.get_mut(1) {
                *offset = [0, 0, -80 * MM];
            }
        },
        present: |w| w.mill.active != 0,
        harm: Harm::Cut,
        order: &["offset g54"],
        steps: &["control_offset", "rough_codes", "finish_codes"],
        known: "The readout names G55; the program calls G54.",
        right: "Make G54 active before touching. Z would be set in one offset and cut in another.",
    },
    Drill {
        id: "length-active",
        title: "Another length offset is active",
        when: When::Start,
        heard: "",
        apply: |w| w.mill.length = 5,
        present: |w| w.mill.length == 5,
        harm: Harm::Cut,
        order: &["length 1|length off|length"],
        steps: &["control_h", "rough_codes", "finish_codes"],
        known: "The readout names H5; the program calls another or none.",
        right: "Make the program's length offset active before touching. Touched with H5 and run without, the cut goes 25 mm off.",
    },
    Drill {
        id: "other-unit",
        title: "The readout is in the other unit",
        when: When::Start,
        heard: "",
        apply: |w| w.mill.system = UnitSystem::Inch,
        present: |w| w.mill.system != UnitSystem::Mm,
        harm: Harm::Cut,
        order: &["unit mm|unit"],
        steps: &["control_unit", "rough_codes", "finish_codes"],
        known: "The readout says inch and has four places; the program sets G21.",
        right: "Switch the control to millimetres. A figure typed at the wrong prompt is 25.4 times off.",
    },
    Drill {
        id: "visitor",
        title: "A visitor at the plate",
        when: When::Step("rough_others", 0),
        heard: "Steps behind you, and a voice: `May I watch?`",
        apply: |w| w.place.visitor = true,
        present: |w| w.place.visitor,
        harm: Harm::Cut,
        order: &["send"],
        steps: &["rough_others", "finish_others", "reach"],
        known: "Steps were heard, and `look` shows somebody at the table.",
        right: "Answer what is so, send the visitor behind the line, then answer again.",
    },
    Drill {
        id: "gloves",
        title: "Gloves on beside a turning cutter",
        when: When::Step("plate_top", 0),
        heard: "The edges are sharp: you take your gloves to stone them.",
        apply: |w| w.place.gloves = true,
        present: |w| w.place.gloves,
        harm: Harm::Touch,
        order: &["gloves off"],
        steps: &["plate_top", "clothing"],
        known: "You took gloves for the edges, and `look` shows them on your hands.",
        right: "Gloves off before the spindle turns. A turning cutter pulls the glove in, and the hand with it.",
    },
    Drill {
        id: "slipped-cutter",
        title: "The cutter slipped between two touches",
        when: When::Step("corners", 2),
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
        steps: &["touched_drift", "rough_tight", "corners"],
        known: "A squeak, a bright line on the shank, and the first corner reads differently when touched again.",
        right: "Stop the spindle, tighten the cutter, touch everything again: every reading before the slip is of another cutter.",
    },
    Drill {
        id: "chip-under",
        title: "A chip under the cutter at a touch",
        when: When::Step("corners", 1),
        heard: "",
        apply: |w| w.place.chips = true,
        present: |w| w.place.chips,
        harm: Harm::Cut,
        order: &["spindle off|spindle 0", "brush", "touch|down"],
        steps: &["plate_top", "corners"],
        known: "`look` shows a curl of chip; the touch gives no ring, only a glitter, 0.15 mm too high.",
        right: "Lift, stop the spindle, brush, touch that point again. A height too high makes the plane too high.",
    },
    Drill {
        id: "nozzle",
        title: "The coolant nozzle is aside",
        when: When::Start,
        heard: "",
        apply: |w| w.place.nozzle = false,
        present: |w| !w.place.nozzle,
        harm: Harm::Cut,
        order: &["nozzle"],
        steps: &[
            "rough_flood",
            "rough_dribble",
            "finish_flood",
            "finish_dribble",
        ],
        known: "`look` shows it pointing at the back wall; so does trying the coolant.",
        right: "Aim it with the spindle stopped. Aluminium welds to a dry edge.",
    },
    Drill {
        id: "door",
        title: "The door springs open before the start",
        when: When::Step("rough_sign", 0),
        heard: "A click from the front of the mill.",
        apply: |w| w.place.door = false,
        present: |w| !w.place.door,
        harm: Harm::Cut,
        order: &["door shut|door up|door close"],
        steps: &["rough_flood", "rough_dribble", "rough_sign"],
        known: "A click was heard, and `look` shows the door open.",
        right: "Shut it, see that it latches, and only then sign. Chips and coolant fly out of an open door.",
    },
    Drill {
        id: "cold-spindle",
        title: "The spindle has gone cold",
        when: When::Step("spindle_warm", 0),
        heard: "The telephone: it takes more than half an hour, the spindle standing.",
        apply: |w| {
            w.mill.spindle = 0;
            w.mill.warm = 0;
            w.mill.time += 40 * 60;
        },
        present: |w| !w.mill.is_warm(),
        harm: Harm::Touch,
        order: &["spindle 3000|spindle", "wait 20|wait"],
        steps: &["spindle_warm"],
        known: "Half an hour went by with the spindle standing.",
        right: "Run it warm again before touching. It grows by a skim's worth, and the cut would go that much deeper.",
    },
    Drill {
        id: "stop-pressed",
        title: "The emergency stop was knocked after touching",
        when: When::Step("clearance", 0),
        heard: "Your elbow meets the red key. Everything stops with a thud.",
        apply: |w| {
            w.press_stop();
        },
        present: |w| !w.mill.homed || w.mill.stopped,
        harm: Harm::Cut,
        order: &["reset", "home", "touch|down"],
        steps: &["homed", "clearance"],
        known: "The readout says STOPPED and NOT HOMED.",
        right: "`stop` in the walk, the key out, home, and touch everything again: where the axes stood is lost, and Z with it.",
    },
    Drill {
        id: "feed-left",
        title: "The feed override was left low",
        when: When::Start,
        heard: "",
        apply: |w| w.mill.feed = 40,
        present: |w| w.mill.feed != 100,
        harm: Harm::Cut,
        order: &["feed 100"],
        steps: &["overrides"],
        known: "The readout shows feed 40 %.",
        right: "Feed back to 100 for roughing. At 40 the edges rub, and the pass takes more than twice its time.",
    },
    Drill {
        id: "proud-screw",
        title: "A screw head stands near the surface",
        when: When::Start,
        heard: "",
        apply: |w| {
            let top = w.plate.steel.get(2).map_or(0, |s| w.plate.over(s.at)) - 350_000;
            if let Some(screw) = w.plate.steel.get_mut(2) {
                screw.top = top;
            }
        },
        present: |w| w.plate.steel.iter().any(|s| s.top > -w.facts.steel),
        harm: Harm::Cut,
        order: &["sink"],
        steps: &["steel_seen", "clamps_clear"],
        known: "`measure steel` gives 0.35 mm where the record says several millimetres.",
        right: "Hold, drive the screw down to its depth, measure again. The cutter would shatter on it.",
    },
    Drill {
        id: "half-done",
        title: "Somebody else's run, half done",
        when: When::Start,
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
        steps: &["reach", "homed", "nc"],
        known: "A paper on the panel says so, and the program stands in its middle.",
        right: "Ask its writer first, put the program at its beginning, home, and begin the whole run anew.",
    },
    Drill {
        id: "loose-plate",
        title: "A screw of the plate has come loose",
        when: When::Step("rough_tight", 0),
        heard: "Something ticked in the plate while it cooled.",
        apply: |w| w.place.plate = false,
        present: |w| !w.place.plate,
        harm: Harm::Cut,
        order: &["spindle off|spindle 0", "tighten plate", "touch|down"],
        steps: &["rough_tight", "plate_clamped"],
        known: "The wrench gives half a turn on one screw; `look` shows it standing higher.",
        right: "Spindle stopped, tighten crosswise, touch off again: a plate that gave does not lie where it was touched.",
    },
    Drill {
        id: "chipped-edge",
        title: "A corner of the cutter is gone",
        when: When::Step("cutter_clamped", 0),
        heard: "",
        apply: |w| w.place.edges = false,
        present: |w| !w.place.edges,
        harm: Harm::Touch,
        order: &["spindle off|spindle 0", "change"],
        steps: &["cutter_clamped", "rough_tight", "finish_tight"],
        known: "`look` shows one corner glittering.",
        right: "Spindle stopped, put a sound cutter in, before anything is touched with it.",
    },
    Drill {
        id: "wrench-inside",
        title: "A wrench is left on the table",
        when: When::Step("rough_inside", 0),
        heard: "",
        apply: |w| w.place.inside = false,
        present: |w| !w.place.inside,
        harm: Harm::Cut,
        order: &["clear"],
        steps: &["rough_inside", "finish_inside"],
        known: "`look` shows a wrench inside.",
        right: "Take it out with the spindle stopped. The cutter would throw it.",
    },
    Drill {
        id: "guard-off",
        title: "A guard lies on the bench",
        when: When::Start,
        heard: "",
        apply: |w| w.place.guards = false,
        present: |w| !w.place.guards,
        harm: Harm::Cut,
        order: &["guard"],
        steps: &["guards"],
        known: "`look` shows it on the bench.",
        right: "Put it back before anything turns.",
    },
];
