//! Selling's decomposition: a symmetric positive 2 × 2 tensor as a sum of three weighted squares of
//! whole-number directions.

use geom::Sym2;

/// `D = Σ weight · offset offsetᵀ` with weights ≥ 0 and whole-number offsets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Decomposition {
    /// Grid offsets.
    pub(crate) offset: [[i32; 2]; 3],
    /// Weights, as many as offsets.
    pub(crate) weight: [f64; 3],
}

/// Longest run of reductions; an anisotropy of 10¹² needs fewer.
const MAX_REDUCTIONS: usize = 200;

fn product(d: Sym2, a: [i32; 2], b: [i32; 2]) -> f64 {
    let (ax, ay, bx, by) = (f64::from(a[0]), f64::from(a[1]), f64::from(b[0]), f64::from(b[1]));
    ax * bx * d.xx + (ax * by + ay * bx) * d.xy + ay * by * d.yy
}

/// Decomposes `d`; `None` unless it is finite and positive definite.
///
/// Starts from the superbase (−e₁−e₂, e₁, e₂) and flips a pair as long as its product is positive;
/// in an obtuse superbase every product `−⟨bⱼ, D bₖ⟩` is the weight of the direction at right angles
/// to the third vector.
pub(crate) fn decompose(d: Sym2) -> Option<Decomposition> {
    if !(d.xx > 0.0 && d.yy > 0.0 && d.det() > 0.0 && d.trace().is_finite()) {
        return None;
    }
    let mut base = [[-1, -1], [1, 0], [0, 1]];
    for _ in 0..MAX_REDUCTIONS {
        let Some((i, j)) = acute_pair(d, base) else {
            return Some(weights(d, base));
        };
        let (bi, bj) = (base[i], base[j]);
        base = [[bi[0] - bj[0], bi[1] - bj[1]], [-bi[0], -bi[1]], bj];
    }
    None
}

fn acute_pair(d: Sym2, base: [[i32; 2]; 3]) -> Option<(usize, usize)> {
    let slack = 1e-14 * d.trace();
    [(0, 1), (0, 2), (1, 2)].into_iter().find(|&(i, j)| product(d, base[i], base[j]) > slack)
}

fn weights(d: Sym2, base: [[i32; 2]; 3]) -> Decomposition {
    let third = [(1, 2), (2, 0), (0, 1)];
    Decomposition {
        offset: base.map(|b| [-b[1], b[0]]),
        weight: third.map(|(j, k)| (-product(d, base[j], base[k])).max(0.0)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rebuilt(s: &Decomposition) -> Sym2 {
        s.offset.iter().zip(s.weight).fold(Sym2::default(), |sum, (o, w)| {
            let (x, y) = (f64::from(o[0]), f64::from(o[1]));
            sum + Sym2::new(w * x * x, w * x * y, w * y * y)
        })
    }

    #[test]
    fn the_sum_is_the_tensor_up_to_strong_anisotropy() {
        for ratio in [1.0, 3.0, 40.0, 1e4] {
            for k in 0..36 {
                let d = Sym2::diagonal(1.0, ratio).turned(f64::from(k) * 0.1);
                let s = decompose(d).expect("positive definite");
                let r = rebuilt(&s);
                let worst = (r.xx - d.xx).abs().max((r.xy - d.xy).abs()).max((r.yy - d.yy).abs());
                assert!(worst < 1e-9 * ratio, "{d:?} {r:?}");
                assert!(s.weight.iter().all(|w| *w >= 0.0));
            }
        }
    }

    #[test]
    fn what_is_not_positive_is_refused() {
        assert!(decompose(Sym2::new(1.0, 2.0, 1.0)).is_none());
        assert!(decompose(Sym2::new(f64::NAN, 0.0, 1.0)).is_none());
        assert!(decompose(Sym2::new(f64::INFINITY, 0.0, 1.0)).is_none());
    }
}
