//! Which code belongs to which modal group (NISTIR 6556, table 4), with the codes that other controls add.

/// Modal groups of G codes.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Group {
    /// Holds for its block only.
    Once,
    /// Motion.
    Motion,
    /// Plane.
    Plane,
    /// Absolute or incremental.
    Distance,
    /// The same for arc centres.
    Centres,
    /// Feed mode.
    FeedMode,
    /// Units.
    Units,
    /// Radius compensation.
    Compensation,
    /// Length offset.
    Length,
    /// Where cycles come back to.
    Retract,
    /// Work offset.
    WorkOffset,
    /// Corners.
    Path,
    /// Ends a transformation that is not followed while it is on, or a modal macro call.
    TransformOff,
    /// Scaling, rotation, local shift, polar coordinates.
    Transform,
    /// A macro call.
    Macro,
}

/// The group of a G code, given as ten times its number; `None` for one that is not understood.
pub fn group(tenfold: u16) -> Option<Group> {
    Some(match tenfold {
        0
        | 10
        | 20
        | 30
        | 310
        | 380..=389
        | 730
        | 740
        | 760
        | 800
        | 810
        | 820
        | 830
        | 840
        | 850
        | 860
        | 870
        | 880
        | 890 => Group::Motion,
        40 | 100 | 280 | 300 | 530 | 920..=923 => Group::Once,
        170 | 180 | 190 => Group::Plane,
        900 | 910 => Group::Distance,
        901 | 911 => Group::Centres,
        930 | 940 | 950 => Group::FeedMode,
        200 | 210 | 700 | 710 => Group::Units,
        400 | 410 | 420 => Group::Compensation,
        430 | 431 | 434 | 440 | 490 => Group::Length,
        980 | 990 => Group::Retract,
        540 | 550 | 560 | 570 | 580 | 590..=593 => Group::WorkOffset,
        610 | 611 | 640 => Group::Path,
        150 | 500 | 670 | 690 => Group::TransformOff,
        160 | 510 | 520 | 680 => Group::Transform,
        650 | 660 => Group::Macro,
        _ => return None,
    })
}

/// The group of an M code: stop, spindle, coolant on, coolant off, overrides, change, call.
pub fn m_group(code: u16) -> Option<u8> {
    Some(match code {
        0 | 1 | 2 | 30 | 60 => 0,
        3..=5 => 1,
        6 => 2,
        // Both coolants may be on at once, in one block too.
        7 => 3,
        8 => 4,
        9 => 5,
        48 | 49 => 6,
        98 | 99 => 7,
        _ => return None,
    })
}
