//! A plan's ledger, links and revisions belong to the plan and not to its file's name.

use super::*;
use program::run;
use server::names::Name;

fn name(text: &str) -> Name {
    Name::new(text).unwrap()
}

/// Twenty-five prints, three of them sold, a certificate's worth of story, and a link for the lab.
async fn sold_three() -> (Studio, String) {
    let studio = Studio::new();
    let file = studio.folder.path().join("long-weir.md");
    std::fs::write(&file, PLAN.replace("edition = 5", "edition = 25")).unwrap();
    studio.notebook.look();
    for number in 1..=3 {
        let line = json!({"number": number, "what": "sold", "when": "2026-11-20", "words": "R. Vell"});
        assert_eq!(studio.post("/plan/long-weir/ledger", line).await.0, StatusCode::OK);
    }
    let (status, link) = studio.post("/plan/long-weir/links", json!({"role": "lab"})).await;
    assert_eq!(status, StatusCode::OK, "{link}");
    let link = link["address"].as_str().unwrap().split("/t/").nth(1).unwrap().to_owned();
    (studio, format!("/t/{link}"))
}

impl Studio {
    fn rename(&self, from: &str, to: &str) {
        let root = self.folder.path();
        let to = root.join(to);
        std::fs::create_dir_all(to.parent().unwrap()).unwrap();
        std::fs::rename(root.join(from), to).unwrap();
    }

    fn write(&self, file: &str, text: &str) {
        std::fs::write(self.folder.path().join(file), text).unwrap();
    }

    async fn sell(&self, plan: &str, number: u32) -> (StatusCode, String) {
        let line = json!({"number": number, "what": "sold", "when": "2026-11-21", "words": "K. Orr"});
        let (status, answer) = self.post(&format!("/plan/{plan}/ledger"), line).await;
        (status, answer.to_string())
    }

    async fn opens(&self, link: &str) -> (StatusCode, String) {
        self.ask("GET", link, None, None).await
    }

    async fn decide(&self, form: &str) -> StatusCode {
        ask(&self.app, "POST", "/join", None, Some(form.as_bytes().to_vec())).await.0
    }

    /// What `makeready check` says of the folder, with its exit code.
    fn check(&self) -> (i32, String) {
        let said = run(&["check", "."], self.folder.path());
        (said.code, said.out)
    }
}

#[tokio::test]
async fn a_renamed_file_keeps_its_ledger_its_links_and_its_revisions() {
    for (look_first, while_away, to) in
        [(true, false, "jetty"), (false, false, "jetty"), (true, true, "jetty"), (true, false, "winter/jetty")]
    {
        let (mut studio, link) = sold_three().await;
        let revisions = studio.notebook.store().revisions(&name("long-weir")).unwrap().len();
        if while_away {
            studio.notebook.settle();
        }
        studio.rename("long-weir.md", &format!("{to}.md"));
        if while_away {
            studio = studio.on("2026-11-26");
        } else if look_first {
            studio.notebook.look();
        }
        let at = name(to).in_url();
        let (status, answer) = studio.sell(&at, 1).await;
        assert_eq!(status, StatusCode::CONFLICT, "number 1 sells twice: {answer}");
        assert!(answer.contains("already sold"), "{answer}");
        assert_eq!(studio.sell(&at, 4).await.0, StatusCode::OK);
        assert_eq!(studio.notebook.store().ledger(&name(to)).unwrap().len(), 4);
        assert_eq!(studio.notebook.store().revisions(&name(to)).unwrap().len(), revisions);
        let (status, page) = studio.opens(&link).await;
        assert!(status == StatusCode::OK && page.contains("Long Weir"), "{status}");
        let wall = studio.get("/").await;
        assert!(wall.contains("long-weir.md is now") && wall.contains(&format!("/plan/{at}")), "{wall}");
        assert!(!wall.contains("Plans without a file") && wall.contains("21 of 25"), "{wall}");
        assert_eq!(studio.check(), (0, String::new()));
        // Edited under its new name, and named back.
        studio.write(&format!("{to}.md"), &PLAN.replace("edition = 5", "edition = 30"));
        studio.notebook.look();
        studio.rename(&format!("{to}.md"), "long-weir.md");
        studio.notebook.look();
        assert_eq!(studio.sell("long-weir", 4).await.0, StatusCode::CONFLICT);
        assert_eq!(studio.notebook.store().revisions(&name("long-weir")).unwrap().len(), revisions + 1);
        assert_eq!(studio.opens(&link).await.0, StatusCode::OK);
        assert_eq!(studio.notebook.store().follow_chain().unwrap(), Ok(4));
        assert!(studio.notebook.history.check().unwrap().holds());
    }
}

