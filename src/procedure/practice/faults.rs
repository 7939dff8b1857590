//! The faults that a drill puts in the way: what each is called, when it comes, and which facts it upsets. What it changes
//! in the workshop and how it is judged stands with the workshop.

use super::facts::Fact;

/// When a fault comes.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Comes {
    /// It is there from the beginning.
    First,
    /// At the step whose `practice:` names it under `drill`.
    AtStep,
    /// As before, once so many touches of that step are made.
    AfterTouches(usize),
}

/// What there is to know of a fault without a workshop.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Row {
    /// Its id.
    pub id: &'static str,
    /// What it is, for trainer and debrief.
    pub title: &'static str,
    /// When it comes.
    pub comes: Comes,
    /// The facts that are not as they should be: a step that asks for one of them is where an honest answer holds the run.
    pub upsets: &'static [Fact],
}

macro_rules! faults {
    ($($fault:ident: $id:literal, $title:literal, $comes:expr, [$($fact:ident),*];)*) => {
        /// A fault that a drill puts in the way.
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
        pub enum Fault {
            $(#[doc = $title] $fault,)*
        }

        impl Fault {
            /// All of them.
            pub(crate) const ALL: &[Self] = &[$(Self::$fault,)*];

            /// Their ids.
            pub const IDS: &[&'static str] = &[$($id,)*];

            /// What there is to know of it.
            pub(crate) const fn row(self) -> Row {
                match self {
                    $(Self::$fault => Row {
                        id: $id,
                        title: $title,
                        comes: $comes,
                        upsets: &[$(Fact::$fact),*],
                    },)*
                }
            }
        }
    };
}

faults! {
    OtherProgram: "other-program", "A program made for another cutter", Comes::First,
        [RightProgram, MadeFor, StepOver];
    OldOffset: "old-offset", "Yesterday's X zero", Comes::First, [XyZero];
    OtherOffset: "other-offset", "Another work offset is active", Comes::First, [Offset];
    LengthActive: "length-active", "Another length offset is active", Comes::First, [ActiveH];
    OtherUnit: "other-unit", "The readout is in the other unit", Comes::First, [Unit];
    Visitor: "visitor", "A visitor at the plate", Comes::AtStep, [NobodyNear];
    Gloves: "gloves", "Gloves on beside a turning cutter", Comes::AtStep, [BareHands];
    SlippedCutter: "slipped-cutter", "The cutter slipped between two touches", Comes::AfterTouches(2),
        [CutterTight];
    ChipUnder: "chip-under", "A chip under the cutter at a touch", Comes::AfterTouches(1), [NoChips];
    Nozzle: "nozzle", "The coolant nozzle is aside", Comes::First, [NozzleAimed];
    Door: "door", "The door springs open before the start", Comes::AtStep, [DoorShut];
    ColdSpindle: "cold-spindle", "The spindle has gone cold", Comes::AtStep, [SpindleWarm];
    StopPressed: "stop-pressed", "The emergency stop was knocked after touching", Comes::AtStep, [Homed];
    FeedLeft: "feed-left", "The feed override was left low", Comes::First, [FeedOverride];
    ProudScrew: "proud-screw", "A screw head stands near the surface", Comes::First, [SteelDeep, Steel];
    HalfDone: "half-done", "Somebody else's run, half done", Comes::First, [NoRunLeft];
    LoosePlate: "loose-plate", "A screw of the plate has come loose", Comes::AtStep, [PlateTight];
    ChippedEdge: "chipped-edge", "A corner of the cutter is gone", Comes::AtStep, [EdgesWhole];
    WrenchInside: "wrench-inside", "A wrench is left on the table", Comes::AtStep, [NothingInside];
    GuardOff: "guard-off", "A guard lies on the bench", Comes::First, [Guards];
}

impl Fault {
    /// The fault of that id.
    pub(crate) fn find(id: &str) -> Option<Self> {
        Self::ALL.iter().find(|f| f.id() == id).copied()
    }

    /// Its id.
    pub(crate) const fn id(self) -> &'static str {
        self.row().id
    }
}
