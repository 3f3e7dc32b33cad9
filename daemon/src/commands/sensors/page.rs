//! `endarc sensors page`: find sensors and say where they are worn, on the page.

use std::net::SocketAddr;
use std::path::Path;

use tokio_util::sync::CancellationToken;

use crate::commands::run::{runtime, said};
use crate::commands::stdio;
use crate::error::Failure;
use crate::session::Session;
use crate::{folders, http, signals, store};

/// Serve the page without a visit, to find sensors and say where they are worn
///
/// Its section "Find and watch sensors" looks for sensors, shows which one is being moved, and assigns it. Ends
/// with Ctrl-C.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Where the page is served; port 0 lets the system choose one
    #[arg(long, value_name = "ADDRESS", default_value = "127.0.0.1:8420")]
    listen: SocketAddr,
}

pub(super) fn run(args: &Args, data_dir: Option<&Path>) -> Result<(), Failure> {
    let data = folders::data(data_dir).map_err(said)?;
    runtime()?.block_on(async {
        let stop = CancellationToken::new();
        signals::cancel_when_asked(stop.clone()).map_err(said)?;
        let store = store::open(&data).map_err(said)?;
        let listener = http::bind(args.listen).await.map_err(said)?;
        let session = Session::start(&data, store, Some(listener)).map_err(said)?;
        if let Some(page) = session.page() {
            stdio::note(&format!("page: {page}"));
        }
        stop.cancelled().await;
        session.close().await.map_err(said)
    })
}
