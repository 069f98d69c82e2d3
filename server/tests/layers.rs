//! Who knows whom: every path in the sources of both crates, read by a parser of the language, against the drawing below.
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a test may stop")]

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use syn::visit::{self, Visit};

/// The rooms of the server, and whom each knows.
const SERVER: &[(&str, &str)] = &[
    ("app", "assets error guard pages state"),
    ("backup", "error folder store"),
    (
        "commands",
        "app assets backup clock daily error evaluator export folder listen names notebook passphrase sheets state store templates tickets titles tls watch",
    ),
    ("daily", "error notebook store"),
    ("days", "error"),
    ("evaluator", "error memory semaphore"),
    ("export", "titles"),
    ("folder", "error names"),
    ("guard", "error listen state"),
    ("links", "error names notebook passphrase store tickets"),
    ("notebook", "clock days error evaluator folder names store table titles"),
    (
        "pages",
        "amount assets days error evaluator export folder guard links listen names notebook passphrase sheets state store table templates tickets titles",
    ),
    ("passphrase", "error"),
    ("sheets", "code days error evaluator names notebook semaphore store tickets titles"),
    ("state", "assets error listen notebook page_diff passphrase"),
    ("store", "amount error folder names passphrase"),
    ("table", "error"),
    ("templates", "error"),
    ("tickets", "code error names notebook store"),
    ("titles", "names"),
    ("tls", "error"),
    ("watch", "error notebook"),
];

/// The rooms of the engine, and whom each knows.
const ENGINE: &[(&str, &str)] = &[
    ("corrections", "syntax"),
    ("document", "markup measure record syntax trade"),
    ("drawing", "markup measure trade"),
    ("evaluate", "document measure recent record script syntax trade"),
    ("markup", "measure"),
    ("record", "measure syntax trade"),
    ("render", "document drawing evaluate markup measure record script syntax trade"),
    ("script", "measure record syntax trade"),
    ("syntax", "measure trade"),
    ("trade", "measure"),
    ("value", "measure"),
];

/// A module by its path in the crate; a file, or a folder with its front page.
type Module = Vec<String>;

/// Which modules name which others.
#[derive(Default)]
struct Arrows {
    modules: BTreeSet<Module>,
    all: BTreeMap<Module, BTreeSet<Module>>,
}

impl Arrows {
    fn of(sources: &Path) -> Self {
        let (mut files, mut folders) = (Vec::new(), vec![sources.to_path_buf()]);
        while let Some(folder) = folders.pop() {
            for entry in std::fs::read_dir(folder).unwrap() {
                let path = entry.unwrap().path();
                if path.is_dir() {
                    folders.push(path);
                } else if path.extension().is_some_and(|end| end == "rs") {
                    let within = path.strip_prefix(sources).unwrap().with_extension("");
                    let mut module: Module = within.iter().map(|part| part.to_string_lossy().into_owned()).collect();
                    let is_front = matches!(module.last().map(String::as_str), Some("mod" | "lib"));
                    if is_front {
                        module.pop();
                    }
                    files.push((module, path));
                }
            }
        }
        let mut arrows = Self { modules: files.iter().map(|(module, _)| module.clone()).collect(), ..Self::default() };
        for (module, path) in files {
            let mut paths = Paths::default();
            paths.visit_file(&syn::parse_file(&std::fs::read_to_string(&path).unwrap()).unwrap());
            let to = paths.0.iter().filter_map(|path| arrows.resolved(&module, path)).collect::<BTreeSet<_>>();
            arrows.all.insert(module, to);
        }
        arrows
    }

    /// The module a path leads to; nothing for another crate, itself, and the front page of a folder it lies in.
    fn resolved(&self, from: &Module, path: &[String]) -> Option<Module> {
        let mut to: Module = match path.first()?.as_str() {
            "crate" => path.get(1..)?.to_vec(),
            "super" | "self" => {
                let ups = path.iter().take_while(|part| *part == "super").count();
                let rest = path.iter().skip_while(|part| matches!(part.as_str(), "super" | "self"));
                from.iter().take(from.len().checked_sub(ups)?).chain(rest).cloned().collect()
            }
            _ => return None,
        };
        while !self.modules.contains(&to) {
            to.pop()?;
        }
        (!from.starts_with(&to)).then_some(to)
    }

