//! Calculations that go on for long take turns, and one processor is left to everyone else.

use std::collections::VecDeque;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};

/// Who may go on, and who waits for it, in order.
pub(crate) struct Turns {
    state: Mutex<State>,
    changed: Condvar,
    at_once: usize,
    /// How long a calculation goes on before it needs a turn, and how long a turn is while others wait; in microseconds.
    patience: u64,
}

#[derive(Default)]
struct State {
    running: usize,
    waiting: VecDeque<u64>,
    next: u64,
}

impl Turns {
    /// Turns of so many microseconds, on all processors but one.
    pub(crate) fn of(patience: u64) -> Arc<Self> {
        let all = std::thread::available_parallelism().map_or(1, usize::from);
        let at_once = all.saturating_sub(1).max(1);
        Arc::new(Self { state: Mutex::default(), changed: Condvar::new(), at_once, patience })
    }

    fn held(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn take(&self) {
        let mut state = self.held();
        let mine = state.next;
        state.next += 1;
        state.waiting.push_back(mine);
        while state.running >= self.at_once || state.waiting.front() != Some(&mine) {
            state = self.changed.wait(state).unwrap_or_else(PoisonError::into_inner);
        }
        state.waiting.pop_front();
        state.running += 1;
        drop(state);
        self.changed.notify_all();
    }

    fn give_back(&self) {
        self.held().running -= 1;
        self.changed.notify_all();
    }
}

/// One calculation's part in them.
pub(crate) struct Turn {
    turns: Arc<Turns>,
    is_mine: AtomicBool,
    since: AtomicU64,
}

impl Turn {
    /// For a calculation that begins now.
    pub(crate) fn of(turns: &Arc<Turns>) -> Self {
        Self { turns: turns.clone(), is_mine: AtomicBool::new(false), since: AtomicU64::new(0) }
    }

    /// The calculation has gone on for so many microseconds. Waits here when it is another's turn.
    pub(crate) fn has_gone_on(&self, now: u64) {
        if now.saturating_sub(self.since.load(Ordering::Relaxed)) < self.turns.patience {
            return;
        }
        if !self.is_mine.load(Ordering::Relaxed) {
            self.turns.take();
            self.is_mine.store(true, Ordering::Relaxed);
        } else if !self.turns.held().waiting.is_empty() {
            self.turns.give_back();
            self.turns.take();
        }
        self.since.store(now, Ordering::Relaxed);
    }
}

impl Drop for Turn {
    fn drop(&mut self) {
        if self.is_mine.load(Ordering::Relaxed) {
            self.turns.give_back();
        }
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;
    use std::sync::atomic::{AtomicUsize, Ordering};

    use super::{Turn, Turns};

    #[test]
    fn no_more_go_on_for_long_than_there_are_turns_and_each_comes_to_its_end() {
        let turns = Arc::new(Turns { at_once: 2, ..Arc::into_inner(Turns::of(10)).unwrap() });
        let (at_once, most, ended) = (AtomicUsize::new(0), AtomicUsize::new(0), AtomicUsize::new(0));
        std::thread::scope(|scope| {
            for _ in 0..8 {
                scope.spawn(|| {
                    let turn = Turn::of(&turns);
                    turn.has_gone_on(5);
                    for round in 1..50 {
                        turn.has_gone_on(round * 10);
                        most.fetch_max(at_once.fetch_add(1, Ordering::SeqCst) + 1, Ordering::SeqCst);
                        std::thread::yield_now();
                        at_once.fetch_sub(1, Ordering::SeqCst);
                    }
                    ended.fetch_add(1, Ordering::SeqCst);
                });
            }
        });
        assert_eq!((most.into_inner(), ended.into_inner()), (2, 8));
        assert_eq!(turns.held().running, 0, "every turn was given back");
    }
}
