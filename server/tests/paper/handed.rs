//! A ticket that was handed over stays as it was, and the next one says what changed.

use serde_json::json;

use crate::desk::Desk;
use crate::reader::read;
use crate::sheets::Paper;
use crate::shipped::pdf;

const PLAN: &str = "+++\ntitle = \"Weir\"\nedition = 4\n[shops]\nlab = \"shops/tidewater-lab\"\n+++\n\n# Weir\n\n## The print {for=lab}\n\nAs it was.\n\n```workings\nlet wide = 60.inch;\n```\n\nPrint it `? wide` wide.\n";

#[tokio::test]
async fn a_sheet_that_was_handed_over_is_kept_to_the_byte_and_the_next_one_marks_what_changed() {
    let desk = Desk::shipped();
    desk.outside("weir.md", PLAN);
    desk.notebook.look();
    let before = pdf(&desk, "/plan/weir/ticket/lab/paper.pdf?paper=a4").await;
    let issue = json!({ "words": "by mail", "paper": "a4" });
    desk.post("/plan/weir/ticket/lab/issue", "", issue).await.is(200);
    let from = desk.mark("weir").await;
    desk.put("weir", &from, &PLAN.replace("60.inch", "66.inch")).await.is(200);

    let kept = pdf(&desk, "/plan/weir/ticket/lab/issue/1.pdf").await;
    assert!(kept == before, "the sheet is the one that was shown");
    let page = desk.get("/plan/weir/ticket/lab").await.is(200);
    assert!(page.text().contains("/plan/weir/ticket/lab/issue/1.pdf"));

    let now = pdf(&desk, "/plan/weir/ticket/lab/paper.pdf?paper=a4").await;
    let said = Paper::of(&now).words();
    assert!(said.contains("Issues of this sheet") && said.contains("first issue"), "{said}");
    assert!(said.contains("this sheet") && said.contains("first issue Print it 66 in wide."), "{said}");
    // A bar stands in the margin beside what changed and beside nothing else: 0.8 mm thick, left of the text.
    let bars = |made: &[u8]| {
        let (_, found) = read(&[("sheet".to_owned(), made.to_vec())]).remove(0);
        let margin = |line: &&[f64; 4]| (23.0..25.5).contains(&line[0]) && (line[0] - line[2]).abs() < 0.9;
        found.lines.iter().flatten().filter(margin).count()
    };
    assert_eq!(bars(&before), 0);
    assert!(bars(&now) > 0);

    // Again after a restart, and no other number is there.
    let desk = desk.again();
    assert!(pdf(&desk, "/plan/weir/ticket/lab/issue/1.pdf").await == before);
    for none in ["2.pdf", "0.pdf", "x.pdf", "99999999999.pdf"] {
        desk.get(&format!("/plan/weir/ticket/lab/issue/{none}")).await.is(404);
    }
}

#[tokio::test]
async fn a_kept_sheet_cannot_be_changed_in_the_record_and_a_forged_one_is_found() {
    let desk = Desk::shipped();
    desk.post("/plan/boathouse-window/ticket/lab/issue", "", json!({})).await.is(200);
    let record = rusqlite::Connection::open(desk.path("makeready.db")).unwrap();
    record.pragma_update(None, "recursive_triggers", "ON").unwrap();
    for change in [
        "UPDATE issued_sheet SET pdf = x'00'",
        "DELETE FROM issued_sheet",
        "REPLACE INTO issued_sheet SELECT id, issued, paper, mark, x'00' FROM issued_sheet",
    ] {
        assert!(record.execute_batch(change).is_err(), "{change}");
    }
    record.execute_batch("DROP TRIGGER issued_sheet_keeps; UPDATE issued_sheet SET pdf = x'255044462d'").unwrap();
    let (what, _) =
        desk.send(axum::http::Method::GET, "/plan/boathouse-window/ticket/lab/issue/1.pdf", "", "").await.told();
    assert!(what.contains("no longer as it was issued"), "{what}");
}

#[tokio::test]
async fn the_code_on_the_sheet_is_read_back_by_a_camera_s_reader() {
    let desk = Desk::shipped();
    let made = pdf(&desk, "/plan/causeway-first-light/ticket/lab/paper.pdf").await;
    let paper = Paper::of(&made);
    let (width, height, grey) = paper.grey(paper.sheets.len(), 200);
    let mut picture = rqrr::PreparedImage::prepare_from_greyscale(width, height, |x, y| grey[y * width + x]);
    let (_, read) = picture.detect_grids()[0].decode().unwrap();
    assert!(read.starts_with("causeway-first-light lab r"), "{read}");
    let mark = read.rsplit(' ').next().unwrap();
    assert!(desk.mark("causeway-first-light").await.starts_with(mark) && mark.len() == 10, "{read}");
}

#[tokio::test]
async fn a_shop_s_sheet_under_its_link_holds_its_own_work_and_its_own_money_only() {
    let desk = Desk::with(
        "+++\ntitle = \"Salt Pans\"\nedition = 6\n[shops]\nlab = \"shops/north-lab\"\nframer = \"shops/the-joint\"\n+++\n\n# Salt Pans\n\n## What I think {private}\n\nThe collector pays 9000.\n\n## The print {for=lab}\n\n```workings\nlet wide = 60.inch;\ncost(\"Print\", 412.usd, \"lab\");\ncost(\"Frame\", 777.usd, \"framer\");\n```\n\nPrint it `? wide` wide; it costs `? total()` in all.\n\n## The frame {for=framer}\n\nThe frame is ash.\n",
    );
    let made = desk.post("/plan/p/links", "", json!({ "role": "lab", "days": 30 })).await.is(200).json();
    let path = made["address"].as_str().unwrap().split_once("localhost").unwrap().1.to_owned();
    let reply = desk.get(&format!("{path}/paper.pdf?paper=a4")).await.is(200);
    assert_eq!(reply.headers["x-robots-tag"], "noindex, nofollow");
    let said = Paper::of(&reply.body).words();
    assert!(said.contains("Print it 60 in") && said.contains("$412.00"), "{said}");
    for private in ["9000", "777", "1,189", "ash", "What I think", "collector"] {
        assert!(!said.contains(private), "the shop reads {private:?}: {said}");
    }
    let (_, found) = read(&[("link".to_owned(), reply.body)]).remove(0);
    assert!(found.links.is_empty() && !found.outline.iter().any(|title| title.contains("frame")), "{found:?}");
}
