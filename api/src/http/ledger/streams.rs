//! How many live streams are open, by whom, and their common end.

use crate::problem::{Code, Problem};
use actix_web::web::Data;
use spindlebook_domain::ids::PrincipalId;
use std::collections::HashMap;
use std::sync::{Mutex, PoisonError};
use tokio::sync::watch;

/// Each keeps a connection and a place among the listeners.
pub const STREAMS_MAX: usize = 1_000;
/// A screen needs one; more than this is a reader that forgets to close.
pub const STREAMS_PER_CALLER_MAX: usize = 12;
const RETRY_AFTER_S: u64 = 5;

/// Of one process.
pub struct Streams {
    open: Mutex<HashMap<PrincipalId, usize>>,
    is_closed: watch::Sender<bool>,
}

/// The place of one stream, free again when this is dropped.
pub struct Place {
    streams: Data<Streams>,
    principal: PrincipalId,
}

impl Default for Streams {
    fn default() -> Self {
        Self {
            open: Mutex::default(),
            is_closed: watch::Sender::new(false),
        }
    }
}

impl Streams {
    pub fn take(streams: &Data<Self>, principal: PrincipalId) -> Result<Place, Problem> {
        let mut open = streams.open.lock().unwrap_or_else(PoisonError::into_inner);
        let own = open.get(&principal).copied().unwrap_or_default();
        if own >= STREAMS_PER_CALLER_MAX || open.values().sum::<usize>() >= STREAMS_MAX {
            let detail = format!(
                "You have {own} live streams open. One caller may have {STREAMS_PER_CALLER_MAX}, the whole service \
                 {STREAMS_MAX}: close what you no longer read."
            );
            return Err(Problem::new(Code::TooManyStreams, detail).with_retry_after_s(RETRY_AFTER_S));
        }
        open.insert(principal, own + 1);
        Ok(Place {
            streams: streams.clone(),
            principal,
        })
    }

    /// Ends every stream: the server is being stopped. Whoever reads asks another process, or this one when it is back.
    pub fn close(&self) {
        self.is_closed.send_replace(true);
    }

    /// Turns true when they are closed.
    pub fn closing(&self) -> watch::Receiver<bool> {
        self.is_closed.subscribe()
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        let mut open = self.streams.open.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(own) = open.get_mut(&self.principal) {
            *own -= 1;
            if *own == 0 {
                open.remove(&self.principal);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use uuid::Uuid;

    #[test]
    fn a_place_is_free_again_when_its_stream_ends() {
        let streams: Data<Streams> = Data::default();
        let reader = PrincipalId(Uuid::from_u128(1));
        let taken: Vec<_> = (0..STREAMS_PER_CALLER_MAX)
            .map(|_| Streams::take(&streams, reader).unwrap_or_else(|problem| panic!("{problem}")))
            .collect();
        let refused = Streams::take(&streams, reader)
            .err()
            .map(|problem| problem.code());
        assert_eq!(refused, Some("streams.too-many"));
        assert!(Streams::take(&streams, PrincipalId(Uuid::from_u128(2))).is_ok());
        drop(taken);
        assert!(Streams::take(&streams, reader).is_ok());
    }
}
