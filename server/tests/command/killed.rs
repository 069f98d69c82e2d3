//! The program killed amid saves, as by a power cut: nothing it acknowledged is lost.

use std::collections::hash_map::RandomState;
use std::hash::{BuildHasher as _, Hasher as _};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};
use std::time::Duration;

use engine::measure::Day;
use server::clock::Clock;
use server::names::Name;
use server::notebook::Notebook;
use server::store::Store;

use crate::makeready::{ask, notebook, run, serve};

const SAVES: usize = 50;
const ROUNDS: usize = 8;

/// A number below `limit`, another each time.
fn chance(limit: usize) -> usize {
    usize::try_from(RandomState::new().build_hasher().finish() % limit as u64).unwrap()
}

#[test]
fn a_program_killed_amid_fifty_saves_loses_nothing_it_acknowledged() {
    let folder = notebook();
    let plans = ["first-plan", "boathouse-window"];
    let sold_of = folder.path().join("grain-elevator-noon.md");
    let large = std::fs::read_to_string(&sold_of).unwrap().replace("edition = 12", "edition = 400");
    std::fs::write(&sold_of, large).unwrap();
    let mut all_acknowledged = 0;
    for round in 0..ROUNDS {
        let mut served = serve(folder.path());
        let acknowledged = Arc::new(AtomicUsize::new(0));
        let until = 1 + chance(SAVES - 2);
        let writers = plans.map(|plan| {
            let (address, acknowledged) = (served.address.clone(), acknowledged.clone());
            std::thread::spawn(move || {
                let mut kept = Vec::new();
                let Some((_, mut mark, _)) = ask(&address, "GET", &format!("/plan/{plan}/text"), "", "") else {
                    return (kept, None);
                };
                for save in 0..SAVES {
                    let text = format!(
                        "+++\ntitle = \"{plan}\"\nedition = 500\n+++\n\n# Round {round}, save {save}\n\n{}\n",
                        "words ".repeat(400)
                    );
                    match ask(&address, "PUT", &format!("/plan/{plan}/text"), &mark, &text) {
                        Some((200, next, _)) => {
                            mark = next;
                            kept.push(text);
                            acknowledged.fetch_add(1, Ordering::SeqCst);
                        }
                        Some((status, _, body)) => panic!("{status}: {body}"),
                        None => return (kept, Some(text)),
                    }
                }
                (kept, None)
            })
        });
        let sold = Arc::new(Mutex::new(Vec::new()));
        let seller = {
            let (address, sold) = (served.address.clone(), sold.clone());
            std::thread::spawn(move || {
                for number in round * SAVES + 1..=(round + 1) * SAVES {
                    let sale = format!("{{\"number\":{number},\"when\":\"2026-11-25\",\"words\":\"round {round}\"}}");
                    match ask(&address, "POST", "/plan/grain-elevator-noon/ledger", "", &sale) {
                        Some((200, ..)) => sold.lock().unwrap().push(number),
                        Some((409, ..)) => {}
                        Some((status, _, body)) => panic!("{status}: {body}"),
                        None => return,
                    }
                }
            })
        };
        while acknowledged.load(Ordering::SeqCst) < until {
            std::thread::sleep(Duration::from_micros(200));
        }
        std::thread::sleep(Duration::from_micros(chance(4000) as u64));
        served.kill();
        let written = writers.map(|writer| writer.join().unwrap());
        seller.join().unwrap();

        // Whatever the disk holds now, the record is sound.
        let record = rusqlite::Connection::open(folder.path().join("makeready.db")).unwrap();
        let sound: String = record.query_row("PRAGMA integrity_check", [], |row| row.get(0)).unwrap();
        assert_eq!(sound, "ok", "round {round}");
        drop(record);

        let store = Store::open(folder.path()).unwrap();
        let opened =
            Notebook::open(folder.path().to_path_buf(), store, Clock::Fixed(Day::parse("2026-11-25").unwrap()))
                .unwrap();
        for (plan, (kept, in_flight)) in plans.iter().zip(&written) {
            let name = Name::new(plan).unwrap();
            let file = std::fs::read_to_string(folder.path().join(format!("{plan}.md"))).unwrap();
            let history: Vec<_> = opened
                .revisions(&name)
                .unwrap()
                .iter()
                .map(|one| opened.revision_text(&name, one.number).unwrap())
                .collect();
            for (save, text) in kept.iter().enumerate() {
                assert!(history.contains(text), "round {round}: save {save} of {plan} was acknowledged and is gone");
            }
            // The file is whole: the last one acknowledged, or the one that was under way.
            let last = kept.last();
            assert!(
                last.is_none_or(|last| *last == file) || in_flight.as_ref() == Some(&file),
                "round {round}: {plan} holds neither the last text nor the next: {}",
                file.chars().take(120).collect::<String>()
            );
            all_acknowledged += kept.len();
        }
        let ledger = opened.ledger(&Name::new("grain-elevator-noon").unwrap()).unwrap();
        for number in sold.lock().unwrap().iter() {
            assert!(
                ledger.iter().any(|line| usize::try_from(line.number).unwrap() == *number),
                "round {round}: sale {number}"
            );
        }
        drop(opened);
        run(&["check", "."], folder.path()).ends_with(0);
    }
    assert!(all_acknowledged >= ROUNDS, "{all_acknowledged} saves were acknowledged in all");
    println!("{ROUNDS} rounds, {all_acknowledged} saves acknowledged, none lost");
}
