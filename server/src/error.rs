//! What the server tells a photographer when something cannot be done, and which HTTP status goes with it.

use std::error::Error as _;

use axum::Json;
use axum::http::{HeaderName, StatusCode, header};
use axum::response::{IntoResponse, Response};
use engine::Message;
use serde_json::json;

/// Something that cannot be done.
#[derive(Debug)]
pub enum Error {
    /// What was asked for does not exist.
    Missing(Message),
    /// What was sent cannot be used.
    Unusable(Message),
    /// The file is larger than is read.
    TooLong(Message),
    /// A write came without saying which text it was made from.
    Unmarked(Message),
    /// The text was changed meanwhile: both are kept.
    Stale {
        /// What happened.
        message: Message,
        /// The text as it is now.
        theirs: String,
        /// Its mark.
        hash: String,
    },
    /// A number of the edition that is not free, or a name that is taken.
    Conflict(Message),
    /// A request from another site.
    Foreign(Message),
    /// The computer would not: a full disk, a folder without rights.
    Storage(Failure),
    /// Something of the program's own broke.
    Internal(Failure),
    /// Nothing is written any more until the program is started again: the disk or the record failed.
    Halted(Message),
    /// Too much at once.
    Busy(Message),
    /// Too often from one place.
    Often(Message),
    /// What was sent took too long to arrive.
    Late(Message),
}

/// What failed where nobody asked for anything wrong: what is told of it, and the error it came from, for the log.
#[derive(Debug)]
pub struct Failure {
    message: Message,
    cause: Option<Box<dyn std::error::Error + Send + Sync>>,
}

impl From<Message> for Failure {
    fn from(message: Message) -> Self {
        Self { message, cause: None }
    }
}

impl Error {
    /// What is wrong and what to do next.
    pub fn message(&self) -> &Message {
        match self {
            Self::Storage(failure) | Self::Internal(failure) => &failure.message,
            Self::Missing(message)
            | Self::Unusable(message)
            | Self::TooLong(message)
            | Self::Unmarked(message)
            | Self::Stale { message, .. }
            | Self::Conflict(message)
            | Self::Foreign(message)
            | Self::Halted(message)
            | Self::Busy(message)
            | Self::Often(message)
            | Self::Late(message) => message,
        }
    }

    /// The one table from refusal to status.
    pub fn status(&self) -> StatusCode {
        match self {
            Self::Missing(_) => StatusCode::NOT_FOUND,
            Self::Unusable(_) => StatusCode::UNPROCESSABLE_ENTITY,
            Self::TooLong(_) => StatusCode::PAYLOAD_TOO_LARGE,
            Self::Unmarked(_) => StatusCode::PRECONDITION_REQUIRED,
            Self::Stale { .. } => StatusCode::PRECONDITION_FAILED,
            Self::Conflict(_) => StatusCode::CONFLICT,
            Self::Foreign(_) => StatusCode::FORBIDDEN,
            Self::Storage(_) | Self::Halted(_) => StatusCode::INSUFFICIENT_STORAGE,
            Self::Internal(_) => StatusCode::INTERNAL_SERVER_ERROR,
            Self::Busy(_) => StatusCode::SERVICE_UNAVAILABLE,
            Self::Often(_) => StatusCode::TOO_MANY_REQUESTS,
            Self::Late(_) => StatusCode::REQUEST_TIMEOUT,
        }
    }

    /// Another program writes into the record just now.
    pub(crate) fn record_held() -> Self {
        Self::Busy(Message::new("another program holds the notebook's record", "close it and try again in a moment"))
    }

    /// There is no such thing here.
    pub fn missing(what: impl Into<String>, next: impl Into<String>) -> Self {
        Self::Missing(Message::new(what, next))
    }

    /// What was sent cannot be used.
    pub fn unusable(what: impl Into<String>, next: impl Into<String>) -> Self {
        Self::Unusable(Message::new(what, next))
    }

    /// Something is there already.
    pub fn taken(what: impl Into<String>, next: impl Into<String>) -> Self {
        Self::Conflict(Message::new(what, next))
    }

    /// The computer would not.
    pub fn storage(what: impl Into<String>, next: impl Into<String>) -> Self {
        Self::Storage(Message::new(what, next).into())
    }

    /// Something of the program's own broke.
    pub fn internal(what: impl Into<String>, next: impl Into<String>) -> Self {
        Self::Internal(Message::new(what, next).into())
    }

    /// The same, with the error it came from.
    #[must_use]
    pub fn because(mut self, error: impl Into<Box<dyn std::error::Error + Send + Sync>>) -> Self {
        if let Self::Storage(failure) | Self::Internal(failure) = &mut self {
            failure.cause = Some(error.into());
        }
        self
    }

    /// The errors it came from, the nearest first, in one line for the log.
    pub fn causes(&self) -> String {
        self.source().map_or_else(String::new, in_line)
    }
}

/// An error and those it came from, in one line.
fn in_line(error: &(dyn std::error::Error + 'static)) -> String {
    let all: Vec<_> = std::iter::successors(Some(error), |error| (*error).source()).map(ToString::to_string).collect();
    all.join(": ")
}

impl std::fmt::Display for Error {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.message().fmt(f)
    }
}

