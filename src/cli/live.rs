//! `hubtrace live`: the car on a page of this computer.

use std::path::PathBuf;
use std::process::{Command, Stdio};

use clap::Args;

use crate::live::{Server, Session};

use super::failure::Failure;
use super::interrupts::Interrupts;
use super::{Outcome, Terminal, load};

/// Open the car on a page of this computer: nudge a point and see curves and limits move
#[derive(Debug, Args)]
pub struct LiveArgs {
    /// Geometry file; the built-in demo car when none is given
    pub file: Option<PathBuf>,
    /// Port of the page; 0 takes any that is free
    #[arg(long, value_name = "N", default_value_t = 0)]
    port: u16,
    /// Open no browser
    #[arg(long)]
    no_open: bool,
    /// Print nothing but the address and errors
    #[arg(long)]
    quiet: bool,
}

pub fn run(args: &LiveArgs, terminal: &mut Terminal<'_>) -> Result<Outcome, Failure> {
    let file = load::geometry(args.file.as_deref(), args.quiet, terminal)?;
    load::note_doubts(&file, args.file.as_deref(), args.quiet, terminal);
    load::note_left_out(&file, args.file.as_deref(), args.quiet, terminal);
    let server = Server::bind(Session::new(file, args.file.clone()), args.port).map_err(|error| {
        let what = format!("cannot serve a page at port {} of this computer: {error}", args.port);
        Failure::output(what, "give another --port, or leave it out for any that is free")
    })?;
    let interrupts = Interrupts::from_now(terminal.owns_process);
    terminal.print(&format!("{}\n", server.url()))?;
    if !args.quiet {
        terminal.note("Only this computer can open it. Ctrl-C ends it.\n");
    }
    if !args.no_open && terminal.owns_process && has_screen() {
        open(&server.url());
    }
    let stop = Box::new(move || interrupts.came());
    let unsaved = server.run(stop).map_err(|error| {
        Failure::output(format!("the page can no longer be served: {error}"), "start the command again")
    })?;
    if unsaved {
        terminal.note("warning: changes made on the page were not saved\n");
    }
    Ok(Outcome::InsideLimits)
}

/// Whether this computer can show a browser.
fn has_screen() -> bool {
    let is_set = |name: &str| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    !cfg!(target_os = "linux") || is_set("DISPLAY") || is_set("WAYLAND_DISPLAY")
}

/// The address stands on the screen, so nothing is lost when no browser can be started.
fn open(url: &str) {
    let (program, before): (&str, &[&str]) = match std::env::consts::OS {
        "windows" => ("cmd", &["/C", "start", ""]),
        "macos" => ("open", &[]),
        _ => ("xdg-open", &[]),
    };
    let mut command = Command::new(program);
    command.args(before).arg(url).stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    let _ = command.spawn();
}
