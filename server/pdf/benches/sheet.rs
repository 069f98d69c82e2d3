//! How long a sheet takes: the next one with changed words, and one that is the same as before.
#![allow(clippy::unwrap_used, missing_docs, reason = "a bench may stop at once")]

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use engine::document::plain::{Block, Run};
use pdf::{Part, Passage, Press, Sheet};

fn sheet(number: u32) -> Sheet {
    let words = |text: String| Block::Paragraph { runs: vec![Run::Text { text }] };
    let mut passages = vec![Passage {
        block: Block::Heading { level: 2, runs: vec![Run::Text { text: "What to make".to_owned() }] },
        revised: false,
    }];
    for at in 0..12 {
        let text = format!("Passage {at} of sheet {number}: the board floats with 3/8 in open all round. ").repeat(4);
        passages.push(Passage { block: words(text), revised: false });
    }
    passages.push(Passage {
        block: Block::Table {
            columns: vec!["left", "right"],
            head: vec![vec![Run::Text { text: "part".to_owned() }], vec![Run::Text { text: "length".to_owned() }]],
            rows: (0..30)
                .map(|row| {
                    vec![
                        vec![Run::Text { text: format!("rail {row}") }],
                        vec![Run::Text { text: format!("{} mm", row * 7 + number) }],
                    ]
                })
                .collect(),
        },
        revised: false,
    });
    Sheet {
        language: "en".to_owned(),
        title: "Salt Works, Low Tide".to_owned(),
        subtitle: "The frame".to_owned(),
        author: "Ines Marlow".to_owned(),
        date: (2026, 11, 25),
        parts: vec![
            Part::Prose { passages },
            Part::Ticks { title: "Before it leaves you".to_owned(), items: vec!["Gap".to_owned(); 6] },
        ],
        ..Sheet::default()
    }
}

fn sheets(criterion: &mut Criterion) {
    let began = std::time::Instant::now();
    let press = Press::start().unwrap();
    let first = press.print(sheet(0)).unwrap();
    println!("the first sheet of the program: {:?}, {} bytes", began.elapsed(), first.len());
    let mut number = 1;
    criterion.bench_function("the next sheet, its words changed", |bench| {
        bench.iter(|| {
            number += 1;
            black_box(press.print(sheet(number)).unwrap())
        });
    });
    criterion.bench_function("the same sheet again", |bench| bench.iter(|| black_box(press.print(sheet(0)).unwrap())));
}

criterion_group!(benches, sheets);
criterion_main!(benches);
