//! Cutting never adds, its order does not matter, nor does the number of threads.

mod support;

use cutter::Form;
use geom::Vec3;
use proptest::prelude::*;
use stock::Columns;
use support::{block, of_form};

fn tips() -> impl Strategy<Value = Vec<Vec3>> {
    let tip = (-3.0..23.0, -3.0..23.0, -1.0..9.0).prop_map(|(x, y, z)| Vec3::new(x, y, z));
    prop::collection::vec(tip, 2..6)
}

fn cut(stock: &mut Columns, form: Form, tips: &[Vec3]) {
    stock.cut_upright(of_form(form, 8.0).profile(), tips).expect("fits together");
}

fn tops(stock: &Columns) -> Vec<Option<f64>> {
    let g = stock.grid();
    (0..g.nv).flat_map(|j| (0..g.nu).map(move |i| stock.top_mm(i, j))).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn never_adds_and_order_is_free(a in tips(), b in tips()) {
        for (one, two) in [(Form::Flat, Form::Ball), (Form::CornerRadius, Form::Flat)] {
            let mut first = block(20.0, 8.0, 0.25);
            let full = tops(&first);
            cut(&mut first, one, &a);
            let half = tops(&first);
            cut(&mut first, two, &b);
            let end = tops(&first);
            for (x, y) in [(&full, &half), (&half, &end)] {
                prop_assert!(x.iter().zip(y.iter()).all(|(x, y)| y.is_none() || y <= x));
            }
            let mut second = block(20.0, 8.0, 0.25);
            cut(&mut second, two, &b);
            cut(&mut second, one, &a);
            prop_assert_eq!(end, tops(&second));
        }
    }

    #[test]
    fn the_same_bits_on_any_number_of_threads(a in tips()) {
        let on = |threads: usize| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("fits together");
            pool.install(|| {
                let mut stock = block(20.0, 8.0, 0.1);
                cut(&mut stock, Form::Ball, &a);
                (stock.volume_mm3().to_bits(), stock)
            })
        };
        prop_assert_eq!(on(1), on(3));
    }

    /// A level chain is cut in rectangles and wedges: the same as move by move.
    #[test]
    fn a_level_chain_is_its_moves(a in tips(), z in 0.0..6.0) {
        let level: Vec<Vec3> = a.iter().map(|t| Vec3::new(t.x, t.y, z)).collect();
        for form in [Form::Flat, Form::Ball, Form::CornerRadius] {
            let (mut chain, mut single) = (block(20.0, 8.0, 0.1), block(20.0, 8.0, 0.1));
            cut(&mut chain, form, &level);
            for pair in level.windows(2) {
                cut(&mut single, form, pair);
            }
            for (x, y) in tops(&chain).iter().zip(tops(&single)) {
                let (x, y) = (x.unwrap_or(0.0), y.unwrap_or(0.0));
                prop_assert!((x - y).abs() < 2e-3, "{x} {y}");
            }
        }
    }

    /// Shares of cells at the walls make up for coarse columns. derived: a wall is known to an eighteenth
    /// of a cell of 0.1 mm, and there are some 100 mm of it round 300 mm²
    #[test]
    fn volumes_do_not_hang_on_the_spacing(a in tips()) {
        let level: Vec<Vec3> = a.iter().map(|t| Vec3::new(t.x, t.y, 3.0)).collect();
        let gone = |spacing: f64| {
            let mut stock = block(20.0, 8.0, spacing);
            let before = stock.volume_mm3();
            cut(&mut stock, Form::Flat, &level);
            before - stock.volume_mm3()
        };
        let (coarse, fine) = (gone(0.1), gone(0.025));
        prop_assert!((coarse - fine).abs() < 3e-3 * fine + 0.05, "{coarse} {fine}");
    }
}
