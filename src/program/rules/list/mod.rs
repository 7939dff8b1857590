//! The rules, one a file named after its code: what it is, and where it takes more than a fault of the text, what
//! breaks it. Which faults break the others stands in `faults`.

use super::rule::Rule;

pub mod after_end;
pub mod air;
pub mod arc_absolute;
pub mod arc_mismatch;
pub mod arc_radius;
pub mod arc_wrong;
pub mod bad_word;
pub mod bite;
pub mod block_delete;
pub mod blocks_deleted;
pub mod chip_load;
pub mod conflict;
pub mod coolant_off;
pub mod cut_off;
pub mod cycle;
pub mod decimal_comma;
pub mod depth;
pub mod digits;
pub mod distance_end;
pub mod distance_unset;
pub mod edge;
pub mod end_coolant;
pub mod end_low;
pub mod end_spindle;
pub mod endless_line;
pub mod expression;
pub mod feed_high;
pub mod feed_low;
pub mod feed_mode;
pub mod feed_mode_unset;
pub mod feed_unset;
pub mod feed_zero;
pub mod first_move;
pub mod flow;
pub mod home_dips;
pub mod home_unknown;
pub mod length_differs;
pub mod length_tool;
pub mod length_unset;
pub mod line_ends;
pub mod line_number;
pub mod long_line;
pub mod lost;
pub mod missing_word;
pub mod mixed_points;
pub mod nested_comment;
pub mod no_end;
pub mod no_motion;
pub mod no_point;
pub mod no_units;
pub mod not_followed;
pub mod not_reached;
pub mod nothing_cut;
pub mod offset_differs;
pub mod offset_unset;
pub mod offset_written;
pub mod old_units;
pub mod open_comment;
pub mod override_off;
pub mod percent;
pub mod plane_unset;
pub mod plane_xy;
pub mod plunge;
pub mod rapid_dip;
pub mod rapid_low;
pub mod rapid_plunge;
pub mod repeated_word;
pub mod shift_active;
pub mod speed_high;
pub mod speed_low;
pub mod speed_unset;
pub mod spindle_left;
pub mod spindle_off;
pub mod start_over_plate;
pub mod step_over;
pub mod stops;
pub mod stray_byte;
pub mod stray_byte_comment;
pub mod tool_change;
pub mod tool_differs;
pub mod tool_unchanged;
pub mod travel;
pub mod units_differ;
pub mod units_mixed;
pub mod units_size;
pub mod unknown_code;
pub mod unset_parameter;
pub mod unused_word;

/// All of them, sorted by code.
pub const ALL: &[&Rule] = &[
    &after_end::RULE,
    &air::RULE,
    &arc_absolute::RULE,
    &arc_mismatch::RULE,
    &arc_radius::RULE,
    &arc_wrong::RULE,
    &bad_word::RULE,
    &bite::RULE,
    &block_delete::RULE,
    &blocks_deleted::RULE,
    &chip_load::RULE,
    &conflict::RULE,
    &coolant_off::RULE,
    &cut_off::RULE,
    &cycle::RULE,
    &decimal_comma::RULE,
    &depth::RULE,
    &digits::RULE,
    &distance_end::RULE,
    &distance_unset::RULE,
    &edge::RULE,
    &end_coolant::RULE,
    &end_low::RULE,
    &end_spindle::RULE,
    &endless_line::RULE,
    &expression::RULE,
    &feed_high::RULE,
    &feed_low::RULE,
    &feed_mode::RULE,
    &feed_mode_unset::RULE,
    &feed_unset::RULE,
    &feed_zero::RULE,
    &first_move::RULE,
    &flow::RULE,
    &home_dips::RULE,
    &home_unknown::RULE,
    &length_differs::RULE,
    &length_tool::RULE,
    &length_unset::RULE,
    &line_ends::RULE,
    &line_number::RULE,
    &long_line::RULE,
    &lost::RULE,
    &missing_word::RULE,
    &mixed_points::RULE,
    &nested_comment::RULE,
    &no_end::RULE,
    &no_motion::RULE,
    &no_point::RULE,
    &no_units::RULE,
    &not_followed::RULE,
    &not_reached::RULE,
    &nothing_cut::RULE,
    &offset_differs::RULE,
    &offset_unset::RULE,
    &offset_written::RULE,
    &old_units::RULE,
    &open_comment::RULE,
    &override_off::RULE,
    &percent::RULE,
    &plane_unset::RULE,
    &plane_xy::RULE,
    &plunge::RULE,
    &rapid_dip::RULE,
    &rapid_low::RULE,
    &rapid_plunge::RULE,
    &repeated_word::RULE,
    &shift_active::RULE,
    &speed_high::RULE,
    &speed_low::RULE,
    &speed_unset::RULE,
    &spindle_left::RULE,
    &spindle_off::RULE,
    &start_over_plate::RULE,
    &step_over::RULE,
    &stops::RULE,
    &stray_byte::RULE,
    &stray_byte_comment::RULE,
    &tool_change::RULE,
    &tool_differs::RULE,
    &tool_unchanged::RULE,
    &travel::RULE,
    &units_differ::RULE,
    &units_mixed::RULE,
    &units_size::RULE,
    &unknown_code::RULE,
    &unset_parameter::RULE,
    &unused_word::RULE,
];
