//! The facts of the practice workshop that `practice:` in a procedure can ask for: one row each. The JSON Schema, the list
//! of `skimgate rehearse --facts` and the hints of error messages are made from the rows; the workshop gives the values.

use crate::quantity::Dimension;

/// What there is to know of a fact without a workshop.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Row {
    /// Its name in formulas.
    pub name: &'static str,
    /// What it is, in one line.
    pub about: &'static str,
    /// What kind of value it has.
    pub is: Is,
}

/// What kind of value a fact has.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Is {
    /// Something that is so or is not.
    State {
        /// What can be seen where it is not so.
        otherwise: &'static str,
        /// What makes it so: lines typed at the practice mill.
        mend: &'static [&'static str],
    },
    /// As `State`; where it was not so, earlier touches are of another cutter or plate and are made again.
    Holding {
        /// What can be seen where it is not so.
        otherwise: &'static str,
        /// What makes it so.
        mend: &'static [&'static str],
    },
    /// One of these words.
    Word(&'static [&'static str]),
    /// A number of this kind, and how far an honest reading of it may be off.
    Number(Dimension, Within),
}

/// How long a fact is so once somebody has seen it.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) enum Lasting {
    /// It can be otherwise in the next moment.
    Now,
    /// As long as the machine is the same.
    WithMachine,
    /// As long as the cutter is the same.
    WithCutter,
    /// As long as the program is the same.
    WithProgram,
}

impl Lasting {
    /// Itself, where it depends on something that must be named under `while`.
    pub(crate) fn needs(self) -> Option<Self> {
        (self != Self::Now).then_some(self)
    }

    /// The word under `while` that it needs; empty for none.
    pub(crate) const fn word(self) -> &'static str {
        match self {
            Self::Now => "",
            Self::WithMachine => "machine",
            Self::WithCutter => "cutter",
            Self::WithProgram => "program",
        }
    }
}

/// How far an honest reading may be off.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Within {
    /// Not at all: it is read off a screen or a page.
    Exactly,
    /// So many micrometres.
    Micrometres(i64),
    /// One step of the readout.
    ReadoutStep,
}

