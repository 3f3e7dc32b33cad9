//! The spans that are open.

use endarc_protocol::words::{Phase, Side};

use super::event::SpanMark;

/// Spans that have begun and not ended, oldest first. A leg is in at most one.
#[derive(Debug, Clone, Default)]
pub(super) struct Spans {
    open: Vec<SpanMark>,
}

impl Spans {
    /// Opens a span and returns those it ends: the ones that share a leg with it. `None` when just
    /// this span is open already.
    pub(super) fn begin(&mut self, mark: SpanMark) -> Option<Vec<SpanMark>> {
        if self.open.iter().any(|open| same(open, &mark)) {
            return None;
        }
        let (ended, stay) = self.open.iter().partition(|open| share_a_leg(open, &mark));
        self.open = stay;
        self.open.push(mark);
        Some(ended)
    }

    /// Ends a span; `None` when it is not open.
    pub(super) fn end(&mut self, mark: &SpanMark) -> Option<SpanMark> {
        let place = self.open.iter().position(|open| same(open, mark))?;
        Some(self.open.remove(place))
    }

    /// Ends whatever is open.
    pub(super) fn end_all(&mut self) -> Vec<SpanMark> {
        std::mem::take(&mut self.open)
    }

    /// The span that began last.
    pub(super) fn newest(&self) -> Option<&SpanMark> {
        self.open.last()
    }

    /// The phase of the span that began last, if it has one.
    pub(super) fn phase(&self) -> Option<Phase> {
        self.newest().and_then(|span| span.trial_type.phase())
    }
}

fn same(a: &SpanMark, b: &SpanMark) -> bool {
    a.trial_type == b.trial_type && a.side == b.side
}

fn share_a_leg(a: &SpanMark, b: &SpanMark) -> bool {
    Side::ALL.iter().any(|&side| a.concerns(side) && b.concerns(side))
}
