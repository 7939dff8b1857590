//! Asking a step by its kind: a file for each kind with more to it than one question, named as in `procedure/kinds/`.

pub mod cut;
pub mod enter;
pub mod inspect;
pub mod sign;
pub mod touch;
pub mod touch_line;
pub mod wait;
pub mod work_out;
