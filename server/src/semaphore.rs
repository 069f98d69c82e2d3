//! A semaphore for threads: a few at once, others wait, and beyond so many are turned away.

use std::time::Duration;

use parking_lot::{Condvar, Mutex};

/// Permits of the whole program for something that takes much of the processor or of memory.
pub(crate) struct Semaphore {
    permits: usize,
    most_waiting: usize,
    state: Mutex<State>,
    freed: Condvar,
}

struct State {
    taken: usize,
    waiting: usize,
}

/// A permit, given back when it is dropped.
pub(crate) struct Permit(&'static Semaphore);

impl Semaphore {
    /// Permits for so many at once, while so many more may wait.
    pub(crate) const fn of(permits: usize, most_waiting: usize) -> Self {
        Self { permits, most_waiting, state: Mutex::new(State { taken: 0, waiting: 0 }), freed: Condvar::new() }
    }

    /// A permit, once one is free; nothing when too many wait for one already, or none is free in time.
    pub(crate) fn acquire(&'static self, patience: Duration) -> Option<Permit> {
        let mut state = self.state.lock();
        if state.taken >= self.permits {
            if state.waiting >= self.most_waiting {
                return None;
            }
            state.waiting += 1;
            self.freed.wait_while_for(&mut state, |state| state.taken >= self.permits, patience);
            state.waiting -= 1;
            if state.taken >= self.permits {
                return None;
            }
        }
        state.taken += 1;
        Some(Permit(self))
    }
}

impl Drop for Permit {
    fn drop(&mut self) {
        self.0.state.lock().taken -= 1;
        self.0.freed.notify_one();
    }
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicUsize, Ordering};
    use std::time::Duration;

    use super::Semaphore;

    #[test]
    fn no_more_are_in_than_there_are_permits_each_gets_one_and_too_many_are_turned_away() {
        static TWO: Semaphore = Semaphore::of(2, 6);
        let (inside, most, ended) = (AtomicUsize::new(0), AtomicUsize::new(0), AtomicUsize::new(0));
        std::thread::scope(|scope| {
            for _ in 0..8 {
                scope.spawn(|| {
                    let permit = TWO.acquire(Duration::MAX).expect("two at once, and six that wait");
                    most.fetch_max(inside.fetch_add(1, Ordering::SeqCst) + 1, Ordering::SeqCst);
                    std::thread::sleep(Duration::from_millis(5));
                    inside.fetch_sub(1, Ordering::SeqCst);
                    drop(permit);
                    ended.fetch_add(1, Ordering::SeqCst);
                });
            }
        });
        assert_eq!((most.into_inner(), ended.into_inner()), (2, 8));
        let (one, two) = (TWO.acquire(Duration::ZERO), TWO.acquire(Duration::ZERO));
        assert!(one.is_some() && two.is_some() && TWO.acquire(Duration::from_millis(5)).is_none());
        drop(one);
        assert!(TWO.acquire(Duration::ZERO).is_some(), "a permit given back is free again");
        static ONE: Semaphore = Semaphore::of(1, 0);
        let _one = ONE.acquire(Duration::ZERO);
        assert!(ONE.acquire(Duration::MAX).is_none(), "where nobody may wait, the next is turned away at once");
    }
}
