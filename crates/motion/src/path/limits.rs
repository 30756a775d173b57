//! What an axis can do, and the name of a limit that is reached.

/// Limits of one axis, in the axis's own unit (mm or rad) and seconds; each holds in both senses.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AxisLimits {
    /// Largest speed, unit/s; may be infinite.
    pub speed: f64,
    /// Largest acceleration, unit/s²; may be infinite.
    pub acceleration: f64,
    /// Largest jerk, unit/s³; infinite where the axis is not jerk-limited.
    pub jerk: f64,
}

/// The limit that holds the speed down on an interval.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ActiveLimit {
    /// The speed cap of the interval, with the kind that the caller gave it.
    FeedCap(u8),
    /// A cap on the speed at a grid point.
    PointCap,
    /// The speed given for the start or the end of the path.
    EndSpeed,
    /// Speed of an axis.
    AxisSpeed(u8),
    /// Acceleration of an axis.
    AxisAcceleration(u8),
    /// Jerk of an axis.
    AxisJerk(u8),
}
