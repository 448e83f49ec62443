//! How far a long count has come.

use std::time::Duration;

use indicatif::{ProgressBar, ProgressStyle};

/// A bar on the terminal's error stream, counting so many of something; hidden where nobody watches.
pub(super) fn bar(total: u64, what: &str, interactive: bool) -> ProgressBar {
    if !interactive {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new(total);
    let template = format!("{{bar:40}} {{pos}} of {{len}} {what}, {{eta}} left");
    // The template is fixed and fits: a default bar would do as well.
    if let Ok(style) = ProgressStyle::with_template(&template) {
        bar.set_style(style.progress_chars("=> "));
    }
    bar
}

/// Says what is waited for.
pub(super) fn waiting(what: &'static str, interactive: bool) -> ProgressBar {
    if !interactive {
        return ProgressBar::hidden();
    }
    let waiting = ProgressBar::new_spinner().with_message(what);
    waiting.enable_steady_tick(Duration::from_millis(200));
    waiting
}
