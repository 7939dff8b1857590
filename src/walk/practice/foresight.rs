//! What a demonstration sees to before it answers: the faults in the way, cleared in order.

use super::demo::{Answer, later, mm, said};
use super::truth::{Truth, truth};
use crate::simulator::mill::OFFSETS;
use crate::simulator::world::World;
use crate::terminal::prompt::QuestionPart;

/// What is seen to before a question is answered, and the answer where it is none that confirms a state.
pub(super) fn look_first(step: &str, world: &World) -> Option<(Vec<String>, Option<Answer>)> {
    let (p, mill) = (&world.place, &world.mill);
    let base = step
        .strip_prefix("rough_")
        .or_else(|| step.strip_prefix("finish_"))
        .unwrap_or(step);
    let mut acts: Vec<String> = Vec::new();
    let mut need = |is: bool, words: &[&str]| {
        if is {
            acts.extend(words.iter().map(|w| (*w).to_owned()));
        }
    };
    match base {
        "eyes" => need(!p.glasses, &["glasses on"]),
        "reach" | "others" => {
            need(p.visitor || p.half_done, &["look"]);
            need(p.visitor, &["hold a visitor at the table", "send"]);
            need(p.half_done, &["hold somebody else's run", "paper", "reset"]);
        }
        "clothing" => need(p.gloves, &["gloves off"]),
        "guards" => need(!p.guards, &["look", "guard"]),
        "spindle_stopped" | "proof_hand" | "touch_still" => {
            need(mill.spindle > 0, &["spindle off"]);
        }
        "hand" => need(true, &["up 12", "spindle off"]),
        "estop_tested" => {
            need(mill.stopped, &["reset"]);
            need(!p.stop_tried, &["try"]);
        }
        "homed" => need(!mill.homed, &["home"]),
        "plate_clamped" => need(true, &["tighten plate"]),
        "steel_seen" => need(true, &["measure steel"]),
        "clamps_clear" => {
            let proud = world.plate.steel.iter().any(|s| s.top > -world.facts.steel);
            need(
                proud,
                &["measure steel", "hold a screw near the surface", "sink"],
            );
        }
        "plate_top" => {
            need(p.gloves, &["gloves off"]);
            need(p.chips, &["brush"]);
        }
        "cutter_clamped" => {
            need(true, &["look"]);
            need(!p.edges, &["spindle off", "change"]);
        }
        "nc" => {
            need(true, &["program"]);
            let other = world
                .tape
                .as_ref()
                .is_none_or(|t| t.name != world.facts.program);
            let load = format!("load {}", world.facts.program);
            need(other, &["sheet", &load]);
        }
        "control_unit" => need(mill.system != crate::quantity::UnitSystem::Mm, &["unit mm"]),
        "control_offset" => need(mill.active != 0, &["offset G54"]),
        "control_h" => {
            let wanted = super::truth::program_length(world);
            let word = if wanted == 0 {
                "length off".to_owned()
            } else {
                format!("length {wanted}")
            };
            need(mill.length != wanted, &[&word]);
        }
        "control_shift" => need(mill.shift != 0, &["shift off"]),
        "xy_zero" => {
            let origin = mill.origin();
            need(
                origin[0] != 0 || origin[1] != 0,
                &["home", "zero x", "zero y"],
            );
        }
        "overrides" => need(true, &["feed 100", "rapid 25"]),
        "spindle_warm" | "warm" => {
            let speed = format!("spindle {}", mill.limits.speeds[1].min(3000));
            need(!mill.is_warm(), &[&speed, "wait 20", "spindle off"]);
        }
        "tight" => {
            need(mill.spindle > 0, &["spindle off"]);
            need(!p.edges, &["change"]);
            need(true, &["tighten plate", "tighten cutter"]);
        }
        "inside" => {
            need(mill.spindle > 0, &["spindle off"]);
            need(!p.inside, &["clear"]);
            need(!p.ink, &["ink"]);
        }
        "flood" | "dribble" => {
            need(mill.spindle > 0, &["spindle off"]);
            need(!p.nozzle, &["nozzle"]);
            need(!p.door, &["door shut"]);
        }
        "start" => need(true, &["up 30", "go start"]),
        "cool" => need(p.warm_plate, &["wait 15"]),
        "codes" => {
            let wrong = OFFSETS.get(mill.active) != Some(&"G54");
            need(wrong, &["offset G54"]);
        }
        _ => {}
    }
    let lost_touch = base == "tight" && (!p.plate || !p.cutter || !p.edges);
    if lost_touch {
        return Some((acts, Some(said("back corners"))));
    }
    if acts.is_empty()
        || matches!(
            base,
            "steel_seen"
                | "nc"
                | "control_unit"
                | "control_offset"
                | "control_h"
                | "control_shift"
                | "codes"
        )
    {
        return (!acts.is_empty()).then(|| (acts, Some(reads(step))));
    }
    Some((acts, None))
}

/// The answer to a step that is read once its acts are done.
fn reads(step: &str) -> Answer {
    let step = step.to_owned();
    later(move |w| match truth(&step, &QuestionPart::Answer, w) {
        Some(Truth::Word(word)) => word,
        Some(Truth::Length(nm, _)) => mm(nm),
        Some(Truth::Whole(n)) => n.to_string(),
        _ => String::new(),
    })
}
