//! A certificate for one print: made from the plan and its ledger, issued with a code, and found again by it.

use engine::document::Front;
use engine::render::certified;
use engine::trade::disclosure::Certificate;
use engine::trade::edition::{Edition, Event, Print};
use sha2::{Digest as _, Sha256};

use super::{Current, Notebook};
use crate::days;
use crate::error::Error;
use crate::names::Name;
use crate::store::ledger::{entries, print_label};
use crate::store::{Issued, Line};

/// Letters and digits of a code that cannot be taken for one another. Source: the base-32 alphabet of Crockford (from memory).
const LETTERS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";
/// How many of them a code has, sixty bits of the mark.
const LENGTH: usize = 12;

/// A certificate before it is issued.
#[derive(Clone, Debug)]
pub struct Draft {
    /// The plan's title.
    pub title: String,
    /// What it says and what is missing.
    pub certificate: Certificate,
    /// The revision it is drawn from.
    pub revision: u32,
    /// The mark of the print's last ledger line.
    mark: String,
}

impl Notebook {
    /// Draws a certificate up from the plan as it stands and the ledger.
    ///
    /// # Errors
    /// When the plan has no edition or no such print.
    pub fn certify(&self, name: &Name, print: Print) -> Result<Draft, Error> {
        let Current { revision, worked, .. } = self.current(name, None)?;
        let lines = self.store.ledger(name)?;
        let front = &worked.document.front;
        let edition = Edition::new(front.edition, front.proofs, &entries(&lines, None))
            .map_err(Error::Missing)?
            .with(front.besides);
        let among = match print {
            Print::Number(number) => (1..=edition.size()).contains(&number),
            Print::Proof(number) => (1..=edition.proofs()).contains(&number),
        };
        if !among {
            return Err(Error::missing(
                format!("{print} is not in this edition"),
                "look at its ledger for the prints there are",
            ));
        }
        let standing = edition.standing(print);
        let own: Vec<_> = lines.iter().filter(|line| line.of() == print).collect();
        let last = |what: Event| own.iter().rev().find(|line| line.what == what.word()).copied();
        let made = last(Event::Replaced).or_else(|| last(Event::Printed)).filter(|_| standing.made);
        let view = self.documents.view(&worked.document.front);
        let known = |key: &str| match key {
            "title" => Some(worked.document.title()),
            "printed" => made.map(|line| year_of(line, last(Event::Replaced).is_some())),
            "number" => Some(match print {
                Print::Number(number) => format!("{number}/{}", edition.size()),
                Print::Proof(number) => format!("artist’s proof {number} of {}", edition.proofs()),
            })
            .filter(|_| standing.numbered || matches!(print, Print::Proof(_))),
            "edition" => Some(format!(
                "{} numbered, {} besides, {} in total",
                edition.size(),
                edition.besides(),
                edition.total()
            )),
            "size" => certified::sizes(&worked.document, &worked.evaluation),
            "ask" => asked(front),
            "signed" => last(Event::Signed).filter(|_| standing.signed).map(|line| days::shown(&line.when)),
            "workshop" => view.shops.iter().find(|(role, _)| role == "lab").map(|(_, shop)| shop.clone()),
            other => front.certificate.iter().find(|(one, _)| one == other).map(|(_, words)| words.clone()),
        };
        Ok(Draft {
            title: worked.document.title(),
            certificate: Certificate::of(known),
            revision,
            mark: own.last().map(|line| line.mark.clone()).unwrap_or_default(),
        })
    }

    /// Issues a certificate and gives its code. Issued twice without a change it has the same code.
    ///
    /// # Errors
    /// When a fact is missing, or the record cannot be written.
    pub fn issue(&self, name: &Name, print: Print) -> Result<Issued, Error> {
        let draft = self.certify(name, print)?;
        if !draft.certificate.missing.is_empty() {
            let labels: Vec<_> = draft.certificate.missing.iter().map(|(label, _)| *label).collect();
            return Err(Error::unusable(
                format!("the certificate lacks {}", labels.join(", ")),
                "write them in the plan's head or the ledger; nothing is made up",
            ));
        }
        let says: Vec<_> =
            draft.certificate.says.iter().map(|(label, words)| ((*label).to_owned(), words.clone())).collect();
        let code = code(&self.store.plan_of(name)?, print, &draft.mark, &says);
        if let Some(issued) = self.store.certificate(&code)? {
            return Ok(issued);
        }
        let print = print_label(print);
        let (plan, issued) = (name.clone(), self.today().iso());
        let issued = Issued { code, plan, print, revision: draft.revision, issued, says };
        self.store.hand_out(issued.clone())?;
        Ok(issued)
    }

    /// The certificate of a code, however it was typed: in either case, with or without its dashes.
    ///
    /// # Errors
    /// When there is none.
    pub fn certificate(&self, typed: &str) -> Result<Issued, Error> {
        let plain: String = typed
            .to_uppercase()
            .chars()
            .filter(char::is_ascii_alphanumeric)
            .map(|c| match c {
                'O' => '0',
                'I' | 'L' => '1',
                c => c,
            })
            .collect();
        self.store.certificate(&grouped(&plain))?.ok_or_else(|| {
            Error::missing(
                "no certificate of this notebook has that code",
                "compare it with the paper, letter by letter",
            )
        })
    }

    /// How the print of a certificate stands now: destroyed or replaced since, or as it was; who owns it is not said.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn since(&self, issued: &Issued) -> Result<Option<String>, Error> {
        let lines = self.store.ledger(&issued.plan)?;
        let own = lines.iter().filter(|line| line.print == issued.print && line.when >= issued.issued);
        let last = own.rev().find(|line| matches!(line.what.as_str(), "damaged" | "destroyed" | "replaced"));
        Ok(last.map(|line| format!("This print was {} on {}.", line.what, days::shown(&line.when))))
    }

    /// The title a certificate says, else the one its plan has now.
    pub(crate) fn certified_title(&self, issued: &Issued) -> String {
        let said = issued.says.iter().find(|(label, _)| label == "title").map(|(_, title)| title.clone());
        said.unwrap_or_else(|| self.title_now(&issued.plan))
    }
}

fn year_of(line: &Line, replaces: bool) -> String {
    let year = line.when.get(..4).unwrap_or_default();
    if replaces { format!("{year}, in the place of one that was destroyed") } else { year.to_owned() }
}

/// Whom a person asks who wants to know whether a code is good: the contact of the plan's head, else who sells it.
fn asked(front: &Front) -> Option<String> {
    let contact: Vec<_> = front.contact.iter().map(|(_, line)| line.as_str()).collect();
    let seller = || front.certificate.iter().find(|(key, _)| key == "seller").map(|(_, words)| words.clone());
    if contact.is_empty() { seller() } else { Some(contact.join(", ")) }
}

/// A code from all that the certificate says: another word gives another code.
fn code(plan: &str, print: Print, mark: &str, says: &[(String, String)]) -> String {
    let all = format!("{plan}\u{1}{print}\u{1}{mark}\u{1}{says:?}");
    let digest = Sha256::digest(all.as_bytes());
    let letters = digest.iter().take(LENGTH).map(|byte| LETTERS.get(usize::from(byte % 32)).copied().unwrap_or(b'0'));
    grouped(&letters.map(char::from).collect::<String>())
}

/// In groups of four.
fn grouped(plain: &str) -> String {
    let letters: Vec<_> = plain.chars().collect();
    letters.chunks(4).map(|group| group.iter().collect::<String>()).collect::<Vec<_>>().join("-")
}