impl std::error::Error for Error {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Storage(failure) | Self::Internal(failure) => failure.cause.as_deref().map(|cause| cause as _),
            _ => None,
        }
    }
}

impl From<std::io::Error> for Error {
    fn from(error: std::io::Error) -> Self {
        use std::io::ErrorKind as K;
        let (what, next) = match error.kind() {
            K::StorageFull | K::QuotaExceeded | K::FileTooLarge => {
                ("the disk is full".to_owned(), "make room on it and save again; what you wrote is still on this page")
            }
            K::PermissionDenied | K::ReadOnlyFilesystem => (
                "this folder cannot be written to".to_owned(),
                "give yourself the right to write in it and save again; what you wrote is still on this page",
            ),
            K::NotFound => (
                "the file is no longer there".to_owned(),
                "it was moved or deleted outside; put it back, or save the text under a new name",
            ),
            _ => (
                format!("this could not be done: {}", in_line(&error)),
                "try again; what you wrote is still on this page",
            ),
        };
        Self::storage(what, next).because(error)
    }
}

impl From<rusqlite::Error> for Error {
    fn from(error: rusqlite::Error) -> Self {
        use rusqlite::ErrorCode as C;
        // Its own numbers, from the library's list of result codes: a sync of a file or of a folder failed.
        const SYNCS: [i32; 2] = [10 | (4 << 8), 10 | (5 << 8)];
        let extended = error.sqlite_error().map(|error| error.extended_code);
        if extended.is_some_and(|code| SYNCS.contains(&code)) {
            tracing::error!(error = %error, "the disk did not keep what was written to it");
            return Self::Halted(Message::new(
                "the disk did not keep what was written to it, so nothing more is saved",
                "check the disk, then start the program again; all that was said to be saved is safe",
            ));
        }
        let mapped = match error.sqlite_error_code() {
            Some(C::SystemIoFailure) => Self::storage(
                "the disk would not take what was to be written into the notebook's record",
                "see that the disk has room and is well, and save again; what you wrote is still on this page",
            ),
            Some(C::DatabaseCorrupt | C::NotADatabase) => Self::storage(
                "the notebook's record is damaged",
                "end the program, put the record aside and bring back a copy; the plans are plain files and are not touched",
            ),
            Some(C::DiskFull) => Self::storage(
                "the disk is full, and the notebook's record could not be written",
                "make room on it and save again; what you wrote is still on this page",
            ),
            Some(C::DatabaseBusy | C::DatabaseLocked) => Self::record_held(),
            Some(C::ReadOnly | C::CannotOpen | C::PermissionDenied) => Self::storage(
                "the notebook's record cannot be written",
                "give yourself the right to write in the notebook's folder",
            ),
            _ => Self::storage(
                format!("the notebook's record could not be used: {error}"),
                "keep the folder as it is and start again; nothing is overwritten",
            ),
        };
        mapped.because(error)
    }
}

impl IntoResponse for Error {
    fn into_response(self) -> Response {
        let status = self.status();
        if matches!(self, Self::Storage(_) | Self::Halted(_)) {
            tracing::error!(error.what = %self.message().what, error.causes = %self.causes(), "the computer refused");
        }
        if matches!(self, Self::Internal(_)) {
            tracing::error!(error.what = %self.message().what, error.causes = %self.causes(), "the program broke");
        }
        let message = self.message();
        let body = match &self {
            Self::Stale { theirs, hash, .. } => {
                json!({"what": message.what, "next": message.next, "theirs": theirs, "etag": hash})
            }
            _ => json!({"what": message.what, "next": message.next}),
        };
        let mut response = (status, Json(body)).into_response();
        response.extensions_mut().insert(message.clone());
        let wait = match self {
            Self::Busy(_) => Some("2"),
            Self::Often(_) => Some("60"),
            _ => None,
        };
        if let Some(seconds) = wait {
            response.headers_mut().insert(header::RETRY_AFTER, axum::http::HeaderValue::from_static(seconds));
        }
        response
            .headers_mut()
            .insert(HeaderName::from_static("cache-control"), axum::http::HeaderValue::from_static("no-store"));
        response
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_failed_keeps_its_cause_with_the_path_and_what_was_done() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("none/plan.md");
        let mapped = Error::from(fs_err::write(&path, "text").unwrap_err());
        assert_eq!(mapped.status(), StatusCode::INSUFFICIENT_STORAGE);
        let causes = mapped.causes();
        assert!(causes.contains(&path.display().to_string()) && causes.contains("create"), "{causes}");
        let mapped = Error::from(rusqlite::Error::InvalidQuery);
        assert!(mapped.source().is_some_and(|error| error.is::<rusqlite::Error>()), "{mapped:?}");
    }

    #[test]
    fn what_broke_in_the_program_is_no_fault_of_the_disk() {
        let mapped = Error::internal("this page could not be made", "tell us").because("no such template");
        assert_eq!(mapped.status(), StatusCode::INTERNAL_SERVER_ERROR);
        assert_eq!(mapped.causes(), "no such template");
        assert_eq!(
            Error::missing("none", "go back").because("a cause").causes(),
            "",
            "what was asked for has no cause"
        );
    }
}
