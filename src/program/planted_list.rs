//! Mistakes planted in a good facing program, as data: here for the tests of the rules, and for the table of slips.

/// A mistake: the text to replace, its replacement, and the codes that must be found, in order. The program has no
/// decimal points, so a value planted with one is itself a finding; and a second tool change leaves Z unknown.
pub(crate) type Planted = (&'static str, &'static str, &'static [&'static str]);

pub(crate) const PLANTED: &[Planted] = &[
    ("G21 G17", "G17", &["no-units"]),
    // A wrong unit makes everything wrong: the findings name each limit that it breaks.
    (
        "G21",
        "G20",
        &[
            "chip-load",
            "feed-high",
            "travel",
            "units-differ",
            "units-size",
        ],
    ),
    ("M30\n%", "G20\nM30\n%", &["units-differ", "units-mixed"]),
    ("G1 X21 Y34 F600", "G1 X21. Y34 F600", &["mixed-points"]),
    ("G90 ", "", &["distance-unset"]),
    ("M30\n%", "G91\nM30\n%", &["distance-end"]),
    ("G54\n", "", &["offset-unset"]),
    ("G54\n", "G55\n", &["offset-differs"]),
    ("G54\n", "G54\nG10 L2 P1 X0 Y0 Z0\n", &["offset-written"]),
    ("M8\n", "M8\nG92 X5 Y0\n", &["shift-active"]),
    ("G1 Z0 F250", "G1 Z0 F250 M5", &["spindle-off"]),
    ("T1 M6\nS4000 M3", "S4000 M3\nT1 M6", &["spindle-off"]),
    ("S4000 M3", "S4000", &["spindle-off"]),
    ("S4000 M3", "S4000 M4", &["spindle-left"]),
    ("S4000 M3", "M3", &["speed-unset"]),
    ("S4000 M3", "S0 M3", &["speed-unset"]),
    ("S4000 M3", "S12000 M3", &["chip-load", "speed-high"]),
    ("S4000 M3", "S150 M3", &["chip-load", "speed-low"]),
    (" F250", "", &["feed-unset"]),
    (" F250", " F0", &["feed-zero"]),
    (" F250", " F0.5", &["feed-low"]),
    (" F600", " F5000", &["chip-load", "feed-high"]),
    (" F600", " F60", &["chip-load"]),
    ("G94 ", "", &["feed-mode-unset"]),
    (
        "G94 G40",
        "G95 G40",
        &["chip-load", "feed-high", "feed-mode"],
    ),
    ("M8\n", "", &["coolant-off"]),
    ("M8\n", "M8\nM49\n", &["override-off"]),
    ("G0 G43 H1 Z30", "G0 Z30", &["length-unset"]),
    ("G43 H1", "G43 H2", &["length-differs", "length-tool"]),
    ("T1 M6", "T2 M6", &["length-tool", "tool-differs"]),
    ("T1 M6", "T1", &["tool-unchanged"]),
    (
        "G0 Z30\nM9",
        "G0 Z30\nT1 M6\nM9",
        &["after-change", "tool-change"],
    ),
    ("G0 Z5\nG1 Z0 F250", "G0 Z0\nG1 F250", &["rapid-beside"]),
    (
        "G0 X0 Y0\nM8\nG0 Z5\nG1 Z0 F250",
        "G0 X90 Y90\nM8\nG0 Z0\nG1 F250",
        &["rapid-plunge"],
    ),
    ("X279\nY41", "G0 X279\nG1 Y41", &["rapid-low"]),
    (
        "G0 G43 H1 Z30\nG0 X0 Y0",
        "G0 G43 H1\nG0 X0 Y0",
        &["after-change"],
    ),
    (
        "G0 Z30\nM9",
        "G0 Z5\nG0 X100 Y100 Z1\nG0 Z30\nM9",
        &["rapid-dip"],
    ),
    (
        "G0 Z30\nM9",
        "G0 Z30\nG28 Z0\nM9",
        &["home-dips", "home-unknown"],
    ),
    (
        "G0 Z5\nG1 Z0 F250",
        "G53 G0 Z0\nG0 X1 Y1\nG0 Z5\nG1 Z0 F250",
        &["home-unknown"],
    ),
    ("G1 Z0 F250", "G1 Z-0.03 F250", &["depth", "mixed-points"]),
    (
        "G1 Z0 F250",
        "G1 Z0.3 F250",
        &["air", "depth", "mixed-points"],
    ),
    (
        "G1 Z0 F250",
        "G1 Z-0.2 F250",
        &["bite", "depth", "mixed-points"],
    ),
    ("G0 X0 Y0\nM8", "G0 X150 Y90\nM8", &["plunge"]),
    ("G0 X0 Y0\nM8", "G0 X20 Y34\nM8", &[]),
    ("X279\nY41", "G2 X279 Y34 I300 J5\nG1 Y41", &["arc-wrong"]),
    ("X279\nY41", "X279\nG2 X279 Y41 R3\nG1", &["arc-wrong"]),
    (
        "X279\nY41",
        "X279\nG3 X279 Y41 I279 J37.5\nG1",
        &["arc-absolute", "mixed-points"],
    ),
    (
        "X279\nY41",
        "X279\nG3 X279 Y41 I0.001 J3.505\nG1",
        &["arc-mismatch", "mixed-points"],
    ),
    (
        "X279\nY41",
        "X279\nG3 X279 Y41 R3.5\nG1",
        &["arc-radius", "mixed-points"],
    ),
    ("G0 Z30\nM9", "G0 X400\nG0 Z30\nM9", &["rapid-beside"]),
    ("M8\n", "M8\nG10 L1 P1 Z0\n", &["tool-written"]),
    ("M8\n", "M8\nG4 P90\n", &["dwell-long"]),
    ("T1 M6", "M6", &["tool-missing"]),
    ("12 MM END MILL", "10 MM END MILL", &["cutter-comment"]),
    ("12 MM END MILL", "(12 MM) END MILL", &["comment-closed"]),
    ("%\n(INV", "\u{feff}%\n(INV", &["byte-order-mark"]),
    ("X279\nY41", "X279\n%\nY41", &["percent-middle"]),
    ("X279\nY41", "N5 X279\nN5 Y41", &["number-repeated"]),
    ("G1 X21 Y34", "G1 X21 YO34", &["bad-word"]),
    (
        "G0 Z5\nG1 Z0 F250",
        "G0 X20 Y60 Z5\nG1 X80 Z0 F250\nX21",
        &["ramp-entry"],
    ),
    ("G0 Z30\nM9", "G0 Z30\nG0 X600\nM9", &["travel"]),
    ("Y90\nX279\nY97\nX21\n", "", &["step-over"]),
    ("X21\nY146\nX279", "X21", &["edge"]),
    ("M30\n", "", &["no-end"]),
    ("M30\n%\n", "M30\n%\n(all of it)", &[]),
    ("M30\n%\n", "M30\nG0 X0\n%\n", &["after-end"]),
    ("%\n(INV", "(INV", &["percent"]),
    ("G0 Z30\nM9\nM5\nG0 X0 Y0\n", "M9\nM5\n", &["end-low"]),
    ("M5\n", "", &["end-spindle"]),
    ("M9\n", "", &["end-coolant"]),
    ("M8\n", "M8\nM0\n", &["stops"]),
    ("M8\n", "/M8\n", &["block-delete", "blocks-deleted"]),
    ("M8\n", "/G4 P1\nM8\n", &["blocks-deleted"]),
    ("M8\n", "M8\nM62\n", &["unknown-code"]),
    ("M8\n", "M8\nG68 X0 Y0 R10\n", &["not-followed"]),
    ("M8\n", "M8\nM98 P77\n", &["flow"]),
    ("M8\n", "M8\n#1=5\n", &[]),
    ("G1 Z0 F250", "G1 Z#5 F250", &["unset-parameter"]),
    ("M8\n", "M8 (oops\n", &["open-comment"]),
    ("M8\n", "M8 (a (b)\n", &["nested-comment"]),
    ("M8\n", "M8\n\u{1}\n", &["stray-byte"]),
    ("(INV", "(\u{e4}INV", &["stray-byte-comment"]),
    ("G1 X21 Y34", "G1 X2,1 Y34", &["decimal-comma"]),
    ("G1 X21 Y34", "G1 X2.1.5 Y34", &["bad-word"]),
    ("G1 X21 Y34", "G1 X Y34", &["bad-word"]),
    ("G1 X21 Y34", "G1 X21 X22 Y34", &["repeated-word"]),
    ("G1 X21 Y34", "G0 G1 X21 Y34", &["conflict"]),
    ("G1 X21 Y34", "G1 X[21 Y34", &["expression"]),
    ("G1 X21 Y34", "G1 X21 Y34 H3", &["unused-word"]),
    ("G1 X21 Y34", "N123456 G1 X21 Y34", &["line-number"]),
    ("M8\n", "M8\nG4\n", &["missing-word"]),
    ("G1 Z0 F250", "G80\nZ0 F250\nG1 Z0", &["no-motion"]),
    ("G21", "G71", &["old-units"]),
    ("M8\n", "M8\r\n", &["line-ends"]),
    (
        "X279\nG0 Z30",
        "X279\nG81 X279 Y146 R5 Z1 G99\nG80\nG0 Z30",
        &["cycle"],
    ),
];

