//! What a program is held against: a study, the cutters that its tools are, the stock that it begins with.

use crate::failure::Failure;
use crate::files;
use crate::input::{self, Input};
use compare::along::{Against, Begin, loads};
use nc::audit::LoadsAlong;
use part::{Part, ReadOptions};
use std::path::Path;
use study::Stock;

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
    File { part: Box<Part>, name: String },
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
            None => {
                input.stock()?;
                Chosen::Suggested
            }
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
            Chosen::Suggested => match (&study.part.stock, self.input.stock()) {
                (Some(Stock::File(file)), Ok(Some(stock))) => {
                    Begin::Mesh { mesh: &stock.mesh, name: &file.path, of_study: true }
                }
                _ => Begin::Suggested,
            },
            Chosen::Block => Begin::Block,
            Chosen::NearNet(mm) => Begin::NearNet(*mm),
            Chosen::File { part, name } => Begin::Mesh { mesh: &part.mesh, name, of_study: false },
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
    input::closed(&part).map_err(|why| wrong(format!("--stock {text}: {why}")))?;
    Ok(Chosen::File { part: Box::new(part), name: text.to_owned() })
}

/// Thickest layer that near-net stock may have, mm.
const THICKEST_MM: f64 = 50.0;
