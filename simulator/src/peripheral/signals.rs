//! `PropertiesChanged`, the one signal that tells a client everything.

use std::collections::HashMap;

use serde::Serialize;
use zbus::{Message, Type, Variant, as_variant};

const PROPERTIES: &str = "org.freedesktop.DBus.Properties";
const CHANGED: &str = "PropertiesChanged";
const NONE_INVALIDATED: &[&str] = &[];

/// Says that one property of an object has a new value.
pub(super) fn changed(
    path: &str,
    interface: &str,
    property: &str,
    value: Variant<'_>,
) -> zbus::Result<Message> {
    let properties = HashMap::from([(property, value)]);
    Message::signal(path, PROPERTIES, CHANGED).build(&(interface, properties, NONE_INVALIDATED))
}

/// A notification: the characteristic's value is new.
pub(super) fn notification(path: &str, value: &[u8]) -> zbus::Result<Message> {
    let body = (super::gatt::CHARACTERISTIC, Notified { value }, NONE_INVALIDATED);
    Message::signal(path, PROPERTIES, CHANGED).build(&body)
}

/// The dictionary of a notification, without building one for each.
#[derive(Serialize, Type)]
#[zbus(signature = "a{sv}")]
struct Notified<'a> {
    #[serde(rename = "Value", with = "as_variant")]
    value: &'a [u8],
}
