//! Symmetric positive definite systems with two diagonals beside the main one.

use super::blocks::BLOCK;

/// Unknowns before its own that the band of a block has room for.
pub(super) const HALO: usize = 2;

/// A symmetric matrix of bandwidth two and two right-hand sides.
pub(super) struct Band {
    /// Main diagonal.
    pub(super) diagonal: Vec<f64>,
    /// Entries (i, i + 1).
    pub(super) near: Vec<f64>,
    /// Entries (i, i + 2).
    pub(super) far: Vec<f64>,
    /// Right-hand sides of each equation; the solutions after [`Band::solve`].
    pub(super) sides: Vec<[f64; 2]>,
    unknowns: usize,
}

impl Band {
    /// A zero system of `unknowns` unknowns.
    pub(super) fn new(unknowns: usize) -> Self {
        let zero = || vec![0.0; unknowns + 2];
        let sides = vec![[0.0; 2]; unknowns + 2];
        Self { diagonal: zero(), near: zero(), far: zero(), sides, unknowns }
    }

    /// The system block by block.
    pub(super) fn blocks(&mut self) -> impl Iterator<Item = Part<'_>> {
        let n = self.unknowns;
        let parts = self.diagonal[..n].chunks_mut(BLOCK).zip(self.near[..n].chunks_mut(BLOCK));
        let more = self.far[..n].chunks_mut(BLOCK).zip(self.sides[..n].chunks_mut(BLOCK));
        parts.zip(more).enumerate().map(|(k, ((diagonal, near), (far, sides)))| Part {
            first: k * BLOCK,
            diagonal,
            near,
            far,
            sides,
        })
    }

    /// Replaces equation `i` by "unknown i is 0".
    pub(super) fn fix(&mut self, i: usize) {
        self.diagonal[i] = 1.0;
        self.sides[i] = [0.0; 2];
        self.near[i] = 0.0;
        self.far[i] = 0.0;
        if i >= 1 {
            self.near[i - 1] = 0.0;
        }
        if i >= 2 {
            self.far[i - 2] = 0.0;
        }
    }

    /// Solves by LDLᵀ in place; `false` where a pivot is not positive.
    ///
    /// A long system is taken apart from both ends at once, until two unknowns in its middle are left.
    pub(super) fn solve(&mut self) -> bool {
        let n = self.unknowns;
        if n <= BLOCK {
            let mut whole = self.leading(n);
            let solved = whole.eliminate().is_some();
            whole.substitute([0.0; 2], [0.0; 2]);
            return solved;
        }
        let middle = n / 2;
        let (mut head, mut tail) = self.halves(middle);
        let (Some(head), Some(tail)) = rayon::join(|| head.eliminate(), || tail.eliminate()) else {
            return false;
        };
        let Some([one, two]) = self.middle(middle, &head, &tail) else { return false };
        let (mut head, mut tail) = self.halves(middle);
        rayon::join(|| head.substitute(one, two), || tail.substitute(two, one));
        (self.sides[middle], self.sides[middle + 1]) = (one, two);
        true
    }

    /// The first `count` unknowns in their order.
    fn leading(&mut self, count: usize) -> Half<'_> {
        Half {
            diagonal: &self.diagonal[..count],
            near: &mut self.near[..count],
            far: &mut self.far[..count],
            sides: &mut self.sides[..count],
            backwards: false,
        }
    }

    /// The unknowns before `middle`, and those from the last one down to that two after it.
    fn halves(&mut self, middle: usize) -> (Half<'_>, Half<'_>) {
        let n = self.unknowns;
        let (near, near_after) = self.near.split_at_mut(middle);
        let (far, far_after) = self.far.split_at_mut(middle);
        let (sides, sides_after) = self.sides.split_at_mut(middle);
        let head = Half { diagonal: &self.diagonal[..middle], near, far, sides, backwards: false };
        let count = n - middle - 2;
        let tail = Half {
            diagonal: &self.diagonal[middle + 2..n],
            near: &mut near_after[1..=count],
            far: &mut far_after[..count],
            sides: &mut sides_after[2..count + 2],
            backwards: true,
        };
        (head, tail)
    }

    /// The two unknowns that both halves leave.
    fn middle(&self, at: usize, head: &Left, tail: &Left) -> Option<[[f64; 2]; 2]> {
        let d = [
            self.diagonal[at] + head.diagonal[0] + tail.diagonal[1],
            self.diagonal[at + 1] + head.diagonal[1] + tail.diagonal[0],
        ];
        let e = self.near[at] + head.near + tail.near;
        let below = d[1] - e * e / d[0];
        let positive = d[0] > 0.0 && below > 0.0;
        let side = |k: usize| {
            let one = self.sides[at][k] + head.sides[0][k] + tail.sides[1][k];
            let two = self.sides[at + 1][k] + head.sides[1][k] + tail.sides[0][k];
            let two = (two - e * one / d[0]) / below;
            [(one - e * two) / d[0], two]
        };
        let (a, b) = (side(0), side(1));
        positive.then_some([[a[0], b[0]], [a[1], b[1]]])
    }
}

/// Unknowns that follow each other from one end of the system, and the entries that tie each to the
/// next and to the one after that.
struct Half<'a> {
    diagonal: &'a [f64],
    near: &'a mut [f64],
    far: &'a mut [f64],
    sides: &'a mut [[f64; 2]],
    /// Whether they follow from the last to the first.
    backwards: bool,
}

/// What elimination adds to the entries of the two unknowns after the last one.
#[derive(Default)]
struct Left {
    diagonal: [f64; 2],
    near: f64,
    sides: [[f64; 2]; 2],
}

