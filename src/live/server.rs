//! The server of the page: its own files, the car as JSON, and changes of it.

use std::io;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::Path;
use std::sync::atomic::AtomicU64;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use axum::extract::{DefaultBodyLimit, Query, State};
use axum::middleware;
use axum::routing::{get, post};
use axum::{Json, Router};
use serde::{Deserialize, Serialize};
use tokio::sync::Semaphore;

use super::assets::ASSETS;
use super::beside::KnownBeside;
use super::connections::Connections;
use super::guard::{Guard, MAX_AT_WORK, MAX_BODY_BYTES, admitted};
use super::odds::{KnownOdds, OddsView};
use super::phone::{self, EntryEvent, Phone};
use super::refusal::Refusal;
use super::session::Session;
use super::steps::{nudge, walk};
use super::tuning::{Tuning, TuningView};
use super::view::{Show, Shown, View, view};

/// Says when the server shall end.
pub type Stop = Box<dyn Fn() -> bool + Send + Sync>;

/// How often a wish to end is looked for, and what there is to tell.
const LOOK_EVERY: Duration = Duration::from_millis(50);

/// A server that has its port and waits to be run.
#[derive(Debug)]
pub struct Server {
    listener: std::net::TcpListener,
    address: SocketAddr,
    session: Arc<Mutex<Session>>,
    phone: Option<(std::net::TcpListener, SocketAddr, Arc<Phone>)>,
}

pub(super) struct Shared {
    session: Arc<Mutex<Session>>,
    pub(super) known: Arc<KnownOdds>,
    pub(super) beside: KnownBeside,
    /// Requests that are worked on at the same time.
    at_work: Semaphore,
    /// How many steps a hand has asked for.
    pub(super) steps: AtomicU64,
}

impl Server {
    /// On this computer alone, at this port; 0 for any that is free.
    pub fn bind(session: Session, port: u16) -> io::Result<Self> {
        let (listener, address) = listen(Ipv4Addr::LOCALHOST.into(), port)?;
        Ok(Self { listener, address, session: Arc::new(Mutex::new(session)), phone: None })
    }

    /// With the page for a phone at an address of this computer, for the car of this file; gives what to open there, and the
    /// code.
    pub fn with_phone(self, address: IpAddr, file: &Path) -> io::Result<(Self, String, String)> {
        let (listener, address) = listen(address, 0)?;
        let phone = Arc::new(Phone::of(lock(&self.session).car(), file));
        let code = phone.code();
        Ok((Self { phone: Some((listener, address, phone)), ..self }, format!("http://{address}/"), code))
    }

    /// What to open in a browser.
    pub fn url(&self) -> String {
        format!("http://{}/", self.address)
    }

    /// Answers until `stop` says so; gives what was not saved, a line for each variant. `tell` is given what happens at the page for
    /// a phone.
    pub fn run(self, stop: Stop, tell: &mut dyn FnMut(EntryEvent)) -> io::Result<Vec<String>> {
        let shared = Arc::new(Shared {
            session: Arc::clone(&self.session),
            known: Arc::new(KnownOdds::new()),
            beside: KnownBeside::default(),
            at_work: Semaphore::new(MAX_AT_WORK),
            steps: AtomicU64::new(0),
        });
        let guard = Guard::of_this_computer(self.address.port());
        let runtime = tokio::runtime::Builder::new_current_thread().enable_io().enable_time().build()?;
        let served = runtime.block_on(async {
            let own = axum::serve(Connections::on(self.listener)?, router(shared, guard)).into_future();
            let (phone, of_phone) = match self.phone {
                None => (None, None),
                Some((listener, address, phone)) => {
                    let pages = phone::router(Arc::clone(&phone), address);
                    (Some(phone), Some(axum::serve(Connections::on(listener)?, pages).into_future()))
                }
            };
            let of_phone = async {
                match of_phone {
                    Some(served) => served.await,
                    None => std::future::pending().await,
                }
            };
            let ended = async {
                while !stop() {
                    phone.iter().flat_map(|phone| phone.events()).for_each(&mut *tell);
                    tokio::time::sleep(LOOK_EVERY).await;
                }
            };
            tokio::select! {
                served = own => served,
                served = of_phone => served,
                () = ended => Ok(()),
            }
        });
        served?;
        Ok(lock(&self.session).unsaved())
    }
}

fn listen(address: IpAddr, port: u16) -> io::Result<(std::net::TcpListener, SocketAddr)> {
    let listener = std::net::TcpListener::bind((address, port))?;
    listener.set_nonblocking(true)?;
    let address = listener.local_addr()?;
    Ok((listener, address))
}

/// A request that failed half-way has changed nothing: the car is replaced as a whole.
pub(super) fn lock(session: &Mutex<Session>) -> MutexGuard<'_, Session> {
    session.lock().unwrap_or_else(PoisonError::into_inner)
}

