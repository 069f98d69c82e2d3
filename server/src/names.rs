//! Names of plans and rate sheets: which file a name means, and which names are refused.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use engine::Message;
use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, utf8_percent_encode};
use unicode_normalization::UnicodeNormalization as _;
use unicode_normalization::char::is_combining_mark;

/// The name of a document of the notebook: its path without `.md`, parts joined by `/`.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Name(Arc<str>);

// Names some systems keep for devices (from memory).
const RESERVED: &[&str] = &[
    "con", "prn", "aux", "nul", "com1", "com2", "com3", "com4", "com5", "com6", "com7", "com8", "com9", "lpt1", "lpt2",
    "lpt3", "lpt4", "lpt5", "lpt6", "lpt7", "lpt8", "lpt9", "com¹", "com²", "com³", "lpt¹", "lpt²", "lpt³", "conin$",
    "conout$",
];

/// Why a word cannot be one part of a path on every computer, if so: it would lead elsewhere, be hidden, or mean a device.
pub(crate) fn unfit(part: &str) -> Option<&'static str> {
    let stem = part.split('.').next().unwrap_or(part).trim_end().to_lowercase();
    if part.is_empty() {
        Some("a part of it is empty")
    } else if part.contains(|c: char| c.is_control() || "/\\:".contains(c)) {
        Some("it holds a sign that cannot stand in a file name everywhere")
    } else if part.starts_with('.') || part.ends_with(['.', ' ']) {
        Some("a part of it begins with a point, or ends with a point or a space")
    } else if RESERVED.contains(&stem.as_str()) {
        Some("some systems keep this name for themselves")
    } else {
        None
    }
}

/// A name without the difference of capitals, nor of accents composed or written apart: some disks hold such names for one.
pub(crate) fn folded(text: &str) -> String {
    text.nfc().collect::<String>().to_uppercase().to_lowercase()
}

impl Name {
    /// The sign before the word the record has for a plan without a file. No file's name holds it.
    pub(crate) const OF_RECORD: char = '#';

    /// A plan that has no file, by the word the record has for it.
    pub(crate) fn of_record(plan: &str) -> Self {
        Self(format!("{}{plan}", Self::OF_RECORD).into())
    }

    /// A name as the record has it: it was checked when it came there.
    pub(crate) fn as_recorded(name: &str) -> Self {
        Self(name.into())
    }

    /// A name as asked for. Only letters of any script, digits, spaces and `-_.()'&,+` make a name, in at most three parts.
    ///
    /// # Errors
    /// When a part is empty, hidden, kept by the system, or holds anything else: no name ever leads out of the notebook.
    pub fn new(text: &str) -> Result<Self, Message> {
        let text: String = text.nfc().collect();
        let wrong = |why: &str| {
            Message::new(
                format!("`{}` is not a name of a plan: {why}", text.escape_debug()),
                "use letters, digits, spaces, `-` and `_`",
            )
        };
        if text.len() > 200 {
            return Err(wrong("it is longer than 200 bytes"));
        }
        let parts: Vec<_> = text.split('/').collect();
        if parts.len() > 3 {
            return Err(wrong("it lies more than two folders deep"));
        }
        for part in parts {
            let allowed = |c: char| (is_of_a_word(c) || " -_.()'&,+".contains(c)) && !is_invisible(c);
            if part.is_empty() || !part.chars().all(allowed) || part.starts_with(is_combining_mark) {
                return Err(wrong("it is empty or holds a sign that cannot stand in a file name"));
            }
            if part.starts_with(['.', ' ', '-']) || part.ends_with(['.', ' ']) || part.contains("..") {
                return Err(wrong("it begins or ends with a point, a space or a dash"));
            }
            if let Some(why) = unfit(part) {
                return Err(wrong(why));
            }
        }
        Ok(Self(text.into()))
    }

