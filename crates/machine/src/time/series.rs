//! Programmed and attained feed along the path, thinned out for a plot.

use super::drive::Drive;
use crate::route::Route;

/// Means over one piece of the tip's path.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FeedSample {
    /// Tip path from the start to the end of the piece, mm.
    pub path_mm: f64,
    /// Time from the start to the end of the piece, waits left out, s.
    pub time_s: f64,
    /// Programmed tip feed, mm/s; `None` where the piece is driven as a rapid.
    pub programmed_mm_s: Option<f64>,
    /// Attained tip feed, mm/s.
    pub attained_mm_s: f64,
}

#[derive(Default)]
struct Piece {
    length: f64,
    time: f64,
    programmed: f64,
    rapid: bool,
}

/// At most about `most` samples; a piece ends where feed turns to rapid or back.
pub(crate) fn series(
    route: &Route,
    drive: &Drive,
    feed_factor: f64,
    most: usize,
) -> Vec<FeedSample> {
    let total: f64 = route.legs.iter().map(|l| l.length * l.tip_share).sum();
    let longest = total / most.max(1) as f64;
    let (mut samples, mut piece) = (Vec::new(), Piece::default());
    let (mut path_mm, mut time_s) = (0.0, 0.0);
    let mut close = |piece: &mut Piece| {
        let Piece { length, time, programmed, rapid } = std::mem::take(piece);
        if length > 0.0 && time > 0.0 {
            path_mm += length;
            time_s += time;
            let programmed_mm_s = (!rapid && programmed > 0.0).then(|| length / programmed);
            samples.push(FeedSample {
                path_mm,
                time_s,
                programmed_mm_s,
                attained_mm_s: length / time,
            });
        }
    };
    for (stretch, driven) in route.stretches.iter().zip(&drive.driven) {
        for (i, span) in stretch.spans.iter().enumerate() {
            let leg = &route.legs[span.leg as usize];
            if piece.length >= longest || (piece.length > 0.0 && piece.rapid != leg.is_rapid()) {
                close(&mut piece);
            }
            let ds = stretch.s[i + 1] - stretch.s[i];
            piece.rapid = leg.is_rapid();
            piece.length += ds * leg.tip_share;
            piece.time += driven.time_s[i];
            piece.programmed += ds / (leg.feed * feed_factor);
        }
    }
    close(&mut piece);
    samples
}
