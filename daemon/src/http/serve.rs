//! Answering requests until told to stop.

use std::io;
use std::time::Duration;

use tokio::net::TcpListener;
use tokio_util::sync::CancellationToken;

use super::names::OwnNames;
use super::patience::Patient;
use super::routes::router;
use super::state::{AppState, Shared};

/// How long a viewer may take no data before its connection is closed.
const STALL_LIMIT: Duration = Duration::from_secs(10);

/// How long open requests may still take once the daemon stops.
const STOP_LIMIT: Duration = Duration::from_secs(2);

/// Serves the page and the interface until `stop` is cancelled; live streams end with it.
///
/// # Errors
/// When the listener is not on a loopback address (`InvalidInput`), or its address cannot be read.
pub async fn serve(
    listener: TcpListener,
    state: AppState,
    stop: CancellationToken,
) -> io::Result<()> {
    let address = listener.local_addr()?;
    if !address.ip().is_loopback() {
        let text = format!("{address} is not a loopback address; listen on 127.0.0.1 or [::1]");
        return Err(io::Error::new(io::ErrorKind::InvalidInput, text));
    }
    let app = router(Shared::new(state, stop.clone()), OwnNames::of(address));
    let server = axum::serve(Patient { listener, limit: STALL_LIMIT }, app)
        .with_graceful_shutdown(stop.clone().cancelled_owned());
    tokio::select! {
        served = server => served,
        () = stopped_for(stop, STOP_LIMIT) => Ok(()),
    }
}

/// Waits until `limit` after `stop`: a request that is never finished must not keep the daemon.
async fn stopped_for(stop: CancellationToken, limit: Duration) {
    stop.cancelled().await;
    tokio::time::sleep(limit).await;
}
