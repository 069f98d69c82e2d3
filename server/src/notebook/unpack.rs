//! An archive somebody sent, looked through before any of it is believed: how much it holds, under which names, and whether
//! it is what its list says. Pictures pass through in parts and are never in memory whole.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::{self, BufReader, Read};

use engine::Message;
use zip::ZipReadOptions;
use zip::read::{ArchiveOffset, Config, ZipFileEntry};
use zip::unstable::read::ZipIterable;

use super::archive::{LARGEST, LEDGER, MANIFEST, Manifest, allowed};
use crate::error::Error;
use crate::folder::{LONGEST, Together, Within, copied};

/// Files an archive may hold, its list among them.
const FILES: usize = 200;
/// All of them together, unpacked.
const WHOLE: u64 = 256 << 20;
/// All of its texts together, which are held at once.
const TEXTS: u64 = 16 << 20;
/// How many times its size in the archive a file may have unpacked, once it is larger than a text. Pictures do not shrink so;
/// what does is made to burst.
const SHRUNK: u64 = 200;

/// An archive as it came.
pub(super) struct Packed<'a> {
    zip: ZipIterable<BufReader<&'a File>>,
}

/// What is in one.
pub(super) struct Holds {
    pub(super) manifest: Manifest,
    /// Every file but the list, with its mark.
    pub(super) files: BTreeMap<Within, String>,
    /// Those of them that are texts.
    pub(super) texts: BTreeMap<Within, String>,
}

type ZipEntry = ZipFileEntry<'static>;

impl<'a> Packed<'a> {
    /// Finds the list of an archive, whatever its length.
    ///
    /// # Errors
    /// When it is not an archive, or holds too many files.
    pub(super) fn open(file: &'a File) -> Result<Self, Error> {
        // Other programs put something before or behind an archive; a notebook does not.
        let config = Config { archive_offset: ArchiveOffset::Known(0) };
        let zip = ZipIterable::try_new(BufReader::new(file), config).map_err(|_| {
            Error::unusable(
                "this is not an archive of a plan",
                "choose a file that a notebook exported, ending in .zip",
            )
        })?;
        if zip.len() > FILES {
            return Err(too_much(format!("this archive holds {} files, and at most {FILES} are unpacked", zip.len())));
        }
        Ok(Self { zip: zip.enforce_header_consistency(true) })
    }

    /// Reads everything once and writes nothing: what an archive says of its files is compared with what they are.
    ///
    /// # Errors
    /// When it holds what cannot lie in a notebook or differs from another only in capitals, is larger than is unpacked, or is
    /// not as its list says.
    pub(super) fn look_through(&mut self) -> Result<Holds, Error> {
        fit(&self.entries()?)?;
        let (mut manifest, mut files, mut texts) = (None, BTreeMap::new(), BTreeMap::new());
        self.each(|path, from| {
            let is_text = path == MANIFEST || path.ends_with(".md");
            let mut text = Vec::new();
            let (_, mark) =
                if is_text { copied(from, &mut text) } else { copied(from, &mut io::sink()) }.map_err(|_| broken())?;
            if path == MANIFEST {
                manifest = Some(serde_json::from_slice::<Manifest>(&text).map_err(|_| broken())?);
                return Ok(());
            }
            let path = Within::new(path).map_err(Error::Unusable)?;
            if is_text {
                texts.insert(path.clone(), readable(&path, text)?);
            }
            files.insert(path, mark);
            Ok(())
        })?;
        let manifest = manifest.ok_or_else(broken)?;
        let is_listed = |(path, mark): (&Within, &String)| manifest.files.get(path.as_str()) == Some(mark);
        if manifest.form != 1 || manifest.files.len() != files.len() || !files.iter().all(is_listed) {
            return Err(broken());
        }
        Ok(Holds { manifest, files, texts })
    }

    /// Every file in turn, unpacked as it is read, and never past the length it says it has.
    ///
    /// # Errors
    /// When one cannot be read or is not as long as it says, or as `act` says.
    pub(super) fn each(&mut self, mut act: impl FnMut(&str, &mut dyn Read) -> Result<(), Error>) -> Result<(), Error> {
        let entries = self.entries()?;
        let reader = self.zip.files().map_err(|_| broken())?.reader_mut();
        for entry in entries {
            let (path, length) = (named(&entry)?.to_owned(), entry.size());
            let file = entry.with_reader(reader, ZipReadOptions::new()).map_err(|_| broken())?;
            let mut counted = CountedRead { from: file.take(length + 1), read: 0 };
            act(&path, &mut counted)?;
            if counted.read > length {
                return Err(broken());
            }
        }
        Ok(())
    }