impl Half<'_> {
    fn at(&self, k: usize) -> usize {
        if self.backwards { self.diagonal.len() - 1 - k } else { k }
    }

    /// Eliminates one unknown after the other; `None` where a pivot is not positive.
    fn eliminate(&mut self) -> Option<Left> {
        let n = self.diagonal.len();
        let mut left = Left::default();
        for k in 0..n.min(2) {
            let i = self.at(k);
            (left.diagonal[k], left.sides[k]) = (self.diagonal[i], self.sides[i]);
        }
        left.near = if n > 0 { self.near[self.at(0)] } else { 0.0 };
        for k in 0..n {
            let i = self.at(k);
            let (d, e, f, b) = (left.diagonal[0], left.near, self.far[i], left.sides[0]);
            let positive = d > 0.0;
            if !positive {
                return None;
            }
            let inverse = 1.0 / d;
            let (near, far) = (e * inverse, f * inverse);
            let next = if k + 1 < n { self.near[self.at(k + 1)] } else { 0.0 };
            let (after, side) = if k + 2 < n {
                let i = self.at(k + 2);
                (self.diagonal[i], self.sides[i])
            } else {
                (0.0, [0.0; 2])
            };
            left.diagonal = [left.diagonal[1] - near * e, after - far * f];
            left.near = next - far * e;
            left.sides = [
                [left.sides[1][0] - near * b[0], left.sides[1][1] - near * b[1]],
                [side[0] - far * b[0], side[1] - far * b[1]],
            ];
            self.sides[i] = b.map(|v| v * inverse);
            (self.near[i], self.far[i]) = (near, far);
        }
        Some(left)
    }

    /// Puts the solutions in place, from those of the two unknowns after the last one.
    fn substitute(&mut self, mut one: [f64; 2], mut two: [f64; 2]) {
        for k in (0..self.diagonal.len()).rev() {
            let i = self.at(k);
            for side in 0..2 {
                self.sides[i][side] -= self.near[i] * one[side] + self.far[i] * two[side];
            }
            (one, two) = (self.sides[i], one);
        }
    }
}

/// The part of a system whose unknowns are in one block.
pub(super) struct Part<'a> {
    /// Its first unknown.
    pub(super) first: usize,
    diagonal: &'a mut [f64],
    near: &'a mut [f64],
    far: &'a mut [f64],
    sides: &'a mut [[f64; 2]],
}

impl Part<'_> {
    /// Takes its entries over from the band of the block.
    pub(super) fn take(&mut self, band: &Band) {
        let own = HALO..HALO + self.diagonal.len();
        self.diagonal.copy_from_slice(&band.diagonal[own.clone()]);
        self.near.copy_from_slice(&band.near[own.clone()]);
        self.far.copy_from_slice(&band.far[own.clone()]);
        self.sides.copy_from_slice(&band.sides[own]);
    }
}

#[cfg(test)]
mod tests {
    use super::Band;

    #[test]
    fn solves_what_it_was_multiplied_from() {
        let (diagonal, near, far) = ([5.0, 6.0, 7.0, 8.0], [1.0, -2.0, 0.5], [0.5, 1.5]);
        let x = [1.0, -2.0, 3.0, 0.25];
        let entry = |i: usize, j: usize| match i.abs_diff(j) {
            0 => diagonal[i],
            1 => near[i.min(j)],
            2 => far[i.min(j)],
            _ => 0.0,
        };
        let mut band = Band::new(4);
        band.diagonal[..4].copy_from_slice(&diagonal);
        for i in 0..4 {
            let b: f64 = (0..4).map(|j| entry(i, j) * x[j]).sum();
            band.sides[i] = [b, 2.0 * b];
        }
        band.near[..3].copy_from_slice(&near);
        band.far[..2].copy_from_slice(&far);
        assert!(band.solve());
        for (side, x) in band.sides.iter().zip(x) {
            assert!((side[0] - x).abs() < 1e-14 && (side[1] - 2.0 * x).abs() < 1e-14);
        }
    }

    /// A long system is solved from both ends: the product of matrix and solution gives the sides back.
    #[test]
    fn long_systems_are_solved_from_both_ends() {
        for n in [super::BLOCK - 1, super::BLOCK + 1, 3 * super::BLOCK + 2] {
            let mut band = Band::new(n);
            for i in 0..n {
                let wave = (i as f64 * 0.37).sin();
                band.diagonal[i] = 4.5 + wave;
                band.near[i] = if i + 1 < n { -1.0 + 0.3 * wave } else { 0.0 };
                band.far[i] = if i + 2 < n { 0.4 * wave } else { 0.0 };
                band.sides[i] = [1.0 + wave, i as f64 / n as f64];
            }
            let (d, e, f) = (band.diagonal.clone(), band.near.clone(), band.far.clone());
            let sides = band.sides.clone();
            assert!(band.solve());
            for i in 0..n {
                for side in 0..2 {
                    let x = |j: usize| band.sides[j][side];
                    let mut sum = d[i] * x(i) + e[i] * x(i + 1) + f[i] * x(i + 2);
                    sum += if i > 0 { e[i - 1] * x(i - 1) } else { 0.0 };
                    sum += if i > 1 { f[i - 2] * x(i - 2) } else { 0.0 };
                    assert!((sum - sides[i][side]).abs() < 1e-12, "{n} {i}");
                }
            }
            band.diagonal.copy_from_slice(&d);
            band.diagonal[n - 2] = -1.0;
            assert!(!band.solve());
        }
    }

    #[test]
    fn refuses_a_matrix_that_is_not_positive() {
        assert!(!Band::new(2).solve());
    }
}
