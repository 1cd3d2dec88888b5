//! `hubtrace live`: the car on a page of this computer.

use std::io;
use std::net::{IpAddr, Ipv4Addr, UdpSocket};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use clap::Args;

use crate::live::{EntryEvent, Server, Session};

use super::failure::Failure;
use super::interrupts::Interrupts;
use super::layout::wrapped;
use super::{Outcome, Terminal, load};

/// Open the car on a page of this computer: nudge a point and see curves and limits move
#[derive(Debug, Args)]
pub struct LiveArgs {
    /// Geometry file; the built-in demo car when none is given
    pub file: Option<PathBuf>,
    /// Port of the page; 0 takes any that is free
    #[arg(long, value_name = "N", default_value_t = 0)]
    port: u16,
    /// Open a page for a phone too, where readings for `correct` are typed in at the car: on this computer's address in its
    /// network, or on ADDRESS when it has several; the terminal shows the code that lets a phone in
    #[arg(long, value_name = "ADDRESS", num_args = 0..=1, require_equals = true, requires = "file", value_parser = one_address)]
    lan: Option<Option<IpAddr>>,
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
    let (server, phone) = match args.lan.zip(args.file.as_deref()) {
        None => (server, None),
        Some((address, file)) => with_phone(server, address, file).map(|(server, phone)| (server, Some(phone)))?,
    };
    let interrupts = Interrupts::from_now(terminal.owns_process);
    terminal.print(&format!("{}\n", server.url()))?;
    if let Some(phone) = &phone {
        terminal.print(phone)?;
    }
    if !args.quiet {
        let only =
            if phone.is_none() { "Only this computer can open it." } else { "Only this computer can open the first." };
        terminal.note(&format!("{only} Ctrl-C ends it.\n"));
    }
    if !args.no_open && terminal.owns_process && has_screen() {
        open(&server.url());
    }
    let stop = Box::new(move || interrupts.came());
    let mut tell = |event: EntryEvent| terminal.note(&told(&event));
    let unsaved = server.run(stop, &mut tell).map_err(|error| {
        Failure::output(format!("the page can no longer be served: {error}"), "start the command again")
    })?;
    if !unsaved.is_empty() {
        terminal.note("warning: changes made on the page were not saved\n");
    }
    unsaved.iter().for_each(|lost| terminal.note(&format!("{}\n", wrapped("  ", lost))));
    Ok(Outcome::InsideLimits)
}

/// The server with its page for a phone, and the lines that tell of it.
fn with_phone(server: Server, address: Option<IpAddr>, file: &Path) -> Result<(Server, String), Failure> {
    let address = match address {
        Some(address) => address,
        None => own_address().map_err(|error| {
            let what = format!("this computer has no address in a network: {error}");
            Failure::output(what, "join the network of the phone, or name the address: --lan=ADDRESS")
        })?,
    };
    let (server, url, code) = server.with_phone(address, file).map_err(|error| {
        let what = format!("cannot serve a page at {address}: {error}");
        Failure::output(what, "give an address of this computer, --lan=ADDRESS, or leave --lan out")
    })?;
    Ok((server, format!("{url}  for a phone in the same network, code {code}\n")))
}

fn one_address(text: &str) -> Result<IpAddr, String> {
    let address = text.parse().ok().filter(|address: &IpAddr| !address.is_unspecified() && !address.is_multicast());
    address.ok_or_else(|| "write one address of this computer, for example 192.168.1.20".to_owned())
}

/// The address from which this computer would speak to others; nothing is sent.
fn own_address() -> io::Result<IpAddr> {
    let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0))?;
    socket.connect((ELSEWHERE, 9))?;
    Ok(socket.local_addr()?.ip())
}

/// Any place that is not here: a network kept for documents.
const ELSEWHERE: Ipv4Addr = Ipv4Addr::new(192, 0, 2, 1);

fn told(event: &EntryEvent) -> String {
    match event {
        EntryEvent::CameIn { next_code } => format!("A phone came in. The code for another one is {next_code}.\n"),
        EntryEvent::WrongCode { left: 0 } => {
            "warning: too many wrong codes; none is taken any more. End this and start it again for a new one.\n".into()
        }
        EntryEvent::WrongCode { left } => format!("warning: a wrong code was typed; {left} more may be.\n"),
    }
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
