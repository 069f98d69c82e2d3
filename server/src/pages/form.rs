//! What a form sends when no script runs on its page.

/// One field of it.
pub(crate) fn field(body: &[u8], name: &str) -> Option<String> {
    form_urlencoded::parse(body).filter(|(key, _)| key == name).last().map(|(_, value)| value.into_owned())
}
