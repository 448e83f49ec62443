//! Letting time pass.

use std::thread::sleep;
use std::time::Duration;

/// Lets time pass, at most so long; tells whether a person typed a line before that.
///
/// A script has typed all its lines already: for it, time passes whole.
pub fn pause(interactive: bool) -> impl FnMut(Duration) -> bool {
    move |span| {
        if interactive {
            typed_within(span)
        } else {
            sleep(span);
            false
        }
    }
}

/// Waits for a line on the standard input, at most so long.
#[cfg(unix)]
fn typed_within(span: Duration) -> bool {
    use rustix::event::{PollFd, PollFlags, Timespec, poll};

    let input = std::io::stdin();
    let mut waiting = [PollFd::new(&input, PollFlags::IN)];
    let Ok(limit) = Timespec::try_from(span) else {
        sleep(span);
        return false;
    };
    if let Ok(ready) = poll(&mut waiting, Some(&limit)) {
        return ready > 0;
    }
    sleep(span);
    false
}

/// Without a way to look, time passes whole: the count then runs to its limit.
#[cfg(not(unix))]
fn typed_within(span: Duration) -> bool {
    sleep(span);
    false
}
