//! The server's own table of addresses, read from its source, so that a test that walks it misses none.

/// Every method and address pattern, like `("GET", "/plan/{name}")`.
pub(crate) fn table() -> Vec<(&'static str, &'static str)> {
    let mut all = Vec::new();
    let source = include_str!("../../src/app.rs").split("#[cfg(test)]").next().unwrap();
    for row in source.split(".route(\"").skip(1) {
        let (pattern, handlers) = row.split_once('"').unwrap();
        let handlers = handlers.lines().next().unwrap();
        let before = all.len();
        for (method, word) in [("GET", "get("), ("POST", "post("), ("PUT", "put(")] {
            if handlers.contains(word) {
                all.push((method, pattern));
            }
        }
        assert!(all.len() > before, "no method was found for {pattern}");
    }
    assert!(all.len() > 60, "the table was not read: {all:?}");
    all
}

/// An address of a pattern: `fill` gives what stands for each name in braces.
pub(crate) fn filled(pattern: &str, fill: impl Fn(&str) -> String) -> String {
    let part = |part: &str| match part.strip_prefix('{') {
        Some(name) => fill(name.trim_start_matches('*').trim_end_matches('}')),
        None => part.to_owned(),
    };
    pattern.split('/').map(part).collect::<Vec<_>>().join("/")
}
