//! Connections whose reader has stopped reading are closed after a while.
//!
//! A stalled viewer costs no queue, but it would keep its connection and its place for ever.

use std::io;
use std::net::SocketAddr;
use std::pin::Pin;
use std::task::{Context, Poll, ready};
use std::time::Duration;

use axum::serve::Listener;
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{TcpListener, TcpStream};
use tokio::time::{Sleep, sleep};

/// A listener whose connections give up on a reader that takes nothing for `limit`.
#[derive(Debug)]
pub(super) struct Patient {
    /// The listener itself.
    pub(super) listener: TcpListener,
    /// How long a write may wait.
    pub(super) limit: Duration,
}

impl Listener for Patient {
    type Io = PatientStream<TcpStream>;
    type Addr = SocketAddr;

    async fn accept(&mut self) -> (Self::Io, Self::Addr) {
        let (stream, address) = Listener::accept(&mut self.listener).await;
        // Without this a state may wait for the acknowledgement of the one before.
        if let Err(error) = stream.set_nodelay(true) {
            tracing::debug!("TCP_NODELAY is not available: {error}");
        }
        (PatientStream { stream, limit: self.limit, waiting: None }, address)
    }

    fn local_addr(&self) -> io::Result<Self::Addr> {
        self.listener.local_addr()
    }
}

/// A stream whose writes fail with `TimedOut` when they have waited for `limit`.
#[derive(Debug)]
pub(super) struct PatientStream<S> {
    stream: S,
    limit: Duration,
    /// Runs while a write waits.
    waiting: Option<Pin<Box<Sleep>>>,
}

impl<S> PatientStream<S> {
    /// Passes on what a write said, and ends the patience with one that waits too long.
    fn watch<T>(&mut self, cx: &mut Context<'_>, said: Poll<io::Result<T>>) -> Poll<io::Result<T>> {
        if said.is_ready() {
            self.waiting = None;
            return said;
        }
        let limit = self.limit;
        let waiting = self.waiting.get_or_insert_with(|| Box::pin(sleep(limit)));
        ready!(waiting.as_mut().poll(cx));
        Poll::Ready(Err(io::Error::new(io::ErrorKind::TimedOut, "the viewer takes no data")))
    }
}

impl<S: AsyncRead + Unpin> AsyncRead for PatientStream<S> {
    fn poll_read(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        buffer: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_read(cx, buffer)
    }
}

impl<S: AsyncWrite + Unpin> AsyncWrite for PatientStream<S> {
    fn poll_write(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        let said = Pin::new(&mut self.stream).poll_write(cx, bytes);
        self.watch(cx, said)
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        slices: &[io::IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        let said = Pin::new(&mut self.stream).poll_write_vectored(cx, slices);
        self.watch(cx, said)
    }

    fn is_write_vectored(&self) -> bool {
        self.stream.is_write_vectored()
    }

    fn poll_flush(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_flush(cx)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(cx)
    }
}

#[cfg(test)]
mod tests {
    use tokio::io::{AsyncReadExt, AsyncWriteExt, duplex};

    use super::*;

    #[tokio::test(start_paused = true)]
    async fn a_reader_that_takes_nothing_is_given_up() {
        let (ours, _theirs) = duplex(8);
        let limit = Duration::from_secs(10);
        let mut stream = PatientStream { stream: ours, limit, waiting: None };
        let began = tokio::time::Instant::now();
        let error = stream.write_all(&[0; 9]).await.expect_err("the ninth byte has no room");
        assert_eq!(error.kind(), io::ErrorKind::TimedOut);
        assert!(began.elapsed() >= limit, "{:?}", began.elapsed());
    }

    #[tokio::test(start_paused = true)]
    async fn a_slow_reader_is_waited_for() {
        let (ours, mut theirs) = duplex(8);
        let limit = Duration::from_secs(10);
        let mut stream = PatientStream { stream: ours, limit, waiting: None };
        let reader = tokio::spawn(async move {
            let mut bytes = [0; 1];
            for _ in 0..24 {
                sleep(Duration::from_secs(9)).await;
                theirs.read_exact(&mut bytes).await.expect("a byte");
            }
        });
        stream.write_all(&[0; 24]).await.expect("a slow reader takes all in the end");
        reader.await.expect("no panic");
    }
}
