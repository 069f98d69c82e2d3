//! The table of every address, and what each request passes on its way to a page and back. Pages know none of it.

use axum::Router;
use axum::http::{HeaderName, HeaderValue, StatusCode, header};
use axum::middleware;
use axum::response::{IntoResponse as _, Response};
use axum::routing::{get, post};
use tower::ServiceBuilder;
use tower_http::catch_panic::CatchPanicLayer;

use crate::error::Error;
use crate::state::App;
use crate::{assets, guard, pages};

/// Every address there is.
pub fn app(state: App) -> Router {
    let pages = Router::new()
        .route("/", get(pages::wall::get))
        .route("/begin", get(pages::begin::get).post(pages::begin::post))
        .route("/begin/draft", post(pages::begin::draft))
        .route("/plan/{name}", get(pages::plan::get))
        .route("/plan/{name}/sheet", get(pages::plan::sheet))
        .route("/plan/{name}/text", get(pages::plan::text).put(pages::plan::put))
        .route("/plan/{name}/draft", post(pages::plan::draft))
        .route("/plan/{name}/given", post(pages::plan::given))
        .route("/plan/{name}/tick", post(pages::plan::tick))
        .route("/plan/{name}/shop", post(pages::plan::shop))
        .route("/plan/{name}/ledger", get(pages::ledger::get).post(pages::ledger::post))
        .route("/plan/{name}/certificate/{print}", get(pages::certificate::draft).post(pages::certificate::issue))
        .route("/certificate", get(pages::certificate::find))
        .route("/certificate/{code}", get(pages::certificate::get))
        .route("/certificate/{code}/paper.pdf", get(pages::certificate::pdf))
        .route("/plan/{name}/archive", get(pages::archive::get))
        .route("/plan/{name}/hold", post(pages::moves::hold))
        .route("/plan/{name}/happened", post(pages::actuals::post))
        .route("/plan/{name}/history", get(pages::history::get))
        .route("/plan/{name}/compare", get(pages::history::two))
        .route("/plan/{name}/restore", post(pages::history::restore))
        .route("/plan/{name}/copy", post(pages::begin::next))
        .route("/plan/{name}/values", get(pages::plan::values))
        .route("/plan/{name}/ticket/{role}", get(pages::ticket::get))
        .route("/plan/{name}/ticket/{role}/paper.css", get(pages::ticket::paper))
        .route("/plan/{name}/ticket/{role}/paper.pdf", get(pages::ticket::pdf))
        .route("/plan/{name}/ticket/{role}/issue/{number}", get(pages::ticket::issued))
        .route("/plan/{name}/paper.pdf", get(pages::plan::pdf))
        .route("/plan/{name}/links", get(pages::links::get).post(pages::links::post))
        .route("/plan/{name}/links/{id}/revoke", post(pages::links::revoke))
        .route("/plan/{name}/calendar", post(pages::calendar::post))
        .route("/plan/{name}/calendar/{id}/renew", post(pages::calendar::renew))
        .route("/plan/{name}/calendar/{id}/revoke", post(pages::calendar::revoke))
        .route("/c/{token}/steps.ics", get(pages::calendar::subscribed))
        .route("/t/{token}", get(pages::links::shop))
        .route("/t/{token}/paper.css", get(pages::links::paper))
        .route("/t/{token}/paper.pdf", get(pages::links::pdf))
        .route("/login", get(pages::login::get).post(pages::login::post))
        .route("/logout", post(pages::login::leave))
        .route("/plan/{name}/ticket/{role}/issue", post(pages::ticket::issue))
        .route("/plan/{name}/calendar.ics", get(pages::calendar::get))
        .route("/plan/{name}/tables/{table}", get(pages::tables::get))
        .route("/year", get(pages::year::get))
        .route("/join", post(pages::join::post))
        .route("/import", post(pages::archive::post))
        .route("/rates", get(pages::rates::get))
        .route("/rates/begin", get(pages::new_shop::get).post(pages::new_shop::post))
        .route("/rates/{name}", get(pages::rates::sheet))
        .route("/rates/{name}/prices", post(pages::prices::post))
        .route("/rates/{name}/sheet", get(pages::plan::sheet))
        .route("/rates/{name}/text", get(pages::plan::text).put(pages::plan::put))
        .route("/rates/{name}/draft", post(pages::plan::draft))
        .route("/rates/{name}/given", post(pages::plan::given))
        .route("/rates/{name}/tick", post(pages::plan::tick))
        .route("/rates/{name}/moves", post(pages::moves::post))
        .route("/rates/{name}/line", post(pages::moves::line))
        .route("/rates/{name}/history", get(pages::history::get))
        .route("/rates/{name}/compare", get(pages::history::two))
        .route("/rates/{name}/restore", post(pages::history::restore))
        .route("/reference", get(pages::reference::get))
        .route("/events", get(pages::events::get))
        .route("/a/{mark}/{*file}", get(assets::get))
        .fallback(pages::missing);
    guarded(pages, state)
}