macro_rules! facts {
    ($($fact:ident: $name:literal, $about:literal, $is:expr;)*) => {
        /// A fact of the practice workshop.
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
        pub enum Fact {
            $(#[doc = $about] $fact,)*
        }

        impl Fact {
            /// All of them.
            pub const ALL: &[Self] = &[$(Self::$fact,)*];

            /// What there is to know of it.
            pub(crate) const fn row(self) -> Row {
                match self {
                    $(Self::$fact => Row { name: $name, about: $about, is: $is },)*
                }
            }
        }
    };
}

const fn state(otherwise: &'static str, mend: &'static [&'static str]) -> Is {
    Is::State { otherwise, mend }
}

const fn holding(otherwise: &'static str, mend: &'static [&'static str]) -> Is {
    Is::Holding { otherwise, mend }
}

const fn length(micrometres: i64) -> Is {
    let within = match micrometres {
        0 => Within::Exactly,
        n => Within::Micrometres(n),
    };
    Is::Number(Dimension::LENGTH, within)
}

const READOUT: Is = Is::Number(Dimension::LENGTH, Within::ReadoutStep);
const RATIO: Is = Is::Number(Dimension::RATIO, Within::Exactly);
const SPEED: Is = Is::Number(Dimension::SPINDLE_SPEED, Within::Exactly);

const UNITS: Is = Is::Word(&["mm", "inch"]);
const OFFSETS: Is = Is::Word(&["G54", "G55", "G56", "G57", "G58", "G59"]);

facts! {
    Glasses: "person.glasses", "the safety glasses are worn",
        state("the safety glasses hang on their hook", &["glasses on"]);
    BareHands: "person.bare_hands", "no gloves are worn",
        state("`m look` shows gloves on your hands", &["gloves off"]);
    NobodyNear: "place.nobody_near", "nobody else is within reach of the mill",
        state("`m look` shows somebody at the table", &["look", "hold a visitor at the table", "send"]);
    NoRunLeft: "place.no_run_left", "nobody left a run half done",
        state("`m look` shows somebody's paper on the panel", &["look", "hold somebody else's run", "paper", "reset"]);
    Guards: "place.guards", "every guard is in place",
        state("`m look` shows a guard on the bench", &["look", "guard"]);
    DoorShut: "place.door_shut", "the door is shut, or the chip screens are up",
        state("`m look` shows the door open, or the screens down", &["door shut"]);
    NozzleAimed: "place.nozzle_aimed", "the coolant nozzle points at the cutter",
        state("`m look` shows where the nozzle points", &["spindle off", "nozzle"]);
    NothingInside: "place.nothing_inside", "no tool is left inside",
        state("`m look` shows what lies inside", &["spindle off", "clear"]);
    Tallest: "place.tallest", "height of the tallest thing above the plate's top", length(3000);
    PlateTight: "plate.tight", "every screw of the plate is tight",
        holding("`m look` shows a screw standing higher", &["spindle off", "tighten plate"]);
    NoChips: "plate.no_chips", "no chip lies where the cutter comes down",
        state("`m look` shows a chip on the plate", &["spindle off", "brush"]);
    Inked: "plate.inked", "the face is crossed with a marker",
        state("`m look` shows the face without ink", &["spindle off", "ink"]);
    SteelDeep: "plate.steel_deep", "every screw head lies as deep as the record says",
        state(
            "`m measure steel` shows a head near the surface",
            &["spindle off", "measure steel", "hold a screw near the surface", "sink"],
        );
    PlateCool: "plate.cool", "the plate is as cool as the bed",
        state("`m feel` says the plate is warmer than the bed", &["wait 15"]);
    Clean: "plate.clean", "no old skin is left on the face",
        state("`m face` shows old skin", &[]);
    Steel: "plate.steel_depth", "depth of the shallowest steel below the surface", length(100);
    Thickness: "plate.thickness", "thickness of the plate at its front left corner", length(60);
    Unevenness: "plate.unevenness", "highest to lowest, by an indicator moved over the face", length(5);
    CutterTight: "cutter.tight", "the cutter is tight in its holder",
        holding("`m look` shows a bright line on the shank", &["spindle off", "tighten cutter"]);
    EdgesWhole: "cutter.whole", "the cutter's edges are whole",
        holding("`m look` shows a corner of the cutter gone", &["look", "spindle off", "change"]);
    OnPlate: "cutter.on_plate", "the tip touches the plate",
        state("the tip stands above the plate", &["up 10", "spindle slow", "go C", "touch"]);
    Lifted: "cutter.lifted", "the tip stands clear of the plate",
        state("the tip is on the plate", &["up 12"]);
    OverStart: "cutter.over_start", "the cutter stands high over the program's start point",
        state("the readout shows where the cutter stands", &["up 30", "go start"]);
    Diameter: "cutter.diameter", "diameter measured across the teeth", length(50);
    StickOut: "cutter.stick_out", "from the nut down to the tip", length(2000);
    Gap: "cutter.gap", "from the plate up to the tip, by blocks", length(60);
    UnderTip: "cutter.under_tip", "what lies between tip and plate at a touch", length(0);
    SpindleStopped: "spindle.stopped", "the spindle stands",
        state("the readout shows the spindle turning", &["spindle off"]);
    SpindleWarm: "spindle.warm", "the spindle has run through its warm-up and has not cooled since",
        state(
            "the spindle has not run long enough",
            &["spindle warm", "wait warm", "spindle off"],
        );
    SpindleSpeed: "spindle.speed", "the speed it turns at now, 0 rpm where it stands", SPEED;
    Tram: "spindle.tram", "spindle tram: the indicator's difference", length(1);
    Sweep: "spindle.sweep", "spindle tram: the width of the sweep", length(1000);
    Homed: "mill.homed", "homed since power-up and the last stop",
        state("the readout says NOT HOMED", &["home"]);
    StopTried: "mill.stop_tried", "the emergency stop was pressed today, and is out again",
        state("it was not pressed", &["try"]);
    XyZero: "mill.xy_zero", "X and Y read 0 over the program's X0 Y0",
        state(
            "over the home corner the readout shows something else than zero",
            &["home", "zero x", "zero y"],
        );
    CoolantOn: "mill.coolant_on", "coolant runs", state("no coolant runs", &["coolant on"]);
    Unit: "mill.unit", "the unit that the control shows", UNITS;
    Offset: "mill.work_offset", "the active work offset", OFFSETS;
    ActiveH: "mill.h", "the active length offset, 0 for none", RATIO;
    Shift: "mill.z_shift", "the Z shift over all offsets", length(0);
    WorkZ: "mill.work_z", "what the work readout shows for Z", READOUT;
    MachineZ: "mill.machine_z", "what the machine column shows for Z", READOUT;
    JogStep: "mill.jog_step", "the jog step chosen", length(0);
    FeedOverride: "mill.feed_override", "the feed override", RATIO;
    RapidOverride: "mill.rapid_override", "the rapid override", RATIO;
    RightProgram: "program.right", "the loaded program is the one on the setup sheet",
        state("the setup sheet names another program", &["program", "sheet", "load sheet"]);
    MadeFor: "program.cutter", "the cutter diameter that the loaded program was made for", length(0);
    ProgramUnit: "program.unit", "the unit that it sets", UNITS;
    ProgramOffset: "program.work_offset", "the work offset that it calls", OFFSETS;
    ProgramH: "program.h", "the length offset that it calls, 0 for none", RATIO;
    LowestZ: "program.lowest_z", "the lowest Z that it cuts to", length(0);
    ProgramSpeed: "program.speed", "the spindle speed that it sets", SPEED;
    ProgramFeed: "program.feed", "the feed of its rows", Is::Number(Dimension::FEED, Within::Exactly);
    StepOver: "program.step_over", "from one of its rows to the next", length(20);
    Overrun: "program.overrun", "how far the rim runs past the plate's edges at least", length(1000);
    StartClear: "program.start_clear", "from its start point to the plate", length(3000);
}

impl Fact {
    /// The fact of that name.
    pub(crate) fn find(name: &str) -> Option<Self> {
        Self::ALL.iter().find(|f| f.row().name == name).copied()
    }

    /// Its name in formulas.
    pub const fn name(self) -> &'static str {
        self.row().name
    }

    /// How long it is so once somebody has seen it. A fact that is not listed here must be seen now: the person, people in
    /// reach, the spindle, clamping, homing, offsets and heights.
    pub(crate) const fn lasts(self) -> Lasting {
        match self {
            Self::Tram | Self::Sweep => Lasting::WithMachine,
            Self::Diameter => Lasting::WithCutter,
            Self::MadeFor
            | Self::ProgramUnit
            | Self::ProgramOffset
            | Self::ProgramH
            | Self::LowestZ
            | Self::ProgramSpeed
            | Self::ProgramFeed
            | Self::StepOver
            | Self::Overrun => Lasting::WithProgram,
            _ => Lasting::Now,
        }
    }

    /// What makes it so, where it is a state: lines typed at the practice mill.
    pub(crate) const fn mend(self) -> &'static [&'static str] {
        match self.row().is {
            Is::State { mend, .. } | Is::Holding { mend, .. } => mend,
            Is::Word(_) | Is::Number(..) => &[],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::words::MillWord;
    use super::Fact;

    #[test]
    fn every_name_is_its_own_and_every_mend_begins_with_a_word_of_the_mill() {
        for fact in Fact::ALL {
            assert_eq!(Fact::find(fact.name()), Some(*fact));
            assert!(fact.name().contains('.'), "{}", fact.name());
            for line in fact.mend() {
                let word = line.split(' ').next().unwrap_or_default();
                assert!(MillWord::find(word).is_some(), "{line}");
            }
        }
    }
}
