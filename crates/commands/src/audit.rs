//! `audit PROGRAM --machine FILE-or-ID`: where the time of an NC program goes.

mod against;
mod document;
mod loads;
mod text;

pub use document::{Audited, Limit, Stretch, TimeParts, ToolLine, TravelLine, UnreadLine};
pub use loads::{Along, Pair, RapidLine, StockLine, ToolLoads};

use crate::failure::{Diagnostic, Failure};
use crate::page::Form;
use crate::{clock, files, machine};
use ::report::{InputFile, Provenance};
use geom::Vec3;
use nc::{AuditOptions, Dialect, Fault, ReadOptions};
use sha2::{Digest, Sha256};
use std::ops::Range;
use std::path::{Path, PathBuf};

/// What is shown of a line before and after a fault, bytes.
const SHOWN: usize = 400;

/// Which program, and for which machine.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Request {
    /// The program's file.
    pub program: PathBuf,
    /// A machine file, or the id of a machine that comes with the program.
    pub machine: String,
    /// Dialect of the program; `None`: the machine's.
    pub dialect: Option<String>,
    /// Blocks with a block delete are left out.
    pub block_delete: bool,
    /// Program zeros by G54 to G59 in the coordinates of the first one used, as `G55=x,y,z`, mm.
    pub offsets: Vec<String>,
    /// What variables hold that the program reads and does not set, as `500=12.5`.
    pub variables: Vec<String>,
    /// Numbers of the tools that there are; empty: not known.
    pub tools: Vec<u32>,
    /// The study whose cutters, stock and material the program cuts with; `None`: loads are left out.
    pub study: Option<PathBuf>,
    /// Cutters of the study by the program's tool numbers, as `1=ball-12`.
    pub cutters: Vec<String>,
    /// What the program begins with: `block`, `near-net`, `near-net=MM` or a file; `None`: as the study
    /// and its operations suggest.
    pub stock: Option<String>,
    /// Where the document goes; `None`: none is written.
    pub report: Option<PathBuf>,
}

