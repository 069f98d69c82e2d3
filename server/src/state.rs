//! What every page shares: the notebook, the templates, from where the server is reached, and who is at work just now.

use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::sync::Arc;

use axum::http::HeaderMap;
use minijinja::Environment;
use tokio::sync::Semaphore;

use crate::assets;
use crate::error::Error;
use crate::listen::Ends;
use crate::notebook::Notebook;
use crate::page_diff::PageDiff;
use crate::passphrase::Guesses;

/// What every page shares.
#[derive(Clone, Debug)]
pub struct App {
    /// The notebook served.
    pub notebook: Arc<Notebook>,
    /// Names this server answers to besides the computer's own.
    pub hosts: Arc<[String]>,
    /// The page templates.
    pub templates: Arc<Environment<'static>>,
    /// From where it can be reached.
    pub reach: Reach,
    /// How often the passphrase was tried.
    pub guesses: Arc<Guesses>,
    /// What open pages show already.
    pub page_diff: Arc<PageDiff>,
    /// Archives that come in now: few arrive at once.
    pub arriving: Arc<Semaphore>,
    /// And one is unpacked at a time.
    pub unpacking: Arc<Semaphore>,
    /// Told when browsers are let out, so that what follows changes looks whether it still may.
    pub let_out: tokio::sync::watch::Sender<()>,
    /// Pages that follow changes now.
    pub following: Arc<Semaphore>,
    /// Told when the program ends, so that open pages are let go.
    pub ending: tokio::sync::watch::Receiver<bool>,
}

/// How a notebook is reached.
#[derive(Clone, Debug, Default)]
pub struct Reach {
    /// Everyone gives the passphrase, on this computer too: what comes through a proxy or a forwarder cannot be told from what
    /// the owner's own browser sends.
    pub guarded: bool,
    /// It listens to the whole network.
    pub lan: bool,
    /// What is sent is encrypted on the way.
    pub secure: bool,
    /// The address at which shops reach it, like `https://studio.example`.
    pub outside: Option<String>,
    /// Proxies whose word on who is asking is believed.
    pub proxies: Vec<IpAddr>,
}

impl Reach {
    /// The address a request comes from: the other end of the connection, or what the trusted proxy there says.
    pub(crate) fn visitor(&self, ends: Option<Ends>, headers: &HeaderMap) -> IpAddr {
        let peer = ends.map_or(IpAddr::V4(Ipv4Addr::LOCALHOST), |ends| ends.peer.ip().to_canonical());
        if !self.proxies.contains(&peer) {
            return peer;
        }
        // A proxy adds the address it was asked from at the end; what stands further left is the visitor's own claim.
        let lines = headers.get_all("x-forwarded-for").iter().filter_map(|line| line.to_str().ok());
        let hops: Vec<_> = lines.flat_map(|line| line.split(',')).collect();
        let mut known = hops.iter().rev().map_while(|hop| hop_address(hop.trim()));
        known.find(|hop| !self.proxies.contains(hop)).unwrap_or(peer)
    }
}

/// The address in one entry of `X-Forwarded-For`, which may carry a port.
fn hop_address(hop: &str) -> Option<IpAddr> {
    let bare = hop.trim_start_matches('[').trim_end_matches(']');
    let address = bare.parse::<IpAddr>().ok().or_else(|| hop.parse::<SocketAddr>().ok().map(|hop| hop.ip()));
    address.map(|address| address.to_canonical())
}

/// Pages that may follow changes at once.
const FOLLOWING: usize = 256;
/// Archives that may arrive at once.
const ARRIVING: usize = 8;

impl App {
    /// The state round a notebook.
    pub fn new(notebook: Arc<Notebook>, hosts: Vec<String>, ending: tokio::sync::watch::Receiver<bool>) -> Self {
        Self {
            notebook,
            hosts: hosts.into(),
            templates: Arc::new(assets::templates()),
            reach: Reach::default(),
            guesses: Arc::default(),
            page_diff: Arc::default(),
            arriving: Arc::new(Semaphore::new(ARRIVING)),
            unpacking: Arc::new(Semaphore::new(1)),
            let_out: tokio::sync::watch::Sender::new(()),
            following: Arc::new(Semaphore::new(FOLLOWING)),
            ending,
        }
    }

    /// Does something with the notebook on a thread that may wait for the disk.
    pub(crate) async fn with<T: Send + 'static>(
        &self,
        act: impl FnOnce(&Notebook) -> Result<T, Error> + Send + 'static,
    ) -> Result<T, Error> {
        let notebook = self.notebook.clone();
        tokio::task::spawn_blocking(move || act(&notebook)).await.unwrap_or_else(|error| {
            Err(Error::internal("this could not be finished", "try again; what was saved is safe").because(error))
        })
    }
}
