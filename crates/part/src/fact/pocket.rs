//! Pockets: what rising walls shut in, over a floor or right through the part.
//!
//! 1. `floors`: a flat face from whose border much of the length turns up, sharply or smoothly into a
//!    hollow face (a floor radius). From it the walls are followed over hollow and smooth edges, never
//!    over the rim. Walls stand upright or lean outwards by their draft.
//! 2. `rings`: hollow walls that no flat floor holds close round an axis of their own: the pocket goes
//!    through, or its floor is not flat.
//! 3. It is a pocket if rays half-way up meet its own walls nearly all round. Then those with open
//!    sides: rays must meet walls on opposite sides (a mere step is none), and the shallower reading
//!    goes first, for seen from its side a pocket's wall is a floor too.
//! 4. If the walls are one round hole, it is a bore.

mod floors;
mod rings;
mod walls;

use super::face::FaceFacts;
use super::neighbour::Neighbours;
use crate::{FaceKind, Part};
use geom::Vec3;
use walls::Search;

/// A recess that walls shut in.
#[derive(Debug, Clone, PartialEq)]
pub struct Pocket {
    /// The floor's face; `None` where the pocket goes through.
    pub floor: Option<usize>,
    /// Every face of the pocket, ascending, the floor among them.
    pub faces: Vec<usize>,
    /// Those of them that stand as walls, ascending.
    pub walls: Vec<usize>,
    /// Height of the walls over the floor, or of the walls where there is none, mm.
    pub depth_mm: f64,
    /// Smallest radius of its upright corners in plan, mm; `None` where they are sharp or none is
    /// round.
    pub corner_radius_min_mm: Option<f64>,
    /// Smallest radius between floor and walls, mm; `None` where they meet sharply.
    pub floor_radius_min_mm: Option<f64>,
    /// Largest angle between a wall and the axis, rad.
    pub draft_rad: f64,
    /// Direction in which it opens, unit.
    pub axis: Vec3,
    /// Area of the floor's face, mm²; 0 where there is none.
    pub floor_area_mm2: f64,
    /// Whether it is one round hole.
    pub is_bore: bool,
}

/// The pockets and bores: those with a flat floor in the order of their floors' faces, then the
/// others in the order of their first walls.
pub fn pockets(part: &Part, facts: &[FaceFacts], neighbours: &Neighbours) -> Vec<Pocket> {
    let search = Search::new(part, facts, neighbours);
    let (mut found, open) = floors::pockets(&search);
    found.extend(rings::pockets(&search, &found));
    for pocket in floors::shallow_first(open) {
        let wall_elsewhere =
            found.iter().any(|p| pocket.floor.is_some_and(|f| p.walls.contains(&f)));
        let floor_elsewhere =
            found.iter().any(|p| p.floor.is_some_and(|f| pocket.walls.contains(&f)));
        if !wall_elsewhere && !floor_elsewhere {
            found.push(pocket);
        }
    }
    found.sort_by_key(|p| p.level_floor(part).map_or((true, 0), |floor| (false, floor)));
    found
}

impl Pocket {
    /// The floor, where it is flat.
    pub fn level_floor(&self, part: &Part) -> Option<usize> {
        self.floor.filter(|f| part.faces[*f].kind == FaceKind::Plane)
    }

    /// Whether its floor, if it has one, is flat.
    pub fn is_level(&self, part: &Part) -> bool {
        self.floor.is_none() || self.level_floor(part).is_some()
    }
}

#[cfg(test)]
mod tests {
    use crate::{ReadOptions, fact, read};

    /// A block of 40 × 30 × 20 mm with an open-topped recess of 20 × 10 × 8 mm in its top.
    const RECESSED: &str = "\
v 0 0 0\nv 40 0 0\nv 40 30 0\nv 0 30 0\nv 0 0 20\nv 40 0 20\nv 40 30 20\nv 0 30 20
v 10 10 20\nv 30 10 20\nv 30 20 20\nv 10 20 20\nv 10 10 12\nv 30 10 12\nv 30 20 12\nv 10 20 12
f 4 3 2 1\nf 1 2 6 5\nf 2 3 7 6\nf 3 4 8 7\nf 4 1 5 8
f 5 6 10 9\nf 6 7 11 10\nf 7 8 12 11\nf 8 5 9 12
f 9 10 14 13\nf 10 11 15 14\nf 11 12 16 15\nf 12 9 13 16\nf 13 14 15 16\n";

    #[test]
    fn a_recess_is_a_pocket_of_its_depth_and_the_outside_is_none() {
        let part = read(RECESSED.as_bytes(), "recess.obj", &ReadOptions::default()).unwrap();
        let facts = fact::of_faces(&part);
        let found = fact::pockets(&part, &facts, &fact::Neighbours::new(&part));
        assert_eq!(found.len(), 1, "{found:?}");
        assert!((found[0].depth_mm - 8.0).abs() < 1e-9);
        assert!((found[0].floor_area_mm2 - 200.0).abs() < 1e-9);
        assert_eq!((found[0].corner_radius_min_mm, found[0].is_bore), (None, false));
        assert_eq!(found[0].faces.len(), 5);
    }
}
