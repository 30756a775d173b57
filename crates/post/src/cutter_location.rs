//! The neutral cutter-location text: words of ISO 4343 (from memory), tips and tool axes in the part's
//! frame.

use crate::job::Job;
use crate::number::{pointed, upper};
use geom::Vec3;
use machine::track::{Feed, Place};

/// Decimals of lengths and of the components of the tool axis.
const LENGTH: usize = 5;
const AXIS: usize = 8;

/// The cutter-location text of a job; `axis` gives the tool axis at a place.
pub fn cutter_location(job: &Job<'_>, axis: &dyn Fn(&Place) -> Vec3) -> String {
    let mut lines = vec![
        format!("PARTNO/{}", upper(&job.title)),
        "PPRINT/PREDICTED, NOT MEASURED. A QUALIFIED PERSON DECIDES WHETHER IT MAY RUN.".to_owned(),
        "UNITS/MM".to_owned(),
    ];
    let turns = job.machine.turns();
    if turns {
        lines.push("MULTAX/ON".to_owned());
    }
    for piece in &job.pieces {
        let tool = &job.tools[piece.tool];
        lines.push(format!("PPRINT/{}", upper(&piece.name)));
        lines.push(format!("LOADTL/{},LENGTH,{}", tool.number, pointed(tool.length_mm, 3)));
        lines.push(format!("SPINDL/{:.0},RPM,CLW", piece.rpm));
        if piece.coolant.is_some() {
            lines.push("COOLNT/ON".to_owned());
        }
        let goto = |place: &Place| {
            let Vec3 { x, y, z } = place.linear;
            let mut words = [x, y, z].map(|v| pointed(v, LENGTH)).join(",");
            if turns {
                let a = axis(place);
                let axis = [a.x, a.y, a.z].map(|v| pointed(v, AXIS)).join(",");
                words = format!("{words},{axis}");
            }
            format!("GOTO/{words}")
        };
        lines.push("RAPID".to_owned());
        lines.push(goto(&piece.track.start));
        let mut before = None;
        for step in &piece.track.moves {
            match step.feed {
                Feed::Rapid => lines.push("RAPID".to_owned()),
                Feed::Speed(mm_s) => {
                    let word = format!("FEDRAT/{},MMPM", pointed(60.0 * mm_s, 2));
                    if before.as_ref() != Some(&word) {
                        lines.push(word.clone());
                        before = Some(word);
                    }
                }
                Feed::Time(s) => {
                    lines.push(format!("FEDRAT/INVERS,{}", pointed(60.0 / s, 4)));
                    before = None;
                }
            }
            lines.push(goto(&step.to));
        }
        lines.push("COOLNT/OFF".to_owned());
        lines.push("SPINDL/OFF".to_owned());
    }
    lines.push("END".to_owned());
    lines.push("FINI".to_owned());
    lines.join("\n") + "\n"
}
