//! What the mill shows, as pages: the readout that is always in sight, the words, the plate.

use crate::procedure::practice::words::{Group, MillWord};
use crate::report::page::{Item, Page, PageFact, Tone};
use crate::simulator::mill::OFFSETS;
use crate::simulator::plan;
use crate::simulator::words::{length, length_with_unit};
use crate::simulator::world::{Mood, Passed, Said, World};

/// The readout.
pub(crate) fn readout(world: &World) -> Page {
    let mill = &world.mill;
    let show = |nm| length(nm, mill.system);
    let [x, y, z] = mill.work();
    let offset = OFFSETS.get(mill.active).copied().unwrap_or("-");
    let active = if mill.length == 0 {
        offset.to_owned()
    } else {
        format!("{offset} H{}", mill.length)
    };
    let homed = if mill.stopped {
        PageFact::toned("mill", "STOPPED", Tone::Stop)
    } else if mill.homed {
        PageFact::new("mill", "homed")
    } else {
        PageFact::toned("mill", "NOT HOMED", Tone::Stop)
    };
    let spindle = match mill.spindle {
        0 => "off".to_owned(),
        turns => format!("{turns} rpm"),
    };
    let mut facts = vec![
        homed,
        PageFact::new("X", show(x)),
        PageFact::new("Y", show(y)),
        PageFact::new("Z", show(z)),
        PageFact::new("unit", mill.system.symbol()),
        PageFact::new("active", active),
        PageFact::new("machine Z", show(mill.rounded(mill.machine[2]))),
        PageFact::new("spindle", spindle),
        PageFact::new("coolant", if mill.coolant { "on" } else { "off" }),
        PageFact::new("feed", format!("{} %", mill.feed)),
        PageFact::new("rapid", format!("{} %", mill.rapid)),
        PageFact::new("step", show(mill.step).trim_start_matches('+')),
        PageFact::new("tip", world.gap_by_eye()),
    ];
    if mill.shift != 0 {
        facts.push(PageFact::new("shift", show(mill.shift)));
    }
    if mill.single {
        facts.push(PageFact::new("single block", "on"));
    }
    if world.block != 0 {
        facts.push(PageFact::toned("program", "held in its middle", Tone::Look));
    }
    Page::new().status(facts)
}

/// What is seen.
pub(crate) fn seen(lines: &[Said]) -> Page {
    let mut page = Page::new();
    let mut kept: Vec<String> = Vec::new();
    for line in lines {
        if line.drawn {
            kept.push(line.text.clone());
            continue;
        }
        if !kept.is_empty() {
            page = page.working(std::mem::take(&mut kept));
        }
        let tone = match line.mood {
            Mood::Plain => Tone::Plain,
            Mood::Good => Tone::Good,
            Mood::Look => Tone::Look,
            Mood::Bad => Tone::Stop,
        };
        page = page.toned(tone, line.text.clone());
    }
    if !kept.is_empty() {
        page = page.working(kept);
    }
    page
}

/// Whether that line asks for help at the mill, and on what.
pub(crate) fn asks_help(line: &str) -> Option<&str> {
    let rest = line
        .strip_prefix('?')
        .or_else(|| line.strip_prefix("help"))?;
    (rest.is_empty() || line.starts_with('?') || rest.starts_with(' ')).then(|| rest.trim())
}

/// The words of the mill: all of them as they are typed, or what a group of them or a single one does.
pub(crate) fn help(of: &str) -> Page {
    let in_group = |group: Group| MillWord::ALL.iter().filter(move |w| w.group() == group);
    let mut page = Page::new().gap();
    if of.is_empty() {
        for group in Group::ALL {
            let all: Vec<String> = in_group(group).map(|w| w.typed()).collect();
            page = page
                .toned(Tone::Strong, group.title())
                .list([Item::new(all.join(", "))]);
        }
        return page.next(
            "`? move`, `? go`: what they do. At a question `m WORD` does one, `m` alone stays at the mill, Enter alone goes back to the question. Several in a line with a comma between.",
        );
    }
    let mut any = false;
    for group in Group::ALL {
        let whole = group.title().eq_ignore_ascii_case(of);
        let asked = in_group(group).filter(|w| whole || w.word().eq_ignore_ascii_case(of));
        let items: Vec<Item> = asked
            .map(|w| Item::new(format!("{}: {}", w.typed(), w.does())))
            .collect();
        if !items.is_empty() {
            any = true;
            page = page.toned(Tone::Strong, group.title()).list(items);
        }
    }
    if any {
        page
    } else {
        page.toned(
            Tone::Stop,
            format!("`{of}` is no word of the mill; `?` alone lists them all."),
        )
    }
}

/// The plate as it looks.
pub(crate) fn face(world: &World) -> Page {
    Page::new().scene(plan::face(&world.plate))
}

/// What a pass did.
pub(crate) fn passed(pass: &Passed, world: &World) -> Page {
    let show = |nm| length_with_unit(nm, world.mill.system);
    Page::new().text(format!(
        "Deepest bite {}; {} mm3 taken off; {} of the face is clean.",
        show(pass.deepest).trim_start_matches('+'),
        pass.volume,
        plan::thousandths(pass.cleaned)
    ))
}
