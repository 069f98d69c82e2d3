//! Turns away requests that another site sends through the visitor's browser, bodies that never end, and strangers.

use std::time::Duration;

use axum::body::Body;
use axum::body::HttpBody as _;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use engine::Message;
use percent_encoding::percent_decode_str;

use crate::error::Error;
use crate::listen::Ends;
use crate::state::App;

/// Names of this computer itself.
const OWN: &[&str] = &["localhost", "127.0.0.1", "[::1]"];
/// The longest request body: a whole plan and a little.
const BODY: usize = (1 << 20) + (64 << 10);
/// How long a body may take in all.
const PATIENCE: Duration = Duration::from_secs(10);
/// Where an archive is sent: its page brings it to the disk as it comes.
const ARCHIVE: &str = "/import";
/// The largest archive that is taken in: it holds pictures, so it may be larger than a text and take longer.
pub(crate) const LARGEST_ARCHIVE: usize = 128 << 20;
/// The name of the cookie by which a browser shows that it was let in.
pub(crate) const COOKIE: &str = "makeready";
/// Headers a proxy adds. Some add none, so only their presence means something: a way in that nobody told the program of.
const PROXIED: &[&str] = &["forwarded", "x-forwarded-for", "x-forwarded-host", "x-real-ip", "via"];

type Turned = (StatusCode, Message);

/// What a browser showed to be let in, for answers that go on: they end when it is let out.
#[derive(Clone)]
pub(crate) struct CameIn(pub(crate) String);

/// Lets a request through when it is meant for this server, comes from its own pages when it writes, has a body that ends,
/// and is made by someone who may.
pub(crate) async fn check(State(app): State<App>, mut request: Request, next: Next) -> Response {
    let ends = request.extensions().get::<Ends>().copied();
    if let Err(turned) = allowed(&request, &app, ends) {
        noted(&app, ends, &request, turned.0);
        return turned_away(turned);
    }
    let owes = owes(&app, &request);
    let came_in = match &owes {
        Owes::Token(Some(token)) => Some(CameIn(token.clone())),
        _ => None,
    };
    if !may(&app, owes).await {
        noted(&app, ends, &request, StatusCode::UNAUTHORIZED);
        return closed(stranger(&request));
    }
    if let Some(came_in) = came_in {
        request.extensions_mut().insert(came_in);
    }
    match whole(request).await {
        Ok(request) => next.run(request).await,
        Err(turned) => closed(turned_away(turned)),
    }
}

/// Writes a refusal into the log: as a warning, but for someone who only has not logged in yet.
fn noted(app: &App, ends: Option<Ends>, request: &Request, status: StatusCode) {
    let (from, method, path) = (app.reach.visitor(ends, request.headers()), request.method(), request.uri().path());
    // The address of a link is its secret: only its beginning is written down.
    let path = if is_public(path) { path.get(..3).unwrap_or_default() } else { path };
    let status = status.as_u16();
    if status == StatusCode::UNAUTHORIZED && token(request.headers()).is_none() {
        tracing::info!(refused.from = %from, refused.status = status, %method, path, "not logged in");
    } else {
        tracing::warn!(refused.from = %from, refused.status = status, %method, path, "a request was refused");
    }
}

/// What is left of a body nobody read would be taken for the next request.
pub(crate) fn closed(mut response: Response) -> Response {
    response.headers_mut().insert(header::CONNECTION, HeaderValue::from_static("close"));
    response
}

/// The way to the passphrase for a person; for a program, that it is not known.
fn stranger(request: &Request) -> Response {
    let accepts = request.headers().get(header::ACCEPT).and_then(|kinds| kinds.to_str().ok()).unwrap_or_default();
    if *request.method() == Method::GET && accepts.contains("text/html") {
        return Redirect::to("/login").into_response();
    }
    let unknown = Message::new("you are not logged in", "open the notebook's first page and give its passphrase");
    let body = serde_json::json!({"what": unknown.what, "next": unknown.next});
    (StatusCode::UNAUTHORIZED, axum::Json(body)).into_response()
}

