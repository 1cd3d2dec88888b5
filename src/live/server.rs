//! The server of the page: its own files, the car as JSON, and changes of it.

use std::io;
use std::net::{Ipv4Addr, SocketAddr};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use axum::extract::{DefaultBodyLimit, Query, Request, State};
use axum::http::{HeaderValue, StatusCode, header};
use axum::middleware::{self, Next};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use axum::{Json, Router};
use nalgebra::Point3;
use serde::Deserialize;
use tokio::net::TcpListener;
use tokio::sync::Semaphore;

use super::assets::{ASSETS, Asset};
use super::guard::{CONTENT_POLICY, Guard, MAX_AT_WORK, MAX_BODY_BYTES, MAX_WAIT};
use super::odds::{KnownOdds, OddsView};
use super::refusal::Refusal;
use super::session::{Nudge, Session, Walk, point_named};
use super::tuning::TuningView;
use super::view::{Show, Shown, View, view};
use crate::geometry::Side;

/// Says when the server shall end.
pub type Stop = Box<dyn Fn() -> bool + Send + Sync>;

/// How often a wish to end is looked for.
const LOOK_EVERY: Duration = Duration::from_millis(50);

/// A server that has its port and waits to be run.
#[derive(Debug)]
pub struct Server {
    listener: std::net::TcpListener,
    address: SocketAddr,
    session: Arc<Mutex<Session>>,
}

struct Shared {
    session: Arc<Mutex<Session>>,
    guard: Guard,
    known: Arc<KnownOdds>,
    /// Requests that are worked on at the same time.
    at_work: Semaphore,
}

impl Server {
    /// On this computer alone, at this port; 0 for any that is free.
    pub fn bind(session: Session, port: u16) -> io::Result<Self> {
        let listener = std::net::TcpListener::bind((Ipv4Addr::LOCALHOST, port))?;
        listener.set_nonblocking(true)?;
        let address = listener.local_addr()?;
        Ok(Self { listener, address, session: Arc::new(Mutex::new(session)) })
    }

    /// What to open in a browser.
    pub fn url(&self) -> String {
        format!("http://{}/", self.address)
    }

    /// Answers until `stop` says so; true when changes were not saved.
    pub fn run(self, stop: Stop) -> io::Result<bool> {
        let shared = Arc::new(Shared {
            session: Arc::clone(&self.session),
            guard: Guard::of_this_computer(self.address.port()),
            known: Arc::new(KnownOdds::default()),
            at_work: Semaphore::new(MAX_AT_WORK),
        });
        let runtime = tokio::runtime::Builder::new_current_thread().enable_io().enable_time().build()?;
        let served = runtime.block_on(async {
            let listener = TcpListener::from_std(self.listener)?;
            let ended = async {
                while !stop() {
                    tokio::time::sleep(LOOK_EVERY).await;
                }
            };
            tokio::select! {
                served = axum::serve(listener, router(shared)) => served,
                () = ended => Ok(()),
            }
        });
        served?;
        Ok(lock(&self.session).has_unsaved())
    }
}

/// A request that failed half-way has changed nothing: the car is replaced as a whole.
fn lock(session: &Mutex<Session>) -> MutexGuard<'_, Session> {
    session.lock().unwrap_or_else(PoisonError::into_inner)
}

fn router(shared: Arc<Shared>) -> Router {
    let pages = ASSETS
        .iter()
        .fold(Router::new(), |router, asset| router.route(asset.path, get(move || async move { file(asset) })));
    pages
        .route("/api/state", get(state))
        .route("/api/nudge", post(nudge))
        .route("/api/walk", post(walk))
        .route("/api/undo", post(undo))
        .route("/api/redo", post(redo))
        .route("/api/pin", post(pin))
        .route("/api/copy", post(copy))
        .route("/api/switch", post(switch))
        .route("/api/save", post(save))
        .route("/api/odds", get(chance))
        .route("/api/tune", get(tuning).post(tune))
        .route("/api/tune/stop", post(stop_tuning))
        .layer(DefaultBodyLimit::max(MAX_BODY_BYTES))
        .layer(middleware::from_fn_with_state(Arc::clone(&shared), admitted))
        .with_state(shared)
}