    fn entries(&mut self) -> Result<Vec<ZipEntry>, Error> {
        self.zip.files().map_err(|_| broken())?.collect::<Result<_, _>>().map_err(|_| broken())
    }
}

/// Counts what is read of a file.
struct CountedRead<R> {
    from: R,
    read: u64,
}

impl<R: Read> Read for CountedRead<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let count = self.from.read(into)?;
        self.read += count as u64;
        Ok(count)
    }
}

/// Whether the files of an archive may be unpacked, by what it says of them: nothing was unpacked yet.
fn fit(entries: &[ZipEntry]) -> Result<(), Error> {
    let (mut together, mut whole, mut texts) = (Together::default(), 0_u64, 0_u64);
    for entry in entries {
        let (path, length) = (named(entry)?, entry.size());
        let strange = || {
            Error::unusable(
                format!("this archive holds `{}`, which cannot lie in a notebook", path.escape_debug()),
                "nothing was unpacked; ask where it comes from",
            )
        };
        // Unix keeps what kind of file it is in the upper bits of its rights: 8 is a plain file (from memory).
        let is_plain = entry.is_file() && entry.unix_mode().is_none_or(|mode| matches!(mode >> 12, 0 | 8));
        if !is_plain || entry.encrypted() {
            return Err(strange());
        }
        let within = if path == MANIFEST { Within::new(path).ok() } else { allowed(path) };
        together.add(&within.ok_or_else(strange)?).map_err(Error::Unusable)?;
        let is_text = path == MANIFEST || path.ends_with(".md");
        whole = whole.saturating_add(length);
        texts = texts.saturating_add(if is_text { length } else { 0 });
        let most = if is_text { LONGEST } else { LARGEST };
        if length > most || whole > WHOLE || texts > TEXTS {
            return Err(too_much(format!("`{path}` is larger unpacked than is taken in")));
        }
        if length > LONGEST && length / entry.compressed_size().max(1) > SHRUNK {
            return Err(too_much(format!("`{path}` is more than {SHRUNK} times larger unpacked than in the archive")));
        }
    }
    lie_apart(entries)
}

/// No byte of an archive belongs to two of its files: many could be unpacked from few bytes so.
fn lie_apart(entries: &[ZipEntry]) -> Result<(), Error> {
    // Each file's own head there is 30 bytes and its name long, at least.
    let reach = |entry: &ZipEntry| {
        let head = entry.header_start().saturating_add(30 + entry.name_raw().len() as u64);
        (entry.header_start(), head.saturating_add(entry.compressed_size()))
    };
    let mut all: Vec<_> = entries.iter().map(reach).collect();
    all.extend(entries.iter().map(|entry| (entry.central_header_start(), entry.central_header_start() + 46)));
    all.sort_unstable();
    let overlap = all.iter().zip(all.iter().skip(1)).any(|((_, end), (start, _))| end > start);
    if overlap { Err(broken()) } else { Ok(()) }
}

/// The name of a file as a notebook writes it.
fn named(entry: &ZipEntry) -> Result<&str, Error> {
    std::str::from_utf8(entry.name_raw()).map_err(|_| broken())
}

fn readable(path: &Within, text: Vec<u8>) -> Result<String, Error> {
    String::from_utf8(text).map_err(|_| {
        let what = format!("`{}` in this archive is not UTF-8", path.as_str());
        Error::unusable(what, "nothing was unpacked; ask for the archive again")
    })
}

pub(super) fn broken() -> Error {
    Error::unusable("this archive is damaged or was not made by a notebook", "ask for it again; nothing was unpacked")
}

fn too_much(what: String) -> Error {
    Error::TooLong(Message::new(what, "nothing was unpacked; send fewer or smaller pictures"))
}

/// Whether a file is the table of the ledger, which is for people and is not taken in.
pub(super) fn is_ledger(path: &Within) -> bool {
    path.as_str() == LEDGER
}
