//! The machine: its axes and what they can do, where a tool pose puts them, and how long a toolpath
//! takes on them.
//!
//! [`MachineSpec`] holds the values as a machine file writes them; [`Machine`] is the checked model
//! with everything in mm, s and rad and every missing figure replaced by a named assumption.

pub mod assume;
pub mod build;
pub mod control;
pub mod dynamics;
pub mod error;
pub mod event;
pub mod fitted;
pub mod kinematics;
pub mod layout;
pub mod model;
pub mod route;
pub mod setting;
pub mod spec;
pub mod spindle;
pub mod spread;
pub mod time;
pub mod track;

pub use assume::{Assumption, Stated};
pub use control::{Control, ControlSpec, Corner, Ramp};
pub use dynamics::{AxisDynamics, AxisLimit, Dynamics, Scenario, Uncertainty};
pub use error::MachineError;
pub use event::Event;
pub use kinematics::{AxisPosition, Kinematics, Mounting, Unreachable};
pub use layout::{AxisName, Layout};
pub use model::{Axis, Machine, RotaryTurn};
pub use route::{AccountError, RotaryRun, Route, RouteOptions, TravelExceeded};
pub use setting::Setting;
pub use spec::{AxisSpec, CurvePoint, DutyCurve, FitSpec, MachineSpec, SpindleSpec};
pub use spindle::Spindle;
pub use time::{
    AccountOptions, FeedSample, Limit, LimitShare, MoveTime, TimeAccount, Timer, Times,
    TrackAccount, TrackOptions, TrackTimer, TrackTimes, account,
};
pub use track::Track;
