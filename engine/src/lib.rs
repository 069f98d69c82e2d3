//! Makeready's engine: the text of a plan and the facts of the day go in; values, problems and safe HTML come out.
//!
//! A photographer who makes a very large print answers the same questions in the same order: how many pixels the scan gives,
//! how large it may be printed, on what it is mounted, what frame stands round it, what it weighs and hangs by, what it costs
//! and when it is done. A plan is that chain written down, in Markdown with blocks of workings.
//!
//! # A number knows its unit
//!
//! 7 200 pixels over 36 inches are 200 pixels to the inch; the unit follows from the calculation ([`measure`]).
//!
//! ```
//! use engine::{evaluate::expression, measure::Units};
//! let found = expression("7200.px / 36.inch", None).unwrap();
//! assert_eq!(found.value.shown(Units::Inch), "200\u{a0}ppi");
//! // What cannot be is refused in the trade's words, never calculated.
//! assert!(expression("36.inch + 2.kg", None).is_err());
//! ```
//!
//! # A plan is evaluated from top to bottom
//!
//! [`document`] reads the text, which never fails; [`mod@evaluate`] runs its blocks in the sandbox of [`script`], whose functions
//! are the rules of the [`trade`], each with its source; a [`Found`] is a value with the [`Working`] that led to it. What the plan
//! states (givens, rules, costs, steps) is its [`record`].
//!
//! ```
//! use std::sync::Arc;
//! use engine::{Facts, document::Document, evaluate, measure::Day, render::html};
//!
//! let text = "# Weir\n\n```workings\nlet wide = given(\"Print width\", 36.inch);\nmust(7200.px / wide >= 200.ppi, \"It stays sharp\");\n```\n\nIt is `? wide` wide.\n";
//! let plan = Document::read(text);
//! let today = Day::parse("2026-11-25").unwrap();
//! let evaluation = evaluate(&plan, &Facts::on(today), &Arc::default(), None);
//! assert!(evaluation.problems.is_empty() && evaluation.keeps_rules());
//!
//! // [`render`] makes what people read of it.
//! let page = html::article(&plan, &evaluation, &html::View::default());
//! assert!(page.html.contains("Print width"));
//! ```
//!
//! # Where to read on
//!
//! From the bottom up: [`measure`] numbers with units; [`trade`] the rules; [`value`] what a plan can name; [`syntax`] the text of
//! workings taken apart; [`record`] what a plan states; [`document`] the Markdown; [`script`] the sandbox; [`mod@evaluate`] one
//! over the other; [`drawing`] things to scale; [`render`] page, paper, ticket and comparison; [`corrections`] what an earlier
//! version took a calculation to mean.

pub mod corrections;
pub mod document;
pub mod drawing;
pub mod evaluate;
mod markup;
pub mod measure;
pub mod message;
pub mod recent;
pub mod record;
pub mod render;
pub mod script;
pub mod syntax;
pub mod trade;
pub mod value;

pub use evaluate::{Evaluation, Facts, evaluate};
pub use message::Message;
pub use value::{Found, Thing, Trade, Value, Working};
