//! One page for a phone at the car, on the network of the shop: readings are typed in there. Only when it is asked for.

mod entry;
mod readings;

use std::net::SocketAddr;
use std::path::Path;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use axum::extract::{DefaultBodyLimit, Request, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::middleware::{self, Next};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use axum::{Json, Router};
use serde::Deserialize;

pub use self::entry::EntryEvent;
use self::entry::{Entered, Entry};
use self::readings::{Gauge, Readings, ReadingsView, TypedReading};
use super::assets::{Asset, PHONE_ASSETS};
use super::guard::{Guard, admitted};
use super::refusal::Refusal;
use super::server::NoRequest;
use crate::geometry::Geometry;

/// Longest body of a request, bytes: a reading takes some hundred.
const MAX_BODY_BYTES: usize = 4 * 1024;

/// What the page for a phone works on.
#[derive(Debug)]
pub(super) struct Phone {
    entry: Entry,
    readings: Mutex<Readings>,
}

impl Phone {
    /// Of a car and the file that it was read from.
    pub(super) fn of(car: &Geometry, file: &Path) -> Self {
        Self { entry: Entry::new(), readings: Mutex::new(Readings::of(&car.name, file, &car.travel)) }
    }

    /// As the terminal shows it.
    pub(super) fn code(&self) -> String {
        self.entry.code()
    }

    /// What happened since this was asked last.
    pub(super) fn events(&self) -> Vec<EntryEvent> {
        self.entry.events()
    }

    /// A change that fails leaves everything as it was.
    fn readings(&self) -> MutexGuard<'_, Readings> {
        self.readings.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Its page and its requests; nothing of the page of the computer is among them.
pub(super) fn router(phone: Arc<Phone>, address: SocketAddr) -> Router {
    let pages = PHONE_ASSETS.iter().fold(Router::new(), |router, asset: &'static Asset| {
        router.route(asset.path, get(move || async move { asset }))
    });
    let inside = Router::new()
        .route("/api/readings", get(view).post(add))
        .route("/api/readings/back", post(take_back))
        .route("/api/readings/new", post(begin_anew))
        .route_layer(middleware::from_fn_with_state(Arc::clone(&phone), with_cookie));
    pages
        .route("/api/code", post(enter))
        .route("/api/inside", get(is_inside))
        .merge(inside)
        .layer(DefaultBodyLimit::max(MAX_BODY_BYTES))
        .layer(middleware::from_fn_with_state(Arc::new(Guard::of_address(address)), admitted))
        .with_state(phone)
}

async fn with_cookie(State(phone): State<Arc<Phone>>, headers: HeaderMap, request: Request, next: Next) -> Response {
    if phone.entry.is_in(&headers) { next.run(request).await } else { Refusal::no_code().into_response() }
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct CodeRequest {
    code: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct AddRequest {
    gauge: Gauge,
    reading: TypedReading,
    /// Also a reading that will be left out.
    #[serde(default)]
    anyway: bool,
}

type Answer = Result<Json<ReadingsView>, Refusal>;

async fn is_inside(State(phone): State<Arc<Phone>>, headers: HeaderMap) -> Json<bool> {
    Json(phone.entry.is_in(&headers))
}

async fn enter(State(phone): State<Arc<Phone>>, Json(asked): Json<CodeRequest>) -> Response {
    match phone.entry.enter(&asked.code) {
        Entered::In { cookie } => (StatusCode::NO_CONTENT, [(header::SET_COOKIE, cookie)]).into_response(),
        Entered::Used => Refusal::used_code().into_response(),
        Entered::Wrong { left } if left > 0 => Refusal::wrong_code(left).into_response(),
        Entered::Wrong { .. } | Entered::Closed => Refusal::closed().into_response(),
    }
}

async fn view(State(phone): State<Arc<Phone>>) -> Answer {
    Ok(Json(phone.readings().view()))
}

async fn add(State(phone): State<Arc<Phone>>, Json(asked): Json<AddRequest>) -> Answer {
    let mut readings = phone.readings();
    readings.add(asked.gauge, asked.reading, asked.anyway)?;
    Ok(Json(readings.view()))
}

async fn take_back(State(phone): State<Arc<Phone>>, Json(_): Json<NoRequest>) -> Answer {
    let mut readings = phone.readings();
    readings.take_back()?;
    Ok(Json(readings.view()))
}

async fn begin_anew(State(phone): State<Arc<Phone>>, Json(_): Json<NoRequest>) -> Answer {
    let mut readings = phone.readings();
    readings.begin_anew();
    Ok(Json(readings.view()))
}