fn turned_away((status, message): Turned) -> Response {
    (status, format!("{message}\n")).into_response()
}

fn allowed(request: &Request, app: &App, ends: Option<Ends>) -> Result<(), Turned> {
    let (headers, hosts) = (request.headers(), &*app.hosts);
    if !matches!(*request.method(), Method::GET | Method::HEAD | Method::POST | Method::PUT) {
        let message = Message::new("nothing here answers to that method", "ask with GET, or write with POST or PUT");
        return Err((StatusCode::METHOD_NOT_ALLOWED, message));
    }
    let mut all = headers.get_all(header::HOST).iter();
    let (Some(host), None) = (all.next().and_then(|host| host.to_str().ok()), all.next()) else {
        let message =
            Message::new("this request does not say which server it is for", "open the address the program printed");
        return Err((StatusCode::BAD_REQUEST, message));
    };
    let target = request.uri().authority().map(|authority| authority.as_str());
    if !is_ours(host, hosts, ends) || target.is_some_and(|target| !is_ours(target, hosts, ends)) {
        let message = Message::new(
            "this server does not answer to that name",
            "open the address the program printed, or start it with `--host` and the name",
        );
        return Err((StatusCode::MISDIRECTED_REQUEST, message));
    }
    if !is_text(request.uri().path()) {
        let message = Message::new("this address holds bytes that are not text", "open the notebook's first page");
        return Err((StatusCode::BAD_REQUEST, message));
    }
    let own = if matches!(*request.method(), Method::GET | Method::HEAD) {
        may_read(headers)
    } else {
        is_own_page(headers, host, app.reach.outside.as_deref())
    };
    if own {
        return Ok(());
    }
    let error = Error::Foreign(Message::new(
        "this request does not come from a page of this notebook",
        "write from the page itself; a proxy before this server must pass its own name on as `Host`, or the server be started with `--outside` and the address of the proxy",
    ));
    Err((error.status(), error.message().clone()))
}

/// Whether a name is one this server answers to: this computer's own, one it was told, or the number of the very address
/// the connection was made to. No name of another's choosing passes, wherever it leads.
fn is_ours(authority: &str, hosts: &[String], ends: Option<Ends>) -> bool {
    let name = name_of(authority).to_ascii_lowercase();
    let by_number = || {
        let number = name.trim_start_matches('[').trim_end_matches(']').parse::<std::net::IpAddr>();
        ends.is_some_and(|ends| number.is_ok_and(|number| number == ends.own.ip().to_canonical()))
    };
    OWN.contains(&name.as_str()) || hosts.iter().any(|one| one.eq_ignore_ascii_case(&name)) || by_number()
}

/// The name in `name:port`.
fn name_of(authority: &str) -> &str {
    match authority.rsplit_once(':') {
        Some((name, port)) if port.bytes().all(|byte| byte.is_ascii_digit()) && !name.is_empty() => name,
        _ => authority,
    }
}

/// Whether an address, with its `%41` read back, is text.
fn is_text(path: &str) -> bool {
    let is_pair = |pair: &str| pair.len() == 2 && pair.bytes().all(|byte| byte.is_ascii_hexdigit());
    let whole = path.split('%').skip(1).all(|rest| rest.get(..2).is_some_and(is_pair));
    whole && percent_decode_str(path).decode_utf8().is_ok_and(|text| !text.contains('\0'))
}

/// Another site may lead a person here, and may load nothing from here into its own pages.
fn may_read(headers: &HeaderMap) -> bool {
    let says = |name: &str| headers.get(name).map(HeaderValue::as_bytes);
    match says("sec-fetch-site") {
        Some(b"cross-site" | b"same-site") => says("sec-fetch-mode") == Some(b"navigate"),
        _ => true,
    }
}

/// The browser says so itself, or the page's address is this server's.
fn is_own_page(headers: &HeaderMap, host: &str, outside: Option<&str>) -> bool {
    if let Some(site) = headers.get("sec-fetch-site") {
        return site.as_bytes() == b"same-origin";
    }
    headers.get(header::ORIGIN).is_some_and(|origin| {
        let outside = outside.map(|address| address.trim_end_matches('/').to_owned());
        [format!("http://{host}"), format!("https://{host}")]
            .into_iter()
            .chain(outside)
            .any(|own| origin.as_bytes().eq_ignore_ascii_case(own.as_bytes()))
    })
}

