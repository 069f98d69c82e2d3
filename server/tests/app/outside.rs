//! What other programs do to the notebook's folder.

use axum::http::Method;
use engine::measure::Day;
use serde_json::json;
use server::names::Name;

use crate::desk::{Desk, words};

#[tokio::test]
async fn an_edit_made_outside_is_seen_and_recorded() {
    let desk = Desk::shipped();
    let old = desk.file("first-plan.md");
    let new = old.replace("60.inch", "50.inch");
    desk.outside("first-plan.md", &new);
    let page = words(desk.get("/plan/first-plan").await.is(200).text());
    assert!(page.contains("50 × 23.73 in"), "{page}");
    assert!(page.contains("saved, revision 2"), "{page}");
    assert_eq!(desk.history("first-plan"), [old, new]);
}

#[tokio::test]
async fn an_edit_made_outside_stands_in_the_way_of_a_save_from_before_it() {
    let desk = Desk::shipped();
    let mark = desk.mark("first-plan").await;
    let theirs = "# Written in another editor\n";
    desk.outside("first-plan.md", theirs);
    let refused = desk.put("first-plan", &mark, "# Written here\n").await.is(412).json();
    assert_eq!(refused["theirs"], theirs);
    assert_eq!(desk.file("first-plan.md"), theirs);
    assert_eq!(desk.history("first-plan").last().unwrap(), theirs);
}

#[tokio::test]
async fn an_edit_that_leaves_length_and_time_as_they_were_is_not_written_over() {
    // As a copy with its times kept, a restored backup, or two writes within one tick of the disk's clock.
    let desk = Desk::shipped();
    let mark = desk.mark("first-plan").await;
    let time = std::fs::metadata(desk.path("first-plan.md")).unwrap().modified().unwrap();
    let theirs = desk.file("first-plan.md").replace("60.inch", "61.inch");
    desk.outside("first-plan.md", &theirs);
    std::fs::File::options().write(true).open(desk.path("first-plan.md")).unwrap().set_modified(time).unwrap();
    let refused = desk.put("first-plan", &mark, "# Written here\n").await.is(412).json();
    assert_eq!(refused["theirs"], theirs.as_str());
    assert_eq!(desk.file("first-plan.md"), theirs);
    assert!(desk.history("first-plan").contains(&theirs), "and it is among the revisions");
}

#[tokio::test]
async fn every_outside_edit_and_every_save_is_kept_in_its_order() {
    let desk = Desk::shipped();
    let mut all = vec![desk.file("first-plan.md")];
    for round in 0..10 {
        let theirs = format!("# Outside {round}\n\n{}\n", "x".repeat(round));
        desk.outside("first-plan.md", &theirs);
        all.push(theirs);
        let mark = desk.mark("first-plan").await;
        let mine = format!("# Here {round}\n");
        desk.put("first-plan", &mark, &mine).await.is(200);
        all.push(mine);
    }
    assert_eq!(desk.history("first-plan"), all);
}

#[tokio::test]
async fn a_file_that_is_replaced_by_a_rename_is_seen() {
    let desk = Desk::shipped();
    desk.outside("draft.tmp", "# By rename\n");
    std::fs::rename(desk.path("draft.tmp"), desk.path("first-plan.md")).unwrap();
    assert_eq!(desk.get("/plan/first-plan/text").await.text(), "# By rename\n");
    assert_eq!(desk.history("first-plan").last().unwrap(), "# By rename\n");
}

#[tokio::test]
async fn a_moment_without_text_is_no_edit() {
    // Many editors cut a file to nothing before they write it again.
    let desk = Desk::shipped();
    let old = desk.file("first-plan.md");
    desk.outside("first-plan.md", "");
    assert_eq!(desk.get("/plan/first-plan/text").await.is(200).text(), old, "the old text is still shown");
    desk.outside("first-plan.md", "# Written again\n");
    assert_eq!(desk.get("/plan/first-plan/text").await.is(200).text(), "# Written again\n");
    assert_eq!(desk.history("first-plan"), [old, "# Written again\n".to_owned()]);
}

