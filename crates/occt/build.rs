//! Finds the kernel's headers, compiles the bridge over them and names the libraries to link.
//!
//! Without headers or a C++ compiler the crate still builds; [`occt::available`] is then false.

use std::path::{Path, PathBuf};
use std::process::Command;

/// Where distributions put the headers; `OCCT_INCLUDE_DIR` comes first.
const INCLUDE_DIRS: [&str; 3] =
    ["/usr/include/opencascade", "/usr/local/include/opencascade", "/usr/include/oce"];

const SOURCES: [&str; 4] = ["cpp/read.cc", "cpp/walk.cc", "cpp/surface.cc", "cpp/mesh.cc"];

/// Libraries that kept their names, most dependent first.
const COMMON: [&str; 13] = [
    "TKXSBase",
    "TKLCAF",
    "TKCDF",
    "TKCAF",
    "TKMesh",
    "TKShHealing",
    "TKTopAlgo",
    "TKGeomAlgo",
    "TKBRep",
    "TKGeomBase",
    "TKG3d",
    "TKG2d",
    "TKMath",
];

fn main() {
    println!("cargo::rustc-check-cfg=cfg(has_occt)");
    println!("cargo::rerun-if-env-changed=OCCT_INCLUDE_DIR");
    println!("cargo::rerun-if-changed=build.rs");
    println!("cargo::rerun-if-changed=src/bridge.rs");
    for path in SOURCES.iter().chain(&["cpp/shim.h", "cpp/internal.h"]) {
        println!("cargo::rerun-if-changed={path}");
    }
    let Some(include) = include_dir() else {
        look_again_after_an_installation();
        return println!(
            "cargo::warning=no STEP kernel headers found: STEP parts are not read over it"
        );
    };
    if !has_compiler() {
        return println!(
            "cargo::warning=no C++ compiler found: STEP parts are not read over the kernel"
        );
    }
    let version = kernel_version(&include);
    println!("cargo::rustc-cfg=has_occt");
    println!("cargo::rustc-env=OCCT_VERSION={}.{}", version.0, version.1);
    cxx_build::bridge("src/bridge.rs")
        .files(SOURCES)
        .include(&include)
        .std("c++17")
        .flag_if_supported("-Wno-deprecated-declarations")
        .flag_if_supported("-Wno-ignored-qualifiers")
        .compile("occt_shim");
    for library in libraries(version) {
        println!("cargo::rustc-link-lib=dylib={library}");
    }
}

/// What a Debian system rewrites when a package comes or goes: then it is time to look again.
fn look_again_after_an_installation() {
    let packages = Path::new("/var/lib/dpkg/status");
    if packages.exists() {
        println!("cargo::rerun-if-changed={}", packages.display());
    }
}

fn include_dir() -> Option<PathBuf> {
    std::env::var_os("OCCT_INCLUDE_DIR")
        .map(PathBuf::from)
        .into_iter()
        .chain(INCLUDE_DIRS.iter().map(PathBuf::from))
        .find(|dir| dir.join("STEPCAFControl_Reader.hxx").is_file())
}

fn has_compiler() -> bool {
    let named = std::env::var("CXX").unwrap_or_else(|_| "c++".to_owned());
    let name = named.split_whitespace().next().unwrap_or("c++").to_owned();
    Command::new(name).arg("--version").output().is_ok_and(|o| o.status.success())
}

/// Major and minor version from the macros of the version header.
fn kernel_version(include: &Path) -> (u32, u32) {
    let header = include.join("Standard_Version.hxx");
    println!("cargo::rerun-if-changed={}", header.display());
    let text = std::fs::read_to_string(header).unwrap_or_default();
    let number = |name: &str| {
        text.lines()
            .filter_map(|line| line.strip_prefix("#define")?.trim().strip_prefix(name))
            .find_map(|rest| rest.trim().parse::<u32>().ok())
            .unwrap_or(0)
    };
    (number("OCC_VERSION_MAJOR"), number("OCC_VERSION_MINOR"))
}

/// From 7.8 on the exchange libraries are merged under other names.
fn libraries(version: (u32, u32)) -> Vec<&'static str> {
    let exchange: &[&str] = if version >= (7, 8) {
        &["TKDESTEP", "TKXCAF"]
    } else {
        &["TKXDESTEP", "TKXCAF", "TKSTEP", "TKSTEPAttr", "TKSTEP209", "TKSTEPBase"]
    };
    exchange.iter().chain(&COMMON).chain(&["TKernel"]).copied().collect()
}
