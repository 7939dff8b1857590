//! What the fuzz targets and the main test suite both run: one module a target, each with `run`, which takes any bytes and
//! panics where a promise is broken.
//!
//! | target | what it takes |
//! |---|---|
//! | `quantities` | a unit, a decimal mark, and what a person types |
//! | `formulas` | a choice of values, and the text of a formula |
//! | `files` | the text of a procedure or a shop file |
//! | `answers` | the text of an answers file |
//! | `events` | stored event bodies, one a line, each with its moment before it |
//! | `runs` | choices: commands and foreign events over the small test procedure |
//! | `books` | changes to a valid book, or any bytes as a book |

pub mod answers;
pub mod books;
pub mod events;
pub mod files;
pub mod formulas;
pub mod pick;
pub mod quantities;
pub mod rig;
pub mod runs;
