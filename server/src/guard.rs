//! Turns away requests that another site sends through the visitor's browser.

use axum::extract::{Request, State};
use axum::http::{HeaderMap, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use engine::Trouble;

use crate::app::App;
use crate::trouble::Refusal;

/// Names of this computer itself.
const OWN: &[&str] = &["localhost", "127.0.0.1", "[::1]"];

/// Lets a request through when it is meant for this server and, when it writes, comes from its own pages.
pub(crate) async fn check(State(app): State<App>, request: Request, next: Next) -> Response {
    match allowed(&request, &app.hosts) {
        Ok(()) => next.run(request).await,
        Err((status, trouble)) => (status, format!("{trouble}\n")).into_response(),
    }
}

fn allowed(request: &Request, hosts: &[String]) -> Result<(), (StatusCode, Trouble)> {
    let headers = request.headers();
    let mut all = headers.get_all(header::HOST).iter();
    let (Some(host), None) = (all.next().and_then(|host| host.to_str().ok()), all.next()) else {
        return Err((
            StatusCode::BAD_REQUEST,
            Trouble::new("this request does not say which server it is for", "open the address the program printed"),
        ));
    };
    let ours = |authority: &str| {
        let name = name_of(authority).to_ascii_lowercase();
        OWN.contains(&name.as_str()) || hosts.iter().any(|one| one.eq_ignore_ascii_case(&name))
    };
    let target = request.uri().authority().map(|authority| authority.as_str());
    if !ours(host) || target.is_some_and(|target| !ours(target)) {
        let trouble = Trouble::new(
            "this server does not answer to that name",
            "open the address the program printed, or start it with `--host` and the name",
        );
        return Err((StatusCode::MISDIRECTED_REQUEST, trouble));
    }
    if matches!(*request.method(), Method::GET | Method::HEAD) || is_own_page(headers, host) {
        return Ok(());
    }
    let refusal = Refusal::Foreign(Trouble::new(
        "this write does not come from a page of this notebook",
        "write from the page itself, or send the header `Origin` with the server's own address",
    ));
    Err((refusal.status(), refusal.trouble().clone()))
}

/// The name in `name:port`.
fn name_of(authority: &str) -> &str {
    match authority.rsplit_once(':') {
        Some((name, port)) if port.bytes().all(|byte| byte.is_ascii_digit()) && !name.is_empty() => name,
        _ => authority,
    }
}

/// The browser says so itself, or the page's address is this server's.
fn is_own_page(headers: &HeaderMap, host: &str) -> bool {
    if let Some(site) = headers.get("sec-fetch-site") {
        return site.as_bytes() == b"same-origin";
    }
    headers.get(header::ORIGIN).is_some_and(|origin| {
        [format!("http://{host}"), format!("https://{host}")]
            .iter()
            .any(|own| origin.as_bytes().eq_ignore_ascii_case(own.as_bytes()))
    })
}
