//! `endarc desk`: the pages for afterwards, without recording anything.

use std::net::SocketAddr;
use std::path::{Path, PathBuf};

use tokio_util::sync::CancellationToken;

use super::run::{runtime, said};
use super::{browser, stdio};
use crate::error::Failure;
use crate::session::Session;
use crate::{folders, http, signals, store};

/// Serve the desk: a person's visits over time, their movements, reports, putting right
///
/// Nothing is recorded. While `endarc run` runs, its own page has the desk at /desk.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Where the pages are served; port 0 lets the system choose one
    #[arg(long, value_name = "ADDRESS", default_value = "127.0.0.1:8420")]
    listen: SocketAddr,
    /// Open the desk in the browser
    #[arg(long)]
    open: bool,
}

/// Does it, until Ctrl-C.
///
/// # Errors
/// When the data folder cannot be used or the port is taken.
pub fn run(args: &Args, data_dir: Option<&Path>) -> Result<(), Failure> {
    let data_dir = folders::data(data_dir).map_err(said)?;
    runtime()?.block_on(serve(args, data_dir))
}

async fn serve(args: &Args, data_dir: PathBuf) -> Result<(), Failure> {
    let stop = CancellationToken::new();
    signals::cancel_when_asked(stop.clone()).map_err(said)?;
    let store = store::open(&data_dir).map_err(said)?;
    let listener = http::bind(args.listen).await.map_err(said)?;
    let session = Session::start(&data_dir, store, Some(listener)).map_err(said)?;
    if let Some(page) = session.page() {
        let desk = format!("{page}desk");
        stdio::note(&format!("page: {desk}"));
        if args.open
            && let Err(error) = browser::open(&desk)
        {
            stdio::note(&format!(
                "the browser could not be opened ({error}): open {desk} yourself"
            ));
        }
    }
    stop.cancelled().await;
    session.close().await.map_err(said)
}
