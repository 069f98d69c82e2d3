//! The log: one line an event, to standard error, in universal time. Nothing that is logged can begin a line of its own.

use std::io::{self, Write};

use tracing_subscriber::EnvFilter;

/// What is logged when `MAKEREADY_LOG` asks for nothing else: warnings, and who logged in.
const USUAL: &str = "warn,server::pages::login=info";

/// Begins logging.
pub fn begin() {
    let asked = std::env::var("MAKEREADY_LOG").ok().filter(|asked| !asked.is_empty());
    let filter = asked.and_then(|asked| EnvFilter::try_new(asked).ok()).unwrap_or_else(|| USUAL.into());
    tracing_subscriber::fmt().with_writer(|| OneLine(io::stderr())).with_ansi(false).with_env_filter(filter).init();
}

/// Writes each event as one line, whatever its fields hold.
struct OneLine<W>(W);

impl<W: Write> Write for OneLine<W> {
    // The whole event comes in one piece, with its line's end.
    fn write(&mut self, event: &[u8]) -> io::Result<usize> {
        let text = String::from_utf8_lossy(event);
        let mut line = String::with_capacity(text.len());
        for c in text.trim_end_matches('\n').chars() {
            // Line ends of every kind, and what makes a terminal act or turns its reading direction.
            let steers = matches!(c, '\u{2028}' | '\u{2029}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
            if c.is_control() || steers { line.extend(c.escape_unicode()) } else { line.push(c) }
        }
        line.push('\n');
        self.0.write_all(line.as_bytes())?;
        Ok(event.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        self.0.flush()
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may stop")]
mod tests {
    use std::sync::{Arc, Mutex};

    use super::*;

    #[derive(Clone, Default)]
    struct LogText(Arc<Mutex<Vec<u8>>>);

    impl Write for LogText {
        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            self.0.lock().unwrap().extend_from_slice(bytes);
            Ok(bytes.len())
        }

        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    #[test]
    fn no_field_begins_a_line_of_its_own() {
        let heard = LogText::default();
        let writer = heard.clone();
        let log = tracing_subscriber::fmt().with_writer(move || OneLine(writer.clone())).with_ansi(false).finish();
        let forged = "a\n2026-01-01T00:00:00Z  WARN forged\r\u{1b}[2Kb\u{2028}c\u{202e}d\u{85}e";
        tracing::subscriber::with_default(log, || {
            tracing::warn!(field = %forged, other = ?forged, "{forged}");
            tracing::warn!("the next one");
        });
        let text = String::from_utf8(heard.0.lock().unwrap().clone()).unwrap();
        let lines: Vec<_> = text.split('\n').collect();
        assert_eq!(lines.len(), 3, "two events and the last line's end: {text}");
        assert!(lines[..2].iter().all(|line| line.starts_with("20") && line.contains("WARN server::log")), "{text}");
        assert!(!text.contains(['\r', '\u{1b}', '\u{2028}', '\u{202e}', '\u{85}']), "{text:?}");
    }
}
