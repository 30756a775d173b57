//! Passes over a face: patterns, tool axis, leads and links, as a toolpath.
//!
//! [`finish_face`] lays the faces of a feature out on a [`Chart`], chooses a family of lines there
//! (the levels of a function), places the lines so that no strip between two of them is wider than
//! the step-over or the cusp allows, cuts them to the feature, stands the cutter along them and joins
//! them. Everything is evaluated on the exact surface; grids only choose where lines run.

mod air;
mod atlas;
mod chart;
mod choose;
mod chord;
mod clear;
mod contour;
mod cover;
mod curve;
mod drive;
mod eikonal;
mod equal_cusp;
mod error;
mod family;
mod fill;
mod finish;
mod flank;
mod ground;
mod height;
mod job;
mod joint;
mod lattice;
mod lay;
mod layout;
mod lead;
mod link;
mod locate;
mod order;
mod outcome;
mod parameter;
mod plan;
mod prove;
mod reach;
mod remedy;
mod ridge;
mod rung;
mod selling;
mod sides;
mod slice;
mod smooth;
mod spiral;
mod spline;
mod stance;
mod steady;
mod steep;
mod string;
mod strip;
mod thin;
mod trace;
mod trim;
mod turn;
mod wall;

pub use chart::{Chart, Spot};
pub use clear::ClosestApproach;
pub use error::{At, AxisTried, PatternError, Warning};
pub use finish::{Progress, finish_face, finish_on};
pub use job::{AxisRule, CutSide, FaceJob, Feed, Frame, LeanSide, Pattern, Traverse};
pub use outcome::{AxisUsed, FacePasses, Pass, Spread};
pub use parameter::ParameterChart;
pub use plan::PlanChart;
pub use strip::{StripSample, Strips};
