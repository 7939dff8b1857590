//! The small procedures by hand: dependencies, what is asked of the person, what becomes stale, and every number.
//! Nothing here is read from the YAML, so that a mistake in reading it or in following references is found.

/// Whether a row is asked once or for each pass.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Group {
    Once,
    Rough,
    Finish,
}

/// The kind of row, as far as the rules differ.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Sort {
    Plain,
    /// A number that is computed, not asked.
    Worked,
    /// A single touch at the point P1, at zero.
    Touched,
    Program,
    /// A line of active codes.
    Codes,
    Sign,
    Cut,
    Look,
}

/// One step.
#[derive(Clone, Copy, Debug)]
pub struct Row {
    pub id: &'static str,
    pub group: Group,
    pub sort: Sort,
    /// Everything that it depends on, directly or indirectly, written out.
    pub rests_on: &'static [&'static str],
    pub of_person: bool,
    /// How long the answer is valid, in minutes; `None` for no limit.
    pub fresh: Option<i64>,
    pub after_stop: bool,
    /// The answers that are tried.
    pub says: &'static [Val],
}

impl Row {
    /// Whether it reads the active codes before each cut.
    pub fn is_codes_of_pass(&self) -> bool {
        self.sort == Sort::Codes && self.group != Group::Once
    }
}

