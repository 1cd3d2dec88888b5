//! Steps of a hand: a point moved, and what the car would show after the steps that may come next.
//!
//! An answer is lines of JSON: the step as soon as it is taken, then a line for each step ahead, the likeliest first. A newer step
//! ends them: it never waits for one that is not begun.

use std::sync::Arc;
use std::sync::atomic::Ordering;

use axum::Json;
use axum::body::Body;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use futures_util::stream;
use nalgebra::Point3;
use serde::{Deserialize, Serialize};
use tokio::sync::mpsc::unbounded_channel;

use super::refusal::Refusal;
use super::server::{Shared, at_work, lock};
use super::session::Session;
use super::variant::{Nudge, Walk, point_named};
use super::view::{Show, Shown, view};
use crate::geometry::{CornerPoint, Side};

/// So many steps are looked at ahead of the hand.
const MAX_AHEAD: usize = 8;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct NudgeRequest {
    revision: u64,
    right: bool,
    point: String,
    to_mm: [f64; 3],
    gesture: u64,
    /// Where the hand may go after that.
    #[serde(default)]
    then: Vec<[f64; 3]>,
    show: Show,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct WalkRequest {
    revision: u64,
    right: bool,
    point: String,
    towards: [f64; 3],
    step_mm: f64,
    /// How far the hand may go after that, the same way.
    #[serde(default)]
    then: Vec<f64>,
    show: Show,
}

type Answer = Result<Response, Refusal>;

pub(super) async fn nudge(State(shared): State<Arc<Shared>>, Json(asked): Json<NudgeRequest>) -> Answer {
    let NudgeRequest { revision, right, point, to_mm, gesture, then, show } = asked;
    moved(shared, show, (revision, right, point), (to_mm, then), move |session, (side, point), to_mm| {
        session.nudge(Nudge { side, point, to: Point3::from(to_mm), gesture })
    })
    .await
}

pub(super) async fn walk(State(shared): State<Arc<Shared>>, Json(asked): Json<WalkRequest>) -> Answer {
    let WalkRequest { revision, right, point, towards, step_mm, then, show } = asked;
    moved(shared, show, (revision, right, point), (step_mm, then), move |session, (side, point), step_mm| {
        session.walk(Walk { side, point, towards, step_mm })
    })
    .await
}

/// Moves a point and shows the car; then tells of each step ahead all that it would show, or `null` when the car cannot take it.
async fn moved<S: Send + 'static>(
    shared: Arc<Shared>,
    show: Show,
    (revision, right, point): (u64, bool, String),
    (step, then): (S, Vec<S>),
    take: impl Fn(&mut Session, (Side, CornerPoint), S) -> Result<(), Refusal> + Send + Sync + 'static,
) -> Answer {
    let number = shared.steps.fetch_add(1, Ordering::Relaxed) + 1;
    let whole = Show { posture_only: false, ..show.clone() };
    let taken = at_work(Arc::clone(&shared), move |session, beside| {
        let mut session = lock(session);
        session.expect_run(&show.run)?;
        let picked = picked(&session, revision, right, &point)?;
        take(&mut session, picked, step)?;
        let (shown, moved) = (Shown::of(&session), session.clone());
        drop(session);
        Ok((line(&view(shown, &show, beside)?), moved, picked, take))
    });
    let (first, moved, picked, take) = taken.await?;
    let (lines, told) = unbounded_channel();
    // The page may be gone already.
    let _ = lines.send(first);
    tokio::task::spawn_blocking(move || {
        let is_newest = |_: &S| shared.steps.load(Ordering::Relaxed) == number;
        let ahead = |step: S| {
            let mut ahead = moved.clone();
            take(&mut ahead, picked, step)?;
            view(Shown::of(&ahead), &whole, &shared.beside)
        };
        let then = then.into_iter().take(MAX_AHEAD).take_while(is_newest);
        shared.known.aside(|| then.for_each(|step| drop(lines.send(line(&ahead(step).ok())))));
    });
    let told = stream::unfold(told, |mut told| async move { Some((told.recv().await?, told)) });
    Ok(([(header::CONTENT_TYPE, "application/x-ndjson")], Body::from_stream(told)).into_response())
}

/// The point that a request on this revision is about.
fn picked(session: &Session, revision: u64, right: bool, point: &str) -> Result<(Side, CornerPoint), Refusal> {
    session.expect(revision)?;
    let side = if right { Side::Right } else { Side::Left };
    Ok((side, point_named(session.car().corner(side), point)?))
}

fn line(shown: &impl Serialize) -> serde_json::Result<String> {
    Ok(serde_json::to_string(shown)? + "\n")
}
