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
//! | `programs` | dialect and set-up, and any bytes as an NC program |
//! | `expressions` | any bytes as a value of an NC program, and choices of which one is made |
//! | `people` | choices: changes of the list of people, signed or not; stored entries, one a line |
//! | `keys` | changes to a key's file, or any bytes as one; signatures |
//! | `accounts` | choices: entries of a plate's account; stored ones, one a line |
//! | `books` | changes to a valid book, or any bytes as a book |

pub mod accounts;
pub mod answers;
pub mod books;
pub mod events;
pub mod expressions;
pub mod files;
pub mod formulas;
pub mod keys;
pub mod people;
pub mod pick;
pub mod programs;
pub mod quantities;
pub mod rig;
pub mod runs;
