//! A car on a page of this computer: nudge a point, see curves and limits move.
//!
//! Computes nothing of its own. `session` keeps one car or two variants of it (`variant`: a file with what was changed since it was read, undo and redo); `view` is what the
//! page is told of it, in the words of `present` and the charts of `outputs` (`points`, `results`, `posture`, and `odds`, the
//! answer that follows; `beside` keeps the car that it is compared with); `tuning` is a search that runs beside the page; `guard` says who may ask, `connections` how many at once; `server` answers, and `steps` tells what may come after a step; `assets` is the
//! page. `phone` is another, small page on the network of the shop, when it is asked for: readings are typed in there. A request carries the revision that it was made on, an answer the one that it shows.

mod assets;
mod beside;
mod connections;
mod guard;
mod odds;
mod phone;
mod points;
mod posture;
mod refusal;
mod results;
mod server;
mod session;
mod steps;
mod tuning;
mod variant;
mod view;

pub use phone::EntryEvent;
pub use server::{Server, Stop};
pub use session::Session;
