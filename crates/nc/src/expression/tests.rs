//! Expressions: their values, and what is said of those that have none.

use super::*;
use crate::dialect::Variables;

fn store() -> Store {
    let given = [(1, 3.0), (2, -4.5), (100, 10.0), (101, 0.25), (110, 7.0)];
    Store::new(Variables::default(), &given)
}

fn value(text: &str) -> Result<Value, Wrong> {
    let store = store();
    let mut evaluator = Evaluator::new(text.as_bytes(), 0, &store);
    let value = evaluator.sum()?;
    assert!(evaluator.is_over(), "{text}: {}", evaluator.shown());
    Ok(value)
}

fn number(text: &str) -> f64 {
    match value(text) {
        Ok(Value::Number(number)) => number,
        other => panic!("{text}: {other:?}"),
    }
}

fn truth(text: &str) -> bool {
    match value(text) {
        Ok(Value::Truth(holds)) => holds,
        other => panic!("{text}: {other:?}"),
    }
}

#[test]
fn products_bind_before_sums_and_sums_before_comparisons() {
    for (text, expected) in [
        ("1+2*3", 7.0),
        ("[1+2]*3", 9.0),
        ("2*-3", -6.0),
        ("-#1+ 4.", 1.0),
        ("10-2-3", 5.0),
        ("24/4/2", 3.0),
        ("7MOD4", 3.0),
        ("-7 mod 4", -3.0),
        ("1 OR 2 AND 3", 3.0),
        ("12 XOR 10", 6.0),
        ("#[#100+10-10+#1*0+100-10]", 10.0),
        ("##100+1", f64::NAN),
        (".5+.25*2.", 1.0),
        ("+#2", -4.5),
    ] {
        if expected.is_nan() {
            // #10 holds nothing and counts as 0
            assert_eq!(number(text), 1.0, "{text}");
        } else {
            assert_eq!(number(text), expected, "{text}");
        }
    }
    assert!(truth("[1+2 EQ 3]") && truth("[2*3GT5]") && truth("[#2 LT #1]"));
    assert!(truth("[[1 EQ 2] OR [2 LE 2]]") && !truth("[[1 EQ 1] AND [2 NE 2]]"));
    assert!(truth("[[1 EQ 1] XOR [1 EQ 2]]"));
}

#[test]
fn functions_take_degrees() {
    for (text, expected) in [
        ("SIN[30]", 0.5),
        ("COS[-60]", 0.5),
        ("TAN[45]", 1.0),
        ("ASIN[.5]", 30.0),
        ("ACOS[-1]", 180.0),
        ("ATAN[1]", 45.0),
        ("ATAN[-1]/[-1]", 225.0),
        ("ATAN[1, -1]", 135.0),
        ("ATAN[-1]/[0]", 270.0),
        ("SQRT[#1*#1+16]", 5.0),
        ("ABS[#2]", 4.5),
        ("ROUND[2.5]", 3.0),
        ("ROUND[-2.5]", -3.0),
        ("FIX[-2.9]", -2.0),
        ("FUP[2.1]", 3.0),
        ("FUP[-2.1]", -3.0),
        ("FIX[0.29*100]", 29.0),
        ("FUP[.1*3*10]", 3.0),
        ("LN[EXP[2]]", 2.0),
        ("2*SIN[90]*COS[60]", 1.0),
    ] {
        let found = number(text);
        assert!((found - expected).abs() < 1e-12, "{text}: {found}");
    }
    for (text, exact) in
        [("SIN[180]", 0.0), ("COS[90]", 0.0), ("COS[-450]", 0.0), ("SIN[270]", -1.0)]
    {
        assert_eq!(number(text), exact, "{text}: right angles are exact");
    }
}

#[test]
fn what_holds_nothing_is_no_zero_where_it_is_compared_for_being_equal() {
    assert!(truth("[#5 EQ #0]") && !truth("[#5 EQ 0]") && truth("[#5 NE 0]"));
    assert!(truth("[#5 GE 0]") && !truth("[#5 LT 0]"));
    assert_eq!(value("#5").unwrap(), Value::Vacant);
    assert_eq!(number("#5*4+2"), 2.0);
    let store = store();
    let mut counted = Evaluator::new(b"#5+1", 0, &store);
    counted.sum().unwrap();
    assert!(counted.heard.vacant && !counted.heard.near);
}

