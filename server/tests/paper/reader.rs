//! What pikepdf finds in a file.

use std::process::Command;

use serde::Deserialize;

#[derive(Debug, Deserialize)]
pub struct Found {
    pub problems: Vec<String>,
    pub pages: Vec<[f64; 4]>,
    pub boxes: Vec<[f64; 4]>,
    pub language: String,
    pub marked: bool,
    pub shows_title: bool,
    pub made: String,
    pub fonts: Vec<Font>,
    pub tags: Vec<String>,
    pub figures: Vec<String>,
    pub standards: std::collections::BTreeMap<String, String>,
    pub outline: Vec<String>,
    pub active: Vec<String>,
    pub links: Vec<String>,
    pub output_intents: usize,
    pub lines: Vec<Vec<[f64; 4]>>,
    /// What does not hold of the published clauses, in words.
    pub faults: Vec<String>,
}

#[derive(Debug, Deserialize)]
pub struct Font {
    pub name: String,
    pub embedded: bool,
    pub unicode: bool,
}

/// Reads files back, each under the name it was given.
pub fn read(files: &[(String, Vec<u8>)]) -> Vec<(String, Found)> {
    let folder = tempfile::tempdir().unwrap();
    let mut paths = Vec::new();
    for (number, (_, pdf)) in files.iter().enumerate() {
        let path = folder.path().join(format!("{number}.pdf"));
        std::fs::write(&path, pdf).unwrap();
        paths.push(path);
    }
    // Debian's own interpreter has Debian's own pikepdf.
    let said = Command::new("/usr/bin/python3")
        .arg(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/paper/read.py"))
        .args(&paths)
        .output()
        .expect("python3 is there");
    assert!(said.status.success(), "{}", String::from_utf8_lossy(&said.stderr));
    let mut all: std::collections::BTreeMap<String, Found> = serde_json::from_slice(&said.stdout).unwrap();
    let take = |(path, (name, _)): (&std::path::PathBuf, &(String, Vec<u8>))| {
        (name.clone(), all.remove(path.to_str().unwrap()).unwrap())
    };
    paths.iter().zip(files).map(take).collect()
}

impl Found {
    /// How long each straight line is that lies flat or stands upright, in millimetres of paper.
    pub fn lengths(&self) -> Vec<f64> {
        let straight = |[x1, y1, x2, y2]: &[f64; 4]| (x1 - x2).abs() < 1e-3 || (y1 - y2).abs() < 1e-3;
        let long = |[x1, y1, x2, y2]: &[f64; 4]| (x1 - x2).hypot(y1 - y2);
        self.lines.iter().flatten().filter(|line| straight(line)).map(long).collect()
    }

    /// Whether some line is so long, to a twentieth of a millimetre.
    pub fn has(&self, millimetres: f64) -> bool {
        self.lengths().iter().any(|long| (long - millimetres).abs() <= 0.05)
    }
}

/// Which of the checks did not find a file that was broken for it.
pub fn unseen(pdf: &[u8]) -> Vec<String> {
    let file = tempfile::NamedTempFile::new().unwrap();
    std::fs::write(file.path(), pdf).unwrap();
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/paper/read.py");
    let said = Command::new("/usr/bin/python3").args([script, "--broken"]).arg(file.path()).output().unwrap();
    assert!(said.status.success(), "{}", String::from_utf8_lossy(&said.stderr));
    serde_json::from_slice(&said.stdout).unwrap()
}

/// The same file without its tags and language.
pub fn untagged(pdf: &[u8]) -> Vec<u8> {
    let (from, to) = (tempfile::NamedTempFile::new().unwrap(), tempfile::NamedTempFile::new().unwrap());
    std::fs::write(from.path(), pdf).unwrap();
    let script = "import pikepdf, sys\np = pikepdf.open(sys.argv[1])\nfor key in ('/StructTreeRoot', '/MarkInfo', '/Lang'):\n    del p.Root[key]\np.save(sys.argv[2])";
    let run = Command::new("/usr/bin/python3").args(["-c", script]).arg(from.path()).arg(to.path()).status().unwrap();
    assert!(run.success());
    std::fs::read(to.path()).unwrap()
}

/// Has two readers of accessibility that anyone can install look at files; they know nothing of this program nor of pikepdf's
/// view above. Gives what they say of files that do not hold.
///
/// `tests/run` installs them, in the versions that `readers.txt` names.
pub fn others(files: &[(String, Vec<u8>)]) -> Vec<String> {
    let folder = tempfile::tempdir().unwrap();
    let place = |(name, pdf): &(String, Vec<u8>)| {
        let path = folder.path().join(format!("{}.pdf", name.replace([' ', '/', '?'], "-")));
        std::fs::write(&path, pdf).unwrap();
        path
    };
    let paths: Vec<_> = files.iter().map(place).collect();
    let said = |reader: &str, with: &[&str]| {
        let program = format!("{}/../target/readers/bin/{reader}", env!("CARGO_MANIFEST_DIR"));
        let run = Command::new(&program).args(with).args(&paths).output();
        let run = run.unwrap_or_else(|error| panic!("{program}: {error}; tests/run installs it"));
        let words = String::from_utf8_lossy(&run.stdout).into_owned();
        assert!(words.contains(".pdf"), "{reader} looked at nothing: {words} {}", String::from_utf8_lossy(&run.stderr));
        (!run.status.success()).then(|| format!("{reader}: {words}"))
    };
    // The second also weighs how well words read; only what is required counts here.
    [
        said("pdfua", &["check", "--min-severity", "warning"]),
        said("outloud", &["--layer", "conformance", "--fail-on", "warning", "--no-info"]),
    ]
    .into_iter()
    .flatten()
    .collect()
}
