//! Progress on standard error, only where that is a terminal.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::IsTerminal;

/// Steps that the bar is divided into.
const STEPS: u64 = 1000;

/// A bar that is taken away when it is dropped.
pub(crate) struct Bar {
    bar: ProgressBar,
}

impl Bar {
    /// Starts a bar with a word for what is done.
    pub(crate) fn start(word: &'static str) -> Self {
        let target = if std::io::stderr().is_terminal() {
            ProgressDrawTarget::stderr()
        } else {
            ProgressDrawTarget::hidden()
        };
        let bar = ProgressBar::with_draw_target(Some(STEPS), target).with_message(word);
        // a template that does not parse leaves the plain bar
        if let Ok(style) = ProgressStyle::with_template("{msg} {bar:40} {percent} % {elapsed}") {
            bar.set_style(style);
        }
        Self { bar }
    }

    /// Sets how far the work has come, from 0 to 1; never back.
    pub(crate) fn set(&self, share: f64) {
        let position = (share.clamp(0.0, 1.0) * STEPS as f64) as u64;
        if position > self.bar.position() {
            self.bar.set_position(position);
        }
    }
}

impl Drop for Bar {
    fn drop(&mut self) {
        self.bar.finish_and_clear();
    }
}
