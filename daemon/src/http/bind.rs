//! Opening the port: loopback addresses only, and a taken port is said to be taken.

use std::io;
use std::net::SocketAddr;

use tokio::net::TcpListener;

/// How many ports after the wished one [`bind_or_next`] tries.
const NEXT_PORTS: u16 = 32;

/// Why a port could not be opened.
#[derive(Debug, thiserror::Error)]
pub enum BindError {
    /// The address can be reached from other machines.
    #[error(
        "{0} is not a loopback address: the page shows a person's data without a password, so it \
         is served to this computer only; use 127.0.0.1 or [::1]"
    )]
    NotLoopback(SocketAddr),
    /// Another program (or another endarc) listens there.
    #[error(
        "port {} on {} is taken by another program: stop it, or choose another with --listen {}:0",
        .0.port(), .0.ip(), host(.0)
    )]
    Taken(SocketAddr),
    /// The system refused for another reason.
    #[error("cannot listen on {address}: {source}")]
    Io {
        /// The address that was wished.
        address: SocketAddr,
        /// What the system said.
        source: io::Error,
    },
}

/// Listens on a loopback address; port 0 lets the system choose one.
///
/// # Errors
/// [`BindError`] names the address and the remedy.
pub async fn bind(address: SocketAddr) -> Result<TcpListener, BindError> {
    if !address.ip().is_loopback() {
        return Err(BindError::NotLoopback(address));
    }
    TcpListener::bind(address).await.map_err(|source| match source.kind() {
        io::ErrorKind::AddrInUse => BindError::Taken(address),
        _ => BindError::Io { address, source },
    })
}

/// As [`bind`], but goes on to the next free port where the wished one is taken.
///
/// # Errors
/// [`BindError::Taken`] with the wished address when the 32 ports after it are taken too.
pub async fn bind_or_next(address: SocketAddr) -> Result<TcpListener, BindError> {
    let last = address.port().saturating_add(NEXT_PORTS);
    for port in address.port()..=last {
        match bind(SocketAddr::new(address.ip(), port)).await {
            Err(BindError::Taken(_)) => {}
            other => return other,
        }
    }
    Err(BindError::Taken(address))
}

/// The address's host as it is written in front of a port.
fn host(address: &SocketAddr) -> String {
    match address {
        SocketAddr::V4(address) => address.ip().to_string(),
        SocketAddr::V6(address) => format!("[{}]", address.ip()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn any_port() -> SocketAddr {
        "127.0.0.1:0".parse().expect("an address")
    }

    #[tokio::test]
    async fn a_taken_port_is_said_to_be_taken() {
        let first = bind(any_port()).await.expect("a free port");
        let taken = first.local_addr().expect("an address");
        let error = bind(taken).await.expect_err("the port is taken");
        assert!(matches!(error, BindError::Taken(_)), "{error}");
        let text = error.to_string();
        assert!(text.contains(&taken.port().to_string()), "{text}");
        assert!(text.contains("--listen 127.0.0.1:0"), "{text}");
    }

    #[tokio::test]
    async fn the_next_free_port_is_taken_instead() {
        let first = bind(any_port()).await.expect("a free port");
        let taken = first.local_addr().expect("an address");
        let second = bind_or_next(taken).await.expect("one of the next ports");
        assert!(second.local_addr().expect("an address").port() > taken.port());
    }

    #[tokio::test]
    async fn only_loopback_addresses_are_served() {
        for address in ["0.0.0.0:0", "[::]:0", "192.0.2.1:0"] {
            let error = bind(address.parse().expect("an address")).await.expect_err(address);
            assert!(matches!(error, BindError::NotLoopback(_)), "{error}");
        }
    }
}
