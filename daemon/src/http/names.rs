//! The names under which this daemon may be called.

use std::net::SocketAddr;

/// The daemon's own `host:port` pairs, lower case.
///
/// A page elsewhere can make a browser resolve its own name to 127.0.0.1 (DNS rebinding), and then
/// both `Host` and `Origin` carry that name: they are therefore compared with this list and never
/// with one another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OwnNames {
    names: Vec<String>,
}

impl OwnNames {
    /// The names of a daemon bound to `address`.
    #[must_use]
    pub fn of(address: SocketAddr) -> Self {
        let port = address.port();
        let own_ip = SocketAddr::new(address.ip(), port).to_string();
        let mut names = vec![
            format!("localhost:{port}"),
            format!("127.0.0.1:{port}"),
            format!("[::1]:{port}"),
            own_ip,
        ];
        if port == 80 {
            // A client leaves out the default port of the scheme.
            let bare = names.iter().filter_map(|name| name.strip_suffix(":80")).map(str::to_owned);
            names.extend(bare.collect::<Vec<_>>());
        }
        names.dedup();
        Self { names }
    }

    /// Whether `authority` (`host:port`, as in `Host`) is one of the daemon's names.
    #[must_use]
    pub fn has_host(&self, authority: &str) -> bool {
        self.names.iter().any(|name| name.eq_ignore_ascii_case(authority))
    }

    /// Whether `origin` (as in `Origin`) is one of the daemon's own pages.
    #[must_use]
    pub fn has_origin(&self, origin: &str) -> bool {
        origin.strip_prefix("http://").is_some_and(|authority| self.has_host(authority))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn own(address: &str) -> OwnNames {
        OwnNames::of(address.parse().expect("an address"))
    }

    #[test]
    fn own_names_carry_the_bound_port() {
        let own = own("127.0.0.1:8420");
        for good in ["localhost:8420", "LOCALHOST:8420", "127.0.0.1:8420", "[::1]:8420"] {
            assert!(own.has_host(good), "{good}");
        }
        for bad in ["localhost", "localhost:8421", "evil.example:8420", "localhost.evil:8420", ""] {
            assert!(!own.has_host(bad), "{bad}");
        }
    }

    #[test]
    fn an_origin_is_own_only_with_scheme_and_port() {
        let own = own("[::1]:8420");
        assert!(own.has_origin("http://localhost:8420"));
        for bad in ["https://localhost:8420", "null", "http://localhost:9", "http://evil.example"] {
            assert!(!own.has_origin(bad), "{bad}");
        }
    }

    #[test]
    fn the_default_port_may_be_left_out() {
        assert!(own("127.0.0.1:80").has_host("localhost"));
    }
}
