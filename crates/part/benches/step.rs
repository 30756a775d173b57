//! Tessellation of the demo part, triangles per second, and its curvature. The deviation of every
//! mesh that is timed is measured and printed first: a rate means nothing without it.

use divan::{Bencher, counter::ItemsCount};
use part::step::{Reader, read_by};
use part::{Part, ReadOptions, fact};

const STEP: &[u8] = include_bytes!("../../../examples/mast-coupling/coupling.step");
const ASKED_MM: [f64; 3] = [0.03, 0.01, 0.003];

fn main() {
    println!("reader    asked/mm  measured/mm  triangles");
    for reader in Reader::available() {
        for asked in ASKED_MM {
            let part = coupling(reader, asked);
            let (off, triangles) = (part.deviation_mm, part.mesh.triangles.len());
            println!("{reader:<8?}  {asked:>8.3}  {off:>11.5}  {triangles:>9}");
        }
    }
    divan::main();
}

fn coupling(reader: Reader, deviation_mm: f64) -> Part {
    let options = ReadOptions { deviation_mm, ..ReadOptions::default() };
    read_by(reader, STEP, "coupling.step", &options).expect("the demo part")
}

fn tessellate(bencher: Bencher<'_, '_>, reader: Reader, asked_mm: f64) {
    if !Reader::available().contains(&reader) {
        return;
    }
    let triangles = coupling(reader, asked_mm).mesh.triangles.len();
    bencher.counter(ItemsCount::new(triangles)).bench(|| coupling(reader, asked_mm));
}

/// Bytes to measured mesh over the kernel: its trial in a process of its own included.
#[divan::bench(args = ASKED_MM, sample_count = 5)]
fn tessellate_by_kernel(bencher: Bencher<'_, '_>, asked_mm: f64) {
    tessellate(bencher, Reader::Kernel, asked_mm);
}

/// Bytes to measured mesh in Rust alone.
#[divan::bench(args = ASKED_MM, sample_count = 5)]
fn tessellate_in_rust(bencher: Bencher<'_, '_>, asked_mm: f64) {
    tessellate(bencher, Reader::Exchange, asked_mm);
}

/// Curvature range of every face; counted are triangles, each of which is looked at in 3 to 91
/// points.
#[divan::bench(sample_count = 5)]
fn curvature_of_all_faces(bencher: Bencher<'_, '_>) {
    let Some(reader) = Reader::available().first().copied() else { return };
    let part = coupling(reader, 0.01);
    bencher.counter(ItemsCount::new(part.mesh.triangles.len())).bench(|| fact::of_faces(&part));
}
