//! A page being written on is told what differs from what it shows, and so comes to show the very article.

use axum::body::Body;
use axum::http::Request;
use serde_json::Value;

use crate::desk::Desk;
use crate::program::Dice;

const PLAN: &str = "causeway-first-light";
/// What tells of lines of the text.
const TELLS: [&str; 4] = ["data-line=\"", "data-from=\"", "data-to=\"", "data-tick=\""];

async fn drafted(desk: &Desk, text: &str, shows: Option<&str>) -> Value {
    let mut request = Request::post(format!("/plan/{PLAN}/draft"))
        .header("host", "localhost")
        .header("sec-fetch-site", "same-origin")
        .header("content-type", "text/markdown; charset=utf-8");
    if let Some(shows) = shows {
        request = request.header("shown", shows);
    }
    desk.ask(request.body(Body::from(text.to_owned())).unwrap()).await.is(200).json()
}

/// A passage so many lines further down.
fn moved(passage: &str, lines: i64) -> String {
    let (mut out, mut rest) = (String::new(), passage);
    while let Some(at) = TELLS.iter().filter_map(|tells| Some(rest.find(tells)? + tells.len())).min() {
        let (before, after) = rest.split_at(at);
        let (number, after) = after.split_at(after.find('"').unwrap());
        out += before;
        out += &(number.parse::<i64>().unwrap() + lines).to_string();
        rest = after;
    }
    out + rest
}

/// What a page shows after an answer, and how much of that was sent again.
fn after(answer: &Value, shown: &[String]) -> (Vec<String>, usize) {
    let (mut now, mut sent) = (Vec::new(), 0);
    for part in answer["parts"].as_array().unwrap() {
        if let Some(html) = part.as_str() {
            sent += html.len();
            now.push(html.to_owned());
        } else {
            let [from, count, lines] = [0, 1, 2].map(|at| part[at].as_i64().unwrap());
            let stay = &shown[from as usize..(from + count) as usize];
            now.extend(stay.iter().map(|passage| moved(passage, lines)));
        }
    }
    (now, sent)
}

/// A text with something else in it: a line twice, a line less, another digit, a line of words or of marks.
fn edited(text: &str, dice: &mut Dice) -> String {
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    let at = dice.roll(lines.len() as u64) as usize;
    match dice.roll(5) {
        0 => lines.insert(at, lines[at].clone()),
        1 => _ = lines.remove(at),
        2 => lines[at] = lines[at].replacen(|c: char| c.is_ascii_digit(), &dice.roll(10).to_string(), 1),
        3 => lines.insert(at, "A heron stands in the shallows.".to_owned()),
        _ => {
            let marks = ["```", "## Else", "- [ ] clean the glass", "> `? 3 * 4`", "| a |", "---", ""];
            lines.insert(at, marks[dice.roll(marks.len() as u64) as usize].to_owned());
        }
    }
    lines.join("\n") + "\n"
}

#[tokio::test]
async fn what_a_page_is_told_of_drafts_adds_up_to_the_article() {
    let desk = Desk::shipped();
    let mut text = desk.file(&format!("{PLAN}.md"));
    let (mut dice, mut mark, mut shown) = (Dice(1126), "none".to_owned(), Vec::new());
    for turn in 0..150 {
        let answer = drafted(&desk, &text, Some(&mark)).await;
        assert_eq!(answer.get("article"), None);
        (shown, _) = after(&answer, &shown);
        let whole = drafted(&desk, &text, None).await;
        assert_eq!(shown.concat(), whole["article"].as_str().unwrap(), "after {turn} edits:\n{text}");
        answer["shown"].as_str().unwrap().clone_into(&mut mark);
        text = edited(&text, &mut dice);
    }
    // Of a mark that means nothing here, all is told.
    for stranger in ["0", "ffffffffffffffff", "none", "é", ""] {
        let answer = drafted(&desk, &text, Some(stranger)).await;
        assert!(answer["parts"].as_array().unwrap().iter().all(Value::is_string), "{stranger}");
    }
}

#[tokio::test]
async fn a_key_press_is_told_in_what_it_changed() {
    let desk = Desk::shipped();
    let text = desk.file(&format!("{PLAN}.md"));
    let answer = drafted(&desk, &text, Some("none")).await;
    let (shown, whole) = after(&answer, &[]);
    let mark = answer["shown"].as_str().unwrap();
    // A word in one paragraph, a line more above almost everything, and nothing at all.
    let word = text.replacen("## Hanging\n", "## Hanging\n\nMind the low beam.\n", 1);
    let line = text.replacen("\n## ", "\n\n\n## ", 1);
    for (text, most) in [(&word, 2_000), (&line, 2_000), (&text, 0)] {
        let answer = drafted(&desk, text, Some(mark)).await;
        let (now, sent) = after(&answer, &shown);
        assert_eq!(now.concat(), drafted(&desk, text, None).await["article"].as_str().unwrap());
        assert!(sent <= most, "{sent} bytes of {whole} were sent again");
        assert!(answer["parts"].as_array().unwrap().len() < 20, "{answer}");
    }
    assert!(whole > 20_000);
}