/// Reads and times the program.
///
/// # Errors
/// The program, the machine file or the call is wrong, or the document cannot be written.
pub fn run(request: &Request) -> Result<Audited, Failure> {
    let form = request.report.as_deref().map(|path| Form::of("--report", path)).transpose()?;
    let named = machine::named(&request.machine)?;
    let held = request
        .study
        .as_ref()
        .map(|study| against::Held::read(study, &request.cutters, request.stock.as_deref()));
    let held = held.transpose()?;
    let dialect = dialect(request.dialect.as_deref(), &named.dialect)?;
    let offsets_mm = request.offsets.iter().map(|o| offset(o)).collect::<Result<_, _>>()?;
    let variables = request.variables.iter().map(|v| variable(v)).collect::<Result<_, _>>()?;
    let bytes = nc::with_line_feeds(files::read(&request.program)?);
    let name = request.program.display().to_string();
    let tools = (!request.tools.is_empty()).then(|| request.tools.clone());
    let options = ReadOptions {
        block_delete: request.block_delete,
        offsets_mm,
        variables,
        tools,
        ..ReadOptions::default()
    };
    let program = nc::read(&bytes, &dialect, &named.machine, &options)
        .map_err(|faults| Failure::Input(diagnostics(&name, &bytes, &faults)))?;
    if program.blocks == 0 {
        return Err(Failure::call(
            format!("{name} holds no block of a program"),
            "an NC program of ISO 6983",
            "name the file of the program; a file that was cut off may be empty",
        ));
    }
    let undrivable = |error: &dyn std::fmt::Display| {
        let expected = "moves that the machine can be given";
        let remedy = "correct the block, or the machine file";
        Failure::call(format!("{name}: {error}"), expected, remedy)
    };
    let mut audit = nc::audit(&program, &named.machine, &AuditOptions::default())
        .map_err(|error| undrivable(&error))?;
    if let Some(held) = &held {
        let loads = held.loads(&program, &named.machine);
        audit = audit.with_loads(loads.map_err(|error| undrivable(&error))?);
    }
    if let Some((path, form)) = request.report.as_ref().zip(form) {
        let provenance = Provenance {
            version: env!("CARGO_PKG_VERSION").to_owned(),
            date: clock::today(),
            inputs: vec![InputFile {
                role: "program".to_owned(),
                name: name.clone(),
                bytes: bytes.len() as u64,
                sha256: hex(&Sha256::digest(&bytes)),
            }],
        };
        let html = ::report::audit_html(&audit, &name, &named.machine.name, &provenance);
        files::write(path, &form.bytes(&html)?)?;
    }
    Ok(Audited::new(name, &named.machine.name, audit, request.report.clone()))
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The dialect that a call names, a packaged one or a file; else the machine's.
fn dialect(asked: Option<&str>, of_machine: &Dialect) -> Result<Dialect, Failure> {
    let Some(name) = asked else { return Ok(of_machine.clone()) };
    let path = Path::new(name);
    match Dialect::named(name) {
        Some(packaged) if !path.exists() => Ok(packaged),
        _ if path.exists() => Ok(study::read::dialect_file(&files::read(path)?, name)?),
        _ => Err(Failure::call(
            format!("--dialect is \"{name}\""),
            "a, b, or a dialect file",
            "name one of them, or correct the path",
        )),
    }
}

/// `G55=x,y,z` as the number of the program zero and its place.
fn offset(text: &str) -> Result<(u8, Vec3), Failure> {
    let wrong = || {
        Failure::call(
            format!("--offset is \"{text}\""),
            "G54 to G59 and three lengths in mm, as G55=100,0,0",
            "give where that program zero lies in the coordinates of the first one used",
        )
    };
    let (code, place) = text.split_once('=').ok_or_else(wrong)?;
    let number = code.trim().trim_start_matches(['G', 'g']).parse::<u8>().map_err(|_| wrong())?;
    let lengths: Vec<f64> = place
        .split(',')
        .map(|l| l.trim().parse())
        .collect::<Result<_, _>>()
        .map_err(|_| wrong())?;
    match (number, lengths.as_slice()) {
        (54..=59, &[x, y, z]) if lengths.iter().all(|l| l.is_finite()) => {
            Ok((number - 53, Vec3::new(x, y, z)))
        }
        _ => Err(wrong()),
    }
}

/// `500=12.5` as the number of a variable and what it holds.
fn variable(text: &str) -> Result<(u32, f64), Failure> {
    let wrong = || {
        Failure::call(
            format!("--variable is \"{text}\""),
            "the number of a variable and what it holds, as 500=12.5",
            "give what the control shows for it",
        )
    };
    let (number, value) = text.split_once('=').ok_or_else(wrong)?;
    let number = number.trim().trim_start_matches('#').parse().ok().filter(|n| *n > 0);
    let value = value.trim().parse::<f64>().ok().filter(|v| v.is_finite());
    number.zip(value).ok_or_else(wrong)
}

/// Faults with the lines that they stand in.
fn diagnostics(name: &str, bytes: &[u8], faults: &[Fault]) -> Vec<Diagnostic> {
    let (mut line, mut start) = (1, 0);
    faults
        .iter()
        .map(|fault| {
            // faults are in the order of the run: a call may go back
            if fault.line < line {
                (line, start) = (1, 0);
            }
            while line < fault.line {
                let Some(end) = bytes[start..].iter().position(|b| *b == b'\n') else { break };
                start += end + 1;
                line += 1;
            }
            diagnostic(name, bytes, start, fault)
        })
        .collect()
}

/// A fault of the line that begins at `start`, with what stands around it as far as it is text.
fn diagnostic(name: &str, bytes: &[u8], start: usize, fault: &Fault) -> Diagnostic {
    let rest = &bytes[start..];
    let length = rest.iter().position(|b| *b == b'\n').unwrap_or(rest.len());
    let before = (fault.column as usize - 1).min(length);
    let column = String::from_utf8_lossy(&rest[..before]).chars().count() + 1;
    let word = rest[before..length]
        .iter()
        .skip(1)
        .position(|b| !(b.is_ascii_digit() || matches!(b, b'.' | b'-' | b'+')))
        .map_or(length - before, |n| n + 1);
    let own = |range: Range<usize>| String::from_utf8_lossy(&rest[range]).into_owned();
    let head = own(before.saturating_sub(SHOWN)..before);
    let mut end = (before + word.clamp(1, SHOWN)).min(length);
    // no sign of several bytes is broken up
    while rest[..length].get(end).is_some_and(|b| b & 0xc0 == 0x80) {
        end += 1;
    }
    let (meant, tail) = (own(before..end), own(end..(end + SHOWN).min(length)));
    let last_line = bytes[..start].strip_suffix(b"\n").map_or_else(String::new, |above| {
        let from = above.iter().rposition(|b| *b == b'\n').map_or(0, |n| n + 1);
        let line = &above[from..];
        String::from_utf8_lossy(&line[..line.len().min(SHOWN)]).into_owned() + "\n"
    });
    let next_line = rest.get(length + 1..).map_or_else(String::new, |below| {
        let end = below.iter().take(SHOWN).position(|b| *b == b'\n');
        let shown = &below[..end.unwrap_or(below.len().min(SHOWN))];
        format!("\n{}\n", String::from_utf8_lossy(shown))
    });
    let at = last_line.len() + head.len();
    Diagnostic {
        file: name.to_owned(),
        span: at..at + meant.len(),
        source_line: format!("{head}{meant}{tail}"),
        text: format!("{last_line}{head}{meant}{tail}{next_line}").into(),
        line: fault.line as usize,
        column,
        message: fault.message.clone(),
        expected: fault.expected.clone(),
        remedy: fault.remedy.clone(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn offsets_are_three_lengths_of_a_program_zero() {
        assert_eq!(offset("G55=100, 0,-2.5").unwrap(), (2, Vec3::new(100.0, 0.0, -2.5)));
        for text in ["G55", "G55=1,2", "G60=1,2,3", "X=1,2,3", "G55=1,2,x", "G54=1,2,inf"] {
            assert_eq!(offset(text).unwrap_err().exit_status(), 2, "{text}");
        }
    }

    #[test]
    fn variables_are_a_number_and_what_it_holds() {
        assert_eq!(variable("#501=-2.5").unwrap(), (501, -2.5));
        assert_eq!(variable("5021 = 3").unwrap(), (5021, 3.0));
        for text in ["501", "#501=", "x=1", "0=1", "501=nan", "-1=2"] {
            assert_eq!(variable(text).unwrap_err().exit_status(), 2, "{text}");
        }
    }

    #[test]
    fn faults_point_at_their_word_in_any_line() {
        let text = "G0 X1.\r\nG1 Xä5.\nG1 U3. F1";
        let fault = |line, column| Fault {
            line,
            column,
            message: "m".into(),
            expected: "e".into(),
            remedy: "r".into(),
        };
        let found = diagnostics("p.nc", text.as_bytes(), &[fault(3, 4), fault(2, 6), fault(1, 4)]);
        let meant = |i: usize| &found[i].text[found[i].span.clone()];
        assert_eq!((meant(0), meant(2)), ("U3.", "X1."));
        assert_eq!((found[1].line, found[1].column), (2, 6), "counted in characters");
        let odd = &diagnostics("p.nc", b"G0 X\xff\nM30", &[fault(1, 5)])[0];
        assert_eq!(&*odd.text, "G0 X\u{fffd}\nM30\n");
        assert_eq!(&odd.text[odd.span.clone()], "\u{fffd}");
        let long = [b"X1. ".repeat(1_000_000), b"U3. ".repeat(1_000_000)].concat();
        let found = &diagnostics("p.nc", &long, &[fault(1, 4_000_001)])[0];
        assert!(found.text.len() < 2000 && found.column == 4_000_001);
        assert_eq!(&found.text[found.span.clone()], "U3.");
    }
}
