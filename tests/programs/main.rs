//! Whole programs, judged as in a shop: ordinary ones of many styles, the same with one mistake planted, and generated
//! ones compared with an independent, slower reference. All of them are invented.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod generated;
mod ordinary;
mod planted;
mod setting;
mod styles;
