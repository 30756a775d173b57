//! Operators of expressions.

use super::{Evaluator, Value, Wrong};

/// What joins two operands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Operator {
    Plus,
    Minus,
    Times,
    Over,
    Mod,
    And,
    Or,
    Xor,
    Equal,
    NotEqual,
    Greater,
    GreaterEqual,
    Less,
    LessEqual,
}

use Operator::{
    And, Equal, Greater, GreaterEqual, Less, LessEqual, Minus, Mod, NotEqual, Or, Over, Plus,
    Times, Xor,
};

/// Operators that bind as sums do.
pub(super) const SUMS: [Operator; 4] = [Plus, Minus, Or, Xor];
/// Operators that bind as products do.
pub(super) const PRODUCTS: [Operator; 4] = [Times, Over, Mod, And];
/// Operators that compare; they bind least.
pub(super) const COMPARISONS: [Operator; 6] =
    [Equal, NotEqual, Greater, GreaterEqual, Less, LessEqual];

/// Largest whole number whose bits are taken.
const MOST_BITS: f64 = 4_294_967_295.0;

impl Operator {
    pub(super) fn sign(self) -> &'static str {
        match self {
            Plus => "+",
            Minus => "-",
            Times => "*",
            Over => "/",
            Mod => "MOD",
            And => "AND",
            Or => "OR",
            Xor => "XOR",
            Equal => "EQ",
            NotEqual => "NE",
            Greater => "GT",
            GreaterEqual => "GE",
            Less => "LT",
            LessEqual => "LE",
        }
    }
}

impl Evaluator<'_> {
    /// Whether two numbers are the same but for rounding.
    pub(super) fn equal(&mut self, a: f64, b: f64) -> bool {
        if a == b {
            return true;
        }
        let size = a.abs().max(b.abs()).max(1.0);
        let near = (a - b).abs() <= self.store.rules.equal_within * size;
        self.heard.near |= near;
        near
    }

    /// Two operands joined by an operator that stands at `at`.
    pub(super) fn apply(
        &mut self,
        operator: Operator,
        left: Value,
        right: Value,
        at: usize,
    ) -> Result<Value, Wrong> {
        match (operator, left, right) {
            (And, Value::Truth(a), Value::Truth(b)) => return Ok(Value::Truth(a && b)),
            (Or, Value::Truth(a), Value::Truth(b)) => return Ok(Value::Truth(a || b)),
            (Xor, Value::Truth(a), Value::Truth(b)) => return Ok(Value::Truth(a != b)),
            (And | Or | Xor, Value::Truth(_), _) | (And | Or | Xor, _, Value::Truth(_)) => {
                let message = format!("{} joins a comparison and a number", operator.sign());
                let expected = "comparisons on both sides, each in brackets of its own";
                return Err(Wrong::new(at, message, expected, "write it as [[..] AND [..]]"));
            }
            // a variable that holds nothing is not 0 where it is asked for being equal
            (Equal | NotEqual, a, b) if a == Value::Vacant || b == Value::Vacant => {
                return Ok(Value::Truth((a == b) == (operator == Equal)));
            }
            _ => {}
        }
        let (a, b) = (self.number(left, at)?, self.number(right, at)?);
        let number = match operator {
            Plus => a + b,
            Minus => a - b,
            Times => a * b,
            Over | Mod if b == 0.0 => return Err(by_zero(operator, a, at)),
            Over => a / b,
            Mod => self.whole(left, at)? % self.whole(right, at)?,
            And | Or | Xor => self.bits(operator, a, b, at)?,
            Equal => return Ok(Value::Truth(self.equal(a, b))),
            NotEqual => return Ok(Value::Truth(!self.equal(a, b))),
            Greater => return Ok(Value::Truth(!self.equal(a, b) && a > b)),
            GreaterEqual => return Ok(Value::Truth(self.equal(a, b) || a > b)),
            Less => return Ok(Value::Truth(!self.equal(a, b) && a < b)),
            LessEqual => return Ok(Value::Truth(self.equal(a, b) || a < b)),
        };
        finite(number, at).map(Value::Number)
    }

    /// Operators on the bits of whole numbers.
    fn bits(&mut self, operator: Operator, a: f64, b: f64, at: usize) -> Result<f64, Wrong> {
        let [a, b] = [self.whole(Value::Number(a), at)?, self.whole(Value::Number(b), at)?];
        if !(0.0..=MOST_BITS).contains(&a) || !(0.0..=MOST_BITS).contains(&b) {
            return Err(Wrong::new(
                at,
                format!("{} of {a} and {b}", operator.sign()),
                format!("whole numbers from 0 to {MOST_BITS}"),
                "correct the operands",
            ));
        }
        let (a, b) = (a as u32, b as u32);
        Ok(f64::from(match operator {
            And => a & b,
            Or => a | b,
            _ => a ^ b,
        }))
    }
}

#[cold]
fn by_zero(operator: Operator, a: f64, at: usize) -> Wrong {
    let message =
        if operator == Over { format!("{a} is divided by zero") } else { format!("{a} MOD zero") };
    let remedy = "see which variable holds 0 or nothing, and leave the block out where it does";
    Wrong::new(at, message, "a divisor other than 0", remedy)
}

/// Refuses what is no number.
pub(super) fn finite(number: f64, at: usize) -> Result<f64, Wrong> {
    if number.is_finite() {
        return Ok(number);
    }
    let message = "the result is larger than a control can hold";
    Err(Wrong::new(at, message, "a finite number", "correct the operands"))
}
