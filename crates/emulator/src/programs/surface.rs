//! Programs over curved faces: passes of lines, with the tool upright or turning.

use super::Writer;
use crate::draw::Draw;
use geom::Vec3;
use machine::track::Place;

/// Height of a face with two waves.
struct Face {
    height: f64,
    waves: [f64; 2],
}

impl Face {
    fn draw(draw: &mut Draw) -> Self {
        Self {
            height: draw.between(1.0, 8.0),
            waves: [draw.between(30.0, 90.0), draw.between(30.0, 90.0)],
        }
    }

    fn at(&self, x: f64, y: f64) -> Vec3 {
        let [a, b] = self.waves;
        Vec3::new(x, y, self.height * (x / a).sin() * (y / b).cos())
    }
}

/// Passes of `chord` long lines to and fro; `pose` says how the tool stands at a point.
fn passes(
    writer: &mut Writer,
    target_s: f64,
    [width, step, chord]: [f64; 3],
    pose: impl Fn(f64, f64) -> Place,
) {
    let points = (width / chord).ceil() as usize;
    let mut y = -width / 2.0;
    let at = |k: usize| width * (k as f64 / points as f64 - 0.5);
    writer.rapid_turn(pose(at(0), y));
    writer.enter(pose(at(0), y).linear);
    let mut forward = true;
    while writer.cut_s < target_s {
        for k in 0..=points {
            writer.pose(pose(at(if forward { k } else { points - k }), y));
            if writer.cut_s >= target_s {
                return;
            }
        }
        forward = !forward;
        y = if y > width / 2.0 { -width / 2.0 } else { y + step };
    }
}

pub(super) fn raster(writer: &mut Writer, draw: &mut Draw, target_s: f64) {
    let face = Face::draw(draw);
    let sizes = [draw.between(40.0, 120.0), draw.between(0.2, 1.0), draw.scale(0.3, 3.0)];
    passes(writer, target_s, sizes, |x, y| Place { linear: face.at(x, y), rotary: [0.0; 2] });
}

pub(super) fn short_blocks(writer: &mut Writer, draw: &mut Draw, target_s: f64) {
    let face = Face::draw(draw);
    let sizes = [draw.between(20.0, 60.0), draw.between(0.1, 0.5), draw.scale(0.03, 0.15)];
    // words of 1 µm, as a post-processor writes them
    let micron = |v: f64| (v * 1000.0).round() / 1000.0;
    passes(writer, target_s, sizes, |x, y| {
        let p = face.at(x, y);
        Place { linear: Vec3::new(micron(p.x), micron(p.y), micron(p.z)), rotary: [0.0; 2] }
    });
}

pub(super) fn tilted_raster(writer: &mut Writer, draw: &mut Draw, target_s: f64) {
    let face = Face::draw(draw);
    let width = draw.between(40.0, 100.0);
    let sizes = [width, draw.between(0.3, 1.0), draw.scale(0.4, 3.0)];
    let (tilt, swing) = (draw.between(5.0, 20.0), draw.between(4.0, 15.0));
    passes(writer, target_s, sizes, |x, y| {
        let u = x / width;
        let turn = swing * (3.0 * u).sin() + 10.0 * y / width;
        let rotary = [turn.to_radians(), (tilt * (1.0 + 0.5 * (5.0 * u).cos())).to_radians()];
        Place { linear: face.at(x, y), rotary }
    });
}
