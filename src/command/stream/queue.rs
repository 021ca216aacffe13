//! Between whoever reads the stream and whoever judges it: a bounded number of records. What has arrived is judged at once,
//! and never waits for what has not.

use std::collections::VecDeque;
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};

use super::cut::Piece;

/// How many bytes of records wait at most, but for one record.
const MOST_BYTES: usize = 4 << 20;
/// How many records wait, and are judged side by side, at most.
const MOST_PIECES: usize = 256;

#[derive(Default)]
pub(in crate::command) struct Queue {
    state: Mutex<State>,
    changed: Condvar,
}

#[derive(Default)]
struct State {
    pieces: VecDeque<Piece>,
    bytes: usize,
    ended: bool,
}

impl Queue {
    fn lock(&self) -> MutexGuard<'_, State> {
        // Whoever held it left nothing half done.
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Adds a record, as soon as there is room.
    pub(super) fn put(&self, piece: Piece) {
        let is_full = |state: &mut State| state.bytes >= MOST_BYTES || state.pieces.len() >= MOST_PIECES;
        let waited = self.changed.wait_while(self.lock(), is_full);
        let mut state = waited.unwrap_or_else(PoisonError::into_inner);
        state.bytes += piece.length;
        state.pieces.push_back(piece);
        self.changed.notify_all();
    }

    /// Says that no more will come.
    pub(super) fn end(&self) {
        self.lock().ended = true;
        self.changed.notify_all();
    }

    /// All records that have arrived; none when no more will come.
    pub(in crate::command) fn take(&self) -> Vec<Piece> {
        let is_empty = |state: &mut State| state.pieces.is_empty() && !state.ended;
        let waited = self.changed.wait_while(self.lock(), is_empty);
        let mut state = waited.unwrap_or_else(PoisonError::into_inner);
        state.bytes = 0;
        let taken = state.pieces.drain(..).collect();
        self.changed.notify_all();
        taken
    }
}
