//! HTML and SVG as they are written: elements and attributes by name, text and values escaped. No function takes a text as
//! markup, and an address is an attribute of its own kind, which text cannot become.

use std::fmt::{self, Display, Write as _};
use std::ops::Range;

use crate::Value;
use crate::measure::Units;
use crate::measure::digits::push_digits;

/// Text with the marks of HTML escaped.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    push_escaped(&mut out, text);
    out
}

/// The marks of HTML and what stands for each.
const MARKS: [(u8, &str); 6] =
    [(b'&', "&amp;"), (b'<', "&lt;"), (b'>', "&gt;"), (b'"', "&quot;"), (b'\'', "&#39;"), (b'`', "&#96;")];

fn push_escaped(out: &mut String, text: &str) {
    let mut from = 0;
    for (at, byte) in text.bytes().enumerate() {
        if !matches!(byte, b'&' | b'<' | b'>' | b'"' | b'\'' | b'`') {
            continue;
        }
        // Every mark is one byte, so that the text between them is copied whole.
        out.push_str(text.get(from..at).unwrap_or_default());
        out.push_str(MARKS.iter().find(|(mark, _)| *mark == byte).map_or("", |(_, instead)| instead));
        from = at + 1;
    }
    out.push_str(text.get(from..).unwrap_or_default());
}

macro_rules! words {
    ($(#[$about:meta])* $kind:ident: $($one:ident $word:literal),* $(,)?) => {
        $(#[$about])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub(crate) enum $kind { $($one),* }

        impl $kind {
            fn word(self) -> &'static str {
                match self { $(Self::$one => $word),* }
            }
        }
    };
}

words! {
    /// An element.
    Tag:
    A "a", Aside "aside", B "b", Blockquote "blockquote", Br "br", Button "button", Caption "caption", Code "code",
    Del "del", Details "details", Div "div", Em "em", Figcaption "figcaption", Figure "figure",
    H2 "h2", H3 "h3", H4 "h4", H5 "h5", H6 "h6", Hr "hr", Img "img", Input "input", Li "li", Ol "ol", Option "option",
    P "p", Path "path", Pre "pre", Select "select", Span "span", Strong "strong", Summary "summary", Svg "svg",
    Table "table", Tbody "tbody", Td "td", Text "text", Th "th", Thead "thead",
    Tr "tr", Ul "ul",
}

impl Tag {
    /// A heading; the first of a page is its title block.
    pub(crate) fn heading(level: u8) -> Self {
        match level {
            0..=2 => Self::H2,
            3 => Self::H3,
            4 => Self::H4,
            5 => Self::H5,
            _ => Self::H6,
        }
    }
}

words! {
    /// An attribute that holds plain text or a number. None of them leads anywhere or runs anything.
    Name:
    Alt "alt", AriaLabel "aria-label", Autocomplete "autocomplete", Checked "checked", Class "class",
    D "d", DataCell "data-cell", DataCost "data-cost", DataDay "data-day", DataDays "data-days", DataEnd "data-end", DataFrom "data-from",
    DataGiven "data-given", DataHead "data-head", DataLine "data-line", DataRemove "data-remove", DataRev "data-rev", DataRow "data-row", DataSnag "data-snag", DataStart "data-start",
    DataStep "data-step", DataTick "data-tick", DataTo "data-to",
    FontSize "font-size", Height "height", Inputmode "inputmode", Open "open", Placeholder "placeholder", Rel "rel", Role "role", Scope "scope",
    Selected "selected", Size "size", Start "start",
    Tabindex "tabindex", TextAnchor "text-anchor", Title "title", Transform "transform",
    Type "type", Value "value", ViewBox "viewBox", Width "width", X "x", Y "y",
}

/// Where a link may lead: to the web, to mail, or inside the notebook.
pub(crate) struct Link<'a>(&'a str);

impl<'a> Link<'a> {
    /// Nothing for an address that leads anywhere else.
    pub(crate) fn of(to: &'a str) -> Option<Self> {
        is_safe_link(to).then_some(Self(to))
    }
}

/// A picture of the notebook itself.
pub(crate) struct Picture<'a>(&'a str);

impl<'a> Picture<'a> {
    /// Nothing for a picture that lies anywhere else.
    pub(crate) fn of(to: &'a str) -> Option<Self> {
        is_local_picture(to).then_some(Self(to))
    }
}

/// A name of an element on its page; it begins so that no name of the page's own can be taken.
pub(crate) enum Id<'a> {
    /// Of a heading, by its words.
    Heading(&'a str),
    /// Of a block of workings, by its number.
    Workings(usize),
}