#[tokio::test]
async fn a_copy_of_a_file_is_another_piece() {
    let (studio, link) = sold_three().await;
    std::fs::copy(studio.folder.path().join("long-weir.md"), studio.folder.path().join("second.md")).unwrap();
    studio.notebook.look();
    assert!(studio.notebook.store().ledger(&name("second")).unwrap().is_empty());
    assert_eq!(studio.sell("second", 1).await.0, StatusCode::OK, "a piece of its own sells its own number 1");
    assert_eq!(studio.sell("long-weir", 1).await.0, StatusCode::CONFLICT);
    assert_eq!(studio.opens(&link).await.0, StatusCode::OK);
    assert_eq!(studio.check().0, 0);
    // Two new files of one text: nobody can tell which was renamed.
    let (studio, link) = sold_three().await;
    std::fs::copy(studio.folder.path().join("long-weir.md"), studio.folder.path().join("a.md")).unwrap();
    studio.rename("long-weir.md", "b.md");
    studio.notebook.look();
    for plan in ["a", "b"] {
        let (status, answer) = studio.sell(plan, 1).await;
        assert_eq!(status, StatusCode::CONFLICT, "{answer}");
        assert!(answer.contains("a plan without a file"), "{answer}");
    }
    assert_eq!(studio.opens(&link).await.0, StatusCode::NOT_FOUND);
    assert_eq!(studio.decide("what=join&record=long-weir&plan=b").await, StatusCode::SEE_OTHER);
    assert_eq!(studio.sell("b", 1).await.0, StatusCode::CONFLICT);
    assert_eq!(studio.opens(&link).await.0, StatusCode::OK);
    assert_eq!(studio.sell("a", 1).await.0, StatusCode::OK);
}

#[tokio::test]
async fn a_file_renamed_and_edited_at_once_sells_nothing_until_it_is_said_whose_ledger_it_has() {
    // Another number in it, or another title with the same text below.
    for edit in [("edition = 5", "edition = 24"), ("title = \"Long Weir\"", "title = \"The Jetty\"")] {
        let (studio, link) = sold_three().await;
        studio.rename("long-weir.md", "jetty.md");
        studio.write("jetty.md", &PLAN.replace(edit.0, edit.1).replace("# Long Weir", "# Jetty"));
        studio.notebook.look();
        let (status, answer) = studio.sell("jetty", 1).await;
        assert_eq!(status, StatusCode::CONFLICT, "number 1 sells twice: {answer}");
        assert!(
            answer.contains("3 ledger entries") && answer.contains("makeready join jetty.md long-weir"),
            "{answer}"
        );
        assert_eq!(studio.opens(&link).await.0, StatusCode::NOT_FOUND);
        let wall = studio.get("/").await;
        assert!(wall.contains("Plans without a file") && wall.contains("3 ledger entries and 2 revisions"), "{wall}");
        let (code, out) = studio.check();
        assert!(code == 3 && out.contains("3 ledger entries and 2 revisions and no file"), "{code} {out}");
        // Nothing else is kept from selling.
        studio.write("other.md", "+++\ntitle = \"Other\"\nedition = 3\n+++\n\n# Other\n\nNot like it at all.\n");
        studio.notebook.look();
        assert_eq!(studio.sell("other", 1).await.0, StatusCode::OK);
        assert_eq!(studio.decide("what=join&record=long-weir&plan=other").await, StatusCode::CONFLICT, "two ledgers");
        assert_eq!(studio.decide("what=join&record=nothing&plan=jetty").await, StatusCode::NOT_FOUND);
        assert_eq!(studio.decide("what=join&record=long-weir&plan=shops%2Ftarn-lab").await, StatusCode::NOT_FOUND);
        let said = run(&["join", "jetty.md", "long-weir"], studio.folder.path()).ends_with(0);
        assert!(said.out.contains("goes on with long-weir"), "{}", said.out);
        studio.notebook.look();
        let (status, answer) = studio.sell("jetty", 1).await;
        assert!(status == StatusCode::CONFLICT && answer.contains("already sold"), "{answer}");
        assert_eq!(
            studio.notebook.store().revisions(&name("jetty")).unwrap().len(),
            3,
            "its own revision follows after"
        );
        assert_eq!(studio.opens(&link).await.0, StatusCode::OK);
        assert_eq!(studio.check(), (0, String::new()));
        assert!(studio.notebook.history.check().unwrap().holds());
    }
}

