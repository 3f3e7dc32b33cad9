//! What a sensor's link tells, and who is told of it.

use endarc_protocol::words::SensorRole;

use super::{Core, Output};
use crate::source::{Identity, LinkNews, News};
use crate::visit::{Link, VisitEvent, exchanged};

impl Core {
    /// Takes news of a link.
    pub(super) fn link(&mut self, time_s: f64, role: SensorRole, news: LinkNews) {
        self.receive(role, |intake| intake.link(time_s, &news));
        let worn = if self.exchanged { exchanged(role) } else { role };
        match news {
            LinkNews::State(news) => {
                if let Some(link) = link(news) {
                    self.visit(VisitEvent::Link { role: worn, link });
                }
            }
            LinkNews::Battery(battery_percent) => {
                self.identity(role, Box::new(Identity { battery_percent, ..Identity::default() }));
                self.visit(VisitEvent::Battery { role: worn, percent: battery_percent });
            }
            LinkNews::Identity(identity) => {
                let percent = identity.battery_percent;
                self.identity(role, identity);
                self.visit(VisitEvent::Battery { role: worn, percent });
            }
            LinkNews::Overflow { .. } | LinkNews::Signal(_) => {}
        }
    }

    /// `role` is where the source says that the sensor is worn.
    fn identity(&mut self, role: SensorRole, identity: Box<Identity>) {
        let address = self.addresses.iter().find(|(own, _)| *own == role);
        if let Some((_, address)) = address {
            self.outputs.push(Output::Identity { address: address.clone(), identity });
        }
    }
}

/// How a link is doing, as the visit says it.
fn link(news: News) -> Option<Link> {
    match news {
        News::Searching => Some(Link::Searching),
        News::Connecting => Some(Link::Connecting),
        // Asked for; only samples show that it worked.
        News::Up => None,
        News::Streaming => Some(Link::Streaming),
        News::Silent => Some(Link::Silent),
        News::Lost(_) => Some(Link::Lost),
        News::Failed(trouble) => Some(Link::Refused(trouble.to_string())),
        News::GivenUp(trouble) => Some(Link::Refused(trouble.to_string())),
    }
}
