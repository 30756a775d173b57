//! What a fit to measured times says of a machine: narrower intervals of its figures, and how far
//! the time of a program may still be off.

use crate::{Axis, FitSpec, Machine, MachineError, Setting, Stated};
use units::convert::{deg_to_rad, m_to_mm, mm_min_to_mm_s};

const MS: f64 = 1e-3;

impl Machine {
    /// The figure of a dotted key of the machine file and the factor from the key's unit to the
    /// unit inside; `None` where no such figure can be fitted or the file leaves it open.
    pub fn figure(&self, key: &str) -> Option<(Stated, f64)> {
        let mut copy = self.clone();
        copy.figure_mut(key).map(|(stated, scale)| (*stated, scale))
    }

    fn figure_mut(&mut self, key: &str) -> Option<(&mut Stated, f64)> {
        let control = &mut self.control;
        match key {
            "block_time_ms" => Some((&mut self.block_time_s, MS)),
            "path_tolerance_mm" => Some((&mut self.path_tolerance_mm, 1.0)),
            "tool_change_s" => Some((&mut self.tool_change_s, 1.0)),
            "control.corner_step_mm_min" => {
                Some((&mut control.corner_step_mm_s, mm_min_to_mm_s(1.0)))
            }
            "control.filter_ms" => Some((&mut control.filter_s, MS)),
            "control.path_accel_m_s2" => Some((control.path_accel_mm_s2.as_mut()?, m_to_mm(1.0))),
            "control.radial_accel_m_s2" => {
                Some((control.radial_accel_mm_s2.as_mut()?, m_to_mm(1.0)))
            }
            _ => {
                if let Some(setting) = key.strip_prefix("control.").and_then(Setting::named) {
                    return Some((control.settings[setting as usize].as_mut()?, 1.0));
                }
                let (axis, word) = key.strip_prefix("axis.")?.split_once('.')?;
                let axis = self.axes.iter_mut().find(|a| a.name.letter() == axis)?;
                of_axis(axis, word)
            }
        }
    }
}

fn of_axis<'a>(axis: &'a mut Axis, word: &str) -> Option<(&'a mut Stated, f64)> {
    let rotary = axis.name.is_rotary();
    match (word, rotary) {
        ("accel_m_s2", false) => Some((&mut axis.accel, m_to_mm(1.0))),
        ("jerk_m_s3", false) => Some((&mut axis.jerk, m_to_mm(1.0))),
        ("accel_deg_s2", true) => Some((&mut axis.accel, deg_to_rad(1.0))),
        ("jerk_deg_s3", true) => Some((&mut axis.jerk, deg_to_rad(1.0))),
        _ => None,
    }
}

/// Puts the intervals of a fit on the figures of `machine`.
pub(crate) fn apply(machine: &mut Machine, fit: &FitSpec) -> Result<(), MachineError> {
    for (key, &[low, high]) in &fit.interval {
        let place = format!("fit.interval.{key}");
        let Some((stated, scale)) = machine.figure_mut(key) else {
            let expected = "the key of a figure that the file gives, as axis.X.accel_m_s2";
            let remedy = "correct the key, or drop the line";
            return Err(MachineError::wrong(&place, key, expected, remedy));
        };
        let value = stated.value / scale;
        let slack = 1e-6 * value.abs();
        if !(low <= value + slack && value <= high + slack) {
            let found = format!("[{low}, {high}]");
            let expected = format!("an interval that holds the figure itself, {value}");
            let remedy = "fit again after a change by hand, or drop the line";
            return Err(MachineError::wrong(&place, found, &expected, remedy));
        }
        (stated.low, stated.high) = (low.min(value) * scale, high.max(value) * scale);
    }
    machine.fit_error = fit.error_share;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn strange_keys_and_intervals_beside_the_figure_are_refused() {
        let text = |interval: [f64; 2], key: &str| {
            let mut spec = crate::MachineSpec { layout: "XYZ".into(), ..Default::default() };
            for letter in ["X", "Y", "Z"] {
                let axis = crate::AxisSpec {
                    max_feed_mm_min: Some(30_000.0),
                    accel_m_s2: Some(5.0),
                    ..Default::default()
                };
                spec.axes.insert(letter.into(), axis);
            }
            spec.fit.error_share = Some(0.01);
            spec.fit.interval.insert(key.into(), interval);
            Machine::new(&spec)
        };
        let machine = text([4.5, 5.5], "axis.X.accel_m_s2").expect("sound");
        assert_eq!((machine.axes[0].accel.low, machine.axes[0].accel.high), (4500.0, 5500.0));
        assert_eq!(machine.fit_error, Some(0.01));
        assert!(text([5.5, 6.5], "axis.X.accel_m_s2").is_err());
        assert!(text([4.5, 5.5], "axis.A.accel_deg_s2").is_err());
        assert!(text([4.5, 5.5], "axis.X.max_feed_mm_min").is_err());
    }
}
