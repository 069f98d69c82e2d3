//! The typesetting library, and all this program knows of it: a world with one form, one heap of data and three typefaces.

use std::sync::LazyLock;

use typst::diag::{FileError, FileResult, SourceDiagnostic};
use typst::foundations::{Bytes, Datetime, Duration, Smart};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt as _, World};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards};

use crate::Unset;

/// How many sheets ago something must have been used to be kept for the next.
const KEPT: usize = 2;

/// What every sheet shares.
struct Shop {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
    form: Source,
    data: FileId,
}

static SHOP: LazyLock<Shop> = LazyLock::new(|| {
    let fonts: Vec<_> = crate::lettering::FACES.iter().flat_map(|face| Font::iter(Bytes::new(*face))).collect();
    Shop {
        library: LazyHash::new(Library::default()),
        book: LazyHash::new(FontBook::from_fonts(&fonts)),
        fonts,
        form: Source::new(file("/sheet.typ"), include_str!("sheet.typ").to_owned()),
        data: file("/sheet.json"),
    }
});

fn file(path: &str) -> FileId {
    let path = VirtualPath::new(path).unwrap_or_else(|_| unreachable!("both names are plain"));
    RootedPath::new(VirtualRoot::Project, path).intern()
}

/// One sheet on the press.
struct Desk {
    data: Bytes,
}

impl World for Desk {
    fn library(&self) -> &LazyHash<Library> {
        &SHOP.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &SHOP.book
    }

    fn main(&self) -> FileId {
        SHOP.form.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        if id == SHOP.form.id() { Ok(SHOP.form.clone()) } else { Err(FileError::AccessDenied) }
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        if id == SHOP.data { Ok(self.data.clone()) } else { Err(FileError::AccessDenied) }
    }

    fn font(&self, index: usize) -> Option<Font> {
        SHOP.fonts.get(index).cloned()
    }

    fn today(&self, _: Option<Duration>) -> Option<Datetime> {
        None
    }
}

/// Sets a heap of data with the form.
pub(crate) fn set(data: Vec<u8>, ident: &str) -> Result<Vec<u8>, Unset> {
    let desk = Desk { data: Bytes::new(data) };
    let document = typst::compile::<PagedDocument>(&desk).output.map_err(said)?;
    let options = PdfOptions {
        ident: Smart::Custom(ident.to_owned()),
        creator: Smart::Custom(Some("Makeready".to_owned())),
        standards: PdfStandards::new(&[PdfStandard::A_2a, PdfStandard::Ua_1])
            .map_err(|error| Unset(error.message().to_string()))?,
        ..PdfOptions::default()
    };
    let pdf = typst_pdf::pdf(&document, &options).map_err(said);
    comemo::evict(KEPT);
    pdf
}

fn said(errors: impl IntoIterator<Item = SourceDiagnostic>) -> Unset {
    let all: Vec<_> = errors
        .into_iter()
        .map(|error| {
            let hints: String = error.hints.iter().map(|hint| format!("; {}", hint.v)).collect();
            format!("{}{hints}", error.message)
        })
        .collect();
    Unset(all.join(". "))
}