#[tokio::test]
async fn a_plan_said_to_be_another_or_deleted_on_purpose_is_no_longer_asked_about() {
    let (studio, _) = sold_three().await;
    studio.rename("long-weir.md", "jetty.md");
    studio.write("jetty.md", &PLAN.replace("edition = 5", "edition = 7"));
    studio.notebook.look();
    assert_eq!(studio.sell("jetty", 1).await.0, StatusCode::CONFLICT);
    assert_eq!(studio.decide("what=apart&plan=jetty").await, StatusCode::SEE_OTHER);
    assert_eq!(studio.sell("jetty", 1).await.0, StatusCode::OK);
    assert_eq!(studio.check().0, 3, "the ledger is without a plan still");
    assert_eq!(studio.decide("what=put+away&record=long-weir").await, StatusCode::SEE_OTHER);
    assert_eq!(studio.check(), (0, String::new()));
    assert!(!studio.get("/").await.contains("Plans without a file"));
    assert_eq!(studio.notebook.store().follow_chain().unwrap(), Ok(4), "nothing is taken away");
    // Put back under its name, it is what it was.
    studio.write("long-weir.md", &PLAN.replace("edition = 5", "edition = 25"));
    studio.notebook.look();
    assert_eq!(studio.sell("long-weir", 3).await.0, StatusCode::CONFLICT);
    assert_eq!(studio.sell("long-weir", 4).await.0, StatusCode::OK);
}

#[tokio::test]
async fn a_link_shows_no_other_plan_that_was_put_under_its_file() {
    let other = "+++\ntitle = \"Secret Lock\"\nedition = 9\n[shops]\nlab = \"shops/tarn-lab\"\n+++\n\n# Secret Lock\n\nNobody knows of it yet.\n";
    for how in ["moved over", "copied over", "written over"] {
        let (studio, link) = sold_three().await;
        if how != "written over" {
            studio.write("secret.md", other);
            studio.notebook.look();
        }
        match how {
            "moved over" => studio.rename("secret.md", "long-weir.md"),
            "copied over" => studio.write("long-weir.md", other),
            _ => {
                std::fs::remove_file(studio.folder.path().join("long-weir.md")).unwrap();
                studio.write("long-weir.md", other);
            }
        }
        let (status, page) = studio.opens(&link).await;
        assert!(status == StatusCode::NOT_FOUND && !page.contains("Secret"), "{how}: {status} {page}");
        let (status, answer) = studio.sell("long-weir", 4).await;
        assert!(
            status == StatusCode::CONFLICT && answer.contains("without a file") || how == "moved over",
            "{how}: {answer}"
        );
        assert_eq!(studio.check().0, 3, "{how}");
        assert!(studio.get("/").await.contains("Long Weir (long-weir.md) has 3 ledger entries"), "{how}");
        // It was the same plan after all.
        if how == "written over" {
            assert_eq!(studio.decide("what=join&record=long-weir&plan=long-weir").await, StatusCode::SEE_OTHER);
            assert_eq!(studio.sell("long-weir", 3).await.0, StatusCode::CONFLICT);
            assert_eq!(studio.opens(&link).await.0, StatusCode::OK);
            assert_eq!(studio.check().0, 0);
        }
    }
}

#[tokio::test]
async fn an_edit_outside_is_the_same_plan_however_much_it_changes() {
    let (studio, link) = sold_three().await;
    for text in [
        PLAN.replace("edition = 5", "edition = 25").replace("Long Weir", "The Longest Weir"),
        PLAN.replace("edition = 5", "edition = 25")
            .replace("Long Weir", "The Longest Weir")
            .split("```workings")
            .next()
            .unwrap()
            .to_owned()
            + "Begun again.\n",
    ] {
        studio.write("long-weir.md", &text);
        studio.notebook.look();
        assert_eq!(studio.sell("long-weir", 3).await.0, StatusCode::CONFLICT);
        assert_eq!(studio.opens(&link).await.0, StatusCode::OK);
        assert_eq!(studio.check().0, 0);
    }
}

#[tokio::test]
async fn a_deleted_plan_and_its_revisions_are_told_once_it_has_any() {
    let studio = Studio::new();
    studio.write("draft.md", "# Draft\n");
    studio.notebook.look();
    std::fs::remove_file(studio.folder.path().join("draft.md")).unwrap();
    // A rate sheet is found by its name; one that is gone is told where it is drawn on.
    studio.write("shops/old-lab.md", &SHEET.replace("Tarn", "Old"));
    studio.notebook.look();
    std::fs::remove_file(studio.folder.path().join("shops/old-lab.md")).unwrap();
    studio.notebook.look();
    assert!(studio.get("/").await.contains("Draft (draft.md) has one revision"));
    let (code, out) = studio.check();
    assert!(code == 3 && out.lines().filter(|line| line.contains("no file")).count() == 1, "{code} {out}");
    run(&["join", "--put-away", "draft"], studio.folder.path()).ends_with(0);
    assert_ne!(studio.check().0, 3);
}