#[tokio::test]
async fn a_file_removed_while_it_is_open_loses_nothing() {
    let desk = Desk::shipped();
    let old = desk.file("first-plan.md");
    let mark = desk.mark("first-plan").await;
    std::fs::remove_file(desk.path("first-plan.md")).unwrap();
    let page = words(desk.get("/plan/first-plan").await.is(404).text());
    assert!(page.contains("There is no first-plan.md in this notebook."), "{page}");
    assert!(page.contains("Look at the wall for what there is; it may have been renamed or moved."), "{page}");
    for (method, path, body) in [
        (Method::PUT, "text", "# Mine\n".to_owned()),
        (Method::POST, "given", json!({"given": 1, "value": "70"}).to_string()),
        (Method::POST, "tick", json!({"line": 1, "done": true}).to_string()),
    ] {
        let told = desk.send(method, &format!("/plan/first-plan/{path}"), &mark, body).await.is(404).told();
        assert_eq!(told.0, "there is no `first-plan.md` in this notebook");
    }
    assert!(!desk.path("first-plan.md").exists(), "a save from before does not bring it back");
    let wall = desk.get("/").await;
    assert!(!wall.text().contains("href=\"/plan/first-plan\""), "it hangs on");
    assert!(words(wall.text()).contains("Jetty, Winter (first-plan.md) has one revision."), "it is not told");
    // Its revisions are still there, and go on when the file comes back.
    assert_eq!(desk.history("first-plan"), std::slice::from_ref(&old));
    desk.outside("first-plan.md", &old);
    desk.get("/plan/first-plan").await.is(200);
    assert_eq!(desk.mark("first-plan").await, mark);
    desk.put("first-plan", &mark, "# Back\n").await.is(200);
    assert_eq!(desk.history("first-plan"), [old, "# Back\n".to_owned()]);
}

#[tokio::test]
async fn a_plan_put_into_the_folder_hangs_on_the_wall() {
    let desk = Desk::shipped();
    desk.outside("new-one.md", "+++\ntitle = \"Weir\"\n+++\n# Weir\n");
    desk.notebook.look();
    assert!(words(desk.get("/").await.text()).contains("Weir"));
    assert_eq!(desk.notebook.store().revisions(&Name::new("new-one").unwrap()).unwrap().len(), 1);
    std::fs::remove_file(desk.path("new-one.md")).unwrap();
    desk.notebook.look();
    assert!(!desk.get("/").await.text().contains("href=\"/plan/new-one\""));
}

#[tokio::test]
async fn what_editors_leave_lying_about_is_no_plan() {
    let desk = Desk::shipped();
    let wall = words(desk.get("/").await.text());
    for file in [
        ".first-plan.md.swp",
        "first-plan.md~",
        "4913",
        "#first-plan.md#",
        ".#first-plan.md",
        ".makeready-abc.tmp",
        "notes.txt",
    ] {
        desk.outside(file, "# Not a plan\n");
    }
    desk.notebook.look();
    assert_eq!(words(desk.get("/").await.text()), wall);
}

/// Writes down what a save is about to put, and stops there.
fn intend(store: &server::store::Store, plan: &Name, text: &str) {
    let etag = server::folder::hash_of(text.as_bytes());
    let text = server::store::Text { plan, text, hash: &etag, saved: "2026-11-25T12:00:00Z" };
    let inputs =
        server::store::SavedInputs { today: Day::parse("2026-11-25").unwrap(), ledger: 0, sheets: Default::default() };
    store.intend(text, inputs).unwrap();
}

#[tokio::test]
async fn a_save_cut_short_before_or_after_the_file_was_replaced_is_resolved_at_the_next_start() {
    let desk = Desk::shipped();
    let old = desk.file("first-plan.md");
    let name = Name::new("first-plan").unwrap();
    // Written down, then nothing more: the file still holds the old text.
    let store = server::store::Store::open(desk.folder.path()).unwrap();
    intend(&store, &name, "# Never put\n");
    drop(store);
    let desk = desk.again();
    assert_eq!(desk.get("/plan/first-plan/text").await.text(), old);
    // Written down and put, but not marked as standing.
    let store = server::store::Store::open(desk.folder.path()).unwrap();
    intend(&store, &name, "# Put\n");
    drop(store);
    desk.outside("first-plan.md", "# Put\n");
    let desk = desk.again();
    assert_eq!(desk.get("/plan/first-plan/text").await.text(), "# Put\n");
    assert_eq!(desk.history("first-plan").last().unwrap(), "# Put\n");
    // And what was never put can still be read.
    let texts: Vec<_> = (1..6).filter_map(|number| desk.notebook.store().revision_text(&name, number).ok()).collect();
    assert!(texts.contains(&"# Never put\n".to_owned()), "{texts:?}");
}
