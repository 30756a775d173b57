//! Passes over a face: patterns, tool axis, leads and links, as a toolpath.

mod eikonal;
mod selling;
mod spline;
mod turn;
