//! Sound and damaged exchange files.

use super::*;

const SOUND: &str = "ISO-10303-21;
HEADER;
FILE_DESCRIPTION(('a part'),'2;1');
FILE_NAME('it''s.step','',(''),(''),'','','');
FILE_SCHEMA(('AP242_MANAGED_MODEL_BASED_3D_ENGINEERING_MIM_LF {1 0 10303 442 1 1 4 }'));
ENDSEC;
/* a comment
   over two lines */
DATA;
#1 = CARTESIAN_POINT('origin',(0.,1.E-3,-2.5));
#2 = ( LENGTH_UNIT() NAMED_UNIT(*) SI_UNIT(.MILLI.,.METRE.) );
#7=STRANGE_THING($,*,.T.,(#1,
  #2),LENGTH_MEASURE(1.0),\"0F\");
ENDSEC;
END-ISO-10303-21;
";

fn fails(text: &str) -> String {
    scan(text.as_bytes(), "p.step").expect_err("damaged").to_string()
}

#[test]
fn a_sound_file_gives_schema_types_and_lines() {
    let outline = scan(SOUND.as_bytes(), "p.step").expect("sound");
    assert_eq!(outline.schema, Schema::Ap242);
    assert_eq!(outline.entities(), 3);
    assert_eq!((outline.line_of(1), outline.line_of(7)), (Some(10), Some(12)));
    assert_eq!(outline.kind_of(2), Some("LENGTH_UNIT+NAMED_UNIT+SI_UNIT"));
    assert_eq!(outline.of_kind("STRANGE_THING").collect::<Vec<_>>(), [7]);
    assert_eq!(outline.place_of(7), "#7 (line 12)");
}

#[test]
fn schemas_are_told_apart() {
    let of = |name: &str| Schema::of(format!("('{name}')").as_bytes());
    assert_eq!(of("CONFIG_CONTROL_DESIGN"), Schema::Ap203);
    assert_eq!(of("AP203_CONFIGURATION_CONTROLLED_3D_DESIGN"), Schema::Ap203);
    assert_eq!(of("AUTOMOTIVE_DESIGN { 1 0 10303 214 3 1 1 }"), Schema::Ap214);
    assert_eq!(of("IFC4"), Schema::Other("IFC4".to_owned()));
    assert_eq!(of(""), Schema::Unnamed);
}

#[test]
fn every_cut_is_found() {
    let end = SOUND.trim_end().len();
    for length in 1..end {
        assert!(scan(&SOUND.as_bytes()[..length], "p.step").is_err(), "cut at {length}");
    }
}

#[test]
fn damage_is_told_with_line_and_column() {
    let broken = SOUND.replace("#1 = CARTESIAN_POINT", "#1 CARTESIAN_POINT");
    assert_eq!(
        fails(&broken),
        "p.step, line 10: \"CARTESIAN_POINT\" at column 4, expected \"=\"; \
         the file is damaged or cut short: export it again"
    );
    assert!(fails(&SOUND.replace("-2.5)", "-2.5")).contains("line 10"));
    assert!(fails(&SOUND.replace("1.E-3", "1.E-3.4")).contains("\"1.E-3.4\""));
    assert!(fails(&SOUND.replace("'origin'", "'origin")).contains("line 10"));
    assert!(fails(&SOUND.replace("$,*", "\u{1},*")).contains("byte 0x01 at column 18"));
    assert!(fails(&SOUND.replace("#7=", "#1=")).contains("line 12: #1 for the second time"));
    assert!(fails(&SOUND.replace("#7=", "#99999999999=")).contains("2147483647"));
    assert!(fails(&SOUND.replace("#2)", "#9)")).contains("line 13: a reference to #9"));
    assert!(fails(&SOUND.replace("#2)", "#7)")).contains("leads back to #7"));
    assert!(fails(&SOUND.replace("-2.5", "-2.5E400")).contains("finite"));
    assert!(fails(&SOUND.replace("-2.5", "-2.5E30")).contains("not the size of a part"));
    assert!(fails(&SOUND.replace("(#1,", &"(".repeat(200))).contains("parentheses"));
    assert!(fails("solid part\nfacet normal 0 0 1").contains("expected ISO-10303-21"));
}

#[test]
fn deep_nesting_is_no_deep_recursion() {
    let text = SOUND.replace("$,*", &"(".repeat(1_000_000));
    assert!(fails(&text).contains("parentheses"));
}
