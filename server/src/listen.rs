//! Takes connections, with a limit to how long and how many: no stranger can hold the notebook up.

use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use tokio::net::TcpListener;
use tokio::sync::{Semaphore, watch};

/// How long the head of a request may take.
const HEADERS: Duration = Duration::from_secs(5);
/// Connections at once.
const CONNECTIONS: usize = 512;
/// How long open requests may take to finish when the program ends.
const FINISH: Duration = Duration::from_secs(2);

/// Serves until `ending` turns true, then lets open requests finish.
pub async fn serve(listener: TcpListener, app: Router, mut ending: watch::Receiver<bool>) {
    let room = Arc::new(Semaphore::new(CONNECTIONS));
    let (open, mut all_closed) = tokio::sync::mpsc::channel::<()>(1);
    loop {
        let Ok(permit) = room.clone().acquire_owned().await else { return };
        let accepted = tokio::select! {
            accepted = listener.accept() => accepted,
            _ = ending.changed() => break,
        };
        let stream = match accepted {
            Ok((stream, _)) => stream,
            Err(error) => {
                tracing::warn!(error = %error, "a connection could not be taken");
                tokio::time::sleep(Duration::from_millis(50)).await;
                continue;
            }
        };
        let _ = stream.set_nodelay(true);
        let service = TowerToHyperService::new(app.clone());
        let (mut ending, open) = (ending.clone(), open.clone());
        tokio::spawn(async move {
            let connection = http1::Builder::new()
                .timer(TokioTimer::new())
                .header_read_timeout(HEADERS)
                .max_headers(64)
                .max_buf_size(32 << 10)
                .serve_connection(TokioIo::new(stream), service);
            tokio::pin!(connection);
            tokio::select! {
                result = connection.as_mut() => if let Err(error) = result { tracing::debug!(error = %error, "a connection ended early") },
                _ = ending.changed() => {
                    connection.as_mut().graceful_shutdown();
                    let _ = connection.await;
                }
            }
            drop((permit, open));
        });
    }
    drop(open);
    let _ = tokio::time::timeout(FINISH, all_closed.recv()).await;
}
