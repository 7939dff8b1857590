//! The counting behind the bench `attention`, on texts whose counts are known by hand.

#[path = "../../benches/attention/answers.rs"]
pub mod answers;
#[path = "../../benches/attention/count.rs"]
mod count;

use answers::{first_passes, read, written};
use count::{Attention, Block, PhaseCount};

/// Two phases, four prompts; words by line: 7, 2; 8, 6, 5, 4, 0, 4, 3; 3, 1; 10, 3; 1.
const SHOWN: &str = "\
step 1 of 2 | Your eyes\r
confirm here> covered and clean\r
-- phase 1 of 2 | People --------\r
\x1b[1mstep 2 of 2 · \x1b[0mGloves\r
  > Type your initials now.\r
  WARNING: chips fly far\r
\r
  tram > 0.05 mm\r
  value in %>\r
  Recorded: 3 mm\r
code> FILE\r
── phase 2 of 2 · Machine and plate ──\r
P1 (of 5)> -0.12\r
Done.\r
";

fn block(lines: usize, words: usize, phase: &str, step: &str, prompt: Option<&str>) -> Block {
    Block {
        lines,
        words,
        phase: phase.to_owned(),
        step: step.to_owned(),
        prompt: prompt.map(str::to_owned),
    }
}

#[test]
fn each_block_ends_with_the_prompt_it_leads_to() {
    let counted = Attention::of(SHOWN);
    assert_eq!(
        counted.blocks,
        [
            block(1, 9, "", "Your eyes", Some("confirm here")),
            block(6, 30, "People", "Gloves", Some("value in %")),
            block(1, 4, "People", "", Some("code")),
            block(1, 13, "Machine and plate", "", Some("P1 (of 5)")),
            block(1, 1, "Machine and plate", "", None),
        ]
    );
    assert_eq!((counted.prompts(), counted.words()), (4, 57));
    assert_eq!(counted.longest(), 6);
}

#[test]
fn the_longest_come_first_and_phases_are_summed() {
    let counted = Attention::of(SHOWN);
    let longest: Vec<usize> = counted.longest_blocks(2).iter().map(|b| b.lines).collect();
    assert_eq!(longest, [6, 1]);
    assert_eq!(counted.longest_blocks(2)[1].step, "Your eyes");
    let sum = |phase: &str, prompts, words, lines| PhaseCount {
        phase: phase.to_owned(),
        prompts,
        words,
        lines,
    };
    assert_eq!(
        counted.phases(),
        [
            sum("", 1, 9, 1),
            sum("People", 2, 34, 7),
            sum("Machine and plate", 1, 14, 2),
        ]
    );
}

#[test]
fn what_was_typed_is_not_counted_as_shown() {
    let counted = Attention::of("remarks> a long remark > with signs\n");
    assert_eq!((counted.prompts(), counted.words()), (1, 1));
}

#[test]
fn nothing_shown_is_nothing() {
    let counted = Attention::of("");
    assert_eq!(
        (counted.prompts(), counted.words(), counted.longest()),
        (0, 0, 0)
    );
}

const THREE: &str = "operator: QZ
program_h: 1
clearance: [{ try: -0.05 mm }, 0.05 mm]
rough_stand: [{ C: -0.17 mm }, { C: -0.16 mm }, { LOW1: -0.02 mm }]
rough_run: [finished, finished, finished]
surface_roughed: [skin left, skin left, clean]
skim: [{ try: 0.8 mm }, 0.08 mm]
finish_stand: { C: 0 mm }
";

#[test]
fn fewer_passes_are_the_first_ones_with_a_clean_end() {
    let two = first_passes(&read(THREE), 2);
    let wanted = "operator: QZ
program_h: 1
clearance: [0.05 mm]
rough_stand: [{ C: -0.17 mm }, { C: -0.16 mm }]
rough_run: [finished, finished]
surface_roughed: [skin left, clean]
skim: [0.08 mm]
finish_stand: { C: 0 mm; -151.62 mm }
";
    assert_eq!(two, read(wanted));
    assert_eq!(read(&written(&two)), two);
}

#[test]
fn all_passes_are_the_same_without_the_slips() {
    let three = first_passes(&read(THREE), 3);
    let clean = THREE.replace("{ try: -0.05 mm }, ", "");
    assert_eq!(three, read(&clean.replace("{ try: 0.8 mm }, ", "")));
}
