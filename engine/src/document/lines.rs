//! Where a byte of a text stands: line and column, both from 1.

/// The beginnings of the lines of a text.
#[derive(Clone, Debug)]
pub struct Lines {
    starts: Vec<usize>,
}

impl Lines {
    /// Finds the lines of a text.
    pub fn of(text: &str) -> Self {
        let mut starts = Vec::with_capacity(text.len() / 32 + 1);
        starts.push(0);
        starts.extend(memchr::memchr_iter(b'\n', text.as_bytes()).map(|at| at + 1));
        Self { starts }
    }

    /// How many there are; after a last line break stands one more, which is empty.
    pub fn count(&self) -> usize {
        self.starts.len()
    }

    /// The line an offset stands on, from 1.
    pub fn line(&self, offset: usize) -> usize {
        self.starts.partition_point(|start| *start <= offset).max(1)
    }

    /// Line and column, the column counted in characters.
    pub fn place(&self, text: &str, offset: usize) -> (usize, usize) {
        let line = self.line(offset);
        let start = self.start(line);
        let column = text.get(start..offset.min(text.len())).map_or(0, |before| before.chars().count());
        (line, column + 1)
    }

    /// The offset at which a line begins; that of the last line when there is none so numbered.
    pub fn start(&self, line: usize) -> usize {
        self.starts.get(line.saturating_sub(1)).or(self.starts.last()).copied().unwrap_or(0)
    }
}
