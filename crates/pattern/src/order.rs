//! In which order and which way the pieces are cut.

use geom::Vec3;

use crate::job::{CutSide, Traverse};

/// What the order needs to know of a piece.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Ends {
    /// Number of the level.
    pub(crate) level: usize,
    /// Contact at the lower end of the parameter.
    pub(crate) first: Vec3,
    /// Contact at the upper end.
    pub(crate) last: Vec3,
}

/// A piece to cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Turn {
    /// Number of the piece.
    pub(crate) piece: usize,
    /// Whether it runs down its parameter.
    pub(crate) against: bool,
}

/// Order of the pieces. Levels are taken from the highest down, so that with the higher levels on
/// the left of the pattern's direction the stock lies to the right of passes that run along it. A
/// level step costs this many millimetres against a way across.
const LEVEL_COST_MM: f64 = 1e-3;

/// Passes one way keep the pattern's levels in order; both ways the nearest end comes next, of the
/// next level as long as it has one near by.
pub(crate) fn order(ends: &[Ends], traverse: Traverse, cut: CutSide) -> Vec<Turn> {
    match traverse {
        Traverse::OneWay => one_way(ends, cut),
        Traverse::BothWays => both_ways(ends),
    }
}

fn one_way(ends: &[Ends], cut: CutSide) -> Vec<Turn> {
    let mut pieces: Vec<usize> = (0..ends.len()).collect();
    pieces.sort_by_key(|p| match cut {
        CutSide::Down => (usize::MAX - ends[*p].level, *p),
        CutSide::Up => (ends[*p].level, *p),
    });
    pieces.into_iter().map(|piece| Turn { piece, against: false }).collect()
}

fn both_ways(ends: &[Ends]) -> Vec<Turn> {
    let top = ends.iter().map(|e| e.level).max().unwrap_or(0);
    let mut left: Vec<usize> = (0..ends.len()).collect();
    left.sort_by_key(|p| (top - ends[*p].level, *p));
    let mut out: Vec<Turn> = Vec::with_capacity(left.len());
    let mut here: Option<(Vec3, usize)> = None;
    while !left.is_empty() {
        let (slot, against) = match here {
            None => (0, false),
            Some((at, level)) => nearest(ends, &left, at, level),
        };
        let piece = left.remove(slot);
        let end = if against { ends[piece].first } else { ends[piece].last };
        here = Some((end, ends[piece].level));
        out.push(Turn { piece, against });
    }
    out
}

fn nearest(ends: &[Ends], left: &[usize], at: Vec3, level: usize) -> (usize, bool) {
    let mut best = (f64::INFINITY, 0, false);
    for (slot, piece) in left.iter().enumerate() {
        let e = &ends[*piece];
        let apart = e.level.abs_diff(level) as f64 * LEVEL_COST_MM;
        for (start, against) in [(e.first, false), (e.last, true)] {
            let cost = at.distance(start) + apart;
            if cost < best.0 {
                best = (cost, slot, against);
            }
        }
    }
    (best.1, best.2)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(n: usize) -> Vec<Ends> {
        (0..n)
            .map(|level| {
                let y = level as f64 * 0.5;
                Ends { level, first: Vec3::new(0.0, y, 0.0), last: Vec3::new(90.0, y, 0.0) }
            })
            .collect()
    }

    #[test]
    fn both_ways_goes_there_and_back() {
        let turns = order(&rows(5), Traverse::BothWays, CutSide::Down);
        let pieces: Vec<_> = turns.iter().map(|t| t.piece).collect();
        assert_eq!(pieces, [4, 3, 2, 1, 0]);
        assert!(turns.windows(2).all(|w| w[0].against != w[1].against));
    }

    #[test]
    fn down_milling_keeps_the_stock_on_the_right() {
        let down = order(&rows(3), Traverse::OneWay, CutSide::Down);
        let up = order(&rows(3), Traverse::OneWay, CutSide::Up);
        assert!(down.iter().map(|t| t.piece).eq([2, 1, 0]) && !down[0].against);
        assert!(up.iter().map(|t| t.piece).eq([0, 1, 2]));
    }

    #[test]
    fn the_far_side_of_a_hole_waits() {
        let mut ends = rows(4);
        for e in &mut ends {
            e.last.x = 40.0;
        }
        let far: Vec<Ends> = ends
            .iter()
            .map(|e| Ends { first: e.first + Vec3::X * 50.0, last: e.last + Vec3::X * 50.0, ..*e })
            .collect();
        ends.extend(far);
        let turns = order(&ends, Traverse::BothWays, CutSide::Down);
        assert!(turns[..4].iter().all(|t| t.piece < 4), "{turns:?}");
    }
}
