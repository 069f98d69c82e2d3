//! Counts the memory a calculation takes, so that one that grows without end is stopped.

use std::alloc::{GlobalAlloc, Layout};
use std::cell::Cell;

use mimalloc::MiMalloc;

thread_local! {
    static LIVE: Cell<isize> = const { Cell::new(0) };
}

/// The program's memory, counted a thread at a time. It comes from mimalloc: while eight costly texts of a megabyte are calculated
/// at once the program holds 190 MB at most with it and [`give_back_soon`], 320 MB with it alone and 420 MB with the system's
/// (`tests/hostile.rs`, where 256 MB is the most).
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

/// Bytes this thread holds more than it gave back.
pub fn live() -> isize {
    LIVE.with(Cell::get)
}

/// How long memory that is not used is kept, in milliseconds: `mi_option_purge_delay` in the library's `mimalloc.h`; its Rust
/// interface has the function, but no name for this one.
const PURGE_DELAY: std::ffi::c_int = 15;

/// Has memory that is not used given back to the system after ten milliseconds instead of a second. Called once, at the start;
/// what the environment says (`MIMALLOC_PURGE_DELAY`) stays.
pub fn give_back_soon() {
    #[expect(unsafe_code, reason = "the only way to say so from within the program")]
    // SAFETY: it takes two numbers and is called before other threads begin.
    unsafe {
        libmimalloc_sys::mi_option_set_default(PURGE_DELAY, 10);
    }
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
        give_back_soon();
        // SAFETY: as above.
        assert_eq!(unsafe { libmimalloc_sys::mi_option_get(PURGE_DELAY) }, 10);
    }
}
