//! A folder one may not write in. A super-user may write anywhere, so the program is then started as nobody, with
//! `setpriv`, from a place everybody can reach.

use std::fs::{Permissions, set_permissions};
use std::os::unix::fs::{MetadataExt as _, PermissionsExt as _};
use std::path::Path;
use std::process::Command;

use crate::program::{PROGRAM, Program, command, copied, said};

/// The program as somebody whom rights bind, and the folder given to that somebody.
fn bound(folder: &Path, program: &Path) -> Command {
    let root = std::fs::metadata("/proc/self").is_ok_and(|about| about.uid() == 0);
    if !root {
        return command(PROGRAM);
    }
    std::fs::copy(PROGRAM, program).unwrap();
    set_permissions(program, Permissions::from_mode(0o755)).unwrap();
    for path in [folder.to_owned(), program.parent().unwrap().to_owned()] {
        let given = Command::new("chown").args(["-R", "65534:65534"]).arg(path).status();
        assert!(given.unwrap().success(), "`chown` is needed to try this as root");
    }
    let mut command = command("setpriv");
    command.args(["--reuid=65534", "--regid=65534", "--clear-groups"]).arg(program);
    command
}

#[test]
fn a_folder_that_cannot_be_written_is_told_at_the_start() {
    let (folder, tools) = (copied(), tempfile::tempdir().unwrap());
    let mut program = bound(folder.path(), &tools.path().join("makeready"));
    set_permissions(folder.path(), Permissions::from_mode(0o555)).unwrap();
    let told = said(program.arg("serve").arg(folder.path()).args(["--port", "0"])).ends_with(2);
    set_permissions(folder.path(), Permissions::from_mode(0o755)).unwrap();
    assert_eq!(
        told.err,
        format!(
            "makeready: the notebook `{}` cannot be used: the notebook's record cannot be written; give yourself the right to write in the notebook's folder\n",
            folder.path().display()
        )
    );
}

#[test]
fn a_folder_that_turns_unwritable_while_it_is_open_refuses_the_save_and_recovers() {
    let (folder, tools) = (copied(), tempfile::tempdir().unwrap());
    let mut program = bound(folder.path(), &tools.path().join("makeready"));
    program.arg("serve").arg(folder.path()).args(["--port", "0"]);
    let served = Program::of(program);
    let old = served.plan("first-plan");
    set_permissions(folder.path(), Permissions::from_mode(0o555)).unwrap();
    let refused = served.save("first-plan", &old.etag(), "# Mine\n");
    assert_eq!(refused.status, 507, "{}", refused.text());
    let told = refused.json();
    assert_eq!(told["what"], "this folder cannot be written to");
    assert_eq!(
        told["next"],
        "give yourself the right to write in it and save again; what you wrote is still on this page"
    );
    assert_eq!(
        std::fs::read_to_string(folder.path().join("first-plan.md")).unwrap(),
        old.text(),
        "the old text stands"
    );
    assert_eq!(served.get("/plan/first-plan").status, 200, "it can still be read");
    set_permissions(folder.path(), Permissions::from_mode(0o755)).unwrap();
    let saved = served.save("first-plan", &old.etag(), "# Mine\n");
    assert_eq!(saved.status, 200, "and written again without a restart");
    assert_eq!(std::fs::read_to_string(folder.path().join("first-plan.md")).unwrap(), "# Mine\n");
}

#[test]
fn a_ticket_that_cannot_be_written_is_told() {
    let (folder, tools) = (copied(), tempfile::tempdir().unwrap());
    let mut program = bound(folder.path(), &tools.path().join("makeready"));
    set_permissions(folder.path(), Permissions::from_mode(0o555)).unwrap();
    let out = folder.path().join("ticket.html");
    let told = said(
        program
            .arg("ticket")
            .arg(folder.path().join("causeway-first-light.md"))
            .args(["--for", "lab", "--out"])
            .arg(&out),
    );
    set_permissions(folder.path(), Permissions::from_mode(0o755)).unwrap();
    let told = told.ends_with(2);
    assert!(told.err.contains("cannot be written"), "{}", told.err);
    assert!(!out.exists());
}