/// HTML being written.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Html {
    text: String,
    /// Numbers of lines, as they stand in attributes.
    lines: Vec<(Range<usize>, usize)>,
}

impl Html {
    pub(crate) fn with_capacity(bytes: usize) -> Self {
        Self { text: String::with_capacity(bytes), lines: Vec::new() }
    }

    pub(crate) fn len(&self) -> usize {
        self.text.len()
    }

    /// The text, and where numbers of lines stand in it.
    pub(crate) fn into_parts(self) -> (String, Vec<(Range<usize>, usize)>) {
        (self.text, self.lines)
    }

    /// How many bytes and how many numbers of lines there are so far.
    pub(crate) fn mark(&self) -> (usize, usize) {
        (self.text.len(), self.lines.len())
    }

    fn line(&mut self, line: usize) {
        let from = self.text.len();
        push_digits(&mut self.text, line as u64);
        self.lines.push((from..self.text.len(), line));
    }

    /// Begins an element. Its start ends with the statement, or with what it [holds](Start::holds).
    pub(crate) fn open(&mut self, tag: Tag) -> Start<'_> {
        self.text.push('<');
        self.text.push_str(tag.word());
        Start { out: self, tag, ends: ">" }
    }

    /// Ends an element.
    pub(crate) fn close(&mut self, tag: Tag) -> &mut Self {
        self.text.push_str("</");
        self.text.push_str(tag.word());
        self.text.push('>');
        self
    }

    /// Text, escaped.
    pub(crate) fn text(&mut self, text: &str) -> &mut Self {
        push_escaped(&mut self.text, text);
        self
    }

    /// A plain number.
    pub(crate) fn count(&mut self, number: usize) -> &mut Self {
        push_digits(&mut self.text, number as u64);
        self
    }

    /// A value as a page shows it, escaped.
    pub(crate) fn value(&mut self, value: &Value, units: Units) -> &mut Self {
        match value {
            // Digits and units hold no mark of HTML.
            Value::Quantity(_) | Value::Whole(_) | Value::Truth(_) => value.push(&mut self.text, units),
            Value::Text(text) => push_escaped(&mut self.text, text),
            other => push_escaped(&mut self.text, &other.shown(units)),
        }
        self
    }

    /// Text with what stands between back-ticks set apart.
    pub(crate) fn ticked(&mut self, text: &str) -> &mut Self {
        for (index, part) in text.split('`').enumerate() {
            if index % 2 == 0 {
                self.text(part);
            } else {
                self.open(Tag::Span).class("nb").says(part);
            }
        }
        self
    }

    /// Whole elements that stand in the program as they are.
    pub(crate) fn fixed(&mut self, markup: &'static str) -> &mut Self {
        debug_assert!(
            markup.matches('<').count() == markup.matches('>').count() && markup.matches('"').count().is_multiple_of(2),
            "no tag is left open: {markup}"
        );
        self.text.push_str(markup);
        self
    }

    /// A piece written before; it tells of no lines.
    pub(crate) fn piece(&mut self, piece: &Self) -> &mut Self {
        debug_assert!(piece.lines.is_empty(), "a number of a line would not be noted");
        self.text.push_str(&piece.text);
        self
    }
}

/// The start of an element, while it takes attributes.
pub(crate) struct Start<'a> {
    out: &'a mut Html,
    tag: Tag,
    ends: &'static str,
}

/// Takes text and passes it on escaped.
struct Escaping<'a>(&'a mut String);

impl fmt::Write for Escaping<'_> {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        push_escaped(self.0, text);
        Ok(())
    }
}

