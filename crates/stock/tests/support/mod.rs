//! Blocks and cutters for the tests.
#![allow(dead_code, reason = "every test file uses its own part of it")]

use cutter::{Cutter, CutterSpec, Form};
use geom::Vec3;
use stock::{Columns, Direction, Grid};

pub(crate) fn block(side: f64, height: f64, spacing: f64) -> Columns {
    let hi = Vec3::new(side, side, height);
    Columns::block(Grid::over((Vec3::ZERO, hi), spacing, Direction::Z).expect("fits together"))
}

pub(crate) fn of_form(form: Form, diameter: f64) -> Cutter {
    let mut spec = CutterSpec::new(form, diameter);
    spec.flute_length_mm = Some(30.0);
    if form == Form::CornerRadius {
        spec.corner_radius_mm = Some(0.15 * diameter);
    }
    Cutter::new(&spec).expect("fits together")
}

pub(crate) fn flat(diameter: f64) -> Cutter {
    of_form(Form::Flat, diameter)
}

pub(crate) fn ball(diameter: f64) -> Cutter {
    of_form(Form::Ball, diameter)
}
