//! What a run looks like: pages for the person, and the forms a record is given out in. Pure: nothing here writes
//! anywhere, and nothing here knows a terminal, a colour or a width.

pub(crate) mod cover;
pub(crate) mod cuts;
pub(crate) mod examined;
pub(crate) mod holds;
pub(crate) mod html;
pub(crate) mod inspection;
pub mod json;
pub(crate) mod lengths;
pub mod page;
pub(crate) mod plan;
pub(crate) mod program_facts;
pub mod run;
pub(crate) mod sheet;
pub mod spreadsheet;
pub(crate) mod standing;
pub mod stock;
pub(crate) mod touched_plate;
pub(crate) mod touches;
pub(crate) mod ways;
pub(crate) mod words;
