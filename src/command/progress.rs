//! A bar on the error stream, shown when a run takes longer than a second and someone is watching.

use std::io::{self, IsTerminal};

use indicatif::{ProgressBar, ProgressDrawTarget};

/// The bar; none where nobody watches, or too little is to be done.
pub(super) struct Progress(Option<ProgressBar>);

impl Progress {
    /// A bar for so many steps. Few are done before anybody would look.
    pub(super) fn over(steps: usize) -> Self {
        const FEW: usize = 256;
        if !io::stderr().is_terminal() || steps <= FEW {
            return Progress(None);
        }
        let bar = ProgressBar::with_draw_target(Some(steps as u64), ProgressDrawTarget::hidden());
        Progress(Some(bar))
    }

    /// So many more are done.
    pub(super) fn advance(&self, steps: usize) {
        let Some(bar) = &self.0 else { return };
        bar.inc(steps as u64);
        if bar.is_hidden() && bar.elapsed().as_secs() >= 1 {
            bar.set_draw_target(ProgressDrawTarget::stderr());
        }
    }

    /// Takes the bar away.
    pub(super) fn end(&self) {
        if let Some(bar) = &self.0 {
            bar.finish_and_clear();
        }
    }
}
