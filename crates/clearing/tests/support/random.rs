//! Seeded pockets with spikes, slivers, repeated points, thin necks and nested islands.

use super::scenes::Scene;
use planar::Region;
use std::f64::consts::TAU;

/// A plain generator (constants of the 64-bit linear congruential generator of Knuth, MMIX; from
/// memory), so that a seed means the same for ever.
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        let mut dice = Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
        (0..12).for_each(|_| {
            dice.roll();
        });
        dice
    }

    /// 0 to 1.
    pub fn roll(&mut self) -> f64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    pub fn within(&mut self, lo: f64, hi: f64) -> f64 {
        lo + (hi - lo) * self.roll()
    }

    pub fn below(&mut self, n: usize) -> usize {
        (self.roll() * n as f64) as usize
    }
}

/// A blob about a point; at times with a spike and repeated points.
fn blob(dice: &mut Dice, [x, y]: [f64; 2], [rx, ry]: [f64; 2]) -> Vec<[f64; 2]> {
    let n = 4 + dice.below(9);
    let (spin, rough) = (dice.within(0.0, TAU), dice.within(0.0, 0.5));
    let mut out: Vec<[f64; 2]> = Vec::new();
    for k in 0..n {
        let a = spin + (k as f64 + dice.within(-0.3, 0.3)) / n as f64 * TAU;
        let s = 1.0 - rough * dice.roll();
        let p = [x + rx * s * a.cos(), y + ry * s * a.sin()];
        out.push(p);
        if dice.roll() < 0.15 {
            out.push(p);
        }
        if dice.roll() < 0.1 {
            // a spike of no width, out and back
            out.push([x + 1.3 * (p[0] - x), y + 1.3 * (p[1] - y)]);
            out.push(p);
        }
    }
    out
}

fn thin(dice: &mut Dice, [x, y]: [f64; 2], length: f64, width: f64) -> Vec<[f64; 2]> {
    let a = dice.within(0.0, TAU);
    let (c, s) = (a.cos(), a.sin());
    let corner = |u: f64, v: f64| [x + u * c - v * s, y + u * s + v * c];
    let (l, w) = (0.5 * length, 0.5 * width);
    vec![corner(-l, -w), corner(l, -w), corner(l, w), corner(-l, w)]
}

/// A pocket within 200 mm by 150 mm.
pub fn pocket(seed: u64) -> Scene {
    let dice = &mut Dice::new(seed);
    let frame = Region::of_loops(&[super::scenes::rectangle(0.0, 0.0, 200.0, 150.0)]);
    let size = dice.within(0.5, 1.0);
    let mut region = match seed % 3 {
        0 => Region::of_loops(&[super::scenes::rectangle(0.0, 0.0, 200.0 * size, 150.0 * size)]),
        1 => Region::of_loops(&[blob(dice, [100.0, 75.0], [100.0 * size, 75.0 * size])]),
        _ => {
            // chambers with a neck, at times narrower than the cutter
            let left = Region::of_loops(&[blob(dice, [50.0, 75.0], [50.0, 60.0])]);
            let right = Region::of_loops(&[blob(dice, [150.0, 75.0], [50.0, 60.0])]);
            let half = 0.5 * dice.within(6.0, 24.0);
            let neck = super::scenes::rectangle(40.0, 75.0 - half, 120.0, 2.0 * half);
            left.or(&right).or(&Region::of_loops(&[neck]))
        }
    };
    for _ in 0..dice.below(5) {
        let at = [dice.within(10.0, 190.0), dice.within(10.0, 140.0)];
        let r = [dice.within(2.0, 25.0), dice.within(2.0, 25.0)];
        let mut island = vec![blob(dice, at, r)];
        if dice.roll() < 0.3 {
            // a pocket in the island
            island.push(blob(dice, at, [0.6 * r[0], 0.6 * r[1]]));
        }
        region = region.less(&Region::of_loops(&island));
    }
    for _ in 0..dice.below(3) {
        let at = [dice.within(10.0, 190.0), dice.within(10.0, 140.0)];
        let (length, width) = (dice.within(5.0, 60.0), dice.within(0.01, 1.0));
        region = region.less(&Region::of_loops(&[thin(dice, at, length, width)]));
    }
    for _ in 0..dice.below(3) {
        let at = [dice.within(10.0, 190.0), dice.within(10.0, 140.0)];
        let (length, width) = (dice.within(20.0, 80.0), dice.within(0.05, 14.0));
        region = region.or(&Region::of_loops(&[thin(dice, at, length, width)]));
    }
    let inside = region.and(&frame);
    Scene { name: format!("random {seed}"), stock: inside.clone(), inside }
}