/// An answer; numbers are in micrometres.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Val {
    Word(&'static str),
    Um(i64),
    /// A program file, by its content.
    File(u8),
    /// A series of touches.
    Touches,
    /// A line of active codes as it is typed.
    Line(&'static str),
    /// Active codes that are complete: the work offset, and whether rotation is on.
    Codes(u8, bool),
}

/// The work offset and the rotation that a line states, by hand.
pub fn line_by_hand(line: &str) -> (Option<u8>, Option<bool>) {
    match line {
        "G54 G69" => (Some(54), Some(false)),
        "g68|G54" => (Some(54), Some(true)),
        "G55G69" => (Some(55), Some(false)),
        "G54" => (Some(54), None),
        "none" | "G69" => (None, Some(false)),
        "G68" => (None, Some(true)),
        other => panic!("{other}"),
    }
}

/// The work offset that the program of this content cuts in.
pub fn offset_by_hand(file: u8) -> u8 {
    match file {
        0 => 54,
        _ => 55,
    }
}

/// The valid answers of the present pass, by step.
pub type Answers<'a> = dyn Fn(&str) -> Option<Val> + 'a;

/// A procedure by hand.
#[derive(Clone, Copy, Debug)]
pub struct Table {
    pub yaml: &'static str,
    pub rows: &'static [Row],
    pub most_passes: u8,
    /// How long a release is valid, in minutes.
    pub release_for: i64,
    /// The computed values, by hand from the answers.
    pub worked: fn(&Answers, &str, i64) -> Option<i64>,
    /// The lower and upper hard limit, and the lower and upper soft limit, in micrometres.
    pub limits: fn(&Answers, &str) -> Option<[i64; 4]>,
}

const PLAIN: Row = Row {
    id: "",
    group: Group::Once,
    sort: Sort::Plain,
    rests_on: &[],
    of_person: false,
    fresh: None,
    after_stop: false,
    says: &[],
};

const FAR: i64 = 1_000_000;

/// `tests/procedures/tiny.yaml`.
pub const TINY: Table = Table {
    yaml: include_str!("../procedures/tiny.yaml"),
    most_passes: 2,
    release_for: 1,
    worked: |said, _, _| match said("bite")? {
        Val::Um(bite) => Some(-bite),
        _ => None,
    },
    limits: |said, id| match (id, said("cutter")?) {
        ("bite", Val::Word("c12")) => Some([-FAR, 250, -FAR, 150]),
        ("bite", Val::Word("c16")) => Some([-FAR, 400, -FAR, 150]),
        ("plane", _) => Some([-350, FAR, -250, FAR]),
        _ => None,
    },
    rows: &[
        Row {
            id: "machine",
            says: &[Val::Word("north"), Val::Word("south")],
            ..PLAIN
        },
        Row {
            id: "cutter",
            says: &[Val::Word("c12"), Val::Word("c16")],
            ..PLAIN
        },
        Row {
            id: "eyes",
            of_person: true,
            fresh: Some(2),
            says: &[Val::Word("worn")],
            ..PLAIN
        },
        Row {
            id: "home",
            after_stop: true,
            says: &[Val::Word("homed")],
            ..PLAIN
        },
        Row {
            id: "nc",
            sort: Sort::Program,
            rests_on: &["cutter"],
            ..PLAIN
        },
        Row {
            id: "bite",
            group: Group::Rough,
            rests_on: &["cutter", "home"],
            says: &[Val::Um(100), Val::Um(300)],
            ..PLAIN
        },
        Row {
            id: "plane",
            group: Group::Rough,
            sort: Sort::Worked,
            rests_on: &["bite", "cutter", "home"],
            ..PLAIN
        },
        Row {
            id: "clear",
            group: Group::Rough,
            sort: Sort::Sign,
            ..PLAIN
        },
        Row {
            id: "pass_cut",
            group: Group::Rough,
            sort: Sort::Cut,
            ..PLAIN
        },
        Row {
            id: "look",
            group: Group::Rough,
            sort: Sort::Look,
            says: &[Val::Word("clean"), Val::Word("skin left")],
            ..PLAIN
        },
        Row {
            id: "swept",
            says: &[Val::Word("swept")],
            ..PLAIN
        },
    ],
};

const LINES: &[Val] = &[
    Val::Line("G54 G69"),
    Val::Line("g68|G54"),
    Val::Line("G55G69"),
    Val::Line("G54"),
    Val::Line("G69"),
    Val::Line("G68"),
];

/// `tests/procedures/tiny_codes.yaml`.
pub const CODES: Table = Table {
    yaml: include_str!("../procedures/tiny_codes.yaml"),
    most_passes: 2,
    release_for: 1,
    worked: |_, _, _| Some(-100),
    limits: |_, _| None,
    rows: &[
        Row {
            id: "machine",
            says: &[Val::Word("north"), Val::Word("south")],
            ..PLAIN
        },
        Row {
            id: "nc",
            sort: Sort::Program,
            ..PLAIN
        },
        Row {
            id: "control",
            sort: Sort::Codes,
            rests_on: &["nc"],
            after_stop: true,
            says: LINES,
            ..PLAIN
        },
        Row {
            id: "codes_now",
            group: Group::Rough,
            sort: Sort::Codes,
            rests_on: &["nc", "control"],
            after_stop: true,
            says: LINES,
            ..PLAIN
        },
        Row {
            id: "plane",
            group: Group::Rough,
            sort: Sort::Worked,
            ..PLAIN
        },
        Row {
            id: "clear",
            group: Group::Rough,
            sort: Sort::Sign,
            ..PLAIN
        },
        Row {
            id: "pass_cut",
            group: Group::Rough,
            sort: Sort::Cut,
            ..PLAIN
        },
        Row {
            id: "look",
            group: Group::Rough,
            sort: Sort::Look,
            says: &[Val::Word("clean"), Val::Word("skin left")],
            ..PLAIN
        },
    ],
};

/// `tests/procedures/tiny_passes.yaml`.
pub const PASSES: Table = Table {
    yaml: include_str!("../procedures/tiny_passes.yaml"),
    most_passes: 2,
    release_for: 1,
    worked: |_, id, surface| match id {
        "plane" => Some(surface - 100),
        "finish_plane" => Some(surface - 50),
        _ => None,
    },
    limits: |_, _| None,
    rows: &[
        Row {
            id: "machine",
            says: &[Val::Word("north"), Val::Word("south")],
            ..PLAIN
        },
        Row {
            id: "corner",
            sort: Sort::Touched,
            after_stop: true,
            ..PLAIN
        },
        Row {
            id: "plane",
            group: Group::Rough,
            sort: Sort::Worked,
            rests_on: &["corner", "surface"],
            ..PLAIN
        },
        Row {
            id: "clear",
            group: Group::Rough,
            sort: Sort::Sign,
            ..PLAIN
        },
        Row {
            id: "pass_cut",
            group: Group::Rough,
            sort: Sort::Cut,
            ..PLAIN
        },
        Row {
            id: "look",
            group: Group::Rough,
            sort: Sort::Look,
            says: &[Val::Word("clean"), Val::Word("skin left")],
            ..PLAIN
        },
        Row {
            id: "finish_plane",
            group: Group::Finish,
            sort: Sort::Worked,
            rests_on: &["corner", "surface"],
            ..PLAIN
        },
        Row {
            id: "clear_finish",
            group: Group::Finish,
            sort: Sort::Sign,
            ..PLAIN
        },
        Row {
            id: "finish_cut",
            group: Group::Finish,
            sort: Sort::Cut,
            ..PLAIN
        },
    ],
};
