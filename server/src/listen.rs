//! Takes connections, with a limit to how long and how many: no stranger can hold the notebook up.

use std::collections::HashMap;
use std::future::Future as _;
use std::io;
use std::net::{IpAddr, SocketAddr};
use std::pin::Pin;
use std::sync::{Arc, Mutex, PoisonError};
use std::task::{Context, Poll};
use std::time::Duration;

use axum::Router;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{TcpListener, TcpSocket};
use tokio::sync::{Semaphore, watch};
use tokio::time::{Instant, Sleep};
use tokio_rustls::TlsAcceptor;

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
    S: AsyncRead + AsyncWrite + Unpin + Send + 'static,
{
    let connection = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(HEADERS)
        .max_headers(64)
        .max_buf_size(16 << 10)
        .serve_connection(TokioIo::new(Patient::new(stream)), TowerToHyperService::new(Told { app, ends }));
    tokio::pin!(connection);
    tokio::select! {
        result = connection.as_mut() => if let Err(error) = result { tracing::debug!(error = %error, "a connection ended early") },
        _ = ending.changed() => {
            connection.as_mut().graceful_shutdown();
            let _ = connection.await;
        }
    }
}

/// The app, told with every request who asks.
#[derive(Clone)]
struct Told {
    app: Router,
    ends: Ends,
}

impl tower_service::Service<hyper::Request<hyper::body::Incoming>> for Told {
    type Response = axum::response::Response;
    type Error = std::convert::Infallible;
    type Future = <Router as tower_service::Service<hyper::Request<hyper::body::Incoming>>>::Future;

    fn poll_ready(&mut self, _: &mut Context<'_>) -> Poll<Result<(), Self::Error>> {
        Poll::Ready(Ok(()))
    }

    fn call(&mut self, mut request: hyper::Request<hyper::body::Incoming>) -> Self::Future {
        request.extensions_mut().insert(self.ends);
        self.app.call(request)
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
        let mut all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
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
        let mut all = self.all.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(count) = all.get_mut(&address) {
            *count = count.saturating_sub(1);
            if *count == 0 {
                all.remove(&address);
            }
        }
    }
}

/// A connection that is given up when its client takes nothing for too long.
struct Patient<S> {
    stream: S,
    waiting: Option<Pin<Box<Sleep>>>,
}

impl<S> Patient<S> {
    fn new(stream: S) -> Self {
        Self { stream, waiting: None }
    }

    fn timed<T>(&mut self, cx: &mut Context<'_>, result: Poll<io::Result<T>>) -> Poll<io::Result<T>> {
        if result.is_ready() {
            self.waiting = None;
            return result;
        }
        let waiting = self.waiting.get_or_insert_with(|| Box::pin(tokio::time::sleep_until(Instant::now() + STALLED)));
        match waiting.as_mut().poll(cx) {
            Poll::Ready(()) => Poll::Ready(Err(io::ErrorKind::TimedOut.into())),
            Poll::Pending => Poll::Pending,
        }
    }
}

impl<S: AsyncRead + Unpin> AsyncRead for Patient<S> {
    fn poll_read(mut self: Pin<&mut Self>, cx: &mut Context<'_>, into: &mut ReadBuf<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_read(cx, into)
    }
}

impl<S: AsyncWrite + Unpin> AsyncWrite for Patient<S> {
    fn poll_write(mut self: Pin<&mut Self>, cx: &mut Context<'_>, bytes: &[u8]) -> Poll<io::Result<usize>> {
        let result = Pin::new(&mut self.stream).poll_write(cx, bytes);
        self.timed(cx, result)
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        parts: &[io::IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        let result = Pin::new(&mut self.stream).poll_write_vectored(cx, parts);
        self.timed(cx, result)
    }

    fn is_write_vectored(&self) -> bool {
        self.stream.is_write_vectored()
    }

    fn poll_flush(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        let result = Pin::new(&mut self.stream).poll_flush(cx);
        self.timed(cx, result)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        let result = Pin::new(&mut self.stream).poll_shutdown(cx);
        self.timed(cx, result)
    }
}
