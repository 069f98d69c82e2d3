//! Counts the memory a calculation takes, so that one that grows without end is stopped.

use std::alloc::{GlobalAlloc, Layout};
use std::cell::Cell;

use mimalloc::MiMalloc;

thread_local! {
    static LIVE: Cell<isize> = const { Cell::new(0) };
}

/// The program's memory, counted a thread at a time. It comes from an allocator that many threads can ask at once: plans are
/// worked out by the system's in half as much time again, and two threads wait for one another.
pub struct Counted;

fn count(bytes: isize) {
    // While a thread ends its counter is gone; what it frees then need not be counted.
    let _ = LIVE.try_with(|live| live.set(live.get().wrapping_add(bytes)));
}

#[expect(
    unsafe_code,
    reason = "counting memory means standing in for the allocator; every call passes straight on to the real one"
)]
#[expect(clippy::cast_possible_wrap, reason = "no layout is larger than isize::MAX")]
unsafe impl GlobalAlloc for Counted {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        count(layout.size() as isize);
        // SAFETY: the caller keeps the contract of `alloc`, which is passed on as it is.
        unsafe { MiMalloc.alloc(layout) }
    }

    unsafe fn dealloc(&self, at: *mut u8, layout: Layout) {
        count(-(layout.size() as isize));
        // SAFETY: the caller keeps the contract of `dealloc`; `at` came from the allocator through `alloc`.
        unsafe { MiMalloc.dealloc(at, layout) }
    }

    unsafe fn alloc_zeroed(&self, layout: Layout) -> *mut u8 {
        count(layout.size() as isize);
        // SAFETY: as for `alloc`.
        unsafe { MiMalloc.alloc_zeroed(layout) }
    }

    unsafe fn realloc(&self, at: *mut u8, layout: Layout, size: usize) -> *mut u8 {
        count(size as isize - layout.size() as isize);
        // SAFETY: the caller keeps the contract of `realloc`; `at` came from the allocator through `alloc`.
        unsafe { MiMalloc.realloc(at, layout, size) }
    }
}

/// Keeps the system's allocator, which the database uses, from setting memory aside for every thread: two parts for each
/// processor are as quick. Called once, before there are threads.
pub fn set_little_aside() {
    #[cfg(all(target_os = "linux", target_env = "gnu"))]
    {
        let processors = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
        let parts = libc::c_int::try_from(processors * 2).unwrap_or(libc::c_int::MAX);
        #[expect(unsafe_code, reason = "the only way to say so from within the program")]
        // SAFETY: it takes two numbers and is called before other threads begin.
        let _ = unsafe { libc::mallopt(libc::M_ARENA_MAX, parts) };
    }
}

/// Gives memory that much work left behind back to the system, where the system's allocator keeps it.
pub fn give_back() {
    #[cfg(all(target_os = "linux", target_env = "gnu"))]
    {
        #[expect(unsafe_code, reason = "the only way to ask for it")]
        // SAFETY: it takes a number, may be called by any thread at any time, and changes nothing that is in use.
        let _ = unsafe { libc::malloc_trim(0) };
    }
}

/// Bytes this thread holds more than it gave back.
pub fn live() -> isize {
    LIVE.with(Cell::get)
}
