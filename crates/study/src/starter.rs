//! A study to start from, as text.

use std::fmt::Write;

/// What is known about the new study.
#[derive(Debug, Clone, PartialEq)]
pub struct Starter {
    /// Title.
    pub name: String,
    /// The part's file, as the study shall name it.
    pub part_file: String,
    /// Unit of a file that does not state one: `mm` or `inch`.
    pub unit: Option<&'static str>,
    /// Which solid of several.
    pub solid: Option<String>,
    /// Id of the material.
    pub material: String,
    /// Machine file or id.
    pub machine: String,
    /// Features found in the part.
    pub features: Vec<FoundFeature>,
}

/// A feature found in the part.
#[derive(Debug, Clone, PartialEq)]
pub struct FoundFeature {
    /// Name: `face-1`, `pocket-2` …
    pub name: String,
    /// Kind as the file writes it.
    pub kind: &'static str,
    /// Its faces.
    pub faces: Vec<usize>,
    /// What was found, for a comment.
    pub remark: String,
}

/// The text of `study.toml`: it reads without fault, and compares one process on the first face.
pub fn study_text(starter: &Starter) -> String {
    let mut out = String::new();
    // writing to a text cannot fail
    let _ = write_study(&mut out, starter);
    out
}

/// The text of a `cutters.toml` with the ball nose that [`study_text`] uses.
pub fn cutters_text() -> &'static str {
    include_str!("../data/starter-cutters.toml")
}

fn write_study(out: &mut String, s: &Starter) -> std::fmt::Result {
    let quoted = |text: &str| toml::Value::from(text).to_string();
    writeln!(out, "# A study to start from. Lines that begin with # are remarks.\n\n[study]")?;
    writeln!(out, "name = {}", quoted(&s.name))?;
    writeln!(out, "lot_size = 1                # parts that share one set-up")?;
    writeln!(out, "setup_min = 0.0")?;
    writeln!(out, "confidence = 0.90           # of the claims' intervals")?;
    writeln!(out, "machine = {}\n\n[part]", quoted(&s.machine))?;
    writeln!(out, "file = {}", quoted(&s.part_file))?;
    if let Some(unit) = s.unit {
        writeln!(out, "unit = \"{unit}\"")?;
    }
    if let Some(solid) = &s.solid {
        writeln!(out, "solid = {}", quoted(solid))?;
    }
    writeln!(out, "material = {}", quoted(&s.material))?;
    for feature in &s.features {
        let faces: Vec<String> = feature.faces.iter().map(usize::to_string).collect();
        writeln!(out, "\n[[feature]]                 # {}", feature.remark)?;
        writeln!(out, "name = {}\nkind = \"{}\"", quoted(&feature.name), feature.kind)?;
        writeln!(out, "select = {{ faces = [{}] }}", faces.join(", "))?;
        if feature.kind == "face" {
            writeln!(out, "cusp_um = 5.0               # what the drawing allows")?;
        }
    }
    match s.features.iter().find(|f| f.kind == "face") {
        Some(face) => write_process(out, &quoted(&face.name)),
        None => Ok(()),
    }
}

fn write_process(out: &mut String, feature: &str) -> std::fmt::Result {
    writeln!(
        out,
        "
# How the face is milled now: correct it, then add a second [[process]] with the proposal.
[[process]]
name = \"today\"

[[process.operation]]
name = \"Finish\"
feature = {feature}
kind = \"finish-face\"
cutter = \"ball-12\"
pattern = \"parallel\"
axis = \"fixed\"
stepover_mm = 0.3
rpm = 12000
feed_per_tooth_mm = 0.1"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_reads_without_fault() {
        let face = FoundFeature {
            name: "face-1".to_owned(),
            kind: "face",
            faces: vec![3],
            remark: "spline, 12 mm2".to_owned(),
        };
        let starter = Starter {
            name: "A \"quoted\" part\\".to_owned(),
            part_file: "part.stl".to_owned(),
            unit: Some("inch"),
            solid: None,
            material: "c45".to_owned(),
            machine: "three-axis-12k".to_owned(),
            features: vec![face],
        };
        let text = study_text(&starter);
        let files = |path: &str| {
            (path == crate::read::CUTTERS_FILE).then(|| cutters_text().as_bytes().to_vec())
        };
        let study = crate::read::study(text.as_bytes(), "study.toml", &files)
            .unwrap_or_else(|e| panic!("{e}\n{text}"));
        assert_eq!(study.name, starter.name);
        assert_eq!((study.features.len(), study.processes.len()), (1, 1));
    }
}
