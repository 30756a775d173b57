//! Every rule of the harness refuses what it is there to refuse.
#![allow(clippy::unwrap_used, reason = "a test stops where its own scene does not hold")]

use published::{Bindings, Check, Fault, Literature, Row, records, register};
use std::path::Path;

const GOOD: &str = r#"
field = "Surface"
[[record]]
id = "area"
group = "areas"
quantity = "area of a strip"
source = "author-2001"
place = "p. 3"
seen = "stored text"
inputs = { width_mm = 2.0, length_mm = 3.0 }
expected = "6.0"
unit = "mm²"
tolerance = { last_digits = 0.5 }
because = "printed digits"
domain = "any"
"#;

fn area(inputs: &published::Inputs) -> Result<f64, Fault> {
    Ok(inputs.real("width_mm")? * inputs.real("length_mm")?)
}

fn bound() -> Bindings {
    let mut bindings = Bindings::new("nowhere");
    bindings.bind(&["area"], area);
    bindings
}

fn checks(text: &str) -> Vec<Check> {
    records("area.toml", text).unwrap()
}

/// The only fault of a text with the usual binding.
fn fault_of(text: &str) -> String {
    only(&bound().judge_all("krate", &checks(text)).1)
}

fn only(faults: &[Fault]) -> String {
    assert_eq!(faults.len(), 1, "{faults:?}");
    faults[0].to_string()
}

fn with(from: &str, to: &str) -> String {
    assert!(GOOD.contains(from), "{from}");
    GOOD.replace(from, to)
}

fn read_fault(text: &str) -> String {
    only(&records("area.toml", text).unwrap_err())
}

#[test]
fn a_good_record_gives_a_row() {
    let (rows, faults) = bound().judge_all("krate", &checks(GOOD));
    assert_eq!(faults, []);
    assert_eq!(rows.len(), 1);
    assert_eq!((rows[0].ours.as_str(), rows[0].theirs.as_str()), ("6.000", "6.0"));
    assert_eq!(rows[0].inputs, "length 3 mm, width 2 mm");
}

#[test]
fn every_record_is_bound_once_and_every_binding_has_a_record() {
    let unbound = Bindings::new("nowhere").judge_all("krate", &checks(GOOD)).1;
    assert!(only(&unbound).contains("bound to nothing"));
    let mut twice = bound();
    twice.bind(&["area"], area);
    assert!(only(&twice.judge_all("krate", &checks(GOOD)).1).contains("bound 2 times"));
    let mut stray = bound();
    stray.bind(&["volume"], area);
    assert!(only(&stray.judge_all("krate", &checks(GOOD)).1).contains("no record has that id"));
    let doubled = format!("{GOOD}{}", GOOD.replace("field = \"Surface\"", ""));
    let faults = bound().judge_all("krate", &checks(&doubled)).1;
    assert!(only(&faults).contains("stands twice"));
}

#[test]
fn a_value_outside_its_tolerance_fails() {
    let fault = fault_of(&with("\"6.0\"", "\"6.1\""));
    assert!(fault.contains("ours 6 mm², theirs 6.1 mm²"), "{fault}");
    // half of the last digit is the very edge
    assert_eq!(bound().judge_all("krate", &checks(&with("3.0", "3.02"))).1, []);
    fault_of(&with("3.0", "3.026"));
}

#[test]
fn the_smallest_wrong_answer_is_refused_in_both_directions() {
    // a tolerance as wide as the sight lets both wrong answers pass
    let wide = with("{ last_digits = 0.5 }", "{ relative = 0.05 }");
    let faults = bound().judge_all("krate", &checks(&wide)).1;
    assert_eq!(faults.len(), 2, "{faults:?}");
    assert!(faults.iter().all(|f| f.what.contains("passes: narrow")), "{faults:?}");
    // just narrower passes
    let narrow = with("{ last_digits = 0.5 }", "{ relative = 0.0499 }");
    assert_eq!(bound().judge_all("krate", &checks(&narrow)).1, []);
}

#[test]
fn less_sight_needs_a_reason() {
    let blind = with("domain", "sees = { relative = 0.2 }\ndomain");
    assert!(fault_of(&blind).contains("no_better"));
    let blind_in_units = with("domain", "sees = { absolute = 1.0 }\ndomain");
    assert!(fault_of(&blind_in_units).contains("no_better"));
    let reason = "sees = { relative = 0.2 }\nno_better = \"a line in a graph\"\ndomain";
    let explained = with("domain", reason);
    let (rows, faults) = bound().judge_all("krate", &checks(&explained));
    assert_eq!(faults, []);
    assert!(rows[0].because.contains("a line in a graph"));
    // a sight sharper than usual needs none
    let sharp = with("domain", "sees = { relative = 0.02 }\ndomain");
    assert_eq!(bound().judge_all("krate", &checks(&sharp)).1, []);
}

