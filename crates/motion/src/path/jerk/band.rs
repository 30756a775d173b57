//! Symmetric positive definite systems with two diagonals beside the main one.

/// A symmetric matrix of bandwidth two and a right-hand side.
pub(super) struct Band {
    /// Main diagonal.
    pub(super) diagonal: Vec<f64>,
    /// Entries (i, i + 1).
    pub(super) near: Vec<f64>,
    /// Entries (i, i + 2).
    pub(super) far: Vec<f64>,
    /// Right-hand side; the solution after [`Band::solve`].
    pub(super) rhs: Vec<f64>,
}

impl Band {
    /// A zero system of `n` unknowns.
    pub(super) fn new(n: usize) -> Self {
        let zero = || vec![0.0; n + 2];
        Self { diagonal: zero(), near: zero(), far: zero(), rhs: zero() }
    }

    /// Sets everything to zero.
    pub(super) fn clear(&mut self) {
        for v in [&mut self.diagonal, &mut self.near, &mut self.far, &mut self.rhs] {
            v.fill(0.0);
        }
    }

    /// Replaces equation `i` by "unknown i is 0".
    pub(super) fn fix(&mut self, i: usize) {
        self.diagonal[i] = 1.0;
        self.rhs[i] = 0.0;
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
    pub(super) fn solve(&mut self, n: usize) -> bool {
        let (d, e, f, b) = (&mut self.diagonal, &mut self.near, &mut self.far, &mut self.rhs);
        for i in 0..n {
            if !(d[i] > 0.0) {
                return false;
            }
            let inverse = 1.0 / d[i];
            let (near, far) = (e[i] * inverse, f[i] * inverse);
            d[i + 1] -= near * e[i];
            e[i + 1] -= far * e[i];
            d[i + 2] -= far * f[i];
            b[i + 1] -= near * b[i];
            b[i + 2] -= far * b[i];
            b[i] *= inverse;
            e[i] = near;
            f[i] = far;
        }
        for i in (0..n).rev() {
            let (one, two) =
                (if i + 1 < n { b[i + 1] } else { 0.0 }, if i + 2 < n { b[i + 2] } else { 0.0 });
            b[i] -= e[i] * one + f[i] * two;
        }
        true
    }
}
