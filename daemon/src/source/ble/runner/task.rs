//! One step for one sensor, and what calls come to.

use std::sync::Arc;

use endarc_protocol::profile::Profile;
use futures::stream::BoxStream;

use crate::source::ble::calls;
use crate::source::ble::life::{Step, Which};
use crate::source::ble::radio::{Characteristic, Link, Notification, Radio, RadioNews, Seen};
use crate::source::ble::trouble::Trouble;
use crate::source::event::Identity;

/// What a call came to.
pub(super) enum Answer<R: Radio> {
    Opened(Result<R, Trouble>),
    Adapter(Result<(bool, Option<BoxStream<'static, RadioNews>>), Trouble>),
    Scan(bool, Result<(), Trouble>),
    Looked(Result<Vec<Seen>, Trouble>),
    Found(Which, Result<R::Link, Trouble>),
    Discovered(Which, Result<Vec<Characteristic>, Trouble>),
    Subscribed(Which, Result<Option<BoxStream<'static, Notification>>, Trouble>),
    Done(Which, Step, Result<(), Trouble>),
    Identified(Which, Identity),
    Battery(Which, Option<u8>),
}

/// What a step needs to know.
pub(super) struct Task<R> {
    pub(super) which: Which,
    pub(super) step: Step,
    pub(super) profile: Arc<Profile>,
    pub(super) address: String,
    /// Whether the sensor's notifications are being drained already.
    pub(super) listening: bool,
    pub(super) radio: Option<R>,
}

impl<R: Radio> Task<R> {
    /// Does it.
    pub(super) async fn run(self, link: Option<R::Link>) -> Answer<R> {
        let Self { which, step, profile, listening, .. } = self;
        let done = |outcome| Answer::Done(which, step, outcome);
        match (step, link) {
            (Step::Find, _) => {
                let found = match self.radio {
                    Some(radio) => calls::find(radio, self.address).await,
                    None => Err(Trouble::NoBus),
                };
                Answer::Found(which, found)
            }
            (_, None) => done(Err(Trouble::Forgotten)),
            (Step::Connect, Some(link)) => done(calls::connect(link).await),
            (Step::Discover, Some(link)) => {
                Answer::Discovered(which, calls::discover(link, &profile).await)
            }
            (Step::Subscribe, Some(link)) => {
                Answer::Subscribed(which, calls::subscribe(link, &profile, listening).await)
            }
            (Step::Start, Some(link)) => done(calls::write(link, profile.start()).await),
            (Step::Check, Some(link)) => done(calls::check(link).await),
            (Step::Leave, Some(link)) => {
                let left = calls::within(step.limit_s(), Trouble::TimedOut, link.disconnect());
                done(left.await)
            }
            (Step::Forget, Some(link)) => {
                let forgotten = calls::within(step.limit_s(), Trouble::TimedOut, async {
                    link.disconnect().await?;
                    link.forget().await
                });
                done(forgotten.await)
            }
        }
    }
}