async fn admitted(State(shared): State<Arc<Shared>>, request: Request, next: Next) -> Response {
    let mut response = match shared.guard.admit(request.headers()) {
        Err(refusal) => refusal.into_response(),
        Ok(()) => match tokio::time::timeout(MAX_WAIT, next.run(request)).await {
            Ok(response) => response,
            // Not 408: a browser sends such a request again by itself, and the car may have changed already.
            Err(_) => Refusal::too_much(StatusCode::SERVICE_UNAVAILABLE, "the request took too long").into_response(),
        },
    };
    let headers = response.headers_mut();
    headers.insert(header::CONTENT_SECURITY_POLICY, HeaderValue::from_static(CONTENT_POLICY));
    headers.insert(header::X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff"));
    headers.insert(header::REFERRER_POLICY, HeaderValue::from_static("no-referrer"));
    headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    response
}

fn file(asset: &'static Asset) -> Response {
    ([(header::CONTENT_TYPE, asset.kind)], asset.body).into_response()
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct StateQuery {
    #[serde(default)]
    bump_mm: f64,
    #[serde(default)]
    roll_deg: f64,
    /// File names with commas between them.
    #[serde(default)]
    charts: String,
    #[serde(default)]
    posture_only: bool,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct NudgeRequest {
    revision: u64,
    right: bool,
    point: String,
    to_mm: [f64; 3],
    gesture: u64,
    show: Show,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct WalkRequest {
    revision: u64,
    right: bool,
    point: String,
    towards: [f64; 3],
    step_mm: f64,
    show: Show,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct StepRequest {
    revision: u64,
    show: Show,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct SaveRequest {
    revision: u64,
    name: Option<String>,
    show: Show,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RevisionRequest {
    revision: u64,
}

/// JSON all the same: what a form of another page sends is none.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct NoRequest {}

type Answer = Result<Json<View>, Refusal>;

async fn state(State(shared): State<Arc<Shared>>, Query(asked): Query<StateQuery>) -> Answer {
    let StateQuery { bump_mm, roll_deg, charts, posture_only } = asked;
    let charts = charts.split(',').filter(|name| !name.is_empty()).map(str::to_owned).collect();
    answered(shared, Show { bump_mm, roll_deg, charts, posture_only }, |_| Ok(None)).await
}

async fn nudge(State(shared): State<Arc<Shared>>, Json(asked): Json<NudgeRequest>) -> Answer {
    let NudgeRequest { revision, right, point, to_mm, gesture, show } = asked;
    answered(shared, show, move |session| {
        session.expect(revision)?;
        let side = if right { Side::Right } else { Side::Left };
        let point = point_named(session.car().corner(side), &point)?;
        session.nudge(Nudge { side, point, to: Point3::from(to_mm), gesture })?;
        Ok(None)
    })
    .await
}

async fn walk(State(shared): State<Arc<Shared>>, Json(asked): Json<WalkRequest>) -> Answer {
    let WalkRequest { revision, right, point, towards, step_mm, show } = asked;
    answered(shared, show, move |session| {
        session.expect(revision)?;
        let side = if right { Side::Right } else { Side::Left };
        let point = point_named(session.car().corner(side), &point)?;
        session.walk(Walk { side, point, towards, step_mm })?;
        Ok(None)
    })
    .await
}

async fn undo(shared: State<Arc<Shared>>, asked: Json<StepRequest>) -> Answer {
    step(shared, asked, Session::undo).await
}

async fn redo(shared: State<Arc<Shared>>, asked: Json<StepRequest>) -> Answer {
    step(shared, asked, Session::redo).await
}

async fn pin(shared: State<Arc<Shared>>, asked: Json<StepRequest>) -> Answer {
    step(shared, asked, Session::pin).await
}

async fn copy(shared: State<Arc<Shared>>, asked: Json<StepRequest>) -> Answer {
    step(shared, asked, Session::copy).await
}

async fn switch(shared: State<Arc<Shared>>, asked: Json<StepRequest>) -> Answer {
    step(shared, asked, Session::switch).await
}

async fn step(State(shared): State<Arc<Shared>>, Json(asked): Json<StepRequest>, act: fn(&mut Session)) -> Answer {
    let StepRequest { revision, show } = asked;
    answered(shared, show, move |session| {
        session.expect(revision)?;
        act(session);
        Ok(None)
    })
    .await
}

async fn save(State(shared): State<Arc<Shared>>, Json(asked): Json<SaveRequest>) -> Answer {
    let SaveRequest { revision, name, show } = asked;
    answered(shared, show, move |session| {
        session.expect(revision)?;
        session.save(name.as_deref()).map(Some)
    })
    .await
}

async fn chance(State(shared): State<Arc<Shared>>) -> Result<Json<OddsView>, Refusal> {
    let Ok(_turn) = shared.at_work.acquire().await else { return Err(Refusal::fault("no request is taken any more")) };
    let (revision, cars) = {
        let session = lock(&shared.session);
        let (beside, letter) = session.beside();
        let other = letter.map(|letter| (letter, Arc::clone(beside)));
        (session.revision(), std::iter::once((session.letter(), Arc::clone(session.car()))).chain(other).collect())
    };
    let known = Arc::clone(&shared.known);
    tokio::task::spawn_blocking(move || Json(known.view(revision, cars))).await.map_err(Refusal::fault)
}

async fn tuning(State(shared): State<Arc<Shared>>) -> Json<TuningView> {
    Json(lock(&shared.session).tuning().map_or_else(TuningView::none, |tuning| tuning.view()))
}

/// Starts a tuning of the car as it is; its answer is one step that can be undone.
async fn tune(
    State(shared): State<Arc<Shared>>,
    Json(asked): Json<RevisionRequest>,
) -> Result<Json<TuningView>, Refusal> {
    let (tuning, file, car) = {
        let mut session = lock(&shared.session);
        session.expect(asked.revision)?;
        (session.begin_tuning()?, session.file().clone(), Arc::clone(session.car()))
    };
    let (running, session) = (tuning.clone(), Arc::clone(&shared.session));
    std::thread::spawn(move || {
        let tuned = running.run(&file, &car).and_then(|tuned| {
            let mut session = lock(&session);
            session.expect(asked.revision)?;
            session.take("tuned", &tuned)
        });
        running.finish(match tuned {
            Ok(()) => "Tuned; undo takes it back.".to_owned(),
            Err(refusal) => format!("Not tuned: {}; {}.", refusal.what, refusal.advice),
        });
    });
    Ok(Json(tuning.view()))
}

async fn stop_tuning(State(shared): State<Arc<Shared>>, Json(_): Json<NoRequest>) -> Json<TuningView> {
    Json(lock(&shared.session).tuning().map_or_else(TuningView::none, |tuning| {
        tuning.stop();
        tuning.view()
    }))
}

/// Changes the car, then shows it, away from the thread that reads the network.
async fn answered(
    shared: Arc<Shared>,
    show: Show,
    change: impl FnOnce(&mut Session) -> Result<Option<String>, Refusal> + Send + 'static,
) -> Answer {
    let Ok(_turn) = shared.at_work.acquire().await else { return Err(Refusal::fault("no request is taken any more")) };
    let session = Arc::clone(&shared.session);
    let work = move || {
        let shown = {
            let mut session = lock(&session);
            let saved = change(&mut session)?;
            let shown = Shown::of(&session);
            match saved {
                Some(name) => shown.saved_as(name),
                None => shown,
            }
        };
        view(shown, &show).map(Json)
    };
    tokio::task::spawn_blocking(work).await.unwrap_or_else(|error| Err(Refusal::fault(error)))
}
