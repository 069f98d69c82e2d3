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

/// The allocator's setting of how long memory that is not used is kept, in milliseconds: `mi_option_purge_delay` in its
/// `mimalloc.h`.
const PURGE_DELAY: libc::c_int = 15;

/// Keeps the allocators from setting much memory aside: the program's gives back after ten milliseconds what is not used, so that
/// under load half as much is held as with the second it waits of itself; the system's, which the database uses, sets two parts
/// aside for each processor, and not more with every thread. Called once, before there are threads.
pub fn set_little_aside() {
    #[expect(unsafe_code, reason = "the only way to say so from within the program")]
    // SAFETY: it takes two numbers and is called before other threads begin; what was set from outside stays.
    unsafe {
        libmimalloc_sys::mi_option_set_default(PURGE_DELAY, 10);
    }
    #[cfg(all(target_os = "linux", target_env = "gnu"))]
    {
        let processors = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
        let parts = libc::c_int::try_from(processors * 2).unwrap_or(libc::c_int::MAX);
        #[expect(unsafe_code, reason = "the only way to say so from within the program")]
        // SAFETY: it takes two numbers and is called before other threads begin.
        let _ = unsafe { libc::mallopt(libc::M_ARENA_MAX, parts) };
    }
}

/// Gives memory that much work left behind back to the system, where an allocator keeps it.
pub fn give_back() {
    #[expect(unsafe_code, reason = "the only way to ask for it")]
    // SAFETY: it takes a truth, may be called by any thread at any time, and frees nothing that is in use.
    unsafe {
        libmimalloc_sys::mi_collect(true);
    }
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    #[expect(unsafe_code, reason = "the only way to ask for a setting")]
    fn the_setting_is_the_one_that_is_meant() {
        // SAFETY: it takes a number and only reads.
        let usual = unsafe { libmimalloc_sys::mi_option_get(PURGE_DELAY) };
        assert_eq!(usual, 1000, "a second, which no other setting near it has (options.c of the library)");
        set_little_aside();
        // SAFETY: as above.
        assert_eq!(unsafe { libmimalloc_sys::mi_option_get(PURGE_DELAY) }, 10);
    }
}
