//! The modal group of each code (NISTIR 6556, table 4), including codes that other controls add.

/// Modal groups of G codes.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Group {
    /// Not modal: active for its block only.
    Once,
    /// The kind of motion.
    Motion,
    /// The plane of arcs.
    Plane,
    /// Absolute or incremental.
    Distance,
    /// Arc centres absolute or incremental.
    Centres,
    /// Feed mode.
    FeedMode,
    /// The unit of lengths.
    Units,
    /// Cutter radius compensation.
    Compensation,
    /// Tool length offset.
    Length,
    /// The height to which drilling cycles return.
    Retract,
    /// The work offset.
    WorkOffset,
    /// How corners are run.
    Path,
    /// Ends a transformation, or a modal macro call. Motion is not followed while the transformation is on.
    TransformOff,
    /// Scaling, rotation, local shift or polar coordinates.
    Transform,
    /// A macro call.
    Macro,
}

/// The group of a G code, given as ten times its number; `None` for a code that is not understood.
pub(crate) fn group(tenfold: u16) -> Option<Group> {
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

/// The number of an M code's group: 0 stops and ends, 1 spindle, 2 tool change, 3 mist, 4 flood, 5 coolant off, 6
/// overrides, 7 calls; `None` for a code that is not understood.
pub(crate) fn m_group(code: u16) -> Option<u8> {
    Some(match code {
        0 | 1 | 2 | 30 | 60 => 0,
        3..=5 => 1,
        6 => 2,
        // Both coolants may be on at once, even when one block turns them on.
        7 => 3,
        8 => 4,
        9 => 5,
        48 | 49 => 6,
        98 | 99 => 7,
        _ => return None,
    })
}
