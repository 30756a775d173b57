//! One body of several, by its name, its place in the assembly, or its entity number.

use super::model::Body;
#[cfg(any(feature = "occt", feature = "step-io"))]
use super::model::StepModel;
#[cfg(any(test, feature = "occt", feature = "step-io"))]
use crate::error::ReadError;

/// Names by which bodies can be told apart: their own name where no other has it, else the last
/// step of their place in the assembly, else the name with a count.
pub(super) fn unique_names(bodies: &[Body]) -> Vec<String> {
    let own: Vec<&str> = bodies.iter().map(|b| b.name.as_str()).collect();
    let last_step = |b: &Body| b.path.rsplit('/').next().unwrap_or_default().to_owned();
    let steps: Vec<String> = bodies.iter().map(last_step).collect();
    let alone = |list: &[&str], name: &str| list.iter().filter(|n| **n == name).count() == 1;
    let step_refs: Vec<&str> = steps.iter().map(String::as_str).collect();
    (0..bodies.len())
        .map(|i| {
            if !own[i].is_empty() && alone(&own, own[i]) {
                own[i].to_owned()
            } else if !steps[i].is_empty() && alone(&step_refs, &steps[i]) {
                steps[i].clone()
            } else {
                let before = own[..i].iter().filter(|n| **n == own[i]).count();
                let base = if own[i].is_empty() { "body" } else { own[i] };
                format!("{base}:{}", before + 1)
            }
        })
        .collect()
}

/// Place of the body that `wanted` names.
///
/// # Errors
/// [`ReadError::NoSuchSolid`] with the choices where none or more than one fits.
#[cfg(any(test, feature = "occt", feature = "step-io"))]
pub(super) fn find(bodies: &[Body], wanted: &str, file: &str) -> Result<usize, ReadError> {
    let names = unique_names(bodies);
    let number = wanted.strip_prefix('#').and_then(|n| n.parse::<u64>().ok());
    let fits = |i: &usize| {
        let b = &bodies[*i];
        names[*i] == wanted || b.path == wanted || (number.is_some() && b.step_id == number)
    };
    let mut found: Vec<usize> = (0..bodies.len()).filter(fits).collect();
    if found.is_empty() {
        found = (0..bodies.len()).filter(|i| bodies[*i].name == wanted).collect();
    }
    match found.as_slice() {
        [one] => Ok(*one),
        _ => Err(ReadError::NoSuchSolid {
            file: file.to_owned(),
            wanted: wanted.to_owned(),
            choices: choices(bodies, &names, &found),
        }),
    }
}

/// The bodies as they can be asked for; all of them where none was found.
#[cfg(any(test, feature = "occt", feature = "step-io"))]
fn choices(bodies: &[Body], names: &[String], found: &[usize]) -> Vec<String> {
    let listed = |i: &usize| found.is_empty() || found.contains(i);
    (0..bodies.len())
        .filter(listed)
        .map(|i| match bodies[i].step_id {
            Some(id) => format!("{} (#{id})", names[i]),
            None => names[i].clone(),
        })
        .collect()
}

/// Drops every other body; the faces are those of `chosen` already.
#[cfg(any(feature = "occt", feature = "step-io"))]
pub(super) fn keep_only(model: &mut StepModel, chosen: usize) {
    let names = unique_names(&model.bodies);
    let mut body = model.bodies.swap_remove(chosen);
    body.name.clone_from(&names[chosen]);
    model.bodies = vec![body];
    model.faces.iter_mut().for_each(|f| f.body = 0);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn body(step_id: u64, name: &str, path: &str) -> Body {
        Body {
            step_id: Some(step_id),
            name: name.to_owned(),
            path: path.to_owned(),
            solid: true,
            volume_mm3: None,
            verdict: String::new(),
        }
    }

    fn assembly() -> Vec<Body> {
        vec![
            body(41, "block", "all/block:1"),
            body(474, "pin", "all/pin:1"),
            body(474, "pin", "all/pin:2"),
        ]
    }

    #[test]
    fn names_are_made_unique_by_the_place() {
        assert_eq!(unique_names(&assembly()), ["block", "pin:1", "pin:2"]);
    }

    #[test]
    fn a_body_is_found_by_name_number_or_place() {
        let bodies = assembly();
        for (wanted, place) in [("block", 0), ("#41", 0), ("pin:2", 2), ("all/pin:1", 1)] {
            assert_eq!(find(&bodies, wanted, "f.step"), Ok(place), "{wanted}");
        }
    }

    #[test]
    fn what_fits_none_or_several_lists_the_choices() {
        let bodies = assembly();
        let choices = |wanted: &str| match find(&bodies, wanted, "f.step") {
            Err(ReadError::NoSuchSolid { choices, .. }) => choices.join(", "),
            other => panic!("{other:?}"),
        };
        assert_eq!(choices("bolt"), "block (#41), pin:1 (#474), pin:2 (#474)");
        assert_eq!(choices("#474"), "pin:1 (#474), pin:2 (#474)");
        assert_eq!(choices("pin"), "pin:1 (#474), pin:2 (#474)");
    }
}
