//! `makeready serve`: a notebook in the browser.

use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;

use clap::Args;
use engine::Message;
use tokio::sync::watch;

use super::print;
use crate::app::app;
use crate::assets::Examples;
use crate::clock::Clock;
use crate::error::Error;
use crate::evaluator::STACK;
use crate::names::Name;
use crate::notebook::Notebook;
use crate::state::{App, Reach};
use crate::store::Store;
use crate::{folder, listen, tls};

/// How a notebook is served.
#[derive(Clone, Debug, Args)]
pub(super) struct Serve {
    /// The notebook's folder. Without it: `makeready` in your home folder, begun with the example plans when it is not there
    #[arg(env = "MAKEREADY_NOTEBOOK")]
    notebook: Option<PathBuf>,
    /// The port; 0 takes any free one
    #[arg(long, env = "MAKEREADY_PORT", default_value_t = 6170)]
    port: u16,
    /// Let the other computers of the network in, with the passphrase set by `makeready passphrase`
    #[arg(long, env = "MAKEREADY_LAN")]
    lan: bool,
    /// The address to listen on; any non-local address implies `--lan`. Without it: 127.0.0.1, with `--lan` all there are
    #[arg(long, env = "MAKEREADY_ADDRESS")]
    address: Option<IpAddr>,
    /// TLS certificate (PEM), with its key in `--tls-key`
    #[arg(long, env = "MAKEREADY_TLS_CERT", requires = "tls_key")]
    tls_cert: Option<PathBuf>,
    /// Key of the TLS certificate (PEM)
    #[arg(long, env = "MAKEREADY_TLS_KEY", requires = "tls_cert")]
    tls_key: Option<PathBuf>,
    /// The address at which a reverse proxy before this server is reached, like https://studio.example; everyone then gives the passphrase
    #[arg(long, env = "MAKEREADY_OUTSIDE")]
    outside: Option<String>,
    /// The address of a reverse proxy whose `X-Forwarded-For` is believed when guesses of the passphrase are counted, like 127.0.0.1
    #[arg(long = "trusted-proxy", env = "MAKEREADY_TRUSTED_PROXY", value_delimiter = ',')]
    proxies: Vec<IpAddr>,
    /// A further name this server answers to, when it is reached by one; everyone then gives the passphrase; may be given more than once
    #[arg(long = "host", env = "MAKEREADY_HOSTS", value_delimiter = ',')]
    hosts: Vec<String>,
}

impl Serve {
    pub(super) fn run(self) -> Result<ExitCode, Error> {
        let root = self.folder()?;
        let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().thread_stack_size(STACK).build()?;
        let result = runtime.block_on(self.serve(root));
        runtime.shutdown_timeout(std::time::Duration::from_secs(1));
        result.map(|()| ExitCode::SUCCESS)
    }

    /// The notebook's folder, begun with the examples when it is a new one of our own choosing.
    fn folder(&self) -> Result<PathBuf, Error> {
        let (root, chosen) = match &self.notebook {
            Some(folder) => (folder.clone(), true),
            None => (home()?.join("makeready"), false),
        };
        if root.is_file() {
            return Err(Error::storage(format!("`{}` is a file", root.display()), "give the folder of a notebook"));
        }
        if chosen && !root.exists() {
            let meant = root.to_str().and_then(super::command_meant);
            let next = meant.map_or_else(
                || "make it first, or start without a folder to get the example plans".to_owned(),
                |near| format!("was the command `{near}` meant? Write `makeready {near}`, or make the folder first"),
            );
            return Err(Error::missing(format!("there is no folder `{}`", root.display()), next));
        }
        let empty = !root.exists() || std::fs::read_dir(&root).is_ok_and(|mut entries| entries.next().is_none());
        if !chosen && empty {
            begin(&root)?;
        }
        Ok(root)
    }

