//! Plans that go out and come in as archives.

use std::time::{Duration, Instant};

use sha2::Digest as _;

use super::copies::tree;
use super::*;

#[tokio::test]
async fn a_plan_goes_out_with_its_pictures_and_comes_in_elsewhere() {
    let studio = Studio::new();
    std::fs::create_dir(studio.folder.path().join("pictures")).unwrap();
    std::fs::write(studio.folder.path().join("pictures/weir.jpg"), b"not really a picture").unwrap();
    studio.save("/plan/long-weir", "long-weir", &format!("{PLAN}\n![the weir](pictures/weir.jpg)\n")).await;
    studio
        .post(
            "/plan/long-weir/ledger",
            json!({"number": 1, "what": "sold", "when": "2026-11-20", "words": "=R. Vell", "amount": "4200"}),
        )
        .await;
    let archive = exported(&studio, "").await;
    let other = tempfile::tempdir().unwrap();
    let (notebook, app) = open(other.path(), "2026-11-25");
    let (status, body) = ask(&app, "POST", "/import", None, Some(archive.clone())).await;
    assert_eq!(status, StatusCode::OK, "{body}");
    for file in ["long-weir.md", "shops/tarn-lab.md", "pictures/weir.jpg"] {
        assert_eq!(
            std::fs::read(other.path().join(file)).unwrap(),
            std::fs::read(studio.folder.path().join(file)).unwrap(),
            "{file}"
        );
    }
    let (_, again) = ask(&app, "POST", "/import", None, Some(archive.clone())).await;
    assert!(again.contains("long-weir-2"), "{again}");
    assert!(notebook.store().ledger(&server::names::Name::new("long-weir").unwrap()).unwrap().is_empty());
    assert_eq!(exported(&studio, "").await, archive, "the same plan makes the same archive");
    let inside = async |which| {
        let bytes = exported(&studio, which).await;
        let mut zip = zip::ZipArchive::new(std::io::Cursor::new(bytes)).unwrap();
        let mut text = String::new();
        if let Ok(mut file) = zip.by_name("ledger.csv") {
            std::io::Read::read_to_string(&mut file, &mut text).unwrap();
        }
        text
    };
    assert_eq!(inside("").await, "");
    assert_eq!(inside("?ledger=events").await, "line,print,what,date\r\n1,1,sold,2026-11-20\r\n");
    assert!(inside("?ledger=whole").await.contains(",'=R. Vell,4200.00 USD,"));
}

/// An archive as it is exported.
async fn exported(studio: &Studio, which: &str) -> Vec<u8> {
    let request = Request::get(format!("/plan/long-weir/archive{which}")).header(header::HOST, "localhost");
    let response = studio.app.clone().oneshot(request.body(Body::empty()).unwrap()).await.unwrap();
    assert_eq!(response.status(), StatusCode::OK);
    axum::body::to_bytes(response.into_body(), 64 << 20).await.unwrap().to_vec()
}

