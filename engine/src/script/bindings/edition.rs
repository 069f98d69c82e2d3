//! Editions: proofs, certificates, and the days nobody works. The edition itself is a name of every plan, `edition`.

use crate::script::args::{Args, Function};
use crate::trade::certificate::{self, Statute};
use crate::trade::edition::{self, PROOFS, Rule};
use crate::trade::holidays;
use crate::{Found, Message, Thing, Value};

fn rule_at(a: &Args<'_>, place: usize) -> Result<Rule, Message> {
    if !a.has(place) {
        return Ok(Rule::Down);
    }
    match a.text(place, "rounding")?.to_lowercase().as_str() {
        "down" => Ok(Rule::Down),
        "nearest" => Ok(Rule::Nearest),
        "up" => Ok(Rule::Up),
        _ => Err(a.wrong(place, "rounding", "\"down\", \"nearest\" or \"up\"", "\"down\"")),
    }
}

pub(super) static FUNCTIONS: &[Function] = &[
    Function {
        name: "artist_proofs",
        takes: "edition, [share], [rounding]",
        about: "How many artist's proofs a share of an edition makes, 0.1 by default (common practice, no source), rounded \"down\" by default, or \"nearest\" or \"up\". The edition of the plan's head is the name `edition`, with its parts `size`, `proofs`, `sold`, `reserved`, `given`, `destroyed`, `remaining`, `next`, `label`, `total` and `sold_out`; printer's proofs, good-to-print and outside-commerce prints stand in the head as `printers_proofs`, `good_to_print` and `outside_commerce` and belong to the total. Source: common practice, no source.",
        example: "artist_proofs(25)",
        call: |a| {
            let size = match a.is::<edition::Edition>(0) {
                Some(edition) => edition.size(),
                None => a.count(0, "size of the edition")?,
            };
            let share = if a.has(1) { a.share(1, "share")? } else { PROOFS };
            edition::proofs(size, share, rule_at(a, 2)?)
        },
    },
    Function {
        name: "certificate_facts",
        takes: "",
        about: "The facts of a certificate that meet the statutes of California, New York, Maryland, Georgia and Hawaii together. No legal advice: read the texts in force. Source: the statutes of `statute`, together.",
        example: "certificate_facts()",
        call: |_| Ok(certificate::facts()),
    },
    Function {
        name: "statute",
        takes: "state",
        about: "What a state's statute on prints in editions asks for, as far as it was read. No legal advice: read the text in force. Sources: California Civil Code 1740 to 1745.5, New York Arts and Cultural Affairs Law article 15, Maryland Commercial Law 14-504, O.C.G.A. 10-1-430, Hawaii Revised Statutes 481F.",
        example: "statute(\"New York\").return_days",
        call: |a| Ok(Found::stated(Thing::new(Statute::of(a.text(0, "state")?)?))),
    },
    Function {
        name: "holidays",
        takes: "year",
        about: "The federal holidays of the United States in a year from 2021, each on the day offices keep it, Friday before a Saturday, Monday after a Sunday; New Year's Day of the next year stands in it too where it is kept on 31 December. A shop keeps its own: list those in the head as `holidays`. Source: 5 U.S.C. 6103, Executive Order 11582.",
        example: "holidays(2026)",
        call: |a| {
            let year = i16::try_from(a.count(0, "year")?)
                .map_err(|_| a.wrong(0, "year", "a year from 2021 to 9998", "holidays(2026)"))?;
            Ok(Found::stated(Value::List(holidays::days_off(year)?.into_iter().map(Value::from).collect())))
        },
    },
    Function {
        name: "edition_total",
        takes: "numbers, artist's, [printer's], [approved], [out of commerce]",
        about: "All that is made of one picture, as a certificate states it: the numbers and the proofs besides, artist's (AP), printer's (PP), the approved one (BAT) and those out of commerce (HC). Source: Maryland Commercial Law 14-504(a)(2)(iv) (read). No legal advice.",
        example: "edition_total(10, 1, 1, 0, 1)",
        call: |a| {
            let or_none = |place, name| if a.has(place) { a.count(place, name) } else { Ok(0) };
            let proofs = [
                a.count(1, "artist's proofs")?,
                or_none(2, "printer's proofs")?,
                or_none(3, "approved proof")?,
                or_none(4, "proofs out of commerce")?,
            ];
            edition::total(a.count(0, "numbers")?, proofs)
        },
    },
    Function {
        name: "next_number",
        takes: "edition, gone",
        about: "The lowest number of an edition that is not among those gone: none is skipped and none is used again. A plan whose head names its edition has it from the ledger as `edition.next`. Source: counting (identity).",
        example: "next_number(10, [1, 2, 3, 5])",
        call: |a| {
            let Some(Value::List(all)) = a.values.get(1) else {
                return Err(a.wrong(1, "numbers gone", "a list of numbers", "[1, 2, 3, 5]"));
            };
            let inner = Args { function: a.function, values: all };
            let gone = (0..all.len()).map(|at| inner.count(at, "number gone")).collect::<Result<Vec<_>, _>>()?;
            edition::next_number(a.count(0, "size of the edition")?, &gone)
        },
    },
    Function {
        name: "number_label",
        takes: "number, edition",
        about: "A number as it is written on the print: `4/10`. Source: common practice, no source.",
        example: "number_label(4, 10)",
        call: |a| edition::label(a.count(0, "number")?, a.count(1, "size of the edition")?),
    },
];
