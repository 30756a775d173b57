//! Time on axes with limited speed, acceleration and jerk: straight moves and given paths.
//!
//! This crate knows no machine, only numbers. A path is a curve q(s) in any number of axes; each
//! axis may have its own unit (mm, rad), time is in seconds, and the parameter s in whatever unit
//! the caller measures the path (mm of tip path, as a rule). Two questions are answered:
//!
//! * [`profile`]: how long does a straight move take, from one speed to another, when speed,
//!   acceleration and jerk are limited? In closed form.
//! * [`path`]: how fast may a given path be followed when every axis has its limits, and which of
//!   them holds the speed down where?
//! * [`legs`]: the same for legs on which nothing changes and without jerk, in closed form.
//! * [`eased`]: what limited jerk adds to such legs, about.

pub mod eased;
pub mod legs;
pub mod path;
pub mod profile;
