//! How many teeth are in the cut at once, from the angles between which each is.

use std::f64::consts::TAU;

/// Angles of the tip between which something of a tooth is in the cut, rad; `to` is not before `from`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Window {
    pub(super) from_rad: f64,
    pub(super) to_rad: f64,
}

/// Gaps and overlaps shorter than this are rounding, rad.
const ROUNDING_RAD: f64 = 1e-9;

/// Fewest and most teeth in the cut at once; `of` gives the windows of a tooth by the angle of its own
/// tip.
pub(super) fn teeth_in_cut(teeth: usize, of: impl Fn(usize) -> Vec<Window>) -> (usize, usize) {
    let pitch = TAU / teeth as f64;
    let each: Vec<Vec<Window>> = (0..teeth).map(|t| merged(of(t), pitch * t as f64)).collect();
    let mut ends: Vec<f64> = each.iter().flatten().flat_map(|w| [w.from_rad, w.to_rad]).collect();
    ends.extend([0.0, TAU]);
    ends.sort_by(f64::total_cmp);
    let (mut fewest, mut most) = (usize::MAX, 0);
    for pair in ends.windows(2).filter(|p| p[1] - p[0] > ROUNDING_RAD) {
        let middle = 0.5 * (pair[0] + pair[1]);
        let holds = |w: &Window| w.from_rad < middle && middle < w.to_rad;
        let count = each.iter().filter(|of_tooth| of_tooth.iter().any(holds)).count();
        (fewest, most) = (fewest.min(count), most.max(count));
    }
    (fewest.min(most), most)
}

/// Windows within one turn, turned by `ahead_rad`, overlapping ones as one.
fn merged(windows: Vec<Window>, ahead_rad: f64) -> Vec<Window> {
    let mut apart: Vec<Window> = Vec::new();
    for w in windows {
        let length = w.to_rad - w.from_rad;
        if length >= TAU {
            return vec![Window { from_rad: 0.0, to_rad: TAU }];
        }
        let from_rad = (w.from_rad + ahead_rad).rem_euclid(TAU);
        let to_rad = from_rad + length;
        apart.push(Window { from_rad, to_rad: to_rad.min(TAU) });
        if to_rad > TAU {
            apart.push(Window { from_rad: 0.0, to_rad: to_rad - TAU });
        }
    }
    apart.sort_by(|a, b| a.from_rad.total_cmp(&b.from_rad));
    let mut out: Vec<Window> = Vec::new();
    for w in apart {
        match out.last_mut() {
            Some(last) if w.from_rad <= last.to_rad + ROUNDING_RAD => {
                last.to_rad = last.to_rad.max(w.to_rad);
            }
            _ => out.push(w),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn teeth_are_counted_round_the_turn() {
        let one = |from_rad: f64, to_rad: f64| move |_| vec![Window { from_rad, to_rad }];
        assert_eq!(teeth_in_cut(2, one(3.0, 3.1)), (0, 1));
        assert_eq!(teeth_in_cut(4, one(0.0, 3.5)), (2, 3));
        // one leaves as the next comes
        assert_eq!(teeth_in_cut(2, one(0.0, std::f64::consts::PI)), (1, 1));
        assert_eq!(teeth_in_cut(3, one(1.0, 20.0)), (3, 3));
        assert_eq!(teeth_in_cut(3, |_| Vec::new()), (0, 0));
        // past the end of the turn
        assert_eq!(teeth_in_cut(1, one(6.0, 7.0)), (0, 1));
    }
}
