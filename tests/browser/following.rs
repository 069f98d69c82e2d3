//! Pages that are looked at follow what changes elsewhere.

use crate::studio::open;

#[test]
fn a_second_page_follows_a_change_made_on_the_first() {
    open(|studio, first| async move {
        let second = studio.second().await;
        first.go("/plan/first-plan").await;
        second.go("/plan/first-plan").await;
        first.enter("p input[aria-label='Print width, in inches']", "72").await;
        second.until_says("#plan", "72 × 34.17 in").await;
        second.until_says("#saved", "saved, revision 2").await;
        // And back: the second writes, the first follows.
        second.enter("p input[aria-label='Print width, in inches']", "48").await;
        first.until_says("#plan", "48 × 22.78 in").await;
        first.is_quiet().await;
        second.is_quiet().await;
        second.close().await;
    });
}

#[test]
fn a_page_follows_an_edit_made_with_another_program() {
    open(|studio, page| async move {
        page.go("/plan/first-plan").await;
        let text = studio.file("first-plan.md");
        studio.outside("first-plan.md", &text.replace("60.inch", "50.inch"));
        page.until_says("#plan", "50 × 23.73 in").await;
        page.until_says("#saved", "saved, revision 2").await;
        // An editor that writes beside the file and renames.
        std::fs::write(studio.path("first-plan.md~"), text.replace("60.inch", "40.inch")).unwrap();
        std::fs::rename(studio.path("first-plan.md~"), studio.path("first-plan.md")).unwrap();
        page.until_says("#plan", "40 × 18.98 in").await;
        page.is_quiet().await;
    });
}

#[test]
fn a_plan_follows_its_rate_sheets() {
    open(|studio, page| async move {
        page.go("/plan/causeway-first-light").await;
        let text = studio.file("shops/tidewater-lab.md");
        studio.outside("shops/tidewater-lab.md", &text.replace("let tube = 38.usd;", "let tube = 57.usd;"));
        page.until_says("#plan", "$57.00").await;
        page.is_quiet().await;
    });
}

#[test]
fn the_wall_follows() {
    open(|studio, page| async move {
        page.go("/").await;
        studio
            .outside("weir.md", "+++\ntitle = \"Weir\"\n+++\n# Weir\n\n```workings\nhangs([30.inch, 20.inch]);\n```\n");
        page.until_says("#hung-weir", "30 × 20 in").await;
        std::fs::remove_file(studio.path("weir.md")).unwrap();
        page.until_gone("#hung-weir").await;
        page.is_quiet().await;
    });
}

#[test]
fn a_sale_recorded_elsewhere_is_seen() {
    open(|studio, first| async move {
        let second = studio.second().await;
        first.go("/plan/causeway-first-light").await;
        second.go("/plan/causeway-first-light").await;
        first.type_into("#record [name=words]", "A. Reader").await;
        first.click("#record button[type=submit]").await;
        second.until_says("#plan", "The next print is 2/10").await;
        second.close().await;
    });
}

#[test]
fn what_a_person_is_at_is_left_alone_when_the_page_follows() {
    open(|studio, page| async move {
        page.go("/plan/first-plan").await;
        let wide = "p input[aria-label='Print width, in inches']";
        page.click(wide).await;
        page.control("a").await;
        page.keys("7").await;
        let text = studio.file("first-plan.md");
        studio.outside("first-plan.md", &text.replace("Best seen", "It is best seen"));
        page.until_says("#plan", "It is best seen").await;
        assert_eq!(page.value(wide).await, "7", "the half-typed number stands");
        page.keys("2\t").await;
        studio
            .until_file("first-plan.md", "the width", |text| {
                text.contains("72.inch") && text.contains("It is best seen")
            })
            .await;
        page.is_quiet().await;
    });
}
