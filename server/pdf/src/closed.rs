//! The layout in a closed world: one template, one set of data and three typefaces, all in memory. Any other file, any package
//! and the clock are refused.

use engine::Trouble;
use typst::diag::{FileError, FileResult, SourceDiagnostic};
use typst::foundations::{Bytes, Datetime, Duration, Smart};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt as _, World};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards, Timestamp};

use crate::plain_text::settle;
use crate::sheet::Sheet;

/// The largest sheet laid out, in bytes of its data.
const LARGEST: usize = 6 << 20;
/// How many sheets back what was laid out is remembered.
const REMEMBERED: usize = 3;

/// The typefaces, as shipped for the pages too. SIL Open Font License 1.1, see `static/fonts/OFL.txt`.
const FACES: [&[u8]; 3] = [
    include_bytes!("../../../static/fonts/LibertinusSerif-Regular.otf"),
    include_bytes!("../../../static/fonts/LibertinusSerif-Italic.otf"),
    include_bytes!("../../../static/fonts/LibertinusSerif-Bold.otf"),
];
const TEMPLATE: &str = include_str!("sheet.typ");

/// What stays the same from sheet to sheet.
pub(crate) struct Case {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
    template: Source,
    data: FileId,
    standards: PdfStandards,
}

struct Closed<'a> {
    case: &'a Case,
    sheet: Bytes,
}

impl Case {
    pub(crate) fn new() -> Result<Self, Trouble> {
        let fonts: Vec<_> = FACES.iter().filter_map(|face| Font::new(Bytes::new(*face), 0)).collect();
        let file = |name: &str| {
            VirtualPath::new(name).ok().map(|path| FileId::new(RootedPath::new(VirtualRoot::Project, path)))
        };
        let standards = PdfStandards::new(&[PdfStandard::A_2a, PdfStandard::Ua_1]).ok();
        let (Some(template), Some(data), Some(standards)) = (file("sheet.typ"), file("sheet.json"), standards) else {
            return Err(broke("the page layout could not be begun"));
        };
        Ok(Self {
            library: LazyHash::new(Library::default()),
            book: LazyHash::new(FontBook::from_fonts(&fonts)),
            fonts,
            template: Source::new(template, TEMPLATE.into()),
            data,
            standards,
        })
    }

    /// The bytes of a sheet: the same for the same sheet.
    pub(crate) fn pdf(&self, sheet: &Sheet) -> Result<Vec<u8>, Trouble> {
        let mut value = serde_json::to_value(sheet).map_err(|_| broke("this sheet could not be read"))?;
        settle(&mut value, &|c| self.fonts.first().is_some_and(|font| font.info().coverage.contains(u32::from(c))));
        let data = value.to_string();
        if data.len() > LARGEST {
            return Err(Trouble::new(
                format!(
                    "this sheet holds {} MB of words and drawings, and at most 6 MB are laid out",
                    data.len() >> 20
                ),
                "cut the plan into two, or print it from the browser",
            ));
        }
        let world = Closed { case: self, sheet: Bytes::new(data.clone().into_bytes()) };
        let made = typst::compile::<PagedDocument>(&world).output.map_err(|problems| said(&problems));
        let made = made.and_then(|document| {
            let date = Datetime::from_ymd(sheet.date.0, sheet.date.1, sheet.date.2);
            let options = PdfOptions {
                ident: Smart::Custom(format!("{} {}", sheet.title, sheet.subtitle)),
                creator: Smart::Custom(Some("Makeready".to_owned())),
                timestamp: date.map(Timestamp::new_utc),
                standards: self.standards.clone(),
                ..PdfOptions::default()
            };
            typst_pdf::pdf(&document, &options).map_err(|problems| said(&problems))
        });
        comemo::evict(REMEMBERED);
        made
    }
}

fn broke(what: &str) -> Trouble {
    Trouble::new(what, "print it from the browser, and tell us which plan it was")
}

fn said(problems: &[SourceDiagnostic]) -> Trouble {
    let first = problems.first().map(|one| one.message.to_string()).unwrap_or_default();
    broke(&format!("this sheet could not be laid out: {first}"))
}

impl World for Closed<'_> {
    fn library(&self) -> &LazyHash<Library> {
        &self.case.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &self.case.book
    }

    fn main(&self) -> FileId {
        self.case.template.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        if id == self.case.template.id() { Ok(self.case.template.clone()) } else { Err(FileError::AccessDenied) }
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        if id == self.case.data { Ok(self.sheet.clone()) } else { Err(FileError::AccessDenied) }
    }

    fn font(&self, index: usize) -> Option<Font> {
        self.case.fonts.get(index).cloned()
    }

    fn today(&self, _: Option<Duration>) -> Option<Datetime> {
        None
    }
}