    /// The name of a new document from its title: lower case, dashes for everything else.
    ///
    /// # Errors
    /// When the title holds no letter or digit.
    pub fn from_title(title: &str) -> Result<Self, Message> {
        let plain: String =
            title.nfc().flat_map(char::to_lowercase).map(|c| if is_of_a_word(c) { c } else { '-' }).collect();
        let words: Vec<_> = plain.split('-').filter(|word| !word.is_empty()).collect();
        let mut name = words.join("-");
        while name.len() > 120 {
            name.pop();
        }
        if name.is_empty() {
            return Err(Message::new("the title holds no letter and no digit", "give the piece a title one can say"));
        }
        Self::new(&name).or_else(|_| Self::new(&format!("plan-{name}")))
    }

    /// The name with a number behind it, for a title used before.
    pub fn numbered(&self, number: u32) -> Self {
        Self(format!("{}-{number}", self.0).into())
    }

    /// The name of a file inside the notebook.
    pub fn of_file(root: &Path, file: &Path) -> Option<Self> {
        let inside = file.strip_prefix(root).ok()?.with_extension("");
        let parts: Option<Vec<_>> = inside.components().map(|part| part.as_os_str().to_str()).collect();
        Self::new(&parts?.join("/")).ok()
    }

    /// Where the document lies.
    pub fn file(&self, root: &Path) -> PathBuf {
        let mut path = root.to_path_buf();
        path.extend(self.0.split('/'));
        // Not `with_extension`, which would cut a name at its last point.
        path.as_mut_os_string().push(".md");
        path
    }

    /// The name as a person reads it.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// The same, of a plan without a file too.
    pub(crate) fn shown(&self) -> &str {
        self.0.strip_prefix(Self::OF_RECORD).unwrap_or(&self.0)
    }

    /// The name without the difference of capitals.
    pub fn folded(&self) -> String {
        folded(&self.0)
    }

    /// The name as one part of an address.
    pub fn in_url(&self) -> String {
        in_url(&self.0)
    }
}

/// Words as one part of an address.
pub(crate) fn in_url(words: &str) -> String {
    const OTHERS: &AsciiSet = &NON_ALPHANUMERIC.remove(b'-').remove(b'_').remove(b'.');
    utf8_percent_encode(words, OTHERS).to_string()
}

/// Letters and digits of any script, with the marks some scripts write their vowels with.
fn is_of_a_word(c: char) -> bool {
    (c.is_alphanumeric() || is_combining_mark(c)) && !is_invisible(c)
}

/// Letters that cannot be seen or turn the writing direction.
fn is_invisible(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{ad}'
            | '\u{34f}' | '\u{115f}' | '\u{1160}' | '\u{17b4}' | '\u{17b5}' | '\u{180b}'..='\u{180f}' | '\u{3164}' | '\u{ffa0}'
            | '\u{fe00}'..='\u{fe0f}' | '\u{e0000}'..='\u{e0fff}')
}

#[cfg(test)]
mod tests {
    use super::Name;

    #[test]
    fn a_name_never_leads_out_of_the_notebook() {
        for bad in [
            "",
            "..",
            "../x",
            "a/../b",
            "/etc/passwd",
            "a//b",
            ".hidden",
            "a\\b",
            "a:b",
            "x\0",
            "con",
            "NUL.txt",
            "a\u{202e}b",
            "a/b/c/d",
            "ends.",
            " a",
            "a%2f..%2fb",
        ] {
            assert!(Name::new(bad).is_err(), "{bad:?} was taken");
        }
        for good in ["salt-works", "Salt Works, Low Tide", "shops/tidewater-lab", "Été à l'étang", "v1.2"] {
            assert!(Name::new(good).is_ok(), "{good:?} was refused");
        }
    }

    #[test]
    fn a_point_in_a_name_stays() {
        let name = Name::new("v1.2").expect("a good name");
        assert_eq!(name.file("/n".as_ref()), std::path::Path::new("/n/v1.2.md"));
    }

    #[test]
    fn a_title_becomes_a_file_name() {
        assert_eq!(
            Name::from_title("Salt Works, Low Tide!").map(|name| name.as_str().to_owned()),
            Ok("salt-works-low-tide".to_owned())
        );
        assert!(Name::from_title("…").is_err());
    }
}
