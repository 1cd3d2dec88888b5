//! The page of `hubtrace live`: its server over plain sockets, and the page in a real browser.

mod browser;
mod chromium;
mod guards;
mod page;
mod phone;
mod posed;
mod program;
mod session;
mod variants;
mod walk;
