//! Functions of expressions; angles are degrees.

use super::arithmetic::finite;
use super::{Evaluator, Value, Wrong};
use crate::dialect::AngleRange;
use geom::tolerance::PARALLEL_RAD;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Function {
    Sin,
    Cos,
    Tan,
    Asin,
    Acos,
    Atan,
    Sqrt,
    Abs,
    Round,
    Fix,
    Fup,
    Ln,
    Exp,
}

const ALL: [(&str, Function); 13] = [
    ("SIN", Function::Sin),
    ("COS", Function::Cos),
    ("TAN", Function::Tan),
    ("ASIN", Function::Asin),
    ("ACOS", Function::Acos),
    ("ATAN", Function::Atan),
    ("SQRT", Function::Sqrt),
    ("ABS", Function::Abs),
    ("ROUND", Function::Round),
    ("FIX", Function::Fix),
    ("FUP", Function::Fup),
    ("LN", Function::Ln),
    ("EXP", Function::Exp),
];

/// Sine and cosine of an angle in degrees, exact where it is a multiple of a right angle.
fn sin_cos(degrees: f64) -> (f64, f64) {
    let turn = degrees % 360.0;
    let quarter = (turn / 90.0).round();
    let (s, c) = (turn - 90.0 * quarter).to_radians().sin_cos();
    match quarter.rem_euclid(4.0) as u8 {
        0 => (s, c),
        1 => (c, -s),
        2 => (-s, -c),
        _ => (-c, s),
    }
}

/// An argument that the function has no value for.
#[cold]
fn outside(at: usize, name: &str, x: f64, expected: &'static str) -> Wrong {
    let message = format!("{name} of {x} has no value");
    Wrong::new(at, message, expected, "see which variable holds what should not be there")
}

impl Evaluator<'_> {
    /// The function whose name stands here.
    pub(super) fn function(&mut self) -> Result<Value, Wrong> {
        let at = self.at;
        let Some((name, function)) = ALL.into_iter().find(|(name, _)| self.takes(name)) else {
            let names: Vec<&str> = ALL.iter().map(|(name, _)| *name).collect();
            return Err(Wrong::new(
                at,
                format!("{} is no function that is followed", self.shown()),
                format!("one of {}", names.join(", ")),
                "write what it gives with these functions, or as a number",
            ));
        };
        if self.peek() != b'[' {
            return Err(Wrong::new(
                self.at,
                format!("{} after {name}", self.shown()),
                "the argument in square brackets",
                format!("write it as {name}[#1]"),
            ));
        }
        let open = self.open()?;
        let first = self.argument(open)?;
        let mut second = None;
        if function == Function::Atan && self.takes(",") {
            second = Some(self.argument(open)?);
        }
        self.close(open)?;
        if function == Function::Atan && second.is_none() && self.peek() == b'/' {
            second = Some(self.below(at)?);
        }
        let value = match second {
            Some(x) => self.direction(first, x, at)?,
            None => self.of(function, name, first, at)?,
        };
        finite(value, at).map(Value::Number)
    }

    fn argument(&mut self, at: usize) -> Result<f64, Wrong> {
        let value = self.sum()?;
        self.number(value, at)
    }

    /// The second operand of ATAN, after a stroke.
    fn below(&mut self, at: usize) -> Result<f64, Wrong> {
        self.at += 1;
        if self.peek() != b'[' {
            return Err(Wrong::new(
                at,
                "ATAN and a stroke without a second bracket: two operands, or a quotient?",
                "ATAN[y]/[x], or [ATAN[y]]/x for the quotient",
                "put the second operand, or the function, in brackets",
            ));
        }
        let open = self.open()?;
        let x = self.argument(open)?;
        self.close(open)?;
        Ok(x)
    }

    /// The direction of (x, y), degrees.
    fn direction(&mut self, y: f64, x: f64, at: usize) -> Result<f64, Wrong> {
        if x == 0.0 && y == 0.0 {
            return Err(outside(at, "ATAN", 0.0, "two operands that are not both 0"));
        }
        let angle = y.atan2(x).to_degrees();
        let full = self.store.rules.angles == AngleRange::Full;
        // a negative angle so small that a full turn more would round to the turn itself is 0
        Ok(if full && angle < 0.0 { (angle + 360.0) % 360.0 } else { angle })
    }

    fn of(&mut self, function: Function, name: &str, x: f64, at: usize) -> Result<f64, Wrong> {
        Ok(match function {
            Function::Sin => sin_cos(x).0,
            Function::Cos => sin_cos(x).1,
            Function::Tan => {
                let (s, c) = sin_cos(x);
                if c.abs() < PARALLEL_RAD {
                    return Err(outside(at, name, x, "an angle off 90 and 270 degrees"));
                }
                s / c
            }
            Function::Asin | Function::Acos => {
                let within = x.clamp(-1.0, 1.0);
                if !self.equal(x, within) {
                    return Err(outside(at, name, x, "a number from -1 to 1"));
                }
                let angle = if function == Function::Asin { within.asin() } else { within.acos() };
                angle.to_degrees()
            }
            Function::Atan => x.atan().to_degrees(),
            Function::Sqrt if x < 0.0 && !self.equal(x, 0.0) => {
                return Err(outside(at, name, x, "a number from 0 on"));
            }
            Function::Sqrt => x.max(0.0).sqrt(),
            Function::Abs => x.abs(),
            Function::Round => x.round(),
            Function::Fix | Function::Fup => {
                let whole = x.round();
                if self.equal(x, whole) {
                    whole
                } else if function == Function::Fix {
                    x.trunc()
                } else {
                    x.trunc() + x.signum()
                }
            }
            Function::Ln if x <= 0.0 => return Err(outside(at, name, x, "a number above 0")),
            Function::Ln => x.ln(),
            Function::Exp => x.exp(),
        })
    }
}
