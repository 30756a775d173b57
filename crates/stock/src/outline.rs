//! What rows of columns meet of a chain of level moves, as a union of intervals.
//!
//! Along a row the ends are exact. A wall that runs along the rows cuts a row of cells in part: there
//! the union is kept for [`LINES`] lines across the row.

use crate::chain::Level;

/// Lines across a row of cells; the middle one runs through the columns.
pub(crate) const LINES: usize = 9;
/// Rows of a band at most.
pub(crate) const BAND: usize = 32;

/// An interval along a row, mm.
pub(crate) type Interval = (f64, f64);

const NONE: Interval = (f64::INFINITY, f64::NEG_INFINITY);

/// The intervals of the rows of a band. The last of each row may still grow.
#[derive(Debug)]
pub(crate) struct Outline {
    /// v of the first row, mm, and the distance between rows.
    v: f64,
    step: f64,
    radius: f64,
    last: Ends,
    done: Vec<Vec<Interval>>,
    /// Lines of rows that a move's rim runs along.
    part: Vec<Option<Box<[Vec<Interval>; LINES]>>>,
    /// Half chords of the disc where the last move ended.
    ends: Option<((f64, f64), [f64; BAND])>,
}

/// An interval of each row.
#[derive(Debug, Clone)]
struct Ends {
    lo: [f64; BAND],
    hi: [f64; BAND],
}

/// Adds an interval to a list; the last one grows where they meet.
fn add(list: &mut Vec<Interval>, of: Interval) {
    match list.last_mut() {
        Some(last) if of.0 <= last.1 && of.1 >= last.0 => {
            *last = (last.0.min(of.0), last.1.max(of.1));
        }
        _ if of.0 <= of.1 => list.push(of),
        _ => {}
    }
}

impl Outline {
    /// No interval in `rows` rows from v on.
    pub(crate) fn new(v: f64, step: f64, rows: usize, radius: f64) -> Self {
        let last = Ends { lo: [NONE.0; BAND], hi: [NONE.1; BAND] };
        let (done, part) = (vec![Vec::new(); rows], vec![None; rows]);
        Self { v, step, radius, last, done, part, ends: None }
    }

    /// Adds a move.
    pub(crate) fn add(&mut self, m: &Level) {
        let half = |at: (f64, f64)| half_chords(at.1, self.v, self.step, self.radius);
        let from = match self.ends {
            Some((at, half)) if at == m.from => half,
            _ => half(m.from),
        };
        let to = if m.length > 0.0 { half(m.to) } else { from };
        self.ends = Some((m.to, to));
        let mut found = Ends { lo: [0.0; BAND], hi: [0.0; BAND] };
        for k in 0..BAND {
            let (a, b) = (m.from.0 - from[k], m.to.0 - to[k]);
            found.lo[k] = if a < b { a } else { b };
            let (a, b) = (m.from.0 + from[k], m.to.0 + to[k]);
            found.hi[k] = if a > b { a } else { b };
        }
        if m.u.0.abs() > 1e-9 && m.u.1.abs() > 1e-9 {
            slanted(m, self.v, self.step, self.radius, &mut found);
        } else {
            for k in 0..BAND {
                let of = rectangle(m, self.v + k as f64 * self.step, self.radius);
                (found.lo[k], found.hi[k]) = joined((found.lo[k], found.hi[k]), of);
            }
        }
        let (low, high) = m.v_ends(self.radius);
        for v in [low, high] {
            let k = ((v - self.v) / self.step + 0.5).floor();
            if k >= 0.0 && k < self.done.len() as f64 {
                self.along_the_rim(k as usize, m);
                (found.lo[k as usize], found.hi[k as usize]) = NONE;
            }
        }
        self.grow(&found);
    }

    fn grow(&mut self, found: &Ends) {
        let last = &mut self.last;
        let mut apart = false;
        for k in 0..BAND {
            let (lo, hi) = (found.lo[k], found.hi[k]);
            apart |= (lo <= hi) & ((lo > last.hi[k]) | (hi < last.lo[k]));
        }
        if apart {
            for (k, done) in self.done.iter_mut().enumerate() {
                let (lo, hi) = (found.lo[k], found.hi[k]);
                if lo <= hi && (lo > last.hi[k] || hi < last.lo[k]) {
                    if last.lo[k] <= last.hi[k] {
                        done.push((last.lo[k], last.hi[k]));
                    }
                    (last.lo[k], last.hi[k]) = NONE;
                }
            }
        }
        for k in 0..BAND {
            let (lo, hi) = (found.lo[k], found.hi[k]);
            last.lo[k] = if lo < last.lo[k] { lo } else { last.lo[k] };
            last.hi[k] = if hi > last.hi[k] { hi } else { last.hi[k] };
        }
    }