    async fn serve(self, root: PathBuf) -> Result<(), Error> {
        let everywhere = if self.lan { Ipv4Addr::UNSPECIFIED } else { Ipv4Addr::LOCALHOST };
        let at = SocketAddr::new(self.address.unwrap_or(IpAddr::V4(everywhere)), self.port);
        let secured = match (&self.tls_cert, &self.tls_key) {
            (Some(cert), Some(key)) => Some(tls::acceptor(cert, key)?),
            _ => None,
        };
        let lan = self.lan || !at.ip().is_loopback();
        let mut hosts = self.hosts;
        hosts.extend(self.outside.as_deref().map(host_of).transpose()?);
        // Nobody is answered before the end of this; a port that is taken leaves the folder as it is.
        let listener = listen::at(at).map_err(|error| cannot_listen(at, &error))?;
        let address = listener.local_addr()?;
        let store = Store::open(&root).map_err(|error| not_writable(&root, error))?;
        let has_way_in = lan || !hosts.is_empty();
        // A damaged record can let nobody in: it is read on this computer only.
        if let Some(message) = store.halted().filter(|_| has_way_in) {
            return Err(not_writable(&root, Error::Halted(message.clone())));
        }
        let has_passphrase = store.halted().is_none() && store.passphrase()?.is_some();
        // Whoever set a passphrase wants it asked for, also where the program was not told of a way in.
        let guarded = has_way_in || has_passphrase;
        let reach = Reach { guarded, lan, secure: secured.is_some(), outside: self.outside, proxies: self.proxies };
        if guarded && !has_passphrase {
            return Err(Error::storage(
                "this notebook has no passphrase, and without one it is not opened to others",
                format!("set one first: makeready passphrase '{}'", root.display()),
            ));
        }
        let notebook = Arc::new(Notebook::open(root.clone(), store, Clock::Computer)?);
        notebook.tidy();
        let (end, ending) = watch::channel(false);
        let mut state = App::new(notebook.clone(), hosts, ending.clone());
        state.reach = reach;
        tokio::spawn(crate::watch::follow(notebook.clone()));
        tokio::spawn(crate::daily::follow(notebook.clone()));
        let shown = root.canonicalize().unwrap_or(root);
        let scheme = if secured.is_some() { "https" } else { "http" };
        print(&format!(
            "Makeready serves {}\nOpen {scheme}://{address}/ in a browser. Stop with Ctrl-C.\n",
            shown.display()
        ));
        if guarded {
            print("Everyone gives the passphrase, on this computer too.\n");
        }
        if state.reach.outside.is_some() && state.reach.proxies.is_empty() {
            eprintln!(
                "makeready: all who come through the proxy share five guesses of the passphrase a minute; `--trusted-proxy` and its address gives each their own"
            );
        }
        if state.reach.lan && secured.is_none() {
            eprintln!(
                "makeready: everyone in this network can read what is sent; `--tls-cert` and `--tls-key` prevent that"
            );
        }
        tokio::spawn(async move {
            stopped().await;
            let _ = end.send(true);
        });
        listen::serve(listener, app(state), secured, ending).await;
        let _ = tokio::task::spawn_blocking(move || notebook.settle()).await;
        Ok(())
    }
}

/// The name in an address like `https://studio.example`.
fn host_of(outside: &str) -> Result<String, Error> {
    let name = outside.strip_prefix("https://").or_else(|| outside.strip_prefix("http://"));
    let name =
        name.map(|rest| rest.trim_end_matches('/')).filter(|name| !name.is_empty() && !name.contains(['/', '@', ' ']));
    let name = name.and_then(|name| name.split(':').next());
    name.map(str::to_owned).ok_or_else(|| {
        Error::unusable(format!("`{outside}` is not an address of a server"), "write it like https://studio.example")
    })
}

/// Waits for Ctrl-C or a polite end.
async fn stopped() {
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut terminate) = signal(SignalKind::terminate()) {
            tokio::select! {
                _ = tokio::signal::ctrl_c() => {}
                _ = terminate.recv() => {}
            }
            return;
        }
    }
    let _ = tokio::signal::ctrl_c().await;
}

fn home() -> Result<PathBuf, Error> {
    std::env::home_dir().filter(|home| home.is_dir()).ok_or_else(|| {
        Error::storage("this computer names no home folder", "give the folder of a notebook: makeready serve FOLDER")
    })
}

/// Copies the example plans into a new notebook.
pub(super) fn begin(root: &Path) -> Result<(), Error> {
    std::fs::create_dir_all(root).map_err(|error| not_writable(root, error.into()))?;
    for path in Examples::iter() {
        let Some(stem) = path.strip_suffix(".md") else { continue };
        let (Ok(name), Some(file)) = (Name::new(stem), Examples::get(&path)) else { continue };
        folder::replace(root, &name, &String::from_utf8_lossy(&file.data), None)?;
    }
    Ok(())
}

fn not_writable(root: &Path, error: Error) -> Error {
    let Message { what, next, .. } = error.message().clone();
    Error::storage(format!("the notebook `{}` cannot be used: {what}", root.display()), next).because(error)
}

fn cannot_listen(at: SocketAddr, error: &std::io::Error) -> Error {
    use std::io::ErrorKind as K;
    let (what, next) = match error.kind() {
        K::AddrInUse => (
            format!("port {} is taken by another program", at.port()),
            format!(
                "perhaps Makeready runs already: open http://{at}/; or choose another port with `--port {}`",
                at.port().saturating_add(1)
            ),
        ),
        K::PermissionDenied => {
            (format!("port {} is not free to everyone", at.port()), "choose a port above 1024 with `--port`".to_owned())
        }
        _ => (
            format!("the address {at} cannot be used: {error}"),
            "choose another with `--address` or `--port`".to_owned(),
        ),
    };
    Error::storage(what, next)
}
