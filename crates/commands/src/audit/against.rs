//! What a program is held against: a study, the cutters that its tools are, the stock that it begins with.

use crate::failure::Failure;
use crate::files::{self, Folder};
use crate::input::{self, Input};
use compare::along::{Against, Begin, loads};
use nc::audit::LoadsAlong;
use part::{Part, ReadOptions};
use std::path::Path;
use study::{Files, Stock};

/// Read and ready.
pub(super) struct Held {
    input: Input,
    cutters: Vec<(u32, String)>,
    stock: Chosen,
}

/// The stock as the call or the study names it.
enum Chosen {
    Suggested,
    Block,
    NearNet(Option<f64>),
    File { part: Box<Part>, name: String, of_study: bool },
}

impl Held {
    /// Reads the study; `cutters` as `1=ball-12`, `stock` as block, near-net, near-net=0.3 or a file.
    ///
    /// # Errors
    /// The study or the call is wrong.
    pub(super) fn read(
        study: &Path,
        cutters: &[String],
        stock: Option<&str>,
    ) -> Result<Self, Failure> {
        let input = input::load(study)?;
        let cutters = cutters.iter().map(|c| cutter(&input, c)).collect::<Result<_, _>>()?;
        let stock = match stock {
            Some(text) => chosen(text)?,
            None => of_study(&input, study)?,
        };
        Ok(Self { input, cutters, stock })
    }

    /// What the program asks of the study's cutters.
    ///
    /// # Errors
    /// A block that the machine cannot be given.
    pub(super) fn loads(
        &self,
        program: &nc::Program,
        machine: &::machine::Machine,
    ) -> Result<LoadsAlong, ::machine::AccountError> {
        let Input { study, part, fixtures, .. } = &self.input;
        let begin = match &self.stock {
            Chosen::Suggested => Begin::Suggested,
            Chosen::Block => Begin::Block,
            Chosen::NearNet(mm) => Begin::NearNet(*mm),
            Chosen::File { part, name, of_study } => {
                Begin::Mesh { mesh: &part.mesh, name, of_study: *of_study }
            }
        };
        loads(&Against { study, part, fixtures, named: &self.cutters, begin }, program, machine)
    }
}

fn cutter(input: &Input, text: &str) -> Result<(u32, String), Failure> {
    let wrong = || {
        let ids: Vec<&str> = input.study.cutters.iter().map(|c| c.id.as_str()).collect();
        Failure::call(
            format!("--cutter is \"{text}\""),
            format!("a tool number and a cutter of the study: {}", study::listed(ids)),
            "write it as 1=ID",
        )
    };
    let (number, id) = text.split_once('=').ok_or_else(wrong)?;
    let number = number.trim().trim_start_matches(['T', 't']).parse().map_err(|_| wrong())?;
    let known = input.study.cutters.iter().any(|c| c.id == id.trim());
    if known { Ok((number, id.trim().to_owned())) } else { Err(wrong()) }
}

fn chosen(text: &str) -> Result<Chosen, Failure> {
    if text == "block" {
        return Ok(Chosen::Block);
    }
    if text == "near-net" {
        return Ok(Chosen::NearNet(None));
    }
    if let Some(mm) = text.strip_prefix("near-net=") {
        return match mm.trim().parse::<f64>() {
            Ok(mm) if mm > 0.0 && mm <= THICKEST_MM => Ok(Chosen::NearNet(Some(mm))),
            _ => Err(Failure::call(
                format!("--stock is \"{text}\""),
                format!("a layer above 0 and up to {THICKEST_MM} mm, as near-net=0.3"),
                "give what roughing leaves on the part",
            )),
        };
    }
    let path = Path::new(text);
    if !path.exists() {
        return Err(Failure::call(
            format!("--stock is \"{text}\", and there is no such file"),
            "block, near-net, near-net=MM, or a STEP, STL, OBJ, PLY or 3MF file",
            "name one of them, or correct the path",
        ));
    }
    let part = part::read(&files::read(path)?, text, &ReadOptions::default()).map_err(|error| {
        Failure::call(
            format!("--stock: {error}"),
            "a solid or mesh that can be read",
            "see the reason above, or name another file",
        )
    })?;
    let wrong = |message: String| {
        let remedy = "mend the file, or take --stock block or near-net";
        Failure::call(message, "a closed solid or mesh, in the part's coordinates", remedy)
    };
    closed(&part).map_err(|why| wrong(format!("--stock {text}: {why}")))?;
    Ok(Chosen::File { part: Box::new(part), name: text.to_owned(), of_study: false })
}

/// Thickest layer that near-net stock may have, mm.
const THICKEST_MM: f64 = 50.0;

/// The stock file of the study where it names one.
fn of_study(input: &Input, path: &Path) -> Result<Chosen, Failure> {
    let Some(Stock::File(file)) = &input.study.part.stock else { return Ok(Chosen::Suggested) };
    let fault = |message: String| {
        let expected = "a closed STEP, STL, OBJ, PLY or 3MF file, named relative to the study file";
        let remedy = "put it there, mend it, or call with --stock block or near-net";
        Failure::Input(vec![input.study.fault(file.place, message, expected, remedy)])
    };
    let bytes = match Folder::of(path).bytes(&file.path) {
        Ok(Some(bytes)) => bytes,
        Ok(None) => return Err(fault(format!("there is no file \"{}\"", file.path))),
        Err(error) => {
            return Err(fault(format!("\"{}\" cannot be read: {}", file.path, error.reason)));
        }
    };
    let options = ReadOptions { unit: input.study.part.unit, ..ReadOptions::default() };
    let part =
        part::read(&bytes, &file.path, &options).map_err(|error| fault(error.to_string()))?;
    closed(&part).map_err(|why| fault(format!("\"{}\": {why}", file.path)))?;
    Ok(Chosen::File { part: Box::new(part), name: file.path.clone(), of_study: true })
}

fn closed(part: &Part) -> Result<(), String> {
    let open = part.solids.iter().filter(|s| s.volume_mm3.is_none()).count();
    if part.mesh.triangles.is_empty() {
        return Err("it holds no surface".to_owned());
    }
    if open > 0 { Err("its surface is open: no inside can be told".to_owned()) } else { Ok(()) }
}
