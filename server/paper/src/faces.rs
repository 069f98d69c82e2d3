//! The typefaces: the one every sheet is set in, and those of this computer for letters it lacks.
//!
//! The folders of this computer's typefaces are looked through once, and only when a sheet has a letter the carried face
//! lacks. This is the one place where the composer reads anything but what it is given.

use std::collections::HashMap;
use std::path::PathBuf;
use std::sync::{Arc, LazyLock, Mutex, PoisonError};

use parley::fontique::{Blob, Collection, CollectionOptions, FontInfo, SourceCache};
use skrifa::instance::{LocationRef, Size};
use skrifa::raw::TableProvider as _;
use skrifa::{FontRef, MetadataProvider as _};

/// The family of the carried face.
pub(crate) const FAMILY: &str = "Libertinus Serif";

/// The typefaces the page is set in too. Source: Libertinus Serif, SIL Open Font License 1.1, beside them.
const CARRIED: [&[u8]; 3] = [
    include_bytes!("../../../static/fonts/LibertinusSerif-Regular.otf"),
    include_bytes!("../../../static/fonts/LibertinusSerif-Italic.otf"),
    include_bytes!("../../../static/fonts/LibertinusSerif-Bold.otf"),
];

/// The carried faces as the text library and the writer take them.
pub(crate) static BLOBS: LazyLock<Vec<Blob<u8>>> =
    LazyLock::new(|| CARRIED.iter().map(|face| Blob::new(Arc::new(*face))).collect());

/// Up to here the widths of letters are kept in a table.
const TABLE: usize = 0x250;

/// What is known of a carried face.
struct Known {
    font: FontRef<'static>,
    per_em: f32,
    /// Advance widths of the first letters, as a share of the size; nothing for letters it lacks.
    widths: Vec<Option<f32>>,
}

static KNOWN: LazyLock<Vec<Known>> = LazyLock::new(|| {
    let read = |face: &&'static [u8]| {
        let font = FontRef::new(face).ok()?;
        let per_em = font.head().map_or(1000.0, |head| f32::from(head.units_per_em()));
        let mut known = Known { font, per_em, widths: Vec::new() };
        known.widths = (0..TABLE)
            .map(|at| u32::try_from(at).ok().and_then(char::from_u32).and_then(|c| known.looked_up(c)))
            .collect();
        Some(known)
    };
    CARRIED.iter().filter_map(read).collect()
});

impl Known {
    fn looked_up(&self, c: char) -> Option<f32> {
        let glyph = self.font.charmap().map(c).filter(|glyph| glyph.to_u32() != 0)?;
        let metrics = self.font.glyph_metrics(Size::unscaled(), LocationRef::default());
        metrics.advance_width(glyph).map(|wide| wide / self.per_em)
    }

    fn width(&self, c: char) -> Option<f32> {
        match self.widths.get(c as usize) {
            Some(known) => *known,
            None => self.looked_up(c),
        }
    }
}

/// Whether the carried face has a letter, in all its cuts.
pub(crate) fn is_carried(c: char) -> bool {
    c == '\n' || KNOWN.iter().all(|known| known.width(c).is_some())
}

/// About how wide words are in one line, as a share of their size: letter by letter, without kerning. A letter from another
/// face counts as a square.
pub(crate) fn width(text: &str, bold: bool, italic: bool) -> f32 {
    let Some(known) = KNOWN.get(if bold { 2 } else { usize::from(italic) }) else { return 0.0 };
    text.chars().map(|c| known.width(c).unwrap_or(1.0)).sum()
}

/// A face of this computer.
#[derive(Clone)]
pub(crate) struct Found {
    pub(crate) family: String,
    pub(crate) data: Blob<u8>,
}

/// What was found on this computer.
struct System {
    collection: Collection,
    cache: SourceCache,
    /// The faces that may be used, the preferred ones first.
    faces: Vec<(String, FontInfo)>,
    /// Which of them has a letter.
    has: HashMap<(char, Region), Option<usize>>,
}

static SYSTEM: LazyLock<Mutex<System>> = LazyLock::new(|| Mutex::new(System::scanned()));

/// Letters looked up before the list is forgotten.
const REMEMBERED: usize = 20_000;

/// Whose shapes are wanted for the letters that Chinese, Japanese and Korean share.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub(crate) enum Region {
    #[default]
    China,
    Japan,
    Korea,
}

