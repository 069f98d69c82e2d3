//! What a request meets: the state every page shares, and the whole table of addresses.

use std::sync::Arc;

use axum::Router;
use axum::http::{HeaderName, HeaderValue, header};
use axum::middleware;
use axum::routing::{get, post};
use minijinja::Environment;
use tower_http::limit::RequestBodyLimitLayer;
use tower_http::set_header::SetResponseHeaderLayer;

use crate::notebook::Notebook;
use crate::trouble::Refusal;
use crate::{assets, guard, pages};

/// The longest request body: a whole plan and a little.
const BODY: usize = (1 << 20) + (64 << 10);

/// What every page shares.
#[derive(Clone, Debug)]
pub struct App {
    /// The notebook served.
    pub notebook: Arc<Notebook>,
    /// Names this server answers to besides the computer's own.
    pub hosts: Arc<[String]>,
    /// The page templates.
    pub templates: Arc<Environment<'static>>,
    /// Told when the program ends, so that open pages are let go.
    pub ending: tokio::sync::watch::Receiver<bool>,
}

impl App {
    /// The state round a notebook.
    pub fn new(notebook: Arc<Notebook>, hosts: Vec<String>, ending: tokio::sync::watch::Receiver<bool>) -> Self {
        Self { notebook, hosts: hosts.into(), templates: Arc::new(assets::templates()), ending }
    }

    /// Does something with the notebook on a thread that may wait for the disk.
    pub(crate) async fn with<T: Send + 'static>(
        &self,
        act: impl FnOnce(&Notebook) -> Result<T, Refusal> + Send + 'static,
    ) -> Result<T, Refusal> {
        let notebook = self.notebook.clone();
        tokio::task::spawn_blocking(move || act(&notebook))
            .await
            .unwrap_or_else(|_| Err(Refusal::unable("this broke off", "try again; what was saved is safe")))
    }
}

/// Every address there is.
pub fn app(state: App) -> Router {
    let private = |name: &'static str, value: &'static str| {
        SetResponseHeaderLayer::if_not_present(HeaderName::from_static(name), HeaderValue::from_static(value))
    };
    Router::new()
        .route("/", get(pages::wall::get))
        .route("/begin", get(pages::begin::get).post(pages::begin::post))
        .route("/plan/{name}", get(pages::plan::get))
        .route("/plan/{name}/sheet", get(pages::plan::sheet))
        .route("/plan/{name}/text", get(pages::plan::text).put(pages::plan::put))
        .route("/plan/{name}/draft", post(pages::plan::draft))
        .route("/plan/{name}/given", post(pages::plan::given))
        .route("/plan/{name}/tick", post(pages::plan::tick))
        .route("/plan/{name}/ledger", post(pages::plan::ledger))
        .route("/plan/{name}/copy", post(pages::begin::copy))
        .route("/plan/{name}/values", get(pages::plan::values))
        .route("/plan/{name}/ticket/{role}", get(pages::ticket::get))
        .route("/plan/{name}/ticket/{role}/paper.css", get(pages::ticket::paper))
        .route("/rates", get(pages::rates::get))
        .route("/rates/{name}", get(pages::rates::sheet))
        .route("/rates/{name}/sheet", get(pages::plan::sheet))
        .route("/rates/{name}/text", get(pages::plan::text).put(pages::plan::put))
        .route("/rates/{name}/draft", post(pages::plan::draft))
        .route("/rates/{name}/given", post(pages::plan::given))
        .route("/rates/{name}/tick", post(pages::plan::tick))
        .route("/reference", get(pages::reference::get))
        .route("/events", get(pages::events::get))
        .route("/a/{mark}/{*file}", get(assets::get))
        .fallback(pages::missing)
        .layer(RequestBodyLimitLayer::new(BODY))
        .layer(private("cache-control", "no-store"))
        .layer(private("content-security-policy", "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'; require-trusted-types-for 'script'; trusted-types makeready"))
        .layer(private("x-content-type-options", "nosniff"))
        .layer(private("referrer-policy", "no-referrer"))
        .layer(private("cross-origin-opener-policy", "same-origin"))
        .layer(private("cross-origin-resource-policy", "same-origin"))
        .layer(private("permissions-policy", "camera=(), microphone=(), geolocation=()"))
        .layer(SetResponseHeaderLayer::if_not_present(header::VARY, HeaderValue::from_static("sec-fetch-site")))
        .layer(middleware::from_fn_with_state(state.clone(), guard::check))
        .with_state(state)
}
