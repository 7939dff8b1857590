//! What the mill shows, as pages: the readout that is always in sight, the words, the plate.

use crate::report::page::{Item, Page, PageFact, Tone};
use crate::simulator::mill::OFFSETS;
use crate::simulator::words::{Word, groups, length, length_with_unit};
use crate::simulator::world::{Mood, Passed, Said, World};
use crate::simulator::{MM, plan};

/// The readout.
pub fn readout(world: &World) -> Page {
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
pub fn seen(lines: &[Said]) -> Page {
    let mut page = Page::new();
    let mut kept: Vec<String> = Vec::new();
    for line in lines {
        let drawn = line.text.starts_with("  ")
            || line.text.len() > 40 && line.text.chars().all(|c| "#+.".contains(c));
        if drawn {
            kept.push(line.text.trim_start().to_owned());
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
pub fn asks_help(line: &str) -> Option<&str> {
    let rest = line
        .strip_prefix('?')
        .or_else(|| line.strip_prefix("help"))?;
    (rest.is_empty() || line.starts_with('?') || rest.starts_with(' ')).then(|| rest.trim())
}

/// The words of the mill: all of them as they are typed, or what a group of them or a single one does.
pub fn help(of: &str) -> Page {
    let typed = |w: &Word| format!("{} {}", w.word, w.after).trim_end().to_owned();
    let mut page = Page::new().gap();
    if of.is_empty() {
        for (title, words) in groups() {
            let all: Vec<String> = words.iter().map(typed).collect();
            page = page
                .toned(Tone::Strong, title)
                .list([Item::new(all.join(", "))]);
        }
        return page.next(
            "`? move`, `? go`: what they do. At a question `m WORD` does one, `m` alone stays at the mill, Enter alone goes back to the question. Several in a line with a comma between.",
        );
    }
    let mut any = false;
    for (title, words) in groups() {
        let whole = title.eq_ignore_ascii_case(of);
        let asked = words
            .iter()
            .filter(|w| whole || w.word.eq_ignore_ascii_case(of));
        let items: Vec<Item> = asked
            .map(|w| Item::new(format!("{}: {}", typed(w), w.does)))
            .collect();
        if !items.is_empty() {
            any = true;
            page = page.toned(Tone::Strong, title).list(items);
        }
    }
    if any {
        page
    } else {
        page.toned(
            Tone::Stop,
            format!("`{of}` is no word of the mill; `?` alone tells them all."),
        )
    }
}

/// The plate as it looks.
pub fn face(world: &World) -> Page {
    Page::new().scene(plan::face(&world.plate))
}

/// What a pass did.
pub fn passed(pass: &Passed, world: &World) -> Page {
    let show = |nm| length_with_unit(nm, world.mill.system);
    Page::new().text(format!(
        "Deepest bite {}; {} mm3 taken off; {} of the face is clean.",
        show(pass.deepest).trim_start_matches('+'),
        pass.volume,
        plan::thousandths(pass.cleaned)
    ))
}

/// Whether the tip is on the plate, as near as a last jog step.
pub fn touching(world: &World) -> bool {
    world.gap().is_some_and(|gap| gap < MM / 20)
}
