//! The `halfsplit` program: arguments in, exit code out.

use std::io::{self, BufWriter, IsTerminal};
use std::process::ExitCode;

use halfsplit::commands::{Keyboard, Lines, Streams, mappings_file, run, shop_file};
use halfsplit::record::Clock;

fn main() -> ExitCode {
    let interactive = io::stdin().is_terminal() && io::stdout().is_terminal();
    let mut keyboard = interactive.then(Keyboard::new).and_then(Result::ok);
    let code = run(
        std::env::args_os(),
        &mut Streams {
            out: &mut BufWriter::new(anstream::stdout()),
            err: &mut anstream::stderr(),
            input: &mut io::stdin().lock(),
            editor: keyboard.as_mut().map(|keyboard| keyboard as &mut dyn Lines),
            interactive,
            width: textwrap::termwidth(),
            height: terminal_size::terminal_size().map(|(_, height)| usize::from(height.0)),
            clock: Clock::system(),
            shop: shop_file(|name| std::env::var_os(name)),
            mappings: mappings_file(|name| std::env::var_os(name)),
            pause: &mut halfsplit::commands::pause(interactive),
        },
    );
    ExitCode::from(code)
}
