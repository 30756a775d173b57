//! Tracks to run: what shops mill, drawn by a seed and sized by the time that their feeds would take.

mod surface;

use crate::draw::Draw;
use geom::Vec3;
use machine::Event;
use machine::track::{Feed, Frame, Move, Place, Shape, Track, Wait};

/// Kinds of programs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Program {
    /// Parallel passes of lines over a gently curved face.
    Raster,
    /// An inward spiral of short lines, and down.
    Spiral,
    /// Rings parallel to a rectangle, corners of 90°, level by level, with rapids between.
    Pocket,
    /// Half circles and quarter circles of small radius, in turn.
    Arcs,
    /// Blocks of some hundredths of a millimetre along a curved line.
    ShortBlocks,
    /// Parallel passes whose tool axis turns all the time; needs two rotary axes.
    TiltedRaster,
}

impl Program {
    /// All of them; the last one needs two rotary axes.
    pub const ALL: [Self; 6] = [
        Self::Raster,
        Self::Spiral,
        Self::Pocket,
        Self::Arcs,
        Self::ShortBlocks,
        Self::TiltedRaster,
    ];

    /// The program of that seed whose cutting moves take about `target_s` at their programmed feed.
    pub fn track(self, seed: u64, target_s: f64) -> Track {
        let mut draw = Draw::new(seed, 1000 + self as u64);
        let mut writer = Writer::begin(&mut draw);
        match self {
            Self::Raster => surface::raster(&mut writer, &mut draw, target_s),
            Self::Spiral => spiral(&mut writer, &mut draw, target_s),
            Self::Pocket => pocket(&mut writer, &mut draw, target_s),
            Self::Arcs => arcs(&mut writer, &mut draw, target_s),
            Self::ShortBlocks => surface::short_blocks(&mut writer, &mut draw, target_s),
            Self::TiltedRaster => surface::tilted_raster(&mut writer, &mut draw, target_s),
        }
        writer.end()
    }
}

const CLEAR_MM: f64 = 50.0;

/// Writes moves one after another and keeps count of the time at the programmed feed.
struct Writer {
    track: Track,
    here: Place,
    feed: f64,
    frame: Frame,
    cut_s: f64,
    rpm: f64,
}

impl Writer {
    /// Tool change, spindle on, coolant, and down to the clearance plane.
    fn begin(draw: &mut Draw) -> Self {
        let start = Place { linear: Vec3::new(0.0, 0.0, 200.0), rotary: [0.0; 2] };
        let rpm = 100.0 * draw.whole(30, 80) as f64;
        let feed = draw.scale(25.0, 150.0);
        let track = Track { start, ..Track::default() };
        let mut writer = Self { track, here: start, feed, frame: Frame::Tip, cut_s: 0.0, rpm };
        writer.wait(Event::ToolChange);
        writer.wait(Event::Spindle { from_rpm: 0.0, to_rpm: rpm });
        writer.wait(Event::Word("M8".into()));
        writer.rapid(Vec3::new(0.0, 0.0, CLEAR_MM));
        writer
    }

    fn wait(&mut self, event: Event) {
        let after = self.track.moves.len();
        self.track.waits.push(Wait { after, event, block: self.block(), tool: 1 });
    }

    fn block(&self) -> u32 {
        u32::try_from(self.track.moves.len() + self.track.waits.len()).unwrap_or(u32::MAX)
    }

    fn add(&mut self, to: Place, shape: Shape, feed: Feed) {
        let (frame, block) = (self.frame, self.block());
        self.track.moves.push(Move { to, shape, feed, frame, stop: false, block, tool: 1 });
        self.here = to;
    }

    fn rapid(&mut self, to: Vec3) {
        self.add(Place { linear: to, ..self.here }, Shape::Line, Feed::Rapid);
    }

    /// Turns the rotary axes well above the part.
    fn rapid_turn(&mut self, to: Place) {
        if to.rotary != self.here.rotary {
            self.add(Place { linear: self.here.linear, ..to }, Shape::Line, Feed::Rapid);
        }
    }

    fn line(&mut self, to: Vec3) {
        self.pose(Place { linear: to, ..self.here });
    }

    fn pose(&mut self, to: Place) {
        self.cut_s += self.here.linear.distance(to.linear) / self.feed;
        self.add(to, Shape::Line, Feed::Speed(self.feed));
    }

    /// An arc about Z; the angle is counted from +X towards +Y and is negative clockwise.
    fn arc(&mut self, centre: Vec3, turn_rad: f64) {
        let (sin, cos) = turn_rad.sin_cos();
        let d = self.here.linear - centre;
        let end = centre + Vec3::new(d.x * cos - d.y * sin, d.x * sin + d.y * cos, d.z);
        self.cut_s += d.length() * turn_rad.abs() / self.feed;
        let shape =
            Shape::Arc { centre, axis: Vec3::Z * turn_rad.signum(), sweep_rad: turn_rad.abs() };
        self.add(Place { linear: end, ..self.here }, shape, Feed::Speed(self.feed));
    }