fn router(shared: Arc<Shared>, guard: Guard) -> Router {
    let pages =
        ASSETS.iter().fold(Router::new(), |router, asset| router.route(asset.path, get(move || async move { asset })));
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
        .route("/api/reread", post(reread))
        .route("/api/odds", get(chance))
        .route("/api/tune", get(tuning).post(tune))
        .route("/api/tune/stop", post(stop_tuning))
        .layer(DefaultBodyLimit::max(MAX_BODY_BYTES))
        .layer(middleware::from_fn_with_state(Arc::new(guard), admitted))
        .with_state(shared)
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
    narrow: bool,
    #[serde(default)]
    posture_only: bool,
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
struct TuneRequest {
    revision: u64,
    #[serde(default)]
    run: String,
}

/// What a page asks that wants to know whether it shows what the server has.
#[derive(Debug, Serialize)]
struct Standing {
    revision: u64,
    run: String,
    #[serde(flatten)]
    tuning: TuningView,
}

impl Standing {
    fn of(session: &Session) -> Json<Self> {
        let tuning = session.tuning().map_or_else(TuningView::none, Tuning::view);
        Json(Self { revision: session.revision(), run: session.run().to_owned(), tuning })
    }
}

/// JSON all the same: what a form of another page sends is none.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct NoRequest {}

type Answer = Result<Json<View>, Refusal>;

async fn state(State(shared): State<Arc<Shared>>, Query(asked): Query<StateQuery>) -> Answer {
    let StateQuery { bump_mm, roll_deg, charts, narrow, posture_only } = asked;
    let charts = charts.split(',').filter(|name| !name.is_empty()).map(str::to_owned).collect();
    answered(shared, Show { bump_mm, roll_deg, charts, narrow, posture_only, run: String::new() }, |_| Ok(())).await
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
        Ok(())
    })
    .await
}

async fn save(State(shared): State<Arc<Shared>>, Json(asked): Json<SaveRequest>) -> Answer {
    let SaveRequest { revision, name, show } = asked;
    shown_by(shared, show, move |session| {
        session.expect(revision)?;
        let saved = session.save(name.as_deref())?;
        Ok(Shown::of(session).saved_as(saved))
    })
    .await
}

async fn reread(State(shared): State<Arc<Shared>>, Json(asked): Json<StepRequest>) -> Answer {
    let StepRequest { revision, show } = asked;
    answered(shared, show, move |session| {
        session.expect(revision)?;
        session.read_again()
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

async fn tuning(State(shared): State<Arc<Shared>>) -> Json<Standing> {
    Standing::of(&lock(&shared.session))
}

/// Starts a tuning of the car as it is; its answer is one step that can be undone.
async fn tune(State(shared): State<Arc<Shared>>, Json(asked): Json<TuneRequest>) -> Result<Json<Standing>, Refusal> {
    let (tuning, file, car, standing) = {
        let mut session = lock(&shared.session);
        session.expect_run(&asked.run)?;
        let tuning = session.begin_tuning(asked.revision)?;
        (tuning, session.file().clone(), Arc::clone(session.car()), Standing::of(&session))
    };
    let session = Arc::clone(&shared.session);
    std::thread::spawn(move || {
        // Nobody changes the car meanwhile.
        tuning.end_with(|tuning| {
            let (tuned, did) = tuning.run(&file, &car)?;
            let what = if tuning.is_stopped() { "tuned, stopped early" } else { "tuned" };
            Ok((lock(&session).take(what, &tuned)?, did))
        });
    });
    Ok(standing)
}

async fn stop_tuning(State(shared): State<Arc<Shared>>, Json(_): Json<NoRequest>) -> Json<Standing> {
    let session = lock(&shared.session);
    session.tuning().into_iter().for_each(Tuning::stop);
    Standing::of(&session)
}

/// Changes the car, then shows it.
async fn answered(
    shared: Arc<Shared>,
    show: Show,
    change: impl FnOnce(&mut Session) -> Result<(), Refusal> + Send + 'static,
) -> Answer {
    shown_by(shared, show, |session| {
        change(session)?;
        Ok(Shown::of(session))
    })
    .await
}

/// Shows what `act` makes of the session.
async fn shown_by(
    shared: Arc<Shared>,
    show: Show,
    act: impl FnOnce(&mut Session) -> Result<Shown, Refusal> + Send + 'static,
) -> Answer {
    at_work(shared, move |session, beside| {
        let shown = {
            let mut session = lock(session);
            session.expect_run(&show.run)?;
            act(&mut session)?
        };
        view(shown, &show, beside).map(Json)
    })
    .await
}

/// Does something when its turn has come, away from the thread that reads the network.
pub(super) async fn at_work<T: Send + 'static>(
    shared: Arc<Shared>,
    work: impl FnOnce(&Mutex<Session>, &KnownBeside) -> Result<T, Refusal> + Send + 'static,
) -> Result<T, Refusal> {
    let Ok(_turn) = shared.at_work.acquire().await else { return Err(Refusal::fault("no request is taken any more")) };
    let asked = Arc::clone(&shared);
    let work = move || work(&asked.session, &asked.beside);
    tokio::task::spawn_blocking(work).await.unwrap_or_else(|error| Err(Refusal::fault(error)))
}