/// Pages behind all that a request passes on its way to them, and an answer on its way back.
fn guarded(pages: Router<App>, state: App) -> Router {
    // In one piece, because every layer laid by itself is one more copy of the whole for each request.
    let layers = ServiceBuilder::new()
        .layer(middleware::map_response(kept_private))
        .layer(middleware::from_fn_with_state(state.clone(), guard::check))
        .layer(CatchPanicLayer::custom(broke))
        .layer(middleware::from_fn_with_state(state.clone(), pages::for_people));
    pages.layer(layers).with_state(state)
}

/// What every answer says to browsers, unless it says otherwise itself.
static PRIVATE: [(HeaderName, HeaderValue); 8] = [
    (header::CACHE_CONTROL, HeaderValue::from_static("no-store")),
    (
        header::CONTENT_SECURITY_POLICY,
        HeaderValue::from_static(
            "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'; require-trusted-types-for 'script'; trusted-types makeready",
        ),
    ),
    (header::X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff")),
    (header::REFERRER_POLICY, HeaderValue::from_static("no-referrer")),
    (HeaderName::from_static("cross-origin-opener-policy"), HeaderValue::from_static("same-origin")),
    (HeaderName::from_static("cross-origin-resource-policy"), HeaderValue::from_static("same-origin")),
    (
        HeaderName::from_static("permissions-policy"),
        HeaderValue::from_static("camera=(), microphone=(), geolocation=()"),
    ),
    (header::VARY, HeaderValue::from_static("sec-fetch-site")),
];

async fn kept_private<B>(mut response: axum::http::Response<B>) -> axum::http::Response<B> {
    let headers = response.headers_mut();
    // Only the program's own files may be kept: a library's own choice for an answer of another kind does not count.
    if headers.get(header::CACHE_CONTROL).is_some_and(|kept| !kept.as_bytes().starts_with(b"public")) {
        headers.remove(header::CACHE_CONTROL);
    }
    for (name, value) in &PRIVATE {
        headers.entry(name).or_insert_with(|| value.clone());
    }
    response
}

/// A page that broke takes nothing else with it.
fn broke(_: Box<dyn std::any::Any + Send>) -> Response {
    tracing::error!("a page failed; the standard error output names the place in the program");
    let error = Error::internal("this page could not be made", "tell us which page it was; what was saved is safe");
    (StatusCode::INTERNAL_SERVER_ERROR, format!("{}\n", error.message())).into_response()
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::panic, reason = "a test may stop")]
mod tests {
    use std::sync::Arc;

    use axum::body::Body;
    use axum::http::Request;
    use tower::ServiceExt as _;

    use super::*;
    use crate::clock::Clock;
    use crate::notebook::Notebook;
    use crate::store::Store;

    async fn breaks() {
        panic!("a secret of the inside")
    }

    #[tokio::test]
    async fn a_page_that_breaks_answers_and_the_next_one_too() {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::open(folder.path()).unwrap();
        let notebook = Arc::new(Notebook::open(folder.path().to_path_buf(), store, Clock::Computer).unwrap());
        let (_end, ending) = tokio::sync::watch::channel(false);
        let pages = Router::new().route("/breaks", get(breaks)).route("/stands", get(|| async { "well" }));
        let app = guarded(pages, App::new(notebook, Vec::new(), ending));
        for (path, status) in [("/breaks", 500), ("/stands", 200)] {
            let request = Request::get(path).header("host", "localhost").body(Body::empty()).unwrap();
            let answer = app.clone().oneshot(request).await.unwrap();
            assert_eq!(answer.status().as_u16(), status, "{path}");
            assert!(answer.headers().contains_key(header::CONTENT_SECURITY_POLICY), "{path} carries the rules");
            let body = axum::body::to_bytes(answer.into_body(), 1 << 20).await.unwrap();
            assert!(!String::from_utf8_lossy(&body).contains("secret"), "{path}");
        }
    }
}
