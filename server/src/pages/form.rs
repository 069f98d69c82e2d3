//! What a form sends when no script runs on its page.

/// One field of it.
pub(crate) fn field(body: &[u8], name: &str) -> Option<String> {
    let mut pairs = std::str::from_utf8(body).ok()?.split('&').filter_map(|pair| pair.split_once('='));
    let (_, value) = pairs.rfind(|(key, _)| *key == name)?;
    plain(value)
}

/// A form's value with `+` and `%20` read back.
fn plain(value: &str) -> Option<String> {
    let mut bytes = Vec::with_capacity(value.len());
    let mut rest = value.bytes();
    while let Some(byte) = rest.next() {
        match byte {
            b'+' => bytes.push(b' '),
            b'%' => {
                let digits = [rest.next()?, rest.next()?];
                bytes.push(u8::from_str_radix(std::str::from_utf8(&digits).ok()?, 16).ok()?);
            }
            byte => bytes.push(byte),
        }
    }
    String::from_utf8(bytes).ok()
}
