//! Makeready's engine: the text of a plan and the facts of the day go in; values, problems and safe HTML come out.
//!
//! Read in this order: [`measure`] numbers that know their unit; [`trade`] what the trade talks about; [`value`] what a
//! plan can name, with how it was found; [`syntax`] the text of workings taken apart; [`record`] what a plan states; [`document`] the
//! Markdown; [`script`] the sandbox its workings run in; [`mod@evaluate`] one over the other; [`drawing`] things to scale;
//! [`render`] what people read of it all; [`corrections`] what an earlier version took a calculation to mean.

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
