//! Making the system forget a device, so that what it remembers of it is read anew.

use btleplug::platform::PeripheralId;

use super::trouble::Trouble;

/// Removes a device from BlueZ, which `btleplug` has no call for.
#[cfg(target_os = "linux")]
pub(super) async fn forget(id: &PeripheralId) -> Result<(), Trouble> {
    use std::time::Duration;

    /// How long BlueZ may take.
    const LIMIT: Duration = Duration::from_secs(3);

    let device = format!("/org/bluez/{id}");
    let forgetting = tokio::task::spawn_blocking(move || -> Result<(), dbus::Error> {
        let adapter = device.rsplit_once('/').map_or("/org/bluez", |(adapter, _)| adapter);
        let bus = dbus::blocking::Connection::new_system()?;
        let device = dbus::Path::new(device.as_str())
            .map_err(|path| dbus::Error::new_failed(&format!("{path} is no path")))?;
        let service = bus.with_proxy("org.bluez", adapter, LIMIT);
        service.method_call("org.bluez.Adapter1", "RemoveDevice", (device,))
    });
    match forgetting.await {
        Ok(Ok(())) => Ok(()),
        Ok(Err(error)) => Err(Trouble::of_text(&error.to_string())),
        Err(error) => Err(Trouble::Other(error.to_string())),
    }
}

/// Other systems have no such call: connecting anew has to do.
#[cfg(not(target_os = "linux"))]
pub(super) async fn forget(_id: &PeripheralId) -> Result<(), Trouble> {
    Ok(())
}
