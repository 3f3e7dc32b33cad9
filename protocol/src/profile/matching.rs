//! Which advertisements belong to a profile.

use uuid::Uuid;

/// What a sensor says about itself before a connection.
#[derive(Debug, Clone, Copy, Default)]
pub struct Advertised<'a> {
    /// Its name, if it has told one; may be padded with NUL.
    pub name: Option<&'a str>,
    /// The services it lists.
    pub services: &'a [Uuid],
    /// Manufacturer data: company id and what follows it.
    pub manufacturer: &'a [(u16, &'a [u8])],
}

/// The rules that an advertisement must satisfy, all of them; there is at least one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MatchRules {
    pub(super) service: Option<Uuid>,
    pub(super) name_prefix: Option<String>,
    pub(super) manufacturer: Option<(u16, Vec<u8>)>,
}

impl MatchRules {
    /// The service that must be advertised, if that is a rule: also what a scan can filter by.
    #[must_use]
    pub const fn service(&self) -> Option<Uuid> {
        self.service
    }

    /// What the name must begin with, if that is a rule.
    #[must_use]
    pub fn name_prefix(&self) -> Option<&str> {
        self.name_prefix.as_deref()
    }

    /// The company id and the bytes its manufacturer data must begin with, if that is a rule.
    #[must_use]
    pub fn manufacturer(&self) -> Option<(u16, &[u8])> {
        self.manufacturer.as_ref().map(|(company, prefix)| (*company, prefix.as_slice()))
    }

    /// Whether an advertisement satisfies every rule. A name that is not there yet does not: ask
    /// again when the sensor has told more.
    #[must_use]
    pub fn accepts(&self, advertised: Advertised<'_>) -> bool {
        let service = self.service.is_none_or(|service| advertised.services.contains(&service));
        let name = self
            .name_prefix
            .as_ref()
            .is_none_or(|prefix| advertised.name.is_some_and(|name| name.starts_with(prefix)));
        let manufacturer = self.manufacturer.as_ref().is_none_or(|(company, prefix)| {
            advertised
                .manufacturer
                .iter()
                .any(|(id, data)| id == company && data.starts_with(prefix))
        });
        service && name && manufacturer
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_rule_must_hold() {
        let service = Uuid::from_u128(7);
        let rules = MatchRules {
            service: Some(service),
            name_prefix: Some("IMU".to_owned()),
            manufacturer: Some((0xffff, vec![1, 2])),
        };
        let all = Advertised {
            name: Some("IMU 4\0\0"),
            services: &[Uuid::from_u128(1), service],
            manufacturer: &[(0xffff, &[1, 2, 3])],
        };
        assert!(rules.accepts(all));
        assert!(!rules.accepts(Advertised { name: None, ..all }));
        assert!(!rules.accepts(Advertised { name: Some("MU"), ..all }));
        assert!(!rules.accepts(Advertised { services: &[], ..all }));
        assert!(!rules.accepts(Advertised { manufacturer: &[(0xffff, &[1])], ..all }));
        assert!(!rules.accepts(Advertised { manufacturer: &[(0xfffe, &[1, 2])], ..all }));
    }
}