impl Start<'_> {
    fn begin(&mut self, name: &str) {
        self.out.text.push(' ');
        self.out.text.push_str(name);
        self.out.text.push_str("=\"");
    }

    /// An attribute with a text or a number.
    pub(crate) fn attr(mut self, name: Name, value: impl Display) -> Self {
        self.begin(name.word());
        // Writing into memory does not fail.
        let _ = write!(Escaping(&mut self.out.text), "{value}");
        self.out.text.push('"');
        self
    }

    /// An attribute that is there or not.
    pub(crate) fn flag(self, name: Name, is_set: bool) -> Self {
        if is_set {
            self.out.text.push(' ');
            self.out.text.push_str(name.word());
        }
        self
    }

    /// What it looks like.
    pub(crate) fn class(mut self, class: &'static str) -> Self {
        self.begin("class");
        self.out.text.push_str(class);
        self.out.text.push('"');
        self
    }

    /// The number of a line of the text.
    pub(crate) fn line(mut self, name: Name, line: usize) -> Self {
        self.begin(name.word());
        self.out.line(line);
        self.out.text.push('"');
        self
    }

    /// The line of the text it begins on, where it tells of it.
    pub(crate) fn begins_on(self, line: Option<usize>) -> Self {
        match line {
            Some(line) => self.line(Name::DataLine, line),
            None => self,
        }
    }

    /// Its name on the page.
    pub(crate) fn id(mut self, id: &Id<'_>) -> Self {
        self.begin("id");
        let (kind, words) = match id {
            Id::Heading(words) => ("h", *words),
            Id::Workings(_) => ("w-", ""),
        };
        self.out.text.push_str(kind);
        self.out.text(words);
        if let Id::Workings(number) = id {
            self.out.count(*number);
        }
        self.out.text.push('"');
        self
    }

    /// Where it leads; what leads out of the notebook learns nothing of it.
    pub(crate) fn href(mut self, to: &Link<'_>) -> Self {
        self.begin("href");
        push_escaped(&mut self.out.text, to.0);
        self.out.text.push('"');
        self
    }

    /// The picture it shows; none where there is none of the notebook's own.
    pub(crate) fn src(mut self, picture: Option<&Picture<'_>>) -> Self {
        self.begin("src");
        push_escaped(&mut self.out.text, picture.map_or("", |picture| picture.0));
        self.out.text.push('"');
        self
    }

    /// The element with what is written in it.
    pub(crate) fn holds(mut self, inside: impl FnOnce(&mut Html)) {
        self.out.text.push_str(std::mem::take(&mut self.ends));
        inside(self.out);
        let tag = self.tag;
        self.out.close(tag);
    }

    /// The element with a text in it.
    pub(crate) fn says(self, text: impl Display) {
        self.holds(|out| _ = write!(Escaping(&mut out.text), "{text}"));
    }

    /// An element of a drawing with nothing in it.
    pub(crate) fn empty(mut self) {
        self.ends = "/>";
    }
}

impl Drop for Start<'_> {
    fn drop(&mut self) {
        self.out.text.push_str(self.ends);
    }
}

/// A link to the web, to mail, or inside the notebook.
pub(crate) fn is_safe_link(to: &str) -> bool {
    let plain: String = to.chars().filter(|c| !c.is_control() && !c.is_whitespace()).collect::<String>().to_lowercase();
    let scheme = plain.split_once(':').map(|(scheme, _)| scheme).filter(|scheme| !scheme.contains(['/', '?', '#']));
    match scheme {
        Some(scheme) => matches!(scheme, "http" | "https" | "mailto"),
        // A browser reads a backslash as a slash, and two of either lead to another server.
        None => !plain.contains('\\') && !plain.starts_with("//"),
    }
}

/// A picture of the notebook itself: never from the web, where its owner would see who looks.
pub(crate) fn is_local_picture(to: &str) -> bool {
    let plain: String = to.chars().filter(|c| !c.is_control() && !c.is_whitespace()).collect();
    !plain.contains([':', '\\']) && !plain.starts_with("//") && !plain.contains("..")
}

#[cfg(test)]
mod tests {
    use super::{Html, Id, Link, Name, Picture, Tag};

    #[test]
    fn nothing_put_into_an_attribute_or_a_text_ends_it() {
        let hostile = "\"'`><img src=x onerror=alert(1)>&";
        let mut out = Html::default();
        out.open(Tag::P).attr(Name::Title, hostile).id(&Id::Heading(hostile)).says(hostile);
        out.open(Tag::Img).src(Picture::of(hostile).as_ref()).attr(Name::Alt, format_args!("{hostile}{}", 1));
        let (html, _) = out.into_parts();
        assert_eq!(html.matches('<').count(), 3, "{html}");
        assert_eq!(html.matches('"').count(), 8, "{html}");
    }

    #[test]
    fn an_address_is_made_only_of_what_leads_to_the_web_to_mail_or_into_the_notebook() {
        for bad in ["javascript:alert(1)", "java\nscript:x", "//elsewhere.example", "/\\elsewhere.example", "data:x"] {
            assert!(Link::of(bad).is_none(), "{bad}");
            assert!(Picture::of(bad).is_none(), "{bad}");
        }
        assert!(Link::of("https://a.example").is_some() && Picture::of("a/b.jpg").is_some());
        assert!(Picture::of("https://a.example/b.jpg").is_none());
    }
}