    /// Rapid above `to`, then down at half the feed.
    fn enter(&mut self, to: Vec3) {
        self.rapid(Vec3::new(to.x, to.y, CLEAR_MM));
        self.rapid(Vec3::new(to.x, to.y, to.z + 2.0));
        let feed = std::mem::replace(&mut self.feed, 0.0);
        self.feed = 0.5 * feed;
        self.line(to);
        self.feed = feed;
    }

    fn lift(&mut self) {
        let up = Vec3 { z: CLEAR_MM, ..self.here.linear };
        self.rapid(up);
    }

    fn end(mut self) -> Track {
        self.lift();
        self.add(Place { linear: self.here.linear, rotary: [0.0; 2] }, Shape::Line, Feed::Rapid);
        self.rapid(Vec3::new(0.0, 0.0, 200.0));
        self.wait(Event::Spindle { from_rpm: self.rpm, to_rpm: 0.0 });
        self.wait(Event::Word("M9".into()));
        self.track
    }
}

fn spiral(writer: &mut Writer, draw: &mut Draw, target_s: f64) {
    let (pitch, outer) = (draw.between(0.3, 1.5), draw.between(15.0, 40.0));
    let chord = draw.scale(0.3, 2.0);
    let mut z = 0.0;
    while writer.cut_s < target_s {
        let mut radius = outer;
        let mut angle = 0.0_f64;
        writer.enter(Vec3::new(radius, 0.0, z));
        while radius > 2.0 && writer.cut_s < target_s {
            let step = chord / radius;
            angle += step;
            radius -= pitch * step / std::f64::consts::TAU;
            writer.line(Vec3::new(radius * angle.cos(), radius * angle.sin(), z));
        }
        writer.lift();
        z -= 1.0;
    }
}

fn pocket(writer: &mut Writer, draw: &mut Draw, target_s: f64) {
    let (x, y) = (draw.between(15.0, 45.0), draw.between(10.0, 30.0));
    let step = draw.between(1.5, 5.0);
    let mut z = -1.0;
    while writer.cut_s < target_s {
        let rings = (y / step) as usize;
        writer.enter(Vec3::new(0.0, 0.0, z));
        for ring in (0..rings).rev() {
            let (a, b) = (x - step * ring as f64, y - step * ring as f64);
            for (u, v) in [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0)] {
                writer.line(Vec3::new(u * a, v * b, z));
            }
        }
        writer.lift();
        z -= 1.0;
    }
}

fn arcs(writer: &mut Writer, draw: &mut Draw, target_s: f64) {
    let mut y = -40.0;
    writer.enter(Vec3::new(-50.0, y, 0.0));
    while writer.cut_s < target_s {
        let radius = draw.scale(0.5, 6.0);
        let here = writer.here.linear;
        if here.x > 50.0 {
            y = if y > 40.0 { -40.0 } else { y + 5.0 };
            writer.lift();
            writer.enter(Vec3::new(-50.0, y, 0.0));
        } else if draw.chance(0.5) {
            // out and back: two half circles that meet tangentially
            writer.arc(here + Vec3::X * radius, -std::f64::consts::PI);
            let there = writer.here.linear;
            writer.arc(there + Vec3::X * radius, std::f64::consts::PI);
        } else {
            // a bulge between two lines at right angles to it
            writer.line(here + Vec3::X * radius);
            let there = writer.here.linear;
            writer.arc(there + Vec3::Y * radius, std::f64::consts::FRAC_PI_2);
            writer.line(writer.here.linear + Vec3::Y * 0.5 * radius);
            let back = Vec3::new(writer.here.linear.x + radius, here.y, 0.0);
            writer.line(back);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_program_is_as_long_as_asked_for_and_the_same_again() {
        for program in Program::ALL {
            let track = program.track(3, 60.0);
            assert_eq!(track, program.track(3, 60.0));
            let mut from = track.start;
            let mut cut_s = 0.0;
            for step in &track.moves {
                if let (Feed::Speed(v), Shape::Line) = (step.feed, step.shape) {
                    cut_s += from.linear.distance(step.to.linear) / v;
                }
                if let (Feed::Speed(v), Shape::Arc { centre, sweep_rad, .. }) =
                    (step.feed, step.shape)
                {
                    cut_s += from.linear.distance(centre) * sweep_rad / v;
                }
                from = step.to;
            }
            assert!((59.0..90.0).contains(&cut_s), "{program:?}: {cut_s}");
        }
    }
}
