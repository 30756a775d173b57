//! Pass generation on a crown, in moves per second.
#![allow(missing_docs, reason = "a benchmark")]

#[path = "../tests/support/mod.rs"]
mod support;

use divan::Bencher;
use divan::counter::ItemsCount;
use geom::Vec2;
use pattern::{FaceJob, Pattern, finish_on};
use support::{ball, barrel, crown, far_below, job};

fn main() {
    divan::main();
}

fn measure(
    bencher: Bencher<'_, '_>,
    assembly: &cutter::Assembly,
    wanted: &dyn Fn(&mut FaceJob<'_>),
) {
    let part = far_below();
    let chart = crown(Vec2::new(80.0, 55.0));
    let mut job = job(&part, assembly, Pattern::Parallel);
    wanted(&mut job);
    let run = || finish_on(&chart, &job, &|_| ()).map_or(0, |p| p.toolpath.moves());
    bencher.counter(ItemsCount::new(run())).bench_local(run);
}

#[divan::bench(sample_count = 5)]
fn ball_parallel_0_2_mm(bencher: Bencher<'_, '_>) {
    measure(bencher, &ball(12.0), &|job| {
        job.stepover_mm = Some(0.2);
        job.chord_mm = Some(3e-4);
    });
}

#[divan::bench(sample_count = 5)]
fn barrel_parallel_5_um(bencher: Bencher<'_, '_>) {
    measure(bencher, &barrel(250.0), &|job| job.cusp_mm = Some(0.005));
}

#[divan::bench(sample_count = 5)]
fn barrel_equal_cusp_5_um(bencher: Bencher<'_, '_>) {
    measure(bencher, &barrel(250.0), &|job| {
        job.pattern = Pattern::EqualCusp;
        job.cusp_mm = Some(0.005);
    });
}