/// Reads the body to its end, so that no page waits for a client.
async fn whole(request: Request) -> Result<Request, Turned> {
    if request.body().is_end_stream() {
        return Ok(request);
    }
    let (parts, body) = request.into_parts();
    let is_archive = parts.uri.path() == ARCHIVE;
    let most = if is_archive { LARGEST_ARCHIVE } else { BODY };
    let too_long = || {
        let message = if is_archive {
            too_large()
        } else {
            Message::new("what was sent is longer than a plan may be", "cut it into two documents")
        };
        (StatusCode::PAYLOAD_TOO_LARGE, message)
    };
    let promised =
        parts.headers.get(header::CONTENT_LENGTH).and_then(|length| length.to_str().ok()?.parse::<u64>().ok());
    if promised.is_some_and(|length| length > most as u64) {
        return Err(too_long());
    }
    if is_archive {
        return Ok(Request::from_parts(parts, body));
    }
    match tokio::time::timeout(PATIENCE, axum::body::to_bytes(body, most)).await {
        Ok(Ok(bytes)) => Ok(Request::from_parts(parts, Body::from(bytes))),
        Ok(Err(error)) if is_over(&error) => Err(too_long()),
        Ok(Err(_)) => Err((
            StatusCode::BAD_REQUEST,
            Message::new("what was sent ended too early", "send it again; nothing was changed"),
        )),
        Err(_) => Err((
            StatusCode::REQUEST_TIMEOUT,
            Message::new("what was sent did not arrive in time", "send it again; nothing was changed"),
        )),
    }
}

/// Whether reading stopped because there was too much.
fn is_over(error: &axum::Error) -> bool {
    let mut at: Option<&(dyn std::error::Error + 'static)> = Some(error);
    while let Some(error) = at {
        if error.to_string().contains("length limit exceeded") {
            return true;
        }
        at = error.source();
    }
    false
}

/// What a request must show: nothing for what is public or where nobody gives a passphrase, else the token a browser was given
/// for the passphrase.
enum Owes {
    Nothing,
    Token(Option<String>),
}

fn owes(app: &App, request: &Request) -> Owes {
    if is_public(request.uri().path()) || !asks_passphrase(app, request.headers()) {
        return Owes::Nothing;
    }
    Owes::Token(token(request.headers()))
}

async fn may(app: &App, owes: Owes) -> bool {
    match owes {
        Owes::Nothing => true,
        Owes::Token(None) => false,
        Owes::Token(Some(token)) => app.with(move |notebook| notebook.is_let_in(&token)).await.unwrap_or(false),
    }
}

/// Whether a request is answered for the passphrase only. Neither a name nor an address tells the owner's browser from what a
/// proxy passes on, so where there is a way in from outside everyone gives it.
pub(crate) fn asks_passphrase(app: &App, headers: &HeaderMap) -> bool {
    app.reach.guarded || PROXIED.iter().any(|name| headers.contains_key(*name))
}

/// What is there for everyone: shops' links, the page that asks for the passphrase, styles and modules.
fn is_public(path: &str) -> bool {
    path == "/login" || path.starts_with("/t/") || path.starts_with("/c/") || path.starts_with("/a/")
}

/// What a browser was given when it gave the passphrase.
pub(crate) fn token(headers: &HeaderMap) -> Option<String> {
    let cookies = headers.get_all(header::COOKIE).iter().filter_map(|cookies| cookies.to_str().ok());
    let mut ours = cookies.flat_map(|cookies| cookies.split(';')).filter_map(|cookie| cookie.trim().split_once('='));
    ours.find(|(name, _)| *name == COOKIE).map(|(_, token)| token.to_owned())
}

/// What is said of an archive that is larger than is taken in.
pub(crate) fn too_large() -> Message {
    Message::new("this archive is larger than is taken in", "send fewer or smaller pictures")
}
