//! The hunt for texts whose time grows out of hand, on the whole way from a text to its page.

use std::fmt::Write as _;
use std::sync::Arc;
use std::time::{Duration, Instant};

use engine::evaluate::Compiled;
use engine::render::html::View;
use server::evaluator::calculate;

use crate::program::long_form;
use crate::texts::PIECES;
use crate::tries::{dice, text};
use crate::{calculated, facts, on_a_thread};

/// The shortest of a few tries.
fn least(tries: usize, text: &str, compiled: &Arc<Compiled>) -> Duration {
    (0..tries)
        .map(|_| {
            let began = calculated();
            std::hint::black_box(calculate(text, &facts(), &View::default(), compiled).article());
            calculated() - began
        })
        .min()
        .unwrap()
}

/// Growth of the time when a pattern is four times as long, and that time.
fn growth(pattern: &str, bytes: usize, compiled: &Arc<Compiled>) -> (f64, Duration) {
    let times = (bytes / pattern.len()).max(1);
    let (short, long) = (pattern.repeat(times), pattern.repeat(times * 4));
    let (a, b) = (least(2, &short, compiled), least(1, &long, compiled));
    if b < WORTH_IT || b.as_secs_f64() / a.as_secs_f64() <= 8.0 {
        return (b.as_secs_f64() / a.as_secs_f64(), b);
    }
    let (a, b) = (least(6, &short, compiled), least(4, &long, compiled));
    (b.as_secs_f64() / a.as_secs_f64(), b)
}

/// Shorter times say nothing.
const WORTH_IT: Duration = Duration::from_millis(3);

#[test]
fn no_pattern_takes_more_than_eight_times_as_long_when_it_is_four_times_as_long() {
    on_a_thread(|| {
        let compiled = Arc::new(Compiled::default());
        let known = [
            "---\n:",
            "[",
            "[[",
            "![",
            "](",
            "[a](",
            "<",
            "<a",
            "<!--",
            "<![CDATA[",
            "`",
            "`a``",
            "*a_",
            "**a*",
            "_a_*",
            "~~a~",
            "> ",
            "> - ",
            "- ",
            "1. ",
            "\\",
            "&",
            "&a",
            "|",
            "|a|\n|-|\n",
            "[^",
            "[^a]: ",
            "[a]: b\n",
            "[a]: <",
            "# ",
            "#",
            "\n",
            " \n",
            "\t",
            "```\n",
            "```workings\n1\n```\n",
            "`? 1`",
            "`? 1` ",
            "- [ ] a\n",
            "## a {for=b}\n",
            "{",
            "a{for=",
            "+++\n",
            "+++\na = 1\n+++\n",
            "<b>",
            "</",
            "https://a ",
            "a@b ",
            "\u{feff}",
            "\r",
            "e\u{301}",
            "*a **a ",
            "[a][",
            "[a] ",
            "- a\n  - ",
            ">\n",
            "let a = 1;\n",
        ];
        let mut dice = dice(10);
        let (seconds, began, mut count) = (long_form("MAKEREADY_FUZZ", 0) as u64, Instant::now(), 0);
        let mut worst = (0.0, String::new());
        let mut found = Vec::new();
        loop {
            let pattern = match known.get(count) {
                Some(pattern) => (*pattern).to_owned(),
                None if count < known.len() + 120 || began.elapsed() < Duration::from_secs(seconds) => {
                    text(&mut dice, PIECES, 3)
                }
                None => break,
            };
            count += 1;
            if pattern.len() >= 200 {
                continue;
            }
            let (growth, took) = growth(&pattern, 4 << 10, &compiled);
            if growth > worst.0 && took > WORTH_IT {
                worst = (growth, pattern.clone());
            }
            if growth > 8.0 && took > WORTH_IT {
                found.push(format!("{pattern:?}: {growth:.1} times as long, {took:?}"));
            }
        }
        println!(
            "growth: {count} patterns in {:.1?}; the worst grows {:.1} times: {:?}",
            began.elapsed(),
            worst.0,
            worst.1
        );
        assert!(found.is_empty(), "{}", found.join("\n"));
    });
}

/// Names by the thousand that wait for one mistake each, and asks for names that nobody gave.
fn mistakes(bytes: usize) -> String {
    let mut text = String::new();
    for block in 0.. {
        let _ = write!(text, "\n```workings\nlet a{block} = nobody;\n");
        (0..300).for_each(|name| _ = writeln!(text, "let w{block}_{name} = 1;"));
        text.push_str("```\n");
        (0..60).for_each(|ask| _ = writeln!(text, "`? w{block}_x{ask}`\n"));
        if text.len() + (8 << 10) > bytes {
            break;
        }
    }
    text
}

#[test]
fn the_longest_plan_of_the_worst_kind_is_calculated_in_bounded_time() {
    on_a_thread(|| {
        let compiled = Arc::new(Compiled::default());
        let mut slow = Vec::new();
        let longest = server::folder::LONGEST as usize;
        let repeated = [
            "a ",
            "> ",
            "- ",
            "[",
            "`? 1` ",
            "`? 1`\n\n",
            "```workings\n1\n```\n",
            "```workings\nlet a = 1;\n```\n",
            "- [ ] a\n",
            "# a\n",
            "|a|b|\n",
            "*a* ",
            "![a](b) ",
            "# a {for=lab}\n",
            "```workings\nlet n = 0; while true { n += 1 }\n```\n",
            "\n",
            "\u{1F5BC} ",
        ];
        let repeated = repeated.iter().map(|pattern| (format!("{pattern:?}"), pattern.repeat(longest / pattern.len())));
        for (pattern, text) in repeated.chain([("mistakes".to_owned(), mistakes(longest))]) {
            let began = calculated();
            let worked = calculate(&text, &facts(), &View::default(), &compiled);
            worked.article();
            let took = calculated() - began;
            println!("1 MB of {pattern}: {took:?}, a page of {} kB", worked.article().html.len() >> 10);
            assert!(worked.article().html.len() < 8 << 20, "{pattern}");
            if took > Duration::from_secs(if cfg!(debug_assertions) { 8 } else { 1 }) {
                slow.push(format!("{pattern}: {took:?}"));
            }
        }
        assert!(slow.is_empty(), "{}", slow.join("\n"));
    });
}