#[test]
fn a_value_of_zero_needs_its_sight_in_units() {
    let zero = GOOD.replace("2.0", "0.0").replace("\"6.0\"", "\"0\"");
    let still = zero.replace("domain", "indifferent = [\"length_mm\"]\ndomain");
    assert!(fault_of(&still).contains("sight above 0"));
    let sighted = still.replace("domain", "sees = { absolute = 0.6 }\ndomain");
    assert_eq!(bound().judge_all("krate", &checks(&sighted)).1, []);
}

#[test]
fn inputs_are_read_and_move_the_value() {
    let unread = with("length_mm = 3.0", "length_mm = 3.0, mode = \"up\"");
    assert!(fault_of(&unread).contains("does not read mode"));
    let missing = with(", length_mm = 3.0", "");
    assert!(fault_of(&missing).contains("no such input"));
    // an input that moves the value of one case only is no idle one
    let cases = format!(
        "{}[[record.case]]\ninputs = {{ length_mm = 0.0 }}\nexpected = \"6.0\"\n\
         [[record.case]]\nexpected = \"6.0\"\n",
        with("expected = \"6.0\"\n", "")
    );
    let mut partial = Bindings::new("nowhere");
    partial.bind(&["area"], |i| {
        let length = i.real("length_mm")?;
        Ok(if length == 0.0 { 6.0 + 0.0 * i.real("width_mm")? } else { area(i)? })
    });
    assert_eq!(partial.judge_all("krate", &checks(&cases)).1, []);
    let mut fixed = Bindings::new("nowhere");
    fixed.bind(&["area"], |i| area(i).map(|_| 6.0));
    let faults = fixed.judge_all("krate", &checks(GOOD)).1;
    assert_eq!(faults.len(), 2, "{faults:?}");
    assert!(faults.iter().all(|f| f.what.contains("does not move the value")), "{faults:?}");
    let indifferent = with("domain", "indifferent = [\"length_mm\"]\ndomain");
    assert!(fault_of(&indifferent).contains("calls it indifferent"));
}

#[test]
fn what_cannot_be_computed_fails() {
    let mut broken = Bindings::new("nowhere");
    broken.bind(&["area"], |_| Err(Fault::new("area", "gouges")));
    assert!(only(&broken.judge_all("krate", &checks(GOOD)).1).contains("gouges"));
    let mut nan = Bindings::new("nowhere");
    nan.bind(&["area"], |i| area(i).map(|_| f64::NAN));
    assert!(only(&nan.judge_all("krate", &checks(GOOD)).1).contains("NaN"));
}

#[test]
fn memory_never_stands_alone() {
    let recalled = with("stored text", "from memory");
    assert!(fault_of(&recalled).contains("areas: rests on memory alone"));
    let derived = GOOD
        .replace("field = \"Surface\"", "")
        .replace("\"area\"", "\"area-derived\"")
        .replace("stored text", "derived")
        .replace("source = \"author-2001\"\n", "");
    let mut both = bound();
    both.bind(&["area-derived"], area);
    let text = format!("{recalled}{derived}");
    assert_eq!(both.judge_all("krate", &checks(&text)).1, []);
    // of another group it is no support
    let apart = format!("{recalled}{}", derived.replace("\"areas\"", "\"strips\""));
    assert!(only(&both.judge_all("krate", &checks(&apart)).1).contains("memory alone"));
}

#[test]
fn slips_in_a_record_are_faults() {
    for (from, to, words) in [
        ("because", "becuase", "unknown key `becuase`"),
        ("because = \"printed digits\"\n", "", "`because` is missing"),
        ("\"stored text\"", "\"seen\"", "expected one of stored text"),
        ("\"6.0\"", "6.0", "as printed, in quotes"),
        ("\"6.0\"", "\"NaN\"", "as printed, in quotes"),
        ("width_mm", "width", "does not end in a unit"),
        ("last_digits = 0.5", "digits = 0.5", "`tolerance` expected one of"),
        ("last_digits = 0.5", "relative = nan", "`tolerance` expected one of"),
        ("unit = \"mm²\"\n", "", "`unit` is missing"),
        ("inputs = { width_mm = 2.0, length_mm = 3.0 }\n", "", "has no inputs"),
        ("field = \"Surface\"", "", "has no `field`"),
        ("source = \"author-2001\"\n", "", "`source` is missing"),
    ] {
        let faults = records("area.toml", &with(from, to)).unwrap_err();
        assert!(faults.iter().any(|f| f.to_string().contains(words)), "{words}: {faults:?}");
    }
    assert!(read_fault("field = \"Surface\"").contains("no [[record]]"));
    assert!(records("area.toml", "record = [").is_err());
}