    /// Modules from which a way of arrows leads back to themselves, each way once.
    fn circles(&self) -> BTreeSet<Vec<String>> {
        let reached = |from: &Module| {
            let (mut seen, mut next) = (BTreeSet::new(), vec![from]);
            while let Some(module) = next.pop() {
                for to in self.all.get(module).into_iter().flatten() {
                    if seen.insert(to) {
                        next.push(to);
                    }
                }
            }
            seen
        };
        let all: BTreeMap<_, _> = self.modules.iter().map(|module| (module, reached(module))).collect();
        let back = |module: &Module| {
            let way = all.iter().filter(|(other, from)| all[module].contains(*other) && from.contains(module));
            way.map(|(other, _)| other.join("/")).collect::<Vec<_>>()
        };
        self.modules.iter().map(back).filter(|way| !way.is_empty()).collect()
    }

    /// The arrows between what stands at the top, a line each.
    fn at_the_top(&self) -> BTreeMap<&str, BTreeSet<&str>> {
        let mut top: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
        for (from, to) in self.all.iter().flat_map(|(from, all)| all.iter().map(move |to| (from, to))) {
            if let (Some(from), Some(to)) = (from.first(), to.first())
                && from != to
            {
                top.entry(from).or_default().insert(to);
            }
        }
        top
    }
}

/// Every path a file names, tests left out.
#[derive(Default)]
struct Paths(Vec<Vec<String>>);

impl Paths {
    fn tree(&mut self, before: &[String], tree: &syn::UseTree) {
        let with = |name: &syn::Ident| [before, &[name.to_string()]].concat();
        match tree {
            syn::UseTree::Path(path) => self.tree(&with(&path.ident), &path.tree),
            syn::UseTree::Name(name) => self.0.push(with(&name.ident)),
            syn::UseTree::Rename(name) => self.0.push(with(&name.ident)),
            syn::UseTree::Glob(_) => self.0.push(before.to_vec()),
            syn::UseTree::Group(group) => group.items.iter().for_each(|one| self.tree(before, one)),
        }
    }
}

fn is_for_tests(attributes: &[syn::Attribute]) -> bool {
    attributes.iter().any(|one| {
        one.path().is_ident("cfg")
            && matches!(&one.meta, syn::Meta::List(list) if list.tokens.to_string().trim() == "test")
    })
}

impl<'a> Visit<'a> for Paths {
    fn visit_item_use(&mut self, item: &'a syn::ItemUse) {
        if !is_for_tests(&item.attrs) {
            self.tree(&[], &item.tree);
        }
    }

    fn visit_item_mod(&mut self, item: &'a syn::ItemMod) {
        if !is_for_tests(&item.attrs) {
            visit::visit_item_mod(self, item);
        }
    }

    fn visit_path(&mut self, path: &'a syn::Path) {
        self.0.push(path.segments.iter().map(|one| one.ident.to_string()).collect());
        visit::visit_path(self, path);
    }
}

/// Fails when a crate and its drawing differ, and says in which arrow.
fn check(sources: &str, drawing: &[(&str, &str)]) {
    let arrows = Arrows::of(&Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(sources));
    let drawn: BTreeSet<_> =
        drawing.iter().flat_map(|(from, all)| all.split_whitespace().map(move |to| (*from, to))).collect();
    let top = arrows.at_the_top();
    let found: BTreeSet<_> = top.iter().flat_map(|(from, all)| all.iter().map(move |to| (*from, *to))).collect();
    let new: Vec<_> = found.difference(&drawn).collect();
    let gone: Vec<_> = drawn.difference(&found).collect();
    assert!(
        new.is_empty(),
        "{sources}: these are not in the drawing of this test; turn them round, or draw them: {new:?}"
    );
    assert!(
        gone.is_empty(),
        "{sources}: these are drawn and not there any more; take them out of the drawing: {gone:?}"
    );
    assert_eq!(arrows.circles(), BTreeSet::new(), "{sources}: files that know one another in a circle");
}

#[test]
fn the_engine_is_as_drawn_and_without_a_circle() {
    check("engine/src", ENGINE);
}

#[test]
fn the_server_is_as_drawn_and_without_a_circle() {
    check("server/src", SERVER);
}

#[test]
fn a_circle_is_found() {
    let folder = tempfile::tempdir().unwrap();
    for (file, text) in
        [("a.rs", "use crate::b::B;"), ("b.rs", "fn f() { super::a::g() }"), ("c.rs", "use crate::{a, b::B};")]
    {
        std::fs::write(folder.path().join(file), text).unwrap();
    }
    let arrows = Arrows::of(folder.path());
    assert_eq!(arrows.circles(), BTreeSet::from([vec!["a".to_owned(), "b".to_owned()]]));
    assert_eq!(arrows.at_the_top()["c"], BTreeSet::from(["a", "b"]));
}
