//! Why a request was not done, and what to do instead: shown where the hand is.

use axum::Json;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use serde::Serialize;

/// A request that changed nothing.
#[derive(Debug, Clone, Serialize)]
pub(super) struct Refusal {
    #[serde(skip)]
    status: StatusCode,
    /// What was found.
    pub what: String,
    /// What to do about it.
    pub advice: String,
    /// Another name under which a file can be saved.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub other_name: Option<String>,
    /// The same request, made once more on purpose, will be done: what the button says that makes it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ask_again: Option<String>,
    /// The box of the page that holds what was found.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub field: Option<&'static str>,
}

impl Refusal {
    fn new(status: StatusCode, what: impl ToString, advice: impl ToString) -> Self {
        let (what, advice) = (what.to_string(), advice.to_string());
        Self { status, what, advice, other_name: None, ask_again: None, field: None }
    }

    /// The car cannot be changed like that.
    pub(super) fn unsound(what: impl ToString, advice: impl ToString) -> Self {
        Self::new(StatusCode::UNPROCESSABLE_ENTITY, what, advice)
    }

    /// To be asked once more before it is done, by a button that says so.
    pub(super) fn unsure(what: impl ToString, advice: impl ToString, button: String) -> Self {
        Self { ask_again: Some(button), ..Self::unsound(what, advice) }
    }

    /// In this box of the page, if it is in one.
    pub(super) fn in_field(self, field: Option<&'static str>) -> Self {
        Self { field, ..self }
    }

    /// The page shows an older car than the server has.
    pub(super) fn stale() -> Self {
        Self::new(
            StatusCode::CONFLICT,
            "the car was changed from another window",
            "look at it as it is now, then go on",
        )
    }

    /// The page shows a car of a program that has ended since.
    pub(super) fn started_anew() -> Self {
        let what = "hubtrace was started anew since this page was loaded";
        Self::new(StatusCode::CONFLICT, what, "the page shows the car that it has now")
    }

    /// What was changed meanwhile would be lost with the tuned car, or the tuned car with it.
    pub(super) fn being_tuned() -> Self {
        Self::new(StatusCode::CONFLICT, "the car is being tuned", "wait until that is done, or press Stop tuning")
    }

    /// One tuning at a time.
    pub(super) fn busy() -> Self {
        Self::new(StatusCode::CONFLICT, "a tuning runs already", "wait for it, or stop it")
    }

    /// A file that may not be written.
    pub(super) fn unsaved(what: impl ToString, advice: impl ToString, other_name: Option<String>) -> Self {
        Self { other_name, ..Self::new(StatusCode::CONFLICT, what, advice) }
    }

    /// From another page or computer.
    pub(super) fn foreign(what: &str) -> Self {
        Self::new(StatusCode::FORBIDDEN, what, "open the address that hubtrace printed")
    }

    /// Nobody comes in without the code of the terminal.
    pub(super) fn no_code() -> Self {
        Self::new(StatusCode::UNAUTHORIZED, "this page needs the code", "type the code that the terminal shows")
    }

    /// Not that one.
    pub(super) fn wrong_code(left: u32) -> Self {
        let advice = format!("type the code that the terminal shows; {left} more may be wrong");
        Self::new(StatusCode::UNAUTHORIZED, "that is not the code", advice)
    }

    /// It was the right one once.
    pub(super) fn used_code() -> Self {
        let what = "that code was used already: each one lets one phone in";
        Self::new(StatusCode::UNAUTHORIZED, what, "type the code that the terminal shows now")
    }

    /// Too many were wrong.
    pub(super) fn closed() -> Self {
        let what = "too many codes were wrong; none is taken any more";
        Self::new(StatusCode::FORBIDDEN, what, "end hubtrace in its terminal and start it again for a new code")
    }

    /// More than the server takes on.
    pub(super) fn too_much(status: StatusCode, what: &str) -> Self {
        Self::new(status, what, "ask again a moment later")
    }

    /// A fault of the program.
    pub(super) fn fault(what: impl ToString) -> Self {
        let what = format!("a fault of hubtrace itself, not of your car: {}", what.to_string());
        Self::new(StatusCode::INTERNAL_SERVER_ERROR, what, "report this message and send the file")
    }
}

impl IntoResponse for Refusal {
    fn into_response(self) -> Response {
        (self.status, Json(self)).into_response()
    }
}
