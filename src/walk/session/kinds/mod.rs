//! Asking a step by its kind: a file for each kind with more to it than one question, named as in `procedure/kinds/`.

pub(crate) mod codes;
pub(crate) mod cut;
pub(crate) mod enter;
pub(crate) mod inspect;
pub(crate) mod sign;
pub(crate) mod touch;
pub(crate) mod touch_line;
pub(crate) mod wait;
pub(crate) mod work_out;