#[test]
fn numbers_that_differ_by_rounding_are_equal_and_it_is_said() {
    assert!(truth("[0.1+0.2 EQ 0.3]") && !truth("[0.1+0.2 GT 0.3]") && truth("[0.1+0.2 LE 0.3]"));
    let store = store();
    let mut near = Evaluator::new(b"[.1+.2 EQ .3]", 0, &store);
    near.bracket().unwrap();
    assert!(near.heard.near);
    assert!(!truth("[1.0 EQ 1.000001]"));
}

#[test]
fn what_has_no_value_is_refused_where_it_stands() {
    for (text, at, says) in [
        ("1/0", 1, "1 is divided by zero"),
        ("#1/[#1-3]", 2, "3 is divided by zero"),
        ("5 MOD #5", 2, "5 MOD zero"),
        ("2.5 MOD 2", 4, "not a whole number"),
        ("SQRT[-1]", 0, "SQRT of -1 has no value"),
        ("SQRT[#1-4]", 0, "SQRT of -1"),
        ("ASIN[1.1]", 0, "ASIN of 1.1"),
        ("LN[0]", 0, "LN of 0"),
        ("TAN[90]", 0, "TAN of 90"),
        ("ATAN[0]/[0]", 0, "ATAN"),
        ("ATAN[1]/2", 0, "two operands, or a quotient"),
        ("EXP[1000]", 0, "larger"),
        ("[1+2", 0, "not closed"),
        ("SIN[30", 3, "not closed"),
        ("1+", 2, "the end of the block where a number"),
        ("1+(2)", 2, "parentheses hold comments"),
        ("1+*2", 2, "`*` where a number"),
        ("--1", 1, "cannot stand here"),
        ("SINH[1]", 3, "`H` after SIN"),
        ("POW[2,3]", 0, "`POW` is no function"),
        ("[1 2]", 3, "`2` cannot stand here"),
        ("[1 LT 2 LT 3]", 8, "two comparisons"),
        ("[1 EQ 1]+1", 8, "a comparison where a number"),
        ("[1 EQ 1] AND 1", 9, "joins a comparison and a number"),
        ("1 AND -1", 2, "AND of 1 and -1"),
        ("#", 0, "without the number"),
        ("#-1", 0, "without the number"),
        ("#[1.5]", 0, "1.5 is not a whole number"),
        ("#5021", 0, "belongs to the control"),
        ("#501", 0, "kept by the control"),
        ("#50", 0, "no variable #50"),
        ("#99999999999", 0, "no variable 99999999999"),
    ] {
        let wrong = value(text).expect_err(text);
        assert!(wrong.message.contains(says), "{text}: {wrong:?}");
        assert_eq!(wrong.at, at, "{text}: {wrong:?}");
        assert!(!wrong.expected.is_empty() && !wrong.remedy.is_empty());
    }
}

#[test]
fn brackets_go_so_deep_and_no_deeper() {
    let nested = |n: usize| format!("{}1{}", "[".repeat(n), "]".repeat(n));
    assert_eq!(number(&nested(DEEPEST)), 1.0);
    for text in [nested(DEEPEST + 1), "[".repeat(100_000), "#[".repeat(50_000), "#".repeat(90_000)]
    {
        assert!(value(&text).unwrap_err().message.contains("deep"), "{}", text.len());
    }
    assert_eq!(number(&format!("1{}", "+1".repeat(50_000))), 50_001.0);
}

#[test]
fn the_number_of_a_word_ends_where_its_bracket_closes() {
    for (text, rest) in [("-[#2+[1]]Y5", "Y5"), ("#101 Y5", " Y5"), ("+ #[1]Z", "Z"), ("##1X", "X")]
    {
        let end = extent(text.as_bytes(), 0).unwrap();
        assert_eq!(&text[end..], rest, "{text}");
    }
    assert_eq!(extent(b"[1+2\n]", 0).unwrap_err().at, 0);
}
