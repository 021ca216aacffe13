//! The least value of a window that slides.

use std::collections::VecDeque;

/// Values with their instants, of which only those are kept that can still become the least (Lemire 2006,
/// *Streaming maximum-minimum filter using no more than three comparisons per element*): each value comes
/// and goes once, so the work does not depend on how many the window holds.
#[derive(Clone, Debug)]
pub struct SlidingLeast<T, V> {
    // Rising in both; the least stands in front.
    kept: VecDeque<(T, V)>,
}

impl<T: Ord, V: Ord> Default for SlidingLeast<T, V> {
    fn default() -> Self {
        SlidingLeast { kept: VecDeque::new() }
    }
}

impl<T: Ord, V: Ord> SlidingLeast<T, V> {
    /// The window is moved so far forward that this value belongs to it; instants rise.
    pub fn push(&mut self, at: T, value: V) {
        while self.kept.back().is_some_and(|(_, last)| *last >= value) {
            self.kept.pop_back();
        }
        self.kept.push_back((at, value));
    }

    /// The window begins behind `at` now.
    pub fn drop_through(&mut self, at: &T) {
        while self.kept.front().is_some_and(|(first, _)| first <= at) {
            self.kept.pop_front();
        }
    }

    /// The least value of the window; nothing where it holds none.
    #[must_use]
    pub fn least(&self) -> Option<&V> {
        self.kept.front().map(|(_, value)| value)
    }
}
