//! The calls themselves, each with a time limit: any of them may hang.

use std::future::Future;
use std::time::Duration;

use endarc_protocol::gatt;
use endarc_protocol::profile::{Profile, StreamLayout, Write};
use futures::stream::BoxStream;

use super::life::Step;
use super::radio::{Characteristic, Link, Notification, Place, Radio, RadioNews};
use super::trouble::Trouble;
use crate::source::event::Identity;

/// How long a question to the service itself may take, s. One that takes longer has died.
const QUESTION_S: f64 = 2.0;
/// How long a scan may take to start or stop, s.
const SCAN_S: f64 = 5.0;
/// How long reading one value may take, s.
const READ_S: f64 = 3.0;

/// Waits for a call, but not for ever.
pub(super) async fn within<T>(
    limit_s: f64,
    late: Trouble,
    call: impl Future<Output = Result<T, Trouble>>,
) -> Result<T, Trouble> {
    tokio::time::timeout(Duration::from_secs_f64(limit_s), call).await.unwrap_or(Err(late))
}

/// Asks for the adapter, and for its news where none are heard yet.
pub(super) async fn adapter<R: Radio>(
    radio: R,
    with_news: bool,
) -> Result<(bool, Option<BoxStream<'static, RadioNews>>), Trouble> {
    within(SCAN_S, Trouble::NoBus, async {
        let on = radio.adapter().await?;
        let news = if with_news { Some(radio.news().await?) } else { None };
        Ok((on, news))
    })
    .await
}

/// Starts or stops a scan.
pub(super) async fn scan<R: Radio>(radio: R, on: bool) -> Result<(), Trouble> {
    within(SCAN_S, Trouble::NoBus, async {
        if on { radio.start_scan().await } else { radio.stop_scan().await }
    })
    .await
}

/// Finds a device.
pub(super) async fn find<R: Radio>(radio: R, address: String) -> Result<R::Link, Trouble> {
    within(Step::Find.limit_s(), Trouble::NoBus, radio.link(&address))
        .await?
        .ok_or(Trouble::NotSeen)
}

/// Connects; a connection that exists already is taken over.
pub(super) async fn connect<L: Link>(link: L) -> Result<(), Trouble> {
    if within(QUESTION_S, Trouble::NoBus, link.is_connected()).await? {
        return Ok(());
    }
    within(Step::Connect.limit_s(), Trouble::TimedOut, link.connect()).await
}

/// Finds what a device offers, and holds it against its profile.
pub(super) async fn discover<L: Link>(
    link: L,
    profile: &Profile,
) -> Result<Vec<Characteristic>, Trouble> {
    let offered = within(Step::Discover.limit_s(), Trouble::TimedOut, link.discover()).await?;
    fits(profile, &offered)?;
    Ok(offered)
}

/// Asks for the notifications of every stream; gives the stream they come by where there was none.
pub(super) async fn subscribe<L: Link>(
    link: L,
    profile: &Profile,
    listening: bool,
) -> Result<Option<BoxStream<'static, Notification>>, Trouble> {
    within(Step::Subscribe.limit_s(), Trouble::TimedOut, async {
        let stream = if listening { None } else { Some(link.notifications().await?) };
        for layout in profile.streams() {
            link.subscribe(place(layout)).await?;
        }
        Ok(stream)
    })
    .await
}

/// Writes what starts (or stops) the samples.
pub(super) async fn write<L: Link>(link: L, writes: &[Write]) -> Result<(), Trouble> {
    within(Step::Start.limit_s(), Trouble::TimedOut, async {
        for Write { characteristic, service, bytes, with_response } in writes {
            let place = Place { service: *service, characteristic: *characteristic };
            link.write(place, bytes, *with_response).await?;
        }
        Ok(())
    })
    .await
}

/// Whether a device is still connected.
pub(super) async fn check<L: Link>(link: L) -> Result<(), Trouble> {
    match within(Step::Check.limit_s(), Trouble::NoBus, link.is_connected()).await? {
        true => Ok(()),
        false => Err(Trouble::NotConnected),
    }
}

/// Reads what a device says of itself; what it does not offer, or does not tell, stays unknown.
pub(super) async fn identify<L: Link>(link: L, offered: Vec<Characteristic>) -> Identity {
    let text = |number| text(link.clone(), &offered, number);
    Identity {
        manufacturer: text(gatt::MANUFACTURER_NAME).await,
        model: text(gatt::MODEL_NUMBER).await,
        serial: text(gatt::SERIAL_NUMBER).await,
        firmware: text(gatt::FIRMWARE_REVISION).await,
        battery_percent: battery(link.clone(), &offered, true).await,
    }
}

/// Reads the battery's level, percent; `None` where it is not known.
pub(super) async fn battery<L: Link>(
    link: L,
    offered: &[Characteristic],
    streaming: bool,
) -> Option<u8> {
    let place = Place { service: Some(gatt::BATTERY_SERVICE), characteristic: gatt::BATTERY_LEVEL };
    gatt::battery_percent(&read(link, offered, place).await?, streaming)
}

async fn text<L: Link>(
    link: L,
    offered: &[Characteristic],
    characteristic: uuid::Uuid,
) -> Option<String> {
    let place = Place { service: Some(gatt::DEVICE_INFORMATION), characteristic };
    let bytes = read(link, offered, place).await?;
    let text = String::from_utf8_lossy(&bytes);
    let text = text.trim_matches(|letter: char| letter == '\0' || letter.is_whitespace());
    (!text.is_empty()).then(|| text.to_owned())
}

async fn read<L: Link>(link: L, offered: &[Characteristic], place: Place) -> Option<Vec<u8>> {
    offered.iter().find(|one| one.readable && place.is(one.service, one.uuid))?;
    match within(READ_S, Trouble::TimedOut, link.read(place)).await {
        Ok(bytes) => Some(bytes),
        Err(trouble) => {
            tracing::debug!(characteristic = %place.characteristic, %trouble, "not read");
            None
        }
    }
}

/// Whether a device offers all that its profile needs.
fn fits(profile: &Profile, offered: &[Characteristic]) -> Result<(), Trouble> {
    let any = |place: Place, fit: fn(&Characteristic) -> bool| {
        if offered.iter().any(|one| place.is(one.service, one.uuid) && fit(one)) {
            Ok(())
        } else {
            Err(Trouble::Lacks(place.characteristic))
        }
    };
    for layout in profile.streams() {
        any(place(layout), |one| one.notifies)?;
    }
    for write in profile.start() {
        let place = Place { service: write.service, characteristic: write.characteristic };
        any(place, |one| one.writable || one.commandable)?;
    }
    Ok(())
}

const fn place(layout: &StreamLayout) -> Place {
    Place { service: layout.service(), characteristic: layout.characteristic() }
}
