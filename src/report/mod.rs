//! What a run looks like: pages for the person, and the forms a record is given out in. Pure: nothing here writes
//! anywhere, and nothing here knows a terminal, a colour or a width.

pub mod cover;
pub mod cuts;
pub mod examined;
pub mod holds;
pub mod html;
pub mod inspection;
pub mod json;
pub mod lengths;
pub mod page;
pub mod plan;
pub mod run;
pub mod sheet;
pub mod spreadsheet;
pub mod stock;
pub mod touched_plate;
pub mod touches;
pub mod ways;
pub mod words;
