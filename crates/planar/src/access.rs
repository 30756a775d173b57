//! The part of a pocket that a disk reaches.

use crate::region::Region;

/// A pocket's outline in plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    /// The pocket.
    pub region: Region,
    /// Border with a wall, islands too, as open or closed lines, mm.
    pub walls: Vec<Vec<[f64; 2]>>,
    /// Border without a wall, mm.
    pub open: Vec<Vec<[f64; 2]>>,
}

/// Where a disk fits, and what it covers.
#[derive(Debug, Clone, PartialEq)]
pub struct Reach {
    /// Positions of its centre.
    pub centres: Region,
    /// What it covers of the pocket.
    pub covered: Region,
}

/// What a disk of `radius_mm` reaches: its centre keeps that distance from every wall and may leave
/// the pocket over an open side.
pub fn reach(outline: &Outline, radius_mm: f64) -> Reach {
    let room = match outline.open.is_empty() {
        true => outline.region.clone(),
        false => outline.region.or(&Region::around(&outline.open, radius_mm)),
    };
    // a grid step less, so that a disk as wide as a slot goes in
    let kept = (radius_mm - crate::ARC_MM).max(0.0);
    let centres = room.less(&Region::around(&outline.walls, kept));
    let covered = outline.region.and(&centres.grown(radius_mm));
    Reach { centres, covered }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn closed(loops: &[Vec<[f64; 2]>]) -> Outline {
        let ring = |l: &Vec<[f64; 2]>| l.iter().chain(l.first()).copied().collect();
        let region = Region::of_loops(loops);
        Outline { region, walls: loops.iter().map(ring).collect(), open: Vec::new() }
    }

    fn rectangle(x: f64, y: f64, w: f64, h: f64) -> Vec<[f64; 2]> {
        vec![[x, y], [x + w, y], [x + w, y + h], [x, y + h]]
    }

    /// Half the arc error along the border, both ways.
    fn near(outline: &Outline, got: f64, want: f64) {
        let bound = 2.0 * crate::ARC_MM * outline.region.border_mm();
        assert!((got - want).abs() < bound, "{got} {want}");
    }

    #[test]
    fn a_sharp_rectangle_keeps_its_corners() {
        let outline = closed(&[rectangle(0.0, 0.0, 60.0, 40.0)]);
        // each corner keeps r² − πr²/4
        near(&outline, reach(&outline, 5.0).covered.area_mm2(), 2400.0 - (4.0 - PI) * 25.0);
    }

    #[test]
    fn a_disk_wider_than_a_slot_stays_out() {
        let outline = closed(&[rectangle(0.0, 0.0, 60.0, 10.0)]);
        assert!(reach(&outline, 5.1).covered.is_empty());
        near(&outline, reach(&outline, 4.9).covered.area_mm2(), 600.0 - (4.0 - PI) * 4.9 * 4.9);
    }

    #[test]
    fn an_island_is_kept_clear_of() {
        let outline = closed(&[rectangle(0.0, 0.0, 60.0, 60.0), rectangle(20.0, 20.0, 20.0, 20.0)]);
        // the corners of an island are convex to the disk: nothing stays there
        near(&outline, reach(&outline, 8.0).covered.area_mm2(), 3200.0 - (4.0 - PI) * 64.0);
    }

    #[test]
    fn an_ell_keeps_five_hollow_corners() {
        let ell =
            vec![[0.0, 0.0], [50.0, 0.0], [50.0, 20.0], [20.0, 20.0], [20.0, 50.0], [0.0, 50.0]];
        let outline = closed(&[ell]);
        near(
            &outline,
            reach(&outline, 6.0).covered.area_mm2(),
            1600.0 - 5.0 * (1.0 - PI / 4.0) * 36.0,
        );
    }

    #[test]
    fn an_open_side_leaves_no_corners() {
        let region = Region::of_loops(&[rectangle(0.0, 0.0, 60.0, 40.0)]);
        let walls = vec![vec![[60.0, 0.0], [0.0, 0.0], [0.0, 40.0], [60.0, 40.0]]];
        let open = vec![vec![[60.0, 0.0], [60.0, 40.0]]];
        let outline = Outline { region, walls, open };
        near(&outline, reach(&outline, 5.0).covered.area_mm2(), 2400.0 - (2.0 - PI / 2.0) * 25.0);
    }
}
