//! How many may be connected, and how long one may be silent: who opens many or sends nothing shuts out no one for good.

use std::io;
use std::net::SocketAddr;
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};
use std::time::Duration;

use axum::serve::Listener;
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use tokio::time::{Instant, Sleep, sleep};

/// Connections of one address that are open at the same time; a browser opens at most six, the others wait for theirs.
const MAX_OPEN: usize = 32;
/// A connection on which nothing comes for so long is closed; a browser opens another.
const MAX_SILENCE: Duration = Duration::from_secs(60);
/// After a failure to accept, such as no free file handle.
const BEFORE_NEXT_TRY: Duration = Duration::from_millis(200);

/// A listener with so many places.
pub(super) struct Connections {
    listener: TcpListener,
    places: Arc<Semaphore>,
}

impl Connections {
    pub(super) fn on(listener: std::net::TcpListener) -> io::Result<Self> {
        Ok(Self { listener: TcpListener::from_std(listener)?, places: Arc::new(Semaphore::new(MAX_OPEN)) })
    }
}

impl Listener for Connections {
    type Io = Connection;
    type Addr = SocketAddr;

    async fn accept(&mut self) -> (Connection, SocketAddr) {
        loop {
            // The semaphore is never closed.
            let Ok(place) = Arc::clone(&self.places).acquire_owned().await else { continue };
            match self.listener.accept().await {
                Ok((stream, from)) => {
                    // An answer is sent as it is, not kept back for more; without that it is only slower.
                    let _ = stream.set_nodelay(true);
                    let silence = Box::pin(sleep(MAX_SILENCE));
                    return (Connection { stream, silence, _place: place }, from);
                }
                Err(_) => tokio::time::sleep(BEFORE_NEXT_TRY).await,
            }
        }
    }

    fn local_addr(&self) -> io::Result<SocketAddr> {
        self.listener.local_addr()
    }
}

/// A connection that holds its place until it ends.
pub(super) struct Connection {
    stream: TcpStream,
    silence: Pin<Box<Sleep>>,
    _place: OwnedSemaphorePermit,
}

impl AsyncRead for Connection {
    fn poll_read(mut self: Pin<&mut Self>, context: &mut Context<'_>, into: &mut ReadBuf<'_>) -> Poll<io::Result<()>> {
        let read = Pin::new(&mut self.stream).poll_read(context, into);
        if read.is_ready() {
            self.silence.as_mut().reset(Instant::now() + MAX_SILENCE);
            return read;
        }
        self.silence.as_mut().poll(context).map(|()| Err(io::ErrorKind::TimedOut.into()))
    }
}

impl AsyncWrite for Connection {
    fn poll_write(mut self: Pin<&mut Self>, context: &mut Context<'_>, bytes: &[u8]) -> Poll<io::Result<usize>> {
        Pin::new(&mut self.stream).poll_write(context, bytes)
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_flush(context)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(context)
    }
}
