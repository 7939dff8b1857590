//! Whole programs, judged as a shop would: ordinary ones of many styles, the same with one mistake planted, and generated
//! ones against an independent, slower reference. All of them are invented.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod generated;
mod ordinary;
mod planted;
mod setting;
mod styles;
