//! Serving a notebook: where it says it is, what it begins with, and why it would not start.

use std::net::TcpListener;
use std::time::{Duration, Instant};

use crate::program::{PROGRAM, Program, command, copied, run, said, shipped};

#[test]
fn it_prints_where_it_serves_and_answers_there() {
    let folder = copied();
    let served = Program::start(folder.path(), &[]);
    let folder = folder.path().canonicalize().unwrap();
    let (address, shown) = (served.address, folder.display());
    assert!(address.ip().is_loopback() && address.port() != 0, "{address}");
    let words = format!("Makeready serves {shown}\nOpen http://{address}/ in a browser. Stop with Ctrl-C.\n");
    assert_eq!(served.said, words);
    let page = served.get("/");
    assert_eq!(page.status, 200);
    assert!(page.text().contains("Causeway, First Light"));
}

#[test]
fn without_a_command_the_notebook_is_served() {
    let folder = copied();
    let mut program = command(PROGRAM);
    program.arg(folder.path()).args(["--port", "0"]);
    let served = Program::of(program);
    assert_eq!(served.get("/plan/first-plan").status, 200);
}

#[test]
fn settings_may_come_from_the_surroundings() {
    let folder = copied();
    let mut program = command(PROGRAM);
    program.env("MAKEREADY_NOTEBOOK", folder.path()).env("MAKEREADY_PORT", "0");
    let served = Program::of(program);
    assert_eq!(served.get("/plan/first-plan").status, 200);
}

#[test]
fn a_first_start_begins_with_the_examples_and_a_second_leaves_them_as_they_are() {
    let home = tempfile::tempdir().unwrap();
    let start = || {
        let mut program = command(PROGRAM);
        program.env("HOME", home.path()).args(["--port", "0"]);
        Program::of(program)
    };
    let first = start();
    for entry in std::fs::read_dir(shipped())
        .unwrap()
        .flatten()
        .filter(|entry| entry.path().extension().is_some_and(|end| end == "md"))
    {
        let copied = home.path().join("makeready").join(entry.file_name());
        assert_eq!(std::fs::read(copied).unwrap(), std::fs::read(entry.path()).unwrap(), "{:?}", entry.file_name());
    }
    assert!(home.path().join("makeready/shops/tidewater-lab.md").exists());
    assert_eq!(first.get("/plan/quarry-upper-bench").status, 200);
    drop(first);
    std::fs::write(home.path().join("makeready/first-plan.md"), "# Mine\n").unwrap();
    std::fs::remove_file(home.path().join("makeready/boathouse-window.md")).unwrap();
    let second = start();
    assert_eq!(second.get("/plan/first-plan/text").text(), "# Mine\n");
    assert_eq!(second.get("/plan/boathouse-window").status, 404, "what was thrown away stays away");
}

#[test]
fn a_port_that_is_taken_is_told_with_what_to_do() {
    let folder = copied();
    let taken = TcpListener::bind("127.0.0.1:0").unwrap();
    let port = taken.local_addr().unwrap().port();
    let told = said(command(PROGRAM).arg("serve").arg(folder.path()).args(["--port", &port.to_string()])).ends_with(2);
    assert_eq!(told.out, "");
    assert_eq!(
        told.err,
        format!(
            "makeready: port {port} is taken by another program; perhaps Makeready runs already: open http://127.0.0.1:{port}/; or choose another port with `--port {}`\n",
            port + 1
        )
    );
    assert!(!folder.path().join("makeready.db").exists(), "the folder is left as it is");
}

#[test]
fn a_folder_that_is_not_there_is_told_and_not_made() {
    let folder = tempfile::tempdir().unwrap();
    let wanted = folder.path().join("nowhere");
    let told = run(&["serve", wanted.to_str().unwrap(), "--port", "0"], folder.path()).ends_with(2);
    assert_eq!(
        told.err,
        format!(
            "makeready: there is no folder `{}`; make it first, or start without a folder to get the example plans\n",
            wanted.display()
        )
    );
    assert!(!wanted.exists());
}

#[test]
fn a_file_in_place_of_the_folder_is_told() {
    let folder = copied();
    let file = folder.path().join("first-plan.md");
    let told = run(&["serve", file.to_str().unwrap(), "--port", "0"], folder.path()).ends_with(2);
    assert_eq!(told.err, format!("makeready: `{}` is a file; give the folder of a notebook\n", file.display()));
}

#[test]
fn a_record_that_is_none_is_told_and_left_as_it_is() {
    let folder = copied();
    let record = folder.path().join("makeready.db");
    std::fs::write(&record, "this is not a record").unwrap();
    let told = run(&["serve", folder.path().to_str().unwrap(), "--port", "0"], folder.path()).ends_with(2);
    assert!(
        told.err.starts_with(&format!("makeready: the notebook `{}` cannot be used: ", folder.path().display())),
        "{}",
        told.err
    );
    assert!(!told.err.contains("panicked"), "{}", told.err);
    assert_eq!(std::fs::read_to_string(&record).unwrap(), "this is not a record");
}

#[test]
fn it_ends_politely_when_asked_to() {
    for signal in ["-TERM", "-INT"] {
        let folder = copied();
        let mut served = Program::start(folder.path(), &[]);
        assert_eq!(served.get("/").status, 200);
        let pid = served.child.id().to_string();
        assert!(std::process::Command::new("kill").args([signal, &pid]).status().unwrap().success());
        let began = Instant::now();
        let status = loop {
            if let Some(status) = served.child.try_wait().unwrap() {
                break status;
            }
            assert!(began.elapsed() < Duration::from_secs(10), "it still runs");
            std::thread::sleep(Duration::from_millis(10));
        };
        assert_eq!(status.code(), Some(0), "{signal}");
    }
}

#[test]
fn a_stranger_who_says_nothing_does_not_hold_it_up() {
    use std::io::Read as _;
    let folder = copied();
    let served = Program::start(folder.path(), &[]);
    let mut silent: Vec<_> = (0..20).map(|_| std::net::TcpStream::connect(served.address).unwrap()).collect();
    assert_eq!(served.get("/").status, 200);
    // Each is shown the door after five seconds.
    let began = Instant::now();
    for stream in &mut silent {
        stream.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
        let _ = stream.read(&mut [0; 512]).unwrap();
    }
    assert!(began.elapsed() < Duration::from_secs(15), "{:?}", began.elapsed());
}

/// What lies beside the plans under a hidden name may be a save under way: only the one who serves the notebook, and before it
/// answers anybody, knows that none is.
#[test]
fn a_command_beside_the_server_leaves_the_drafts_of_its_saves_alone() {
    let folder = copied();
    let plan = folder.path().join("first-plan.md");
    let text = std::fs::read_to_string(&plan).unwrap();
    drop(Program::start(folder.path(), &[]));
    let drafts = [("begun", ""), ("written", text.as_str())];
    let place = |name: &str| folder.path().join(format!(".makeready-{name}.tmp"));
    for (name, text) in drafts {
        std::fs::write(place(name), text).unwrap();
    }
    let (all, plan) = (folder.path().to_str().unwrap(), plan.to_str().unwrap());
    for command in [&["check", plan][..], &["check", all], &["values", plan], &["ticket", plan, "lab"]] {
        run(command, folder.path());
        assert!(drafts.iter().all(|(name, _)| place(name).exists()), "{command:?}");
    }
    drop(Program::start(folder.path(), &[]));
    assert!(drafts.iter().all(|(name, _)| !place(name).exists()), "the next start clears them away");
}
