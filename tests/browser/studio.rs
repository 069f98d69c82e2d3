//! A notebook served for one test: its folder, the server with its watch on the folder, and one browser.

use std::future::Future;
use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::{Duration, Instant};

use engine::measure::Day;
use makeready_tests::{TODAY, copy_to};
use server::clock::Clock;
use server::names::Name;
use server::notebook::Notebook;
use server::store::Store;
use server::{App, app, listen, watch};
use tokio::net::TcpListener;

use crate::driver::Driver;
use crate::page::Page;

/// How long something that is to happen is waited for. Generous, because the machine may be doing other things.
pub const PATIENCE: Duration = Duration::from_secs(20);

#[derive(Clone)]
pub struct Studio {
    pub notebook: Arc<Notebook>,
    pub address: SocketAddr,
    driver: String,
}

/// Serves the shipped notebook, opens a browser, and does something with both. When that fails, the screen is kept in
/// `tests/shots`.
pub fn open<F, Work>(work: F)
where
    F: FnOnce(Studio, Page) -> Work,
    Work: Future<Output = ()> + Send + 'static,
{
    let folder = tempfile::Builder::new().prefix("studio").tempdir().unwrap();
    copy_to(folder.path()).unwrap();
    open_in(&folder, work);
}

/// The same with a notebook in which nothing is yet.
pub fn open_empty<F, Work>(work: F)
where
    F: FnOnce(Studio, Page) -> Work,
    Work: Future<Output = ()> + Send + 'static,
{
    open_in(&tempfile::Builder::new().prefix("studio").tempdir().unwrap(), work);
}

fn open_in<F, Work>(folder: &tempfile::TempDir, work: F)
where
    F: FnOnce(Studio, Page) -> Work,
    Work: Future<Output = ()> + Send + 'static,
{
    let driver = Driver::start();
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
    let outcome = runtime.block_on(async {
        let store = Store::open(folder.path()).unwrap();
        let clock = Clock::Fixed(Day::parse(TODAY).unwrap());
        let notebook = Arc::new(Notebook::open(folder.path().to_path_buf(), store, clock).unwrap());
        let (end, ending) = tokio::sync::watch::channel(false);
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let address = listener.local_addr().unwrap();
        let state = App::new(notebook.clone(), Vec::new(), ending.clone());
        tokio::spawn(watch::follow(notebook.clone()));
        let serving = tokio::spawn(listen::serve(listener, app(state), None, ending));
        let studio = Studio { notebook, address, driver: driver.address.clone() };
        let page = Page::open(&studio.driver, &studio.base()).await;
        let outcome = tokio::spawn(work(studio, page.clone())).await;
        if outcome.is_err() {
            page.keep_the_screen().await;
        }
        page.close().await;
        let _ = end.send(true);
        let _ = tokio::time::timeout(Duration::from_secs(5), serving).await;
        outcome
    });
    runtime.shutdown_timeout(Duration::from_secs(5));
    drop(driver);
    if let Err(failed) = outcome {
        std::panic::resume_unwind(failed.into_panic());
    }
}

impl Studio {
    pub fn base(&self) -> String {
        format!("http://{}", self.address)
    }

    /// A second window, in a browser of its own.
    pub async fn second(&self) -> Page {
        Page::open(&self.driver, &self.base()).await
    }

    pub fn path(&self, file: &str) -> PathBuf {
        self.notebook.root().join(file)
    }

    /// A file as it lies on the disk.
    pub fn file(&self, file: &str) -> String {
        std::fs::read_to_string(self.path(file)).unwrap()
    }

    /// Writes a file the way another program would.
    pub fn outside(&self, file: &str, text: &str) {
        std::fs::write(self.path(file), text).unwrap();
    }

    /// The texts of every revision, oldest first.
    pub fn history(&self, plan: &str) -> Vec<String> {
        let name = Name::new(plan).unwrap();
        let mut all = self.notebook.store().revisions(&name).unwrap();
        all.reverse();
        all.iter().map(|one| self.notebook.store().revision_text(&name, one.number).unwrap()).collect()
    }

    /// Waits until a file says so.
    pub async fn until_file(&self, file: &str, what: &str, is: impl Fn(&str) -> bool) -> String {
        let began = Instant::now();
        loop {
            let text = std::fs::read_to_string(self.path(file)).unwrap_or_default();
            if is(&text) {
                return text;
            }
            assert!(began.elapsed() < PATIENCE, "{file}: {what} was waited for in vain: {text}");
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
    }
}
