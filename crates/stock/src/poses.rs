//! Moves on which the axis turns: steady pieces with a stated error.

use crate::columns::{Columns, reach};
use crate::line::Sweep;
use cutter::Profile;
use geom::{Quat, Vec3};

/// Tip, and unit axis towards the spindle.
pub type Stance = (Vec3, Vec3);

/// Cuts a move between two stances, axis on the great circle, in pieces whose axis is steady and
/// no farther than `turn_rad` from the true one. Returns how far off any point of the body is at
/// most, mm: 0 where the axis does not turn.
pub fn cut_turning(
    stock: &mut Columns,
    tool: &Profile,
    (a, b): (Stance, Stance),
    turn_rad: f64,
) -> f64 {
    let angle = a.1.angle_between(b.1);
    let n = (0.5 * angle / turn_rad.max(1e-4)).ceil().max(1.0);
    let turn = Quat::from_rotation_arc(a.1, b.1);
    for i in 0..n as usize {
        let at = |f: f64| a.0.lerp(b.0, f / n);
        let axis = Quat::IDENTITY.slerp(turn, (i as f64 + 0.5) / n) * a.1;
        let (from, to) = (at(i as f64), at(i as f64 + 1.0));
        stock.cut(&Sweep { body: tool.kernel(), from, to, axis: axis.normalize() }, reach(tool));
    }
    reach(tool) * 0.5 * angle / n
}
