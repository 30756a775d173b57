//! How long a toolpath takes on a machine, what holds it back, and what more of it would bring.

mod account;
mod average;
mod caps;
mod chain;
mod drive;
mod limit;
mod program;
mod reading;
mod rest;
mod series;
mod shares;
mod spread;
mod straight;

pub use account::{AccountOptions, LimitShare, TimeAccount, Timer, Times, account};
pub use limit::Limit;
pub use program::{MoveTime, TrackAccount, TrackOptions, TrackTimer, TrackTimes};
pub use series::FeedSample;