    fn along_the_rim(&mut self, k: usize, m: &Level) {
        let lines = self.part[k].get_or_insert_with(|| Box::new([const { Vec::new() }; LINES]));
        for (s, line) in lines.iter_mut().enumerate() {
            let across = (s as f64 - (LINES / 2) as f64) / LINES as f64;
            add(line, stadium(m, self.v + (k as f64 + across) * self.step, self.radius));
        }
    }

    /// The union on the line `s` of a row, in order.
    pub(crate) fn line(&self, k: usize, s: usize) -> Vec<Interval> {
        let mut all = self.done[k].clone();
        let last = (self.last.lo[k], self.last.hi[k]);
        all.extend(Some(last).filter(|l| l.0 <= l.1));
        all.extend(self.part[k].iter().flat_map(|p| p[s].iter().copied()));
        all.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
        all.dedup_by(|b, a| {
            let meets = b.0 <= a.1;
            if meets {
                a.1 = a.1.max(b.1);
            }
            meets
        });
        all
    }

    /// Whether all lines of a row are the same.
    pub(crate) fn is_even(&self, k: usize) -> bool {
        self.part[k].is_none()
    }
}

fn joined(a: Interval, b: Interval) -> Interval {
    if b.0 <= b.1 { (a.0.min(b.0), a.1.max(b.1)) } else { a }
}

/// Half chords of a disc along the rows; far below zero beside it.
fn half_chords(at: f64, v: f64, step: f64, radius: f64) -> [f64; BAND] {
    let mut out = [0.0; BAND];
    for (k, half) in out.iter_mut().enumerate() {
        let off = v + k as i32 as f64 * step - at;
        let left = (radius - off) * (radius + off);
        let root = (if left > 0.0 { left } else { 0.0 }).sqrt();
        *half = if left >= 0.0 { root } else { f64::NEG_INFINITY };
    }
    out
}

/// Widens the intervals by the rectangle of a move that runs along neither axis.
fn slanted(m: &Level, v: f64, step: f64, radius: f64, found: &mut Ends) {
    let (ux, uy) = m.u;
    let (along, across) = (1.0 / ux, 1.0 / uy);
    let (long, wide) = ((m.length * along).abs(), (radius * across).abs());
    // left end of the strip between the ends, middle of the strip between the sides
    let left = if ux > 0.0 { 0.0 } else { m.length * along };
    for k in 0..BAND {
        let off = v + k as i32 as f64 * step - m.from.1;
        let a = m.from.0 + left - uy * off * along;
        let c = m.from.0 + ux * off * across;
        let (c, d) = (c - wide, c + wide);
        let (lo, hi) = (if a > c { a } else { c }, if a + long < d { a + long } else { d });
        let is = lo <= hi;
        found.lo[k] = if is & (lo < found.lo[k]) { lo } else { found.lo[k] };
        found.hi[k] = if is & (hi > found.hi[k]) { hi } else { found.hi[k] };
    }
}

/// Where a line at `v` meets the rectangle of a move.
fn rectangle(m: &Level, v: f64, radius: f64) -> Interval {
    let dv = v - m.from.1;
    let (ux, uy) = m.u;
    let span = crate::span::Span { from: f64::NEG_INFINITY, to: f64::INFINITY }
        .clip(m.from.0, ux, uy * dv, 0.0, m.length)
        .clip(m.from.0, -uy, ux * dv, -radius, radius);
    (span.from, span.to)
}

/// Where a line at `v` meets what a move sweeps.
fn stadium(m: &Level, v: f64, radius: f64) -> Interval {
    let disc = |at: (f64, f64)| {
        let off = v - at.1;
        let left = (radius - off) * (radius + off);
        if left >= 0.0 { (at.0 - left.sqrt(), at.0 + left.sqrt()) } else { NONE }
    };
    joined(joined(disc(m.from), disc(m.to)), rectangle(m, v, radius))
}
