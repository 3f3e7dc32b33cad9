//! A recording with its page: data folder, store, HTTP, pipeline, put together and taken down in
//! order.

use std::io;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use tokio::net::TcpListener;
use tokio::sync::{mpsc, watch};
use tokio::task::JoinHandle;
use tokio_util::sync::CancellationToken;

use crate::desk::Desk;
use crate::fitting::{self, Surroundings};
use crate::http::{self, AppState, StoredVisits};
use crate::live::LiveState;
use crate::meters::Meters;
use crate::pipeline::{Ends, RecordError, Recorded, Settings, queues, record};
use crate::source::ble::Bluetooth;
use crate::source::{Pace, Source};
use crate::store::{self, ADDRESS_FILE, Code, OpenError, WriteError, Writer};
use crate::tilt::TableTilt;
use crate::visit::Announcement;

/// Why a session could not be begun, or broke off.
#[derive(Debug, thiserror::Error)]
pub enum SessionError {
    /// The data folder cannot be used.
    #[error(transparent)]
    Open(#[from] OpenError),
    /// The writer's thread could not be started.
    #[error("the system gives no thread to write with: {0}")]
    Thread(io::Error),
    /// The page's address cannot be written.
    #[error("{} cannot be written ({source}): give this user write access", path.display())]
    Address {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// The recording broke off.
    #[error(transparent)]
    Record(#[from] RecordError),
    /// The last writes did not reach the disk.
    #[error(transparent)]
    Close(#[from] WriteError),
}

/// A data folder taken for writing, and perhaps a page that is served.
#[derive(Debug)]
pub struct Session {
    data_dir: PathBuf,
    writer: Writer,
    page: Option<Page>,
    live: watch::Sender<Arc<LiveState>>,
    commands: Option<mpsc::Receiver<http::Command>>,
    orders: Option<mpsc::Receiver<http::Asked>>,
    meters: Meters,
}

/// The page while it is served.
#[derive(Debug)]
struct Page {
    address: SocketAddr,
    address_file: PathBuf,
    stop: CancellationToken,
    serving: JoinHandle<io::Result<()>>,
    /// Finds sensors for the page.
    fitter: JoinHandle<()>,
}

/// What is to be recorded.
#[derive(Debug)]
pub struct Task {
    /// From where.
    pub source: Source,
    /// Of whom.
    pub person: Code,
    /// How fast.
    pub pace: Pace,
    /// How the table stands.
    pub tilt: TableTilt,
    /// Who tells people.
    pub announcements: mpsc::Sender<Announcement>,
}

impl Session {
    /// Takes the data folder and, with a listener, serves the page.
    ///
    /// # Errors
    /// [`SessionError`], each a sentence with its remedy.
    pub fn start(
        data_dir: &Path,
        store: store::Store,
        listener: Option<TcpListener>,
    ) -> Result<Self, SessionError> {
        let writer = Writer::start(store).map_err(SessionError::Thread)?;
        let (live, seen) = watch::channel(Arc::new(LiveState::waiting()));
        let (to_visit, commands) = mpsc::channel(queues::COMMANDS);
        let (to_desk, orders) = mpsc::channel(queues::ORDERS);
        let meters = Meters::start();
        let stop = CancellationToken::new();
        let page = match listener {
            Some(listener) => {
                let visits = Arc::new(StoredVisits::new(data_dir.to_owned()));
                let meters = meters.clone();
                let desk = Desk::new(data_dir.to_owned(), writer.handle());
                let surroundings = Surroundings {
                    data_dir: data_dir.to_owned(),
                    writer: writer.handle(),
                    live: seen.clone(),
                    profiles: None,
                };
                let (fitting, fitter) = fitting::start(Bluetooth, surroundings, stop.clone());
                let (commands, orders) = (to_visit, to_desk);
                let app = AppState { live: seen, visits, desk, commands, orders, fitting, meters };
                Some(Page::serve(data_dir, listener, app, stop, fitter)?)
            }
            None => None,
        };
        let data_dir = data_dir.to_owned();
        let (commands, orders) = (Some(commands), Some(orders));
        Ok(Self { data_dir, writer, page, live, commands, orders, meters })
    }

    /// Where the page is served, as a browser wants it.
    #[must_use]
    pub fn page(&self) -> Option<String> {
        self.page.as_ref().map(|page| format!("http://{}/", page.address))
    }

    /// Records a visit to its end, or until `stop`. One visit per session.
    ///
    /// # Errors
    /// [`SessionError::Record`].
    pub async fn record(
        &mut self,
        task: Task,
        stop: &CancellationToken,
    ) -> Result<Recorded, SessionError> {
        let ends = Ends {
            writer: self.writer.handle(),
            live: self.live.clone(),
            // A second visit would hear no commands; there is none.
            commands: self.commands.take().unwrap_or_else(|| mpsc::channel(1).1),
            orders: self.orders.take().unwrap_or_else(|| mpsc::channel(1).1),
            announcements: task.announcements,
            meters: self.meters.clone(),
        };
        let settings = Settings {
            person: task.person,
            pace: task.pace,
            data_dir: self.data_dir.clone(),
            tilt: task.tilt,
        };
        Ok(record(task.source, settings, ends, stop.clone()).await?)
    }

    /// Takes the page down, writes what is left and lets the data folder go.
    ///
    /// # Errors
    /// [`SessionError::Close`] when the disk does not take the last writes.
    pub async fn close(self) -> Result<(), SessionError> {
        if let Some(page) = self.page {
            page.close().await;
        }
        Ok(self.writer.close().await?)
    }
}

impl Page {
    fn serve(
        data_dir: &Path,
        listener: TcpListener,
        app: AppState,
        stop: CancellationToken,
        fitter: JoinHandle<()>,
    ) -> Result<Self, SessionError> {
        let address_file = data_dir.join(ADDRESS_FILE);
        let failed = |source| SessionError::Address { path: address_file.clone(), source };
        let address = listener.local_addr().map_err(failed)?;
        std::fs::write(&address_file, format!("http://{address}/\n")).map_err(failed)?;
        let serving = tokio::spawn(http::serve(listener, app, stop.clone()));
        Ok(Self { address, address_file, stop, serving, fitter })
    }

    async fn close(self) {
        self.stop.cancel();
        match self.serving.await {
            Ok(Ok(())) => {}
            Ok(Err(error)) => tracing::warn!(%error, "the page was not served to the end"),
            Err(error) => tracing::error!(%error, "the page's task broke off"),
        }
        if let Err(error) = self.fitter.await {
            tracing::error!(%error, "the task that finds sensors broke off");
        }
        if let Err(error) = std::fs::remove_file(&self.address_file) {
            tracing::warn!(%error, "the file with the page's address could not be removed");
        }
    }
}