impl Region {
    /// Judged by the letters that only one of them has.
    pub(crate) fn of(letters: impl Iterator<Item = char>) -> Self {
        let mut found = Self::China;
        for c in letters {
            match c {
                '\u{3040}'..='\u{30ff}' => return Self::Japan,
                '\u{1100}'..='\u{11ff}' | '\u{ac00}'..='\u{d7af}' => found = Self::Korea,
                _ => {}
            }
        }
        found
    }

    fn suffix(self) -> &'static str {
        match self {
            Self::China => " CJK SC",
            Self::Japan => " CJK JP",
            Self::Korea => " CJK KR",
        }
    }
}

/// Where systems keep their typefaces.
fn folders() -> Vec<PathBuf> {
    let mut all: Vec<PathBuf> =
        ["/usr/share/fonts", "/usr/local/share/fonts", "/System/Library/Fonts", "/Library/Fonts", "C:\\Windows\\Fonts"]
            .iter()
            .map(PathBuf::from)
            .collect();
    let home = std::env::var_os("HOME").map(PathBuf::from);
    all.extend(
        home.iter().flat_map(|home| [".local/share/fonts", ".fonts", "Library/Fonts"].map(|folder| home.join(folder))),
    );
    all.retain(|folder| folder.is_dir());
    all
}

/// How well a family goes with the carried one: less is better. Faces with coloured pictures for letters are not used.
fn rank(family: &str) -> Option<u8> {
    let lower = family.to_lowercase();
    if lower.contains("color")
        || lower.contains("colour")
        || lower.contains("last resort")
        || lower.contains("adobe blank")
    {
        return None;
    }
    let is_mono = lower.contains("mono") || lower.contains("courier");
    let serif = lower.contains("serif")
        || lower.contains("naskh")
        || lower.contains("times")
        || lower.contains("mincho")
        || lower.contains("song");
    Some(match (lower.starts_with("noto"), serif, is_mono) {
        (_, _, true) => 5,
        (true, true, _) => 0,
        (_, true, _) => 1,
        (true, ..) => 2,
        _ => 3,
    })
}

impl System {
    fn scanned() -> Self {
        let mut collection = Collection::new(CollectionOptions { shared: false, system_fonts: false });
        collection.load_fonts_from_paths(folders());
        let names: Vec<String> = collection.family_names().map(str::to_owned).collect();
        let mut faces: Vec<(u8, String, FontInfo)> = Vec::new();
        for name in names.into_iter().filter(|name| name != FAMILY) {
            let Some(rank) = rank(&name) else { continue };
            let family = collection.family_by_name(&name);
            if let Some(font) = family.as_ref().and_then(|family| family.default_font()) {
                faces.push((rank, name, font.clone()));
            }
        }
        faces.sort_by(|a, b| (a.0, &a.1).cmp(&(b.0, &b.1)));
        let faces = faces.into_iter().map(|(_, name, font)| (name, font)).collect();
        Self { collection, cache: SourceCache::default(), faces, has: HashMap::new() }
    }

    fn find(&mut self, c: char, region: Region) -> Option<usize> {
        if self.has.len() > REMEMBERED {
            self.has.clear();
        }
        if let Some(known) = self.has.get(&(c, region)) {
            return *known;
        }
        let cache = &mut self.cache;
        let mut has = |font: &FontInfo| {
            let data = font.load(Some(cache))?;
            font.charmap_index().charmap(data.as_ref())?.map(c).filter(|glyph| *glyph != 0)
        };
        let shared = |name: &str| name.contains(" CJK ") && !name.ends_with(region.suffix());
        let found = self.faces.iter().position(|(name, font)| !shared(name) && has(font).is_some());
        self.has.insert((c, region), found);
        found
    }
}

/// The faces of this computer that have these letters, each once; and the letters none has.
pub(crate) fn lookup(letters: impl IntoIterator<Item = char>, region: Region) -> (Vec<Found>, Vec<char>) {
    let mut system = SYSTEM.lock().unwrap_or_else(PoisonError::into_inner);
    let (mut at, mut missing) = (Vec::new(), Vec::new());
    for c in letters {
        match system.find(c, region) {
            Some(face) if !at.contains(&face) => at.push(face),
            Some(_) => {}
            None => missing.push(c),
        }
    }
    at.sort_unstable();
    let mut found = Vec::new();
    for face in at {
        let Some((family, font)) = system.faces.get(face).cloned() else { continue };
        if let Some(data) = font.load(Some(&mut system.cache)) {
            found.push(Found { family, data });
        }
    }
    // What was only looked into is let go; it is read from the system's own memory of files again.
    system.cache.prune(0, false);
    let _ = &system.collection;
    (found, missing)
}
