//! The page of `hubtrace live`: its server over plain sockets, and the page in a real browser.

mod browser;
mod built;
mod chromium;
mod guards;
mod page;
mod phone;
mod posed;
mod program;
mod session;
mod typed;
mod variants;
mod walk;
mod windows;
