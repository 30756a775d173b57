//! `new DIR --part FILE`: a study to start from, with the features found in the part.

use crate::document::Document;
use crate::failure::Failure;
use crate::inspect::{self, Inspection};
use crate::{files, input, material};
use serde::Serialize;
use std::path::{Path, PathBuf};
use study::starter::{FoundFeature, Starter, cutters_text, study_text};
use study::supplied;

const MATERIAL: &str = "en-aw-7075-t651";
const MACHINE: &str = "trunnion-15k";
/// Faces that are offered as features at most.
const MOST_FACES: usize = 5;
/// Kinds of face that are offered: those on which passes are laid.
const CURVED: [&str; 7] =
    ["sphere", "torus", "spline", "extrusion", "revolution", "offset", "freeform"];

/// What the study is about.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Request {
    /// The folder of the study.
    pub folder: PathBuf,
    /// The part's file; it is copied into the folder.
    pub part: PathBuf,
    /// Unit of the file's numbers: `mm` or `inch`.
    pub unit: Option<String>,
    /// Which solid of several.
    pub solid: Option<String>,
    /// Id of the material.
    pub material: Option<String>,
    /// Id of a machine that comes with the program.
    pub machine: Option<String>,
}

/// What was written.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Written {
    /// The study file.
    pub study: PathBuf,
    /// All files written.
    pub files: Vec<PathBuf>,
    /// Names of the features found.
    pub features: Vec<String>,
    /// What was taken because it was not given.
    pub assumed: Vec<String>,
}

impl Document for Written {
    fn text(&self) -> String {
        let features = if self.features.is_empty() {
            "no face or pocket was found: add a [[feature]] by hand".to_owned()
        } else {
            format!("features found: {}", self.features.join(", "))
        };
        let assumed: String = self.assumed.iter().map(|line| format!("{line}\n")).collect();
        format!(
            "{}\n{features}\n{assumed}Edit it, then run: trialcut compare {}\n",
            self.study.display(),
            self.study.display()
        )
    }
}

/// Writes the study.
///
/// # Errors
/// The part cannot be read, an id is unknown, a study is there already, or the folder cannot be
/// written to.
pub fn run(request: &Request) -> Result<Written, Failure> {
    let study = request.folder.join("study.toml");
    refuse_existing(&study)?;
    let material = material_of(request.material.as_deref())?;
    let (machine, machine_text) = machine_of(request.machine.as_deref())?;
    let bytes = files::read(&request.part)?;
    let name = request.part.display().to_string();
    let part = read_one(&bytes, &name, request)?;
    let looked = inspect::look(&name, &part);
    let file = request.part.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let starter = Starter {
        name: part.name.clone(),
        part_file: file.clone(),
        unit: request.unit.as_ref().map(|_| part.unit.name()),
        solid: request.solid.clone(),
        material: material.to_owned(),
        machine: "machine.toml".to_owned(),
        features: features(&looked),
    };
    let text = study_text(&starter);
    let all: [(&str, &[u8]); 4] = [
        (&file, &bytes),
        ("machine.toml", machine_text.as_bytes()),
        (study::read::CUTTERS_FILE, cutters_text().as_bytes()),
        ("study.toml", text.as_bytes()),
    ];
    let mut written = Vec::new();
    for (name, bytes) in all {
        let path = request.folder.join(name);
        if !same_file(&path, &request.part) {
            files::write(&path, bytes)?;
        }
        written.push(path);
    }
    let features = starter.features.iter().map(|f| f.name.clone()).collect();
    Ok(Written { study, files: written, features, assumed: assumed(request, material, machine) })
}

fn assumed(request: &Request, material: &str, machine: &str) -> Vec<String> {
    let material = request.material.is_none().then(|| format!("material taken: {material}"));
    let machine = request.machine.is_none().then(|| format!("machine taken: {machine}"));
    material.into_iter().chain(machine).collect()
}

fn refuse_existing(study: &Path) -> Result<(), Failure> {
    if !study.exists() {
        return Ok(());
    }
    let message = format!("{} is there already", study.display());
    Err(Failure::call(message, "a folder without a study", "name another folder"))
}

fn material_of(id: Option<&str>) -> Result<&'static str, Failure> {
    material::known("--material", id.unwrap_or(MATERIAL)).map(|m| m.id.as_str())
}

fn machine_of(id: Option<&str>) -> Result<(&'static str, &'static str), Failure> {
    let id = id.unwrap_or(MACHINE);
    let known = supplied::machine_ids();
    let found = known.iter().find(|k| **k == id);
    let found = found.and_then(|k| Some((*k, supplied::machine(k)?)));
    found.ok_or_else(|| {
        let near = study::nearest(id, known.iter().copied());
        unknown("--machine", id, study::listed(known.iter().copied()), near)
    })
}

fn unknown(option: &str, id: &str, known: String, near: Option<&str>) -> Failure {
    let remedy = match near {
        Some(near) => format!("did you mean \"{near}\"?"),
        None => "take one of them".to_owned(),
    };
    Failure::call(format!("{option} is \"{id}\", which is not known"), known, remedy)
}

fn read_one(bytes: &[u8], name: &str, request: &Request) -> Result<part::Part, Failure> {
    let how = inspect::Request {
        part: request.part.clone(),
        unit: request.unit.clone(),
        solid: request.solid.clone(),
    };
    let part = inspect::read(bytes, name, &how)?;
    if part.solids.len() <= 1 {
        return Ok(part);
    }
    let names: Vec<String> = part.solids.iter().map(input::solid_choice).collect();
    let message = format!("{name} holds {} solids", names.len());
    let expected = study::listed(names.iter().map(String::as_str));
    Err(Failure::call(message, expected, "add --solid with one of them"))
}

fn same_file(a: &Path, b: &Path) -> bool {
    matches!((a.canonicalize(), b.canonicalize()), (Ok(a), Ok(b)) if a == b)
}

fn features(looked: &Inspection) -> Vec<FoundFeature> {
    let in_pockets = |index: usize| looked.pockets.iter().any(|p| p.faces.contains(&index));
    let mut faces: Vec<_> = looked.faces.iter().collect();
    faces.retain(|f| CURVED.contains(&f.kind) && !in_pockets(f.index));
    faces.sort_by(|a, b| b.area_mm2.total_cmp(&a.area_mm2));
    let faces = faces.into_iter().take(MOST_FACES).enumerate().map(|(i, f)| FoundFeature {
        name: format!("face-{}", i + 1),
        kind: "face",
        faces: vec![f.index],
        remark: format!("{}, {:.0} mm2", f.kind, f.area_mm2),
    });
    let pockets = looked.pockets.iter().enumerate().map(|(i, p)| FoundFeature {
        name: format!("pocket-{}", i + 1),
        kind: "pocket",
        faces: p.faces.clone(),
        remark: format!("{:.2} mm deep, plan {:.0} mm2", p.depth_mm, p.plan_area_mm2),
    });
    faces.chain(pockets).collect()
}
