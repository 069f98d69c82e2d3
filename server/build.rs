//! Asks the linker for the short form of the table of addresses, which is three megabytes of a release, where the system that
//! builds the program can start one that has it: glibc 2.36 and later.

use std::process::Command;

fn main() {
    println!("cargo:rerun-if-changed=build.rs");
    let set = |name: &str| std::env::var(name).unwrap_or_default();
    let is_own = set("TARGET") == set("HOST") && set("CARGO_CFG_TARGET_OS") == "linux";
    if is_own && set("PROFILE") == "release" && glibc().is_some_and(|version| version >= (2, 36)) {
        println!("cargo:rustc-link-arg-bins=-Wl,-z,pack-relative-relocs");
    }
}

/// The version of the C library here, where it is glibc.
fn glibc() -> Option<(u32, u32)> {
    let said = Command::new("getconf").arg("GNU_LIBC_VERSION").output().ok()?;
    let said = String::from_utf8(said.stdout).ok()?;
    let (major, minor) = said.trim().strip_prefix("glibc ")?.split_once('.')?;
    Some((major.parse().ok()?, minor.split('.').next()?.parse().ok()?))
}
