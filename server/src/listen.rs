//! Takes connections, with a limit to how long and how many: no stranger can hold the notebook up.

use std::collections::HashMap;
use std::io;
use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper_util::rt::{TokioIo, TokioTimer};
use parking_lot::Mutex;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::net::{TcpListener, TcpSocket};
use tokio::sync::{Semaphore, watch};
use tokio_io_timeout::TimeoutWriter;
use tokio_rustls::TlsAcceptor;
use tower_service::Service as _;

/// How long the head of a request may take; the silence between two requests as well.
const HEADERS: Duration = Duration::from_secs(5);
/// How long a client may take no byte of an answer.
const STALLED: Duration = Duration::from_secs(15);
/// Connections at once, and those of one other computer.
const CONNECTIONS: usize = 512;
const OF_ONE: usize = 64;
/// How long open requests may take to finish when the program ends.
const FINISH: Duration = Duration::from_secs(2);

/// Connections that may wait to be taken: beyond them a browser would ask again only after a second.
const WAITING: u32 = 1024;

/// Listens at an address.
///
/// # Errors
/// When the port is taken or not allowed.
pub fn at(address: SocketAddr) -> io::Result<TcpListener> {
    let socket = if address.is_ipv4() { TcpSocket::new_v4()? } else { TcpSocket::new_v6()? };
    // A program started again at once gets its port back.
    #[cfg(unix)]
    socket.set_reuseaddr(true)?;
    socket.bind(address)?;
    socket.listen(WAITING)
}

/// The two ends of the connection a request came over.
#[derive(Clone, Copy, Debug)]
pub struct Ends {
    /// Who asks.
    pub peer: SocketAddr,
    /// Where it was asked.
    pub own: SocketAddr,
}

/// Serves until `ending` turns true, then lets open requests finish.
pub async fn serve(
    listener: TcpListener,
    app: Router,
    secured: Option<TlsAcceptor>,
    mut ending: watch::Receiver<bool>,
) {
    let room = Arc::new(Semaphore::new(CONNECTIONS));
    let guests = Guests::default();
    let (open, mut all_closed) = tokio::sync::mpsc::channel::<()>(1);
    loop {
        let permit = tokio::select! {
            permit = room.clone().acquire_owned() => permit,
            _ = ending.changed() => break,
        };
        let Ok(permit) = permit else { break };
        let accepted = tokio::select! {
            accepted = listener.accept() => accepted,
            _ = ending.changed() => break,
        };
        let (stream, peer) = match accepted {
            Ok(accepted) => accepted,
            Err(error) => {
                tracing::warn!(error = %error, "a connection could not be taken");
                tokio::time::sleep(Duration::from_millis(50)).await;
                continue;
            }
        };
        // Beyond its share another computer's connection is closed; this computer's own browsers are not counted.
        let Some(guest) = guests.welcome(peer.ip()) else { continue };
        let Ok(own) = stream.local_addr() else { continue };
        let (app, secured) = (app.clone(), secured.clone());
        let (ending, open) = (ending.clone(), open.clone());
        tokio::spawn(async move {
            let _ = stream.set_nodelay(true);
            let ends = Ends { peer, own };
            match secured {
                None => talk(stream, app, ends, ending).await,
                Some(acceptor) => match tokio::time::timeout(HEADERS, acceptor.accept(stream)).await {
                    Ok(Ok(stream)) => talk(stream, app, ends, ending).await,
                    _ => tracing::debug!("a connection was not made secure"),
                },
            }
            drop((permit, open, guest));
        });
    }
    drop((open, listener));
    let _ = tokio::time::timeout(FINISH, all_closed.recv()).await;
}

/// Answers the requests of one connection.
async fn talk<S>(stream: S, app: Router, ends: Ends, mut ending: watch::Receiver<bool>)
where
    S: AsyncRead + AsyncWrite + Send + 'static,
{
    let mut stream = Box::pin(TimeoutWriter::new(stream));
    stream.as_mut().set_timeout_pinned(Some(STALLED));
    // The app is told with every request who asks.
    let answer = service_fn(move |mut request: hyper::Request<hyper::body::Incoming>| {
        request.extensions_mut().insert(ends);
        app.clone().call(request)
    });
    let connection = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(HEADERS)
        .max_headers(64)
        .max_buf_size(16 << 10)
        .serve_connection(TokioIo::new(stream), answer);
    tokio::pin!(connection);
    tokio::select! {
        result = connection.as_mut() => if let Err(error) = result { tracing::debug!(error = %error, "a connection ended early") },
        _ = ending.changed() => {
            connection.as_mut().graceful_shutdown();
            let _ = connection.await;
        }
    }
}

/// How many connections each other computer has open.
#[derive(Clone, Debug, Default)]
struct Guests(Arc<Mutex<HashMap<IpAddr, usize>>>);

/// One connection, counted until it is dropped.
struct Guest {
    all: Guests,
    address: Option<IpAddr>,
}

impl Guests {
    fn welcome(&self, address: IpAddr) -> Option<Guest> {
        if address.to_canonical().is_loopback() {
            return Some(Guest { all: self.clone(), address: None });
        }
        let mut all = self.0.lock();
        let count = all.entry(address).or_default();
        if *count >= OF_ONE {
            return None;
        }
        *count += 1;
        Some(Guest { all: self.clone(), address: Some(address) })
    }
}

impl Drop for Guest {
    fn drop(&mut self) {
        let Some(address) = self.address else { return };
        let mut all = self.all.0.lock();
        if let Some(count) = all.get_mut(&address) {
            *count = count.saturating_sub(1);
            if *count == 0 {
                all.remove(&address);
            }
        }
    }
}