#[test]
fn cases_share_a_record_and_each_is_judged() {
    let cases = format!(
        "{}[[record.case]]\ninputs = {{ length_mm = 4.0 }}\nexpected = \"8.0\"\n\
         [[record.case]]\ninputs = {{ width_mm = 1.5 }}\nexpected = \"4.5\"\nplace = \"row 2\"\n",
        with("expected = \"6.0\"\n", "")
    );
    let (rows, faults) = bound().judge_all("krate", &checks(&cases));
    assert_eq!(faults, []);
    assert_eq!(rows.len(), 2);
    assert_eq!((rows[0].ours.as_str(), rows[0].place.as_str()), ("8.000", "p. 3"));
    assert_eq!((rows[1].ours.as_str(), rows[1].place.as_str()), ("4.500", "p. 3; row 2"));
    let fault = fault_of(&cases.replace("\"4.5\"", "\"4.6\""));
    assert!(fault.starts_with("area case 2: ours 4.5"), "{fault}");
}

fn folder_run(name: &str, files: &[(&str, &str)]) -> Result<(), String> {
    let root = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let krate = root.join("crates").join("krate");
    let _ = std::fs::remove_dir_all(&root);
    std::fs::create_dir_all(krate.join("published")).unwrap();
    std::fs::create_dir_all(root.join("data")).unwrap();
    let literature = "[author-2001]\ncitation = \"A. Author, Strips, 2001\"\nseen = \"p. 3\"\n";
    std::fs::write(root.join("data").join("literature.toml"), literature).unwrap();
    for (file, text) in files {
        std::fs::write(krate.join("published").join(file), text).unwrap();
    }
    let folder = krate.to_string_lossy().into_owned();
    let run = std::panic::catch_unwind(move || {
        let mut bindings = Bindings::new(&folder);
        bindings.bind(&["area"], area);
        bindings.run();
    });
    run.map_err(|panic| panic.downcast_ref::<String>().cloned().unwrap_or_default())
}

#[test]
fn a_folder_is_read_whole_or_not_at_all() {
    folder_run("good", &[("author-2001.toml", GOOD)]).unwrap();
    for (name, files, words) in [
        ("empty", &[][..], "holds no record"),
        ("stray", &[("author-2001.toml", GOOD), ("notes.txt", "later")][..], "not a record"),
        ("broken", &[("author-2001.toml", "record = [")][..], "holds no record"),
        ("half", &[("a.toml", GOOD), ("b.toml", "record = [")][..], "b.toml"),
    ] {
        let said = folder_run(name, files).unwrap_err();
        assert!(said.contains(words), "{name}: {said}");
    }
    let unknown = GOOD.replace("author-2001", "nobody-1999");
    let said = folder_run("unknown", &[("nobody-1999.toml", &unknown)]).unwrap_err();
    assert!(said.contains("the literature has no `nobody-1999`"), "{said}");
    // no folder at all
    let absent = concat!(env!("CARGO_TARGET_TMPDIR"), "/absent");
    assert!(std::panic::catch_unwind(|| Bindings::new(absent).run()).is_err());
}

#[test]
fn the_page_is_sorted_and_names_its_sources() {
    let literature = Literature::new("l", "[author-2001]\ncitation = \"A. Author, 2001\"").unwrap();
    let rows = bound().judge_all("krate", &checks(GOOD)).0;
    let other = Row { field: "Force".to_owned(), source: String::new(), ..rows[0].clone() };
    let page = register::page(&[rows[0].clone(), other.clone()], &literature);
    assert_eq!(page, register::page(&[other, rows[0].clone()], &literature));
    assert!(page.find("## Force") < page.find("## Surface"));
    assert!(page.contains(
        "| area of a strip, mm² | length 3 mm, width 2 mm | 6.000 | 6.0 | < 1e-6 % \
         | ±0.5 of the last digit: printed digits | [author-2001] p. 3 | stored text |"
    ));
    assert!(page.ends_with("- [author-2001] A. Author, 2001\n"));
}
