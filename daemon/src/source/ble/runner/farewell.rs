//! Leaving the sensors, when nothing is wanted of them any more.

use std::sync::Arc;

use futures::stream::BoxStream;
use tokio::task::JoinSet;

use super::device::Device;
use crate::source::ble::calls;
use crate::source::ble::drain::Drain;
use crate::source::ble::radio::{Link, Radio, RadioNews};
use crate::source::ble::trouble::Trouble;

/// How long saying goodbye may take, s: BlueZ takes two for a disconnect.
const GOODBYE_S: f64 = 4.0;

/// The sensors that are still to be left. It takes seconds, and what they send meanwhile is not of
/// the visit any more: so the visit is not made to wait for it.
#[must_use = "the sensors go on sending until they are left"]
pub(crate) struct Farewell<R: Radio> {
    pub(super) devices: Vec<Device<R::Link>>,
    pub(super) radio: Option<R>,
    pub(super) news: Option<BoxStream<'static, RadioNews>>,
}

impl<R: Radio> Farewell<R> {
    /// Leaves every sensor, and waits for every task.
    pub(crate) async fn say(self) {
        let mut leaving = JoinSet::new();
        for device in self.devices {
            leaving.spawn(leave(device));
        }
        if let Some(radio) = self.radio {
            leaving.spawn(async move { calls::scan(radio, false).await });
        }
        while let Some(left) = leaving.join_next().await {
            if let Ok(Err(trouble)) = left {
                tracing::debug!(%trouble, "a sensor was not left properly");
            }
        }
        // Only now, when nothing comes by it any more.
        drop(self.news);
    }
}

async fn leave<L: Link>(mut device: Device<L>) -> Result<(), Trouble> {
    let left = match device.link.take() {
        Some(link) => {
            let profile = Arc::clone(&device.wanted.profile);
            calls::within(GOODBYE_S, Trouble::TimedOut, async move {
                if link.is_connected().await? {
                    // Whether or not it is told to stop, it is left.
                    calls::write(link.clone(), profile.stop()).await.ok();
                }
                link.disconnect().await
            })
            .await
        }
        None => Ok(()),
    };
    if let Some(drain) = device.drain.take() {
        Drain::end(drain).await;
    }
    left
}
