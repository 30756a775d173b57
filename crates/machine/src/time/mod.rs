//! How long a toolpath takes on a machine, what holds it back, and what more of it would bring.

mod account;
mod drive;
mod limit;
mod series;

pub use account::{AccountOptions, LimitShare, TimeAccount, Timer, Times, account};
pub use limit::Limit;
pub use series::FeedSample;
