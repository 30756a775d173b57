//! Symmetric positive definite systems with two diagonals beside the main one.

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

    /// Sets everything to zero.
    pub(super) fn clear(&mut self) {
        for v in [&mut self.diagonal, &mut self.near, &mut self.far] {
            v.fill(0.0);
        }
        self.sides.fill([0.0; 2]);
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
    pub(super) fn solve(&mut self) -> bool {
        let n = self.unknowns;
        let (d, e, f, b) = (&mut self.diagonal, &mut self.near, &mut self.far, &mut self.sides);
        for i in 0..n {
            let positive = d[i] > 0.0;
            if !positive {
                return false;
            }
            let inverse = 1.0 / d[i];
            let (near, far) = (e[i] * inverse, f[i] * inverse);
            d[i + 1] -= near * e[i];
            e[i + 1] -= far * e[i];
            d[i + 2] -= far * f[i];
            let here = b[i];
            for (side, value) in here.iter().enumerate() {
                b[i + 1][side] -= near * value;
                b[i + 2][side] -= far * value;
            }
            b[i] = here.map(|v| v * inverse);
            (e[i], f[i]) = (near, far);
        }
        let (mut one, mut two) = ([0.0; 2], [0.0; 2]);
        for i in (0..n).rev() {
            for side in 0..2 {
                b[i][side] -= e[i] * one[side] + f[i] * two[side];
            }
            (one, two) = (b[i], one);
        }
        true
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

    #[test]
    fn refuses_a_matrix_that_is_not_positive() {
        assert!(!Band::new(2).solve());
    }
}