/// How a control reads a dimension without a decimal point.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Points {
    /// In the program's unit.
    AsWritten,
    /// Not at all: a point is required.
    Required,
}

/// Mistakes that need another program or another dialect; `good` is the good program.
pub(crate) fn others(good: &str) -> Vec<(String, Points, &'static str)> {
    let plain = |text: &str| text.to_owned();
    let usual = Points::AsWritten;
    vec![
        (plain(good), Points::Required, "no-point"),
        (plain(""), usual, "nothing-cut"),
        (plain("G21 G90\nG0 X0 Y0\n"), usual, "first-move"),
        (plain("G21 G90 G54\nG1 X1"), usual, "cut-off"),
        (format!("G21 ({})\n", "a".repeat(300)), usual, "long-line"),
        (
            format!("G21 ({})\n", "a".repeat(90_000)),
            usual,
            "endless-line",
        ),
        (
            plain("G21 G90\nG1 X0.12345678901234567890 F9\n"),
            usual,
            "digits",
        ),
        (
            plain("G21 G90 G18\nG0 X0 Y0 Z0\nG2 X2 I1 F100\n"),
            usual,
            "plane-xy",
        ),
        (
            plain("G21 G90\nG0 X0 Y0 Z0\nG2 X2 I1 F100\n"),
            usual,
            "plane-unset",
        ),
        (plain("G21 G90\nG0 X0\nG1 Z0 F100\n"), usual, "lost"),
        (
            plain("G21 G90\nG0 Z9\nG0 X20 Y34\nG0 X0\nG1 Z0 X40 F100\n"),
            usual,
            "start-over-plate",
        ),
    ]
}
