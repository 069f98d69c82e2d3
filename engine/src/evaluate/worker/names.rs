//! The names blocks give: the value of each, where it comes from, and who sees it.

use std::collections::hash_map::Entry as Place;
use std::sync::{Arc, PoisonError};

use rhai::{Dynamic, ImmutableString};

use super::{MOST_NAMES, Worker, countable};
use crate::document::{Block, Problem};
use crate::evaluate::{Named, Outcome, Source};
use crate::syntax::calls::Calls;
use crate::{Found, Message};

/// Names set twice that are told one by one.
const MOST_TOLD: usize = 1_000;

impl Worker<'_> {
    /// A block that had to be stopped gives nothing: what it piled up would stop the blocks below it too.
    pub(super) fn forget(&mut self, before: usize, calls: &Calls, noted: usize) {
        self.runner.scope.rewind(before);
        self.run.notes.forget(noted);
        let mut state = self.run.state.lock().unwrap_or_else(PoisonError::into_inner);
        for one in &calls.lets {
            if !self.out.names.contains_key(&one.name) {
                state.names.remove(&*one.name);
            }
        }
    }

    /// Names that already have a value from an earlier line.
    pub(super) fn set_twice(&mut self, block: &Block, calls: &Calls) -> Vec<Problem> {
        let mut problems = Vec::new();
        for one in &calls.lets {
            let offset = block.offset(one.at);
            let line = self.document.lines.line(offset);
            let first = match self.out.sources.entry(one.name.clone()) {
                _ if &*one.name == "edition" => "the head".to_owned(),
                Place::Occupied(source) => format!("line {}", source.get().line),
                Place::Vacant(place) => {
                    place.insert(Source { line, right: None });
                    continue;
                }
            };
            // The first of each block is always told.
            self.twice += 1;
            if self.twice > MOST_TOLD && !problems.is_empty() {
                continue;
            }
            problems.push(self.document.problem_at(
                offset,
                format!("`{}` already has a value, from {first}", one.name),
                "give this one another name, so that every number has one source",
            ));
        }
        problems
    }

    /// What a block gave becomes constant, so that no later block changes it behind the reader's back.
    pub(super) fn keep(&mut self, before: usize, block: &Block, calls: &Arc<Calls>, outcome: &mut Outcome) {
        let count = self.runner.scope.len().saturating_sub(before);
        let fresh = self.runner.scope.iter_raw().take(count).map(|(name, _, value)| {
            let place = calls.find(name);
            let shared = place.and_then(|place| calls.lets.get(place)).map(|one| one.name.clone());
            (shared.unwrap_or_else(|| name.into()), place, value.flatten_clone())
        });
        let fresh: Vec<_> = fresh.collect();
        self.runner.scope.rewind(before);
        let mut is_said = false;
        for (name, place, value) in fresh.into_iter().rev() {
            let (value, found) = self.run.notes.named(value);
            let room = self.room_for_a_name();
            let is_full = room.is_err();
            if let Err(message) = room.and_then(|()| countable(&found.value)) {
                let at = block.offset(place.and_then(|place| calls.lets.get(place)).map_or(0, |one| one.at));
                // That there is no room is said at the first name without it.
                if !std::mem::replace(&mut is_said, is_full) {
                    let what = format!("`{name}`: {}", message.what);
                    outcome.problems.push(self.document.problem_at(at, what, message.next));
                }
                self.wait_for(&name, self.document.lines.line(at));
                continue;
            }
            self.source(&name, place, block, calls);
            self.settle(name.clone(), value, found.clone());
            outcome.gives.push(Named { name, found });
        }
    }

    /// Where a name a block gave comes from.
    fn source(&mut self, name: &Arc<str>, place: Option<usize>, block: &Block, calls: &Arc<Calls>) {
        let at = place.and_then(|place| calls.lets.get(place)).map_or(0, |one| one.at);
        let line = || self.document.lines.line(block.offset(at));
        let source = self.out.sources.entry(name.clone()).or_insert_with(|| Source { line: line(), right: None });
        // A name set twice keeps a right-hand side that shows something.
        if let Some(place) = place.filter(|place| calls.has_right(*place))
            && (source.right.is_none() || calls.right(place).is_some())
        {
            source.right = Some((calls.clone(), place));
        }
    }

    pub(super) fn settle(&mut self, name: Arc<str>, value: Dynamic, found: Found) {
        if self.has_functions {
            self.run.state.lock().unwrap_or_else(PoisonError::into_inner).names.insert(name.to_string(), value.clone());
        }
        if self.values.insert(name.clone(), value).is_none() {
            self.runner.order.push(name.clone());
        }
        self.out.names.insert(name, found);
    }

    fn room_for_a_name(&self) -> Result<(), Message> {
        if self.runner.order.len() < MOST_NAMES {
            return Ok(());
        }
        Err(Message::new(format!("at most {MOST_NAMES} names of one plan are given a value"), "cut it into two plans"))
    }

    /// Lets the next block or ask see those of the names so far that it uses; gives how many they are.
    pub(super) fn let_see(&mut self, uses: &[ImmutableString]) -> usize {
        self.runner.scope.clear();
        for name in uses {
            if let Some(value) = self.values.get(name.as_str()) {
                self.runner.scope.push_constant_dynamic(name.as_str(), value.clone());
            }
        }
        self.runner.scope.len()
    }

    pub(super) fn wait_for(&mut self, name: &str, line: usize) {
        if !self.runner.waiting.contains_key(name) {
            self.runner.waiting.insert(name.to_owned(), line);
            self.runner.order.push(name.into());
        }
    }
}
