//! Whether a value passes, and the proof that wrong ones do not.

use crate::fault::Fault;
use crate::inputs::Inputs;
use crate::record::{Allowed, Check, SEES};
use std::collections::BTreeSet;

/// A function that a record is bound to.
pub(crate) type Function = dyn Fn(&Inputs) -> Result<f64, Fault>;

/// Factors by which an input is changed to see whether the value moves: one is enough.
const NUDGES: [f64; 4] = [1.1, 0.9, 3.0, 0.3];
/// Of these, the small ones, by which an indifferent input must not move it.
const SMALL: usize = 2;
/// A value that moves by less than this share has not moved.
const STILL: f64 = 1e-9;

/// The judge itself: the one comparison that passes or refuses a value.
fn passes(check: &Check, value: f64) -> bool {
    (value - check.expected.value).abs() <= check.allowed.width(&check.expected)
}

/// Our value, and everything that is wrong with the check.
pub(crate) fn judge(check: &Check, function: &Function) -> (Option<f64>, Vec<Fault>) {
    let place = check.name();
    let mut faults = sight(check);
    let ours = match function(&check.inputs) {
        Ok(value) if value.is_finite() => value,
        Ok(value) => {
            faults.push(Fault::new(place, format!("our value is {value}, expected a number")));
            return (None, faults);
        }
        Err(fault) => {
            faults.push(Fault::new(place, format!("could not be computed: {fault}")));
            return (None, faults);
        }
    };
    if !passes(check, ours) {
        let unit = &check.unit;
        faults.push(Fault::new(
            &place,
            format!(
                "ours {ours} {unit}, theirs {} {unit}, allowed {}",
                check.expected.text,
                check.allowed.in_words(unit)
            ),
        ));
    }
    faults.extend(unread(check));
    (Some(ours), faults)
}

/// Feeds the smallest wrong answer in both directions, and holds the promise of sight.
fn sight(check: &Check) -> Vec<Fault> {
    let mut faults = Vec::new();
    let sees = check.sees.width(&check.expected);
    let allowed = check.allowed.width(&check.expected);
    if !(allowed >= 0.0 && allowed.is_finite() && sees > 0.0 && sees.is_finite()) {
        faults.push(Fault::new(
            check.name(),
            "tolerance and sight must be finite, sight above 0; give `sees` in the unit of the \
             value where the value is 0",
        ));
        return faults;
    }
    for wrong in [check.expected.value - sees, check.expected.value + sees] {
        if passes(check, wrong) {
            let words = check.sees.in_words(&check.unit);
            let what = format!("the wrong answer {wrong} ({words}) passes: narrow the tolerance");
            faults.push(Fault::new(check.name(), what));
        }
    }
    let usual = match check.sees {
        Allowed::Relative(share) => share <= SEES,
        // in other units: as good as the usual share, or the value is 0 and there is no share
        Allowed::Absolute(_) | Allowed::LastDigits(_) => {
            check.expected.value == 0.0 || sees <= SEES * check.expected.value.abs()
        }
    };
    if !usual && check.no_better.is_none() {
        let what = "sees less than 5 %: say in `no_better` why the source allows no better";
        faults.push(Fault::new(check.name(), what));
    }
    faults
}

fn unread(check: &Check) -> Option<Fault> {
    let unread = check.inputs.unread();
    let what = || format!("the binding does not read {}: use or remove it", unread.join(", "));
    (!unread.is_empty()).then(|| Fault::new(check.name(), what()))
}

/// Inputs that do not move the value of any case although the record does not say so, and those
/// that do although it calls them indifferent. Takes the cases of one record.
pub(crate) fn movements(cases: &[&Check], function: &Function) -> Vec<Fault> {
    let Some(first) = cases.first() else { return Vec::new() };
    let names: BTreeSet<&str> = cases.iter().flat_map(|c| c.inputs.numbers()).collect();
    let fault = |name: &str| {
        let indifferent = first.indifferent.iter().any(|other| other == name);
        let nudges = if indifferent { &NUDGES[..SMALL] } else { &NUDGES[..] };
        // one case that moves is enough: the rest is not computed
        let mut found = cases.iter().flat_map(|c| moved(c, function, name, nudges)).peekable();
        if found.peek().is_none() || found.any(|m| m) != indifferent {
            return None;
        }
        let what = if indifferent {
            format!("{name} moves the value although the record calls it indifferent")
        } else {
            format!(
                "{name} does not move the value: use it in the binding, or list it in indifferent"
            )
        };
        Some(Fault::new(&first.id, what))
    };
    names.into_iter().filter_map(fault).collect()
}

/// Whether each nudge of an input moves the value; nothing where it cannot be computed.
fn moved<'a>(
    check: &'a Check,
    function: &'a Function,
    name: &'a str,
    nudges: &'a [f64],
) -> impl Iterator<Item = bool> + 'a {
    let compute = |inputs: &Inputs| function(inputs).ok().filter(|v| v.is_finite());
    let ours = compute(&check.inputs);
    let nudged = move |factor: &f64| {
        let value = compute(&check.inputs.nudged(name, *factor))?;
        let still = STILL * ours?.abs().max(check.expected.last_digit);
        Some((value - ours?).abs() > still)
    };
    nudges.iter().filter_map(nudged)
}
