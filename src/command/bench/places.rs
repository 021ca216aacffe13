//! How many connections there are at once, and how much each address asks.

use std::collections::HashMap;
use std::net::IpAddr;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, Weak};
use std::time::{Duration, Instant};

use tokio::sync::Notify;
use tokio::task::AbortHandle;

use super::guard::now;

/// So many connections at once.
const MOST: usize = 256;

/// The places of the connections. Where all are taken, one that waits for its browser makes room: whoever opens many and
/// asks nothing keeps nobody out.
#[derive(Default)]
pub(super) struct Places {
    taken: Mutex<Vec<Weak<Place>>>,
    freed: Arc<Notify>,
}

/// The place of one connection; it is free when the connection has ended.
pub(super) struct Place {
    pub(super) peer: IpAddr,
    /// Whether something that was asked is being answered.
    is_busy: AtomicBool,
    serving: Mutex<Option<AbortHandle>>,
    freed: Arc<Notify>,
}

/// While it is there, its connection is not ended to make room.
pub(super) struct Busy(Arc<Place>);

impl Places {
    fn taken(&self) -> MutexGuard<'_, Vec<Weak<Place>>> {
        self.taken.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// A place for a connection from an address. It is waited for where every other connection is being answered.
    pub(super) async fn take(&self, peer: IpAddr) -> Arc<Place> {
        loop {
            // Asked for before the places are counted, so that none is freed unnoticed.
            let freed = self.freed.notified();
            if let Some(place) = self.free(peer) {
                return place;
            }
            freed.await;
        }
    }

    fn free(&self, peer: IpAddr) -> Option<Arc<Place>> {
        let mut taken = self.taken();
        taken.retain(|place| place.strong_count() > 0);
        if taken.len() >= MOST {
            let places: Vec<Arc<Place>> = taken.iter().filter_map(Weak::upgrade).collect();
            drop(taken);
            make_room(&places);
            return None;
        }
        let place = Arc::new(Place {
            peer,
            is_busy: AtomicBool::new(false),
            serving: Mutex::default(),
            freed: Arc::clone(&self.freed),
        });
        taken.push(Arc::downgrade(&place));
        Some(place)
    }
}

/// Ends a connection that waits: the oldest of the address that has most of them.
fn make_room(places: &[Arc<Place>]) {
    let mut by_peer: HashMap<IpAddr, usize> = HashMap::new();
    places.iter().for_each(|place| *by_peer.entry(place.peer).or_default() += 1);
    let waiting = places.iter().enumerate().filter(|(_, place)| !place.is_busy.load(Ordering::SeqCst));
    let of_most = waiting.max_by_key(|(at, place)| (by_peer.get(&place.peer), std::cmp::Reverse(*at)));
    if let Some((_, place)) = of_most {
        let serving = place.serving.lock().unwrap_or_else(PoisonError::into_inner);
        serving.iter().for_each(AbortHandle::abort);
    }
}

impl Place {
    /// Says by which task the connection is served.
    pub(super) fn is_served_by(&self, task: AbortHandle) {
        *self.serving.lock().unwrap_or_else(PoisonError::into_inner) = Some(task);
    }

    /// Says that something is being answered.
    pub(super) fn busy(self: &Arc<Place>) -> Busy {
        self.is_busy.store(true, Ordering::SeqCst);
        Busy(Arc::clone(self))
    }
}

impl Drop for Busy {
    fn drop(&mut self) {
        self.0.is_busy.store(false, Ordering::SeqCst);
        // It may be the one that makes room now.
        self.0.freed.notify_one();
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        self.freed.notify_one();
    }
}

/// So many requests of one address are answered in [`WINDOW`]: a tablet at which somebody types asks some ten in a second.
const MOST_ASKED: u32 = 600;

/// For how long requests are counted.
const WINDOW: Duration = Duration::from_secs(10);

/// So many addresses are counted.
const MOST_PEERS: usize = 4096;

/// How much each address has asked lately.
#[derive(Default)]
pub(super) struct Asked(Mutex<HashMap<IpAddr, (Instant, u32)>>);

impl Asked {
    /// Whether an address may ask once more.
    pub(super) fn allows(&self, peer: IpAddr) -> bool {
        let now = now();
        let mut asked = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if asked.len() >= MOST_PEERS {
            asked.retain(|_, (since, _)| now.duration_since(*since) < WINDOW);
        }
        if asked.len() >= MOST_PEERS && !asked.contains_key(&peer) {
            return false;
        }
        let (since, number) = asked.entry(peer).or_insert((now, 0));
        if now.duration_since(*since) >= WINDOW {
            (*since, *number) = (now, 0);
        }
        *number = number.saturating_add(1);
        *number <= MOST_ASKED
    }
}

#[cfg(test)]
mod tests {
    use std::net::IpAddr;
    use std::sync::Arc;

    use super::{MOST, Places};

    #[test]
    fn one_that_waits_makes_room_and_one_that_is_answered_does_not() {
        let runtime = tokio::runtime::Builder::new_current_thread().build().unwrap();
        runtime.block_on(async {
            let places = Places::default();
            let (many, one) = (IpAddr::from([10, 0, 0, 1]), IpAddr::from([10, 0, 0, 2]));
            let (mut tasks, mut busy) = (Vec::new(), None);
            for number in 0..MOST {
                // The first two are of another address, and the third is being answered.
                let place = places.take(if number < 2 { one } else { many }).await;
                if number == 2 {
                    busy = Some(place.busy());
                }
                let kept = Arc::clone(&place);
                let task = tokio::spawn(async move {
                    let _kept = kept;
                    std::future::pending::<()>().await;
                });
                place.is_served_by(task.abort_handle());
                tasks.push(task);
            }
            let _new = places.take(one).await;
            let ended: Vec<usize> = (0..MOST).filter(|number| tasks[*number].is_finished()).collect();
            assert_eq!(
                ended,
                [3],
                "the oldest of the address that has most, but for the one that is answered"
            );
            drop(busy);
            let _next = places.take(one).await;
            let ended: Vec<usize> = (0..MOST).filter(|number| tasks[*number].is_finished()).collect();
            assert_eq!(ended, [2, 3]);
        });
    }
}
