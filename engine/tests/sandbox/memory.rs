//! Live memory of the thread that calculates, counted at every allocation.

use std::alloc::{GlobalAlloc, Layout, System};
use std::cell::Cell;

thread_local! {
    static LIVE: Cell<isize> = const { Cell::new(0) };
    static MOST: Cell<isize> = const { Cell::new(0) };
}

struct Counting;

#[global_allocator]
static COUNTING: Counting = Counting;

fn add(bytes: isize) {
    // A thread that is ending has no counters any more.
    let _ = LIVE.try_with(|live| {
        let now = live.get() + bytes;
        live.set(now);
        let _ = MOST.try_with(|most| most.set(most.get().max(now)));
    });
}

fn signed(size: usize) -> isize {
    isize::try_from(size).unwrap_or(isize::MAX)
}

#[expect(unsafe_code, reason = "an allocator that counts and passes everything on to the system's")]
// SAFETY: every call goes to the system's allocator with what it was given.
unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        add(signed(layout.size()));
        // SAFETY: the caller keeps the rules of this call, which are those of the system's.
        unsafe { System.alloc(layout) }
    }

    unsafe fn dealloc(&self, at: *mut u8, layout: Layout) {
        add(-signed(layout.size()));
        // SAFETY: as above.
        unsafe { System.dealloc(at, layout) }
    }

    unsafe fn realloc(&self, at: *mut u8, layout: Layout, size: usize) -> *mut u8 {
        add(signed(size) - signed(layout.size()));
        // SAFETY: as above.
        unsafe { System.realloc(at, layout, size) }
    }
}

/// Bytes this thread holds of what it asked for since it was begun.
pub(crate) fn live() -> usize {
    usize::try_from(LIVE.with(Cell::get)).unwrap_or(0)
}

/// Begins to count afresh.
pub(crate) fn begin() {
    LIVE.with(|live| live.set(0));
    MOST.with(|most| most.set(0));
}

/// The most held at once since it was begun.
pub(crate) fn most() -> usize {
    usize::try_from(MOST.with(Cell::get)).unwrap_or(0)
}
