//! Conversions between the units inside (mm, s, N, rad) and those of the trade.

/// Feed in mm/min to mm/s.
pub fn mm_min_to_mm_s(feed_mm_min: f64) -> f64 {
    feed_mm_min / 60.0
}

/// Feed in mm/s to mm/min.
pub fn mm_s_to_mm_min(feed_mm_s: f64) -> f64 {
    feed_mm_s * 60.0
}

/// Acceleration in m/s² to mm/s², or jerk in m/s³ to mm/s³.
pub fn m_to_mm(value_m: f64) -> f64 {
    value_m * 1000.0
}

/// Length in µm to mm.
pub fn um_to_mm(value_um: f64) -> f64 {
    value_um / 1000.0
}

/// Length in mm to µm.
pub fn mm_to_um(value_mm: f64) -> f64 {
    value_mm * 1000.0
}

/// Millimetres in one inch (exact by definition, ISO 31-1).
pub const MM_PER_INCH: f64 = 25.4;

/// Angle in degrees to radians.
pub fn deg_to_rad(angle_deg: f64) -> f64 {
    angle_deg.to_radians()
}

/// Angle in radians to degrees.
pub fn rad_to_deg(angle_rad: f64) -> f64 {
    angle_rad.to_degrees()
}

/// Spindle speed in revolutions per second from rev/min.
pub fn rpm_to_rev_s(speed_rpm: f64) -> f64 {
    speed_rpm / 60.0
}

/// Cutting speed in m/min of a point at `diameter_mm` turning at `speed_rpm`: v = π D n / 1000.
pub fn cutting_speed_m_min(diameter_mm: f64, speed_rpm: f64) -> f64 {
    std::f64::consts::PI * diameter_mm * speed_rpm / 1000.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn feeds_convert_there_and_back() {
        assert_eq!(mm_s_to_mm_min(mm_min_to_mm_s(7200.0)), 7200.0);
    }

    #[test]
    fn speed_of_a_point_at_the_contact_diameter() {
        // ball 12 mm tilted by 17 degrees touches at 3.508460 mm diameter; 12 000 rev/min
        assert!((cutting_speed_m_min(3.508_460, 12_000.0) - 132.2658).abs() < 1e-3);
    }
}
