//! Two texts of one plan: both are shown, one is chosen, neither is lost.

use serde_json::json;

use crate::page::Page;
use crate::studio::{Studio, open};

/// Writes in the browser while another program changes the file, then saves: the two texts stand side by side.
async fn clash(studio: &Studio, page: &Page) -> (String, String) {
    let old = studio.file("first-plan.md");
    page.go("/plan/first-plan").await;
    page.click("#write-all").await;
    page.until_there("#passage").await;
    page.caret_before("Best seen").await;
    page.keys("Mine. ").await;
    page.until_says("#standing", "not saved yet").await;
    let theirs = old.replace("A 6x12 negative", "Theirs. A 6x12 negative");
    studio.outside("first-plan.md", &theirs);
    page.until_says("#said", "This was changed elsewhere. Your writing is kept; saving will show both texts.").await;
    page.control("s").await;
    page.until_there("#clash").await;
    assert!(page.text("#mine").await.contains("Mine. Best seen"));
    assert!(!page.text("#mine").await.contains("Theirs."));
    assert!(page.text("#theirs").await.contains("Theirs. A 6x12 negative"));
    assert!(!page.text("#theirs").await.contains("Mine."));
    assert!(page.text("#clash-what").await.contains("look at both texts and choose; neither is lost"));
    assert_eq!(studio.file("first-plan.md"), theirs, "nothing was written over");
    (old.replace("Best seen", "Mine. Best seen"), theirs)
}

#[test]
fn mine_is_kept_and_theirs_stays_among_the_revisions() {
    open(|studio, page| async move {
        let (mine, theirs) = clash(&studio, &page).await;
        page.click("#clash button[value=mine]").await;
        page.until_gone("#clash").await;
        page.until_says("#standing", "saved, revision 3").await;
        assert_eq!(studio.file("first-plan.md"), mine);
        assert_eq!(studio.history("first-plan")[1..], [theirs, mine]);
        page.complains_only_of(&["412"]).await;
    });
}

#[test]
fn theirs_is_taken_and_mine_is_set_aside() {
    open(|studio, page| async move {
        let (mine, theirs) = clash(&studio, &page).await;
        page.click("#clash button[value=theirs]").await;
        page.until_gone("#passage").await;
        page.until_says("#plan", "Theirs. A 6x12 negative").await;
        page.until_says("#said", "yours is set aside").await;
        assert_eq!(studio.file("first-plan.md"), theirs);
        // It can be brought back, and saved over the other with open eyes.
        page.until_says("#brought", "A text you set aside").await;
        page.click("#brought button").await;
        page.until_there("#passage").await;
        assert!(page.value("#passage").await.contains("Mine. Best seen"));
        page.control("s").await;
        page.until_there("#clash").await;
        page.click("#clash button[value=mine]").await;
        studio.until_file("first-plan.md", "mine", |text| text == mine).await;
        assert!(studio.history("first-plan").contains(&theirs));
        page.complains_only_of(&["412"]).await;
    });
}

#[test]
fn one_can_go_on_writing_and_choose_later() {
    open(|studio, page| async move {
        let (_, theirs) = clash(&studio, &page).await;
        page.click("#clash button[value=later]").await;
        page.until_gone("#clash").await;
        page.until_says("#standing", "not saved yet; another text was saved meanwhile").await;
        assert!(page.value("#passage").await.contains("Mine. Best seen"));
        assert_eq!(studio.file("first-plan.md"), theirs);
        page.keys("More. ").await;
        page.control("s").await;
        page.until_there("#clash").await;
        page.click("#clash button[value=mine]").await;
        studio
            .until_file("first-plan.md", "both words", |text| text.contains("Mine. ") && text.contains("More. "))
            .await;
        assert!(studio.history("first-plan").contains(&theirs));
        page.complains_only_of(&["412"]).await;
    });
}

#[test]
fn a_file_that_went_away_while_it_was_written_loses_no_writing() {
    open(|studio, page| async move {
        page.go("/plan/first-plan").await;
        page.click("#write-all").await;
        page.until_there("#passage").await;
        page.keys("Mine. ").await;
        page.until_says("#standing", "not saved yet").await;
        let old = studio.file("first-plan.md");
        std::fs::remove_file(studio.path("first-plan.md")).unwrap();
        page.control("s").await;
        page.until_says("#standing", "there is no `first-plan.md` in this notebook").await;
        assert!(page.value("#passage").await.starts_with("Mine. "));
        assert_eq!(
            page.js("return localStorage.getItem('makeready /plan/first-plan').includes('Mine. ')", &[]).await,
            json!(true)
        );
        // Put back, the same writing is saved.
        studio.outside("first-plan.md", &old);
        page.control("s").await;
        studio.until_file("first-plan.md", "the writing", |text| text.starts_with("Mine. ")).await;
        page.complains_only_of(&["404"]).await;
    });
}