fn zipped(files: &[(&str, Vec<u8>)]) -> Vec<u8> {
    let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for (name, bytes) in files {
        zip.start_file(*name, zip::write::SimpleFileOptions::default()).unwrap();
        std::io::Write::write_all(&mut zip, bytes).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

#[tokio::test]
async fn an_archive_that_would_reach_outside_burst_or_lie_is_refused_whole() {
    let studio = Studio::new();
    let before = || {
        let mut all: Vec<_> =
            std::fs::read_dir(studio.folder.path()).unwrap().map(|one| one.unwrap().file_name()).collect();
        all.sort();
        all
    };
    let standing = before();
    let list = |files: &str| {
        format!("{{\"form\":1,\"plan\":\"x\",\"title\":\"x\",\"revision\":1,\"made\":\"\",\"files\":{{{files}}}}}")
            .into_bytes()
    };
    let one = |path: &str| listed(&[(path, b"# x".to_vec())]);
    let bomb = vec![0_u8; (64 << 20) + 1];
    for (what, archive, want) in [
        ("no archive", b"hello".to_vec(), StatusCode::UNPROCESSABLE_ENTITY),
        ("no list", zipped(&[("x.md", b"# x".to_vec())]), StatusCode::UNPROCESSABLE_ENTITY),
        // Rightly listed: nothing else than the path is wrong with these.
        ("outside", one("../makeready-slipped.md"), StatusCode::UNPROCESSABLE_ENTITY),
        ("outside, a picture", one("../makeready-slipped.jpg"), StatusCode::UNPROCESSABLE_ENTITY),
        ("absolute", one("/tmp/makeready-slipped.md"), StatusCode::UNPROCESSABLE_ENTITY),
        ("hidden", one(".makeready-slipped.md"), StatusCode::UNPROCESSABLE_ENTITY),
        ("the record", one("makeready.db"), StatusCode::UNPROCESSABLE_ENTITY),
        (
            "not as listed",
            zipped(&[("makeready.json", list("\"x.md\":\"00\"")), ("x.md", b"# x".to_vec())]),
            StatusCode::UNPROCESSABLE_ENTITY,
        ),
        ("a bomb", listed(&[("x.jpg", bomb)]), StatusCode::PAYLOAD_TOO_LARGE),
        (
            "many files",
            listed(&NAMES.iter().map(|name| (*name, b"# p".to_vec())).collect::<Vec<_>>()),
            StatusCode::PAYLOAD_TOO_LARGE,
        ),
    ] {
        let (status, body) = ask(&studio.app, "POST", "/import", None, Some(archive)).await;
        assert_eq!(status, want, "{what}: {body}");
        assert_eq!(before(), standing, "{what}");
        let slipped = ["md", "jpg"].map(|end| std::env::temp_dir().join(format!("makeready-slipped.{end}")));
        assert!(!slipped.iter().any(|path| path.exists()), "{what}");
    }
}

static NAMES: std::sync::LazyLock<Vec<&'static str>> =
    std::sync::LazyLock::new(|| (0..201).map(|index| &*Box::leak(format!("p{index}.md").into_boxed_str())).collect());

fn mark_of(bytes: &[u8]) -> String {
    sha2::Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// An archive of a plan `x` whose list is right, as somebody makes one who knows how.
fn listed(files: &[(&str, Vec<u8>)]) -> Vec<u8> {
    let mut all = vec![("x.md", b"# x\n".to_vec())];
    all.extend_from_slice(files);
    let marks: serde_json::Map<_, _> =
        all.iter().map(|(path, bytes)| ((*path).to_owned(), mark_of(bytes).into())).collect();
    let list = json!({"form": 1, "plan": "x", "title": "x", "revision": 1, "made": "", "files": marks});
    all.push(("makeready.json", list.to_string().into_bytes()));
    zipped(&all)
}

#[tokio::test]
async fn names_that_some_disks_hold_for_one_are_refused() {
    let studio = Studio::new();
    std::fs::create_dir(studio.folder.path().join("scans")).unwrap();
    std::fs::write(studio.folder.path().join("scans/weir.jpg"), "here").unwrap();
    let standing = tree(studio.folder.path());
    let picture = || b"picture".to_vec();
    for files in [
        vec![("a.jpg", picture()), ("A.jpg", picture())],
        vec![("new/a.jpg", picture()), ("New/b.jpg", picture())],
        vec![("\u{e9}.jpg", picture()), ("e\u{301}.jpg", picture())],
        vec![("\u{e9}.jpg", picture()), ("\u{c9}.jpg", picture())],
        vec![("shops/one.md", b"# 1".to_vec()), ("shops/One.md", b"# 2".to_vec())],
        vec![("X.md", b"# another x".to_vec())],
        // Beside what is here.
        vec![("Scans/other.jpg", picture())],
        vec![("scans/Weir.jpg", picture())],
        vec![("shops/Tarn-Lab.md", b"# Tarn".to_vec())],
        vec![("SHOPS/new-lab.md", b"# New".to_vec())],
    ] {
        let names: Vec<_> = files.iter().map(|(name, _)| *name).collect();
        let (status, body) = ask(&studio.app, "POST", "/import", None, Some(listed(&files))).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{names:?}: {body}");
        assert_eq!(tree(studio.folder.path()), standing, "{names:?}");
    }
    // A picture or a rate sheet of just the same name stays as it is, and is told.
    let same = listed(&[
        ("scans/weir.jpg", picture()),
        ("shops/tarn-lab.md", b"# Tarn".to_vec()),
        ("scans/new.jpg", picture()),
    ]);
    let (status, body) = ask(&studio.app, "POST", "/import", None, Some(same)).await;
    assert_eq!(status, StatusCode::OK, "{body}");
    let said: Value = serde_json::from_str(&body).unwrap();
    assert_eq!(said["left"].as_array().unwrap().len(), 2, "{said}");
    assert_eq!(said["written"], json!(["scans/new.jpg", "x.md"]));
    assert_eq!((studio.text("scans/weir.jpg").as_str(), studio.text("scans/new.jpg").as_str()), ("here", "picture"));
    assert_eq!(studio.text("shops/tarn-lab.md"), SHEET);
}

#[tokio::test]
async fn an_import_that_is_refused_leaves_nothing_behind() {
    let studio = Studio::new();
    // A file where the archive has a folder.
    std::fs::write(studio.folder.path().join("way.jpg"), "in the way").unwrap();
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink("/tmp", studio.folder.path().join("linked")).unwrap();
        std::os::unix::fs::symlink("/tmp/nowhere", studio.folder.path().join("linked.jpg")).unwrap();
        rustix::fs::mkfifoat(
            rustix::fs::CWD,
            studio.folder.path().join("pipe.jpg"),
            rustix::fs::Mode::from_raw_mode(0o600),
        )
        .unwrap();
    }
    let standing = tree(studio.folder.path());
    let picture = || b"picture".to_vec();
    for (what, files) in [
        ("a sheet that is not text", vec![("a.jpg", picture()), ("shops/one.md", vec![b'#', 0xff])]),
        ("a sheet that is too long", vec![("a.jpg", picture()), ("shops/one.md", vec![b'#'; (1 << 20) + 1])]),
        (
            "a plan that is too long",
            vec![("a.jpg", picture()), ("new/a.jpg", picture()), ("y.md", vec![b'#'; (1 << 20) + 1])],
        ),
        ("a file in the way", vec![("a.jpg", picture()), ("way.jpg/b.jpg", picture())]),
        ("a folder in the way", vec![("a.jpg", picture()), ("shops", picture())]),
        ("a folder that is a link", vec![("a.jpg", picture()), ("linked/b.jpg", picture())]),
        ("a file that is a link", vec![("a.jpg", picture()), ("linked.jpg", picture())]),
        ("a pipe under its name", vec![("a.jpg", picture()), ("pipe.jpg", picture())]),
    ] {
        let began = Instant::now();
        let asked = ask(&studio.app, "POST", "/import", None, Some(listed(&files)));
        let answer = tokio::time::timeout(Duration::from_secs(3), asked).await;
        if answer.is_err() {
            // Let go, so that the test ends.
            let _ = std::fs::OpenOptions::new().write(true).open(studio.folder.path().join("pipe.jpg"));
        }
        let (status, body) = answer.unwrap_or_else(|_| panic!("{what}: no answer"));
        assert!(status.is_client_error(), "{what}: {status} {body}");
        assert_eq!(tree(studio.folder.path()), standing, "{what}: something is left behind");
        assert!(began.elapsed() < Duration::from_secs(1), "{what}");
        assert!(!std::path::Path::new("/tmp/b.jpg").exists() && !std::path::Path::new("/tmp/nowhere").exists());
    }
    let asked = studio.get("/").await;
    assert!(asked.contains("Long Weir") && !asked.contains("linked"), "{asked}");
}

/// A pipe under the name of a plan or a rate sheet keeps nobody waiting either.
#[cfg(unix)]
#[tokio::test]
async fn a_pipe_under_the_name_of_a_plan_or_a_rate_sheet_keeps_nobody_waiting() {
    use std::os::unix::fs::OpenOptionsExt as _;
    let studio = Studio::new();
    let etag = studio.etag("long-weir").await;
    let pipes =
        ["long-weir.md", "shops/tarn-lab.md", "new.md", "picture.jpg"].map(|file| studio.folder.path().join(file));
    for at in &pipes {
        let _ = std::fs::remove_file(at);
        rustix::fs::mkfifoat(rustix::fs::CWD, at, rustix::fs::Mode::from_raw_mode(0o600)).unwrap();
    }
    for (method, path) in [
        ("GET", "/"),
        ("GET", "/plan/long-weir"),
        ("GET", "/plan/long-weir/text"),
        ("PUT", "/plan/long-weir/text"),
        ("GET", "/plan/long-weir/archive"),
        ("GET", "/plan/new"),
        ("GET", SHEETS),
        ("POST", "/begin"),
    ] {
        let body = if method == "POST" { "{\"title\":\"New\"}" } else { "# x ![a](picture.jpg)" };
        let asked = ask(&studio.app, method, path, Some(&etag), Some(body.into()));
        let answer = tokio::time::timeout(Duration::from_secs(3), asked).await;
        if answer.is_err() {
            // Let go, so that the test ends.
            let flags = rustix::fs::OFlags::NONBLOCK.bits().cast_signed();
            let _ = pipes.each_ref().map(|at| std::fs::OpenOptions::new().write(true).custom_flags(flags).open(at));
        }
        assert!(answer.is_ok(), "{method} {path}: no answer");
    }
}

/// An archive byte by byte, with what its own program would never write: the list says one thing and the file another.
/// Source: PKWARE, APPNOTE.TXT 6.3, 4.3.7 (local file header), 4.3.12 (central directory), 4.3.16 (its end); from memory.
#[derive(Default)]
struct Forged {
    bytes: Vec<u8>,
    list: Vec<u8>,
    count: u16,
}

impl Forged {
    /// Packs a file, and lists it with the length it is said to have.
    fn add(&mut self, name: &str, packed: &[u8], method: u16, sum: u32, length: u32) -> &mut Self {
        let at = u32::try_from(self.bytes.len()).unwrap();
        self.bytes.extend(b"PK\x03\x04");
        let head = Self::head(name, packed, method, sum, length);
        self.bytes.extend(head.iter().chain(name.as_bytes()).chain(packed));
        self.listed(at, name, packed, method, sum, length)
    }

    /// Lists a file that begins at a place of the archive.
    fn listed(&mut self, at: u32, name: &str, packed: &[u8], method: u16, sum: u32, length: u32) -> &mut Self {
        self.list.extend(b"PK\x01\x02\x14\0");
        self.list.extend(Self::head(name, packed, method, sum, length));
        self.list.extend([0; 10]);
        self.list.extend(at.to_le_bytes());
        self.list.extend(name.as_bytes());
        self.count += 1;
        self
    }

    fn head(name: &str, packed: &[u8], method: u16, sum: u32, length: u32) -> Vec<u8> {
        let mut head = vec![0x14, 0, 0, 0];
        head.extend(method.to_le_bytes());
        head.extend([0; 4]);
        for number in [sum, u32::try_from(packed.len()).unwrap(), length] {
            head.extend(number.to_le_bytes());
        }
        head.extend(u16::try_from(name.len()).unwrap().to_le_bytes());
        head.extend([0; 2]);
        head
    }

    /// With a plan and a list that is right, so that nothing but what was forged is wrong with it.
    fn rightly_listed(&mut self, files: &[(&str, &[u8])]) -> Vec<u8> {
        let plan: (&str, &[u8]) = ("x.md", b"# x\n");
        let marks: serde_json::Map<_, _> =
            files.iter().chain([&plan]).map(|(path, bytes)| ((*path).to_owned(), mark_of(bytes).into())).collect();
        let list = json!({"form": 1, "plan": "x", "title": "x", "revision": 1, "made": "", "files": marks}).to_string();
        for (name, bytes) in [plan, ("makeready.json", list.as_bytes())] {
            self.add(name, bytes, 0, sum_of(bytes), u32::try_from(bytes.len()).unwrap());
        }
        self.done()
    }

    fn done(&self) -> Vec<u8> {
        let mut all = self.bytes.clone();
        all.extend(&self.list);
        all.extend(b"PK\x05\x06\0\0\0\0");
        all.extend([self.count.to_le_bytes(), self.count.to_le_bytes()].concat());
        all.extend(u32::try_from(self.list.len()).unwrap().to_le_bytes());
        all.extend(u32::try_from(self.bytes.len()).unwrap().to_le_bytes());
        all.extend([0; 2]);
        all
    }
}

fn sum_of(bytes: &[u8]) -> u32 {
    let mut sum = flate2::Crc::new();
    sum.update(bytes);
    sum.sum()
}

fn shrunk(bytes: &[u8]) -> Vec<u8> {
    let mut out = flate2::write::DeflateEncoder::new(Vec::new(), flate2::Compression::best());
    std::io::Write::write_all(&mut out, bytes).unwrap();
    out.finish().unwrap()
}

#[tokio::test]
async fn what_bursts_lies_or_overlaps_is_refused_within_a_second() {
    let studio = Studio::new();
    let standing = tree(studio.folder.path());
    let zeros = vec![0; 63 << 20];
    let (small, sum) = (shrunk(&zeros), sum_of(&zeros));
    let many = |count: u32| {
        let names: Vec<_> = (0..count).map(|number| (format!("p{number}.jpg"), Vec::new())).collect();
        let files: Vec<_> = names.iter().map(|(name, bytes)| (name.as_str(), bytes.clone())).collect();
        zipped(&files)
    };
    // 63 MB that are 64 kB in the archive, as they say.
    let bursts = Forged::default().add("x.jpg", &small, 8, sum, 63 << 20).rightly_listed(&[("x.jpg", &zeros)]);
    let mut forged = vec![("bursts", bursts)];
    // The same, said to be 10 bytes, then nothing.
    forged.push(("is longer than it says", Forged::default().add("x.jpg", &small, 8, sum, 10).done()));
    forged.push(("is said to be empty", Forged::default().add("x.jpg", &small, 8, sum, 0).done()));
    forged.push(("is shorter than it says", Forged::default().add("x.jpg", b"abc", 0, 0x3524_41c2, 60 << 20).done()));
    forged.push(("is said to be 4 GB", Forged::default().add("x.jpg", b"abc", 0, 0x3524_41c2, u32::MAX - 1).done()));
    // Two hundred names for the same bytes.
    let mut one = Forged::default();
    one.add("x0.jpg", &vec![7; 1 << 20], 0, 0, 1 << 20);
    for number in 1..200 {
        one.listed(0, &format!("x{number}.jpg"), &vec![7; 1 << 20], 0, 0, 1 << 20);
    }
    forged.push(("overlaps", one.done()));
    // Each file holds the heads of those after it, so that few bytes are unpacked again and again.
    let mut inner = Forged::default();
    let some = vec![7; 1 << 10];
    inner.add("b.jpg", &some, 0, sum_of(&some), 1 << 10);
    let mut nested = Forged::default();
    nested.add("a.jpg", &inner.bytes, 0, sum_of(&inner.bytes), u32::try_from(inner.bytes.len()).unwrap());
    nested.listed(35, "b.jpg", &some, 0, sum_of(&some), 1 << 10);
    forged.push(("holds another", nested.rightly_listed(&[("a.jpg", &inner.bytes), ("b.jpg", &some)])));
    // One name at the file, another in the list.
    let mut cloaked = Forged::default();
    cloaked.add("y.jpg", b"abc", 0, 0x3524_41c2, 3);
    let at = cloaked.list.len() - 5;
    cloaked.list[at] = b'z';
    forged.push(("has two names", cloaked.done()));
    // The list's end says less than there is, or more.
    let mut short = many(300);
    let end = short.len() - 22;
    short[end + 8..end + 12].copy_from_slice(&[1, 0, 1, 0]);
    forged.push(("counts one of 300", short));
    let mut long = listed(&[]);
    let end = long.len() - 22;
    long[end + 8..end + 12].copy_from_slice(&[0xfe, 0xff, 0xfe, 0xff]);
    forged.push(("counts 65 534 of two", long));
    forged.push(("65 000 files", many(65_000)));
    forged.push(("100 000 files", many(100_000)));
    forged.push(("cut off", listed(&[("a.jpg", vec![7; 5000])])[..300].to_vec()));
    for (what, archive) in forged {
        let length = archive.len();
        let began = Instant::now();
        let (status, body) = ask(&studio.app, "POST", "/import", None, Some(archive)).await;
        let took = began.elapsed();
        println!("{what}: {length} bytes, {status} after {took:?}");
        assert!(matches!(status.as_u16(), 413 | 422), "{what}: {status} {body}");
        assert!(took < Duration::from_secs(1), "{what}: {took:?}");
        assert_eq!(tree(studio.folder.path()), standing, "{what}");
    }
}

/// The check of what is unpacked is no other than the one for what is written: a file whose bytes were changed is refused.
#[tokio::test]
async fn any_byte_of_an_archive_turned_is_refused_or_changes_nothing() {
    let studio = Studio::new();
    let archive = listed(&[("scans/a.jpg", vec![9; 300]), ("shops/new.md", b"# New\n".to_vec())]);
    let mut refused = 0;
    for at in (0..archive.len()).step_by(5) {
        let other = tempfile::tempdir().unwrap();
        let (_, app) = open(other.path(), "2026-11-25");
        let mut turned = archive.clone();
        turned[at] ^= 0x41;
        let (status, body) = ask(&app, "POST", "/import", None, Some(turned)).await;
        match status {
            StatusCode::OK => {
                assert_eq!(std::fs::read(other.path().join("scans/a.jpg")).unwrap(), vec![9; 300], "byte {at}");
                assert_eq!(std::fs::read(other.path().join("shops/new.md")).unwrap(), b"# New\n", "byte {at}");
            }
            status => {
                assert!(status.is_client_error(), "byte {at}: {status} {body}");
                assert!(!other.path().join("scans").exists() && !other.path().join("shops").exists(), "byte {at}");
                refused += 1;
            }
        }
    }
    assert!(refused * 5 > archive.len() / 2, "{refused} refused of {} bytes", archive.len());
    drop(studio);
}
