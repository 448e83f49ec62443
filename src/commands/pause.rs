//! Letting time pass.

use std::thread::sleep;
use std::time::Duration;

#[cfg(unix)]
use rustix::termios::{
    LocalModes, OptionalActions, SpecialCodeIndex, Termios, tcgetattr, tcsetattr,
};

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
    let heard = as_a_line(&input);
    let ready = poll(&mut waiting, Some(&limit));
    if let Some(before) = heard {
        // Where it cannot be set back, the line editor sets the terminal itself.
        let _ = tcsetattr(&input, OptionalActions::Now, &before);
    }
    if let Ok(ready) = ready {
        return ready > 0;
    }
    sleep(span);
    false
}

/// Ctrl-C ends a line like Enter, for the line editor to hear it: the count then ends like any other question, with the
/// job saved. Gives what the terminal was set to.
#[cfg(unix)]
fn as_a_line(input: &std::io::Stdin) -> Option<Termios> {
    const CTRL_C: u8 = 3;
    let before = tcgetattr(input).ok()?;
    let mut heard = before.clone();
    heard.local_modes.remove(LocalModes::ISIG);
    heard.special_codes[SpecialCodeIndex::VEOL] = CTRL_C;
    tcsetattr(input, OptionalActions::Now, &heard).ok()?;
    Some(before)
}

/// Without a way to look, time passes whole: the count then runs to its limit.
#[cfg(not(unix))]
fn typed_within(span: Duration) -> bool {
    sleep(span);
    false
}
