//! `makeready serve`: a notebook in the browser.

use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;

use clap::Args;
use engine::Trouble;
use tokio::net::TcpListener;
use tokio::sync::watch;

use super::print;
use crate::app::{App, app};
use crate::assets::Examples;
use crate::clock::Clock;
use crate::names::Name;
use crate::notebook::Notebook;
use crate::store::Store;
use crate::trouble::Refusal;
use crate::{folder, listen};

/// How a notebook is served.
#[derive(Clone, Debug, Args)]
pub(super) struct Serve {
    /// The notebook's folder. Without it: `makeready` in your home folder, begun with the example plans when it is not there
    #[arg(env = "MAKEREADY_NOTEBOOK")]
    notebook: Option<PathBuf>,
    /// The port; 0 takes any free one
    #[arg(long, env = "MAKEREADY_PORT", default_value_t = 6170)]
    port: u16,
    /// The address to listen on; other computers reach it only when this is changed, and then anyone in the network can read and write
    #[arg(long, env = "MAKEREADY_ADDRESS", default_value_t = IpAddr::V4(Ipv4Addr::LOCALHOST))]
    address: IpAddr,
    /// A further name this server answers to, when it is reached by one; may be given more than once
    #[arg(long = "host", env = "MAKEREADY_HOSTS", value_delimiter = ',')]
    hosts: Vec<String>,
}

impl Serve {
    pub(super) fn run(self) -> Result<ExitCode, Refusal> {
        let root = self.folder()?;
        let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build()?;
        let result = runtime.block_on(self.serve(root));
        runtime.shutdown_timeout(std::time::Duration::from_secs(1));
        result.map(|()| ExitCode::SUCCESS)
    }

    /// The notebook's folder, begun with the examples when it is a new one of our own choosing.
    fn folder(&self) -> Result<PathBuf, Refusal> {
        let (root, chosen) = match &self.notebook {
            Some(folder) => (folder.clone(), true),
            None => (home()?.join("makeready"), false),
        };
        if root.is_file() {
            return Err(Refusal::unable(format!("`{}` is a file", root.display()), "give the folder of a notebook"));
        }
        if chosen && !root.exists() {
            return Err(Refusal::missing(
                format!("there is no folder `{}`", root.display()),
                "make it first, or start without a folder to get the example plans",
            ));
        }
        let empty = !root.exists() || std::fs::read_dir(&root).is_ok_and(|mut entries| entries.next().is_none());
        if !chosen && empty {
            begin(&root)?;
        }
        Ok(root)
    }

    async fn serve(self, root: PathBuf) -> Result<(), Refusal> {
        let at = SocketAddr::new(self.address, self.port);
        let listener = TcpListener::bind(at).await.map_err(|error| cannot_listen(at, &error))?;
        let address = listener.local_addr()?;
        let store = Store::open(&root).map_err(|refusal| not_writable(&root, refusal))?;
        let notebook = Arc::new(Notebook::open(root.clone(), store, Clock::Computer)?);
        let (end, ending) = watch::channel(false);
        let mut hosts = self.hosts;
        if !self.address.is_loopback() && !self.address.is_unspecified() {
            hosts.push(self.address.to_string());
        }
        let state = App::new(notebook.clone(), hosts, ending.clone());
        tokio::spawn(crate::watch::follow(notebook));
        let shown = root.canonicalize().unwrap_or(root);
        print(&format!(
            "Makeready serves {}\nOpen http://{address}/ in a browser. Stop with Ctrl-C.\n",
            shown.display()
        ));
        if !address.ip().is_loopback() {
            eprintln!("makeready: anyone in this network can read and write this notebook");
        }
        tokio::spawn(async move {
            stopped().await;
            let _ = end.send(true);
        });
        listen::serve(listener, app(state), ending).await;
        Ok(())
    }
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

fn home() -> Result<PathBuf, Refusal> {
    std::env::home_dir().filter(|home| home.is_dir()).ok_or_else(|| {
        Refusal::unable("this computer names no home folder", "give the folder of a notebook: makeready serve FOLDER")
    })
}

/// Copies the example plans into a new notebook.
fn begin(root: &Path) -> Result<(), Refusal> {
    std::fs::create_dir_all(root).map_err(|error| not_writable(root, error.into()))?;
    for path in Examples::iter() {
        let Some(stem) = path.strip_suffix(".md") else { continue };
        let (Ok(name), Some(file)) = (Name::new(stem), Examples::get(&path)) else { continue };
        folder::replace(root, &name, &String::from_utf8_lossy(&file.data))?;
    }
    Ok(())
}

fn not_writable(root: &Path, refusal: Refusal) -> Refusal {
    let trouble = refusal.trouble();
    Refusal::unable(format!("the notebook `{}` cannot be used: {}", root.display(), trouble.what), trouble.next.clone())
}

fn cannot_listen(at: SocketAddr, error: &std::io::Error) -> Refusal {
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
    Refusal::Unable(Trouble::new(what, next))
}
