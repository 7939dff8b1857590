//! Which rule a fault of the text breaks.

use super::list;
use super::rule::Rule;
use crate::program::fault::FaultKind;

/// The rule, and what its title does not say.
pub fn broken(kind: FaultKind) -> (&'static Rule, &'static str) {
    match kind {
        FaultKind::StrayByte => (&list::stray_byte::RULE, ""),
        FaultKind::StrayByteInComment => (&list::stray_byte_comment::RULE, ""),
        FaultKind::NotAWord => (&list::bad_word::RULE, ""),
        FaultKind::NoNumber => (&list::bad_word::RULE, "a letter without its number"),
        FaultKind::TooManyDigits => (&list::digits::RULE, ""),
        FaultKind::OpenComment => (&list::open_comment::RULE, ""),
        FaultKind::NestedComment => (&list::nested_comment::RULE, ""),
        FaultKind::DecimalComma => (&list::decimal_comma::RULE, ""),
        FaultKind::BadExpression => (&list::expression::RULE, "it cannot be read"),
        FaultKind::NoValue => (&list::expression::RULE, "it has no value"),
        FaultKind::UnsetParameter => (&list::unset_parameter::RULE, ""),
        FaultKind::LongLine => (&list::long_line::RULE, ""),
        FaultKind::EndlessLine => (&list::endless_line::RULE, ""),
        FaultKind::LongNumber => (&list::line_number::RULE, "more than five digits"),
        FaultKind::BadNumber => (
            &list::line_number::RULE,
            "it is not first, or not a plain number",
        ),
        FaultKind::MixedLineEnds => (&list::line_ends::RULE, ""),
        FaultKind::CutOff => (&list::cut_off::RULE, ""),
        FaultKind::RepeatedWord => (&list::repeated_word::RULE, ""),
        FaultKind::Conflict => (&list::conflict::RULE, ""),
        FaultKind::ManyM => (&list::conflict::RULE, "more than four M words"),
        FaultKind::AxisWordsTwice => (
            &list::conflict::RULE,
            "the axis words are claimed by two codes",
        ),
        FaultKind::UnknownG => (&list::unknown_code::RULE, "this G code"),
        FaultKind::UnknownM => (&list::unknown_code::RULE, "this M code"),
        FaultKind::UnknownLetter => (&list::unknown_code::RULE, "this letter"),
        FaultKind::UnusedWord => (&list::unused_word::RULE, ""),
        FaultKind::NotFollowed => (&list::not_followed::RULE, ""),
        FaultKind::FlowControl => (&list::flow::RULE, ""),
        FaultKind::NoSuchSubprogram => {
            (&list::flow::RULE, "the file does not hold this subprogram")
        }
        FaultKind::TooMuch => (&list::flow::RULE, "too many repeats or calls"),
        FaultKind::NoMotionMode => (&list::no_motion::RULE, ""),
        FaultKind::MotionCancelled => (&list::no_motion::RULE, "G80 has cancelled it"),
        FaultKind::MissingWord => (&list::missing_word::RULE, "a word is missing"),
        FaultKind::BadValue => (&list::missing_word::RULE, "the value cannot be"),
        FaultKind::NotAllowed => (&list::missing_word::RULE, "it is not allowed here"),
        FaultKind::ArcMismatch => (&list::arc_mismatch::RULE, ""),
        FaultKind::ArcWrong => (&list::arc_wrong::RULE, ""),
        FaultKind::ArcAbsolute => (&list::arc_absolute::RULE, ""),
        FaultKind::ArcRadius => (&list::arc_wrong::RULE, "the ends and the radius do not fit"),
        FaultKind::ArcIllConditioned => (&list::arc_radius::RULE, ""),
        FaultKind::MixedPoints => (&list::mixed_points::RULE, ""),
        FaultKind::PointMissing => (&list::no_point::RULE, ""),
        FaultKind::OldUnits => (&list::old_units::RULE, ""),
        FaultKind::Percent => (&list::percent::RULE, ""),
        FaultKind::AfterEnd => (&list::after_end::RULE, ""),
    }
}
