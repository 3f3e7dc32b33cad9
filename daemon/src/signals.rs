//! Being asked to stop: Ctrl-C, and on Unix SIGTERM.

use std::io;

use tokio_util::sync::CancellationToken;

/// Cancels the token once the program is asked to stop. Asked a second time it ends at once, with
/// status 1: what is on disk is whole, and the next start closes the visit.
///
/// # Errors
/// When the system does not let signals be heard.
pub fn cancel_when_asked(stop: CancellationToken) -> io::Result<()> {
    let mut asked = Asked::listen()?;
    tokio::spawn(async move {
        asked.wait().await;
        stop.cancel();
        asked.wait().await;
        tracing::warn!("ended at once, because asked a second time");
        std::process::exit(1);
    });
    Ok(())
}

/// The signals that ask the program to stop.
#[derive(Debug)]
struct Asked {
    #[cfg(unix)]
    interrupt: tokio::signal::unix::Signal,
    #[cfg(unix)]
    terminate: tokio::signal::unix::Signal,
    #[cfg(windows)]
    interrupt: tokio::signal::windows::CtrlC,
    #[cfg(windows)]
    close: tokio::signal::windows::CtrlClose,
}

impl Asked {
    #[cfg(unix)]
    fn listen() -> io::Result<Self> {
        use tokio::signal::unix::{SignalKind, signal};
        Ok(Self {
            interrupt: signal(SignalKind::interrupt())?,
            terminate: signal(SignalKind::terminate())?,
        })
    }

    #[cfg(unix)]
    async fn wait(&mut self) {
        tokio::select! {
            _ = self.interrupt.recv() => {}
            _ = self.terminate.recv() => {}
        }
    }

    #[cfg(windows)]
    fn listen() -> io::Result<Self> {
        use tokio::signal::windows::{ctrl_c, ctrl_close};
        Ok(Self { interrupt: ctrl_c()?, close: ctrl_close()? })
    }

    #[cfg(windows)]
    async fn wait(&mut self) {
        tokio::select! {
            _ = self.interrupt.recv() => {}
            _ = self.close.recv() => {}
        }
    }
}
