//! What a certificate for one numbered photograph has to say, and which of it a plan and its ledger do not say yet.
//!
//! The union of what the statutes of [`super::certificate`] ask of photographs sold as multiples, each fact with where it is
//! taken from. No legal advice: statutes change, and which one holds is a matter of where a print is sold.

/// Where a fact is taken from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Taken {
    /// From the plan's text and numbers.
    Plan,
    /// From the ledger.
    Ledger,
    /// From the table `[certificate]` of the plan's head.
    Head,
}

/// One fact of a certificate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fact {
    /// Its name in the head, or of itself.
    pub key: &'static str,
    /// What stands before it on the certificate.
    pub label: &'static str,
    /// Where it comes from.
    pub taken: Taken,
    /// What to do when it is missing.
    pub next: &'static str,
}

/// The facts, in the order of the certificate. Source: the union named above; fields no statute asks for are left out,
/// but for whom to ask about the code.
pub const FACTS: &[Fact] = &[
    Fact { key: "artist", label: "artist", taken: Taken::Head, next: "write `artist = \"…\"`" },
    Fact { key: "title", label: "title", taken: Taken::Plan, next: "give the plan its title" },
    Fact { key: "year", label: "year of the picture", taken: Taken::Head, next: "write `year = 2026`, or about when" },
    Fact {
        key: "printed",
        label: "year of this print",
        taken: Taken::Ledger,
        next: "write in the ledger when it was printed",
    },
    Fact { key: "number", label: "number", taken: Taken::Ledger, next: "write in the ledger that it was numbered" },
    Fact {
        key: "edition",
        label: "the edition",
        taken: Taken::Plan,
        next: "write `edition` and `proofs` in the plan's head",
    },
    Fact {
        key: "unnumbered",
        label: "unsigned or unnumbered prints besides",
        taken: Taken::Head,
        next: "write `unnumbered = \"none\"`, or how many",
    },
    Fact {
        key: "other_editions",
        label: "other editions of this picture",
        taken: Taken::Head,
        next: "write `other_editions = \"none\"`, or which, with sizes and numbers",
    },
    Fact {
        key: "process",
        label: "process and material",
        taken: Taken::Head,
        next: "write `process = \"…\"`: process, paper, laminate, board",
    },
    Fact { key: "size", label: "size", taken: Taken::Plan, next: "state `hangs(size)` in the workings" },
    Fact {
        key: "reproduction",
        label: "reproduction of a work in another medium",
        taken: Taken::Head,
        next: "write `reproduction = \"no\"`, or of what",
    },
    Fact {
        key: "signature",
        label: "signature",
        taken: Taken::Head,
        next: "write `signature = \"…\"`: by whom, where and how",
    },
    Fact { key: "signed", label: "signed", taken: Taken::Ledger, next: "write in the ledger when it was signed" },
    Fact {
        key: "lifetime",
        label: "made in the artist’s lifetime",
        taken: Taken::Head,
        next: "write `lifetime = \"yes\"`, or when it was printed after",
    },
    Fact {
        key: "master",
        label: "the negative and the file",
        taken: Taken::Head,
        next: "write `master = \"…\"`: kept, destroyed, or to be used again and for what",
    },
    Fact { key: "workshop", label: "printed by", taken: Taken::Plan, next: "name the `lab` in the head's `[shops]`" },
    Fact {
        key: "ask",
        label: "whom to ask about the code",
        taken: Taken::Plan,
        next: "write `contact = { name = \"…\", phone = \"…\" }` in the head of the plan",
    },
    Fact { key: "seller", label: "sold by", taken: Taken::Head, next: "write `seller = \"…\"`: name and place" },
];

/// Names the head's table `[certificate]` may hold.
pub fn keys() -> impl Iterator<Item = &'static str> {
    FACTS.iter().filter(|fact| fact.taken == Taken::Head).map(|fact| fact.key)
}

/// What a certificate says, and what is missing.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Certificate {
    /// Label and words.
    pub says: Vec<(&'static str, String)>,
    /// Label, and what to do.
    pub missing: Vec<(&'static str, &'static str)>,
}

impl Certificate {
    /// Reads what is known, by key. What is not known is missing, never made up.
    pub fn of(known: impl Fn(&str) -> Option<String>) -> Self {
        let mut certificate = Self::default();
        for fact in FACTS {
            match known(fact.key).filter(|words| !words.trim().is_empty()) {
                Some(words) => certificate.says.push((fact.label, words)),
                None => certificate.missing.push((fact.label, fact.next)),
            }
        }
        certificate
    }
}
