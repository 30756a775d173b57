//! Programmed and attained feed over time.

use super::data::FeedStep;
use machine::TrackAccount;
use machine::track::{Feed, Track};

#[derive(Debug, Default)]
struct Piece {
    time_s: f64,
    path_mm: f64,
    programmed_s: f64,
    /// What the piece is: 0 a wait, 1 a rapid, 2 at feed.
    kind: u8,
}

/// About `most` steps; a step ends where feed, rapid and wait follow each other, unless that is
/// shorter than a step.
pub(super) fn feed(track: &Track, account: &TrackAccount, most: usize) -> Vec<FeedStep> {
    let step_s = account.times.total_s / most.max(1) as f64;
    let (mut steps, mut piece, mut now_s) = (Vec::new(), Piece::default(), 0.0);
    let mut add = |next: Piece| {
        let turns = piece.kind != next.kind && piece.time_s >= 0.2 * step_s;
        if piece.time_s > 0.0 && (piece.time_s >= step_s || turns) {
            now_s += piece.time_s;
            steps.push(close(&piece, now_s));
            piece = Piece::default();
        }
        piece.kind = piece.kind.max(next.kind);
        piece.time_s += next.time_s;
        piece.path_mm += next.path_mm;
        piece.programmed_s += next.programmed_s;
    };
    let wait = |s: f64| Piece { time_s: s, ..Piece::default() };
    let mut waits = track.waits.iter().zip(&account.waits_s).peekable();
    for (index, (step, taken)) in track.moves.iter().zip(&account.moves).enumerate() {
        while let Some((_, seconds)) = waits.next_if(|(w, _)| w.after <= index) {
            add(wait(*seconds));
        }
        add(Piece {
            time_s: taken.time_s,
            path_mm: taken.path_mm,
            programmed_s: taken.programmed_s,
            kind: if step.feed == Feed::Rapid { 1 } else { 2 },
        });
    }
    for (_, seconds) in waits {
        add(wait(*seconds));
    }
    if piece.time_s > 0.0 {
        now_s += piece.time_s;
        steps.push(close(&piece, now_s));
    }
    steps
}

fn close(piece: &Piece, until_s: f64) -> FeedStep {
    let programmed = piece.kind == 2 && piece.programmed_s > 0.0;
    FeedStep {
        until_s,
        programmed_mm_min: programmed.then(|| 60.0 * piece.path_mm / piece.programmed_s),
        attained_mm_min: 60.0 * piece.path_mm / piece.time_s,
    }
}
