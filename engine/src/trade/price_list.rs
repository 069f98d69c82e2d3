//! A shop's price list: what it makes, at what price for which size, how large, and in how many working days.

use rust_decimal::Decimal;

use crate::measure::{Days, Length, Money, Time, Units};
use crate::{Found, Message, Value};

/// What a price is for one of.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Per {
    /// A piece, whatever its size.
    #[default]
    Piece,
    /// A frame.
    Frame,
    /// A panel.
    Panel,
    /// A sheet.
    Sheet,
    /// An hour of work.
    Hour,
    /// A square foot of the piece, width × height.
    SquareFoot,
    /// A square metre of the piece.
    SquareMetre,
    /// A foot round the piece, 2 × (width + height), as mouldings are sold (common practice, no source).
    RunningFoot,
    /// A metre round the piece.
    RunningMetre,
    /// An inch of width plus height, as frames are sold (common practice, no source).
    UnitedInch,
}

impl Per {
    /// All of them, in the order they are offered.
    pub const ALL: [Self; 10] = [
        Self::Piece,
        Self::Frame,
        Self::Panel,
        Self::Sheet,
        Self::Hour,
        Self::SquareFoot,
        Self::SquareMetre,
        Self::RunningFoot,
        Self::RunningMetre,
        Self::UnitedInch,
    ];

    /// As a price list writes it.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Piece => "piece",
            Self::Frame => "frame",
            Self::Panel => "panel",
            Self::Sheet => "sheet",
            Self::Hour => "hour",
            Self::SquareFoot => "ft²",
            Self::SquareMetre => "m²",
            Self::RunningFoot => "running ft",
            Self::RunningMetre => "running m",
            Self::UnitedInch => "united in",
        }
    }

    /// The one of those words; what is left empty is a price for the piece.
    #[must_use]
    pub fn of(words: &str) -> Option<Self> {
        let words = words.trim().to_lowercase();
        Some(match words.trim_end_matches('.') {
            "" | "piece" | "each" | "item" => Self::Piece,
            "frame" => Self::Frame,
            "panel" => Self::Panel,
            "sheet" | "board" => Self::Sheet,
            "hour" | "h" | "hr" => Self::Hour,
            "ft²" | "ft2" | "sq ft" | "sq. ft" | "sqft" | "square foot" | "square feet" => Self::SquareFoot,
            "m²" | "m2" | "sq m" | "sqm" | "square metre" | "square meter" => Self::SquareMetre,
            "running ft" | "running foot" | "linear ft" | "linear foot" | "lin ft" | "ft" | "foot" => Self::RunningFoot,
            "running m" | "running metre" | "running meter" | "linear m" | "m" | "metre" | "meter" => {
                Self::RunningMetre
            }
            "united in" | "united inch" | "united inches" => Self::UnitedInch,
            _ => return None,
        })
    }

    /// How many of it a piece of that size has; nothing where the size has no part in it.
    fn count(self, (width, height): (Length, Length)) -> Option<f64> {
        let (wide, high) = (width.to_inch(), height.to_inch());
        Some(match self {
            Self::SquareFoot => wide * high / 144.0,
            Self::SquareMetre => width.to_m() * height.to_m(),
            Self::RunningFoot => 2.0 * (wide + high) / 12.0,
            Self::RunningMetre => 2.0 * (width.to_m() + height.to_m()),
            Self::UnitedInch => wide + high,
            Self::Piece | Self::Frame | Self::Panel | Self::Sheet | Self::Hour => return None,
        })
    }

    /// How a price of it is calculated.
    fn working(self) -> &'static str {
        match self {
            Self::Piece | Self::Frame | Self::Panel | Self::Sheet => "{} × {}",
            Self::Hour => "{} an hour × {}",
            Self::SquareFoot => "{} × {} ft²",
            Self::SquareMetre => "{} × {} m²",
            Self::RunningFoot => "{} × {} ft round it",
            Self::RunningMetre => "{} × {} m round it",
            Self::UnitedInch => "{} × {} united in",
        }
    }
}

/// How much of an item is wanted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Amount {
    /// One of it.
    One,
    /// For a piece of this width and height.
    Size(Length, Length),
    /// So many.
    Count(f64),
    /// So long.
    Lasts(Time),
}

/// One line of a price list.
#[derive(Clone, Debug, Default)]
pub struct Line {
    /// What it is.
    pub item: String,
    /// The price of one; nothing while the shop was not asked.
    pub price: Option<Money>,
    /// Of what.
    pub per: Per,
    /// The least that is charged, however small the piece.
    pub least: Option<Money>,
    /// The largest the shorter side may be.
    pub widest: Option<Length>,
    /// The largest the longer side may be.
    pub longest: Option<Length>,
    /// How many working days it takes.
    pub days: Option<u32>,
}

impl Line {
    /// What so much of it costs, not rounded: the price of one times how many, and the least charge at least. Nothing while
    /// the shop was not asked. Source: arithmetic (identity).
    ///
    /// # Errors
    /// When the price goes by the size and none was given, or the other way round; when it leaves 28 digits.
    pub fn price_of(&self, amount: Amount) -> Result<Option<Found>, Message> {
        let Some(each) = self.price else { return Ok(None) };
        let by_size = self.per.count((Length::inch(1.0), Length::inch(1.0))).is_some();
        let count = match amount {
            Amount::Size(width, height) if by_size => self.per.count((width, height)),
            Amount::Lasts(time) if self.per == Per::Hour => Some(time.to_hours()),
            Amount::Count(count) if !by_size => Some(count),
            Amount::One | Amount::Size(..) if !by_size && self.per != Per::Hour => None,
            _ => return Err(self.unfit()),
        };
        let Some(count) = count else { return Ok(Some(self.at_least(each, Found::stated(each)))) };
        let sum = Money::exactly(count).and_then(|count| each.times(count));
        let sum = sum.ok_or_else(|| {
            Message::new(
                format!("the price of `{}` leaves 28 digits", self.item),
                "look for a size or a price with zeros too many",
            )
        })?;
        Ok(Some(self.at_least(sum, Found::by(sum, self.per.working(), [each.into(), Value::from(count)]))))
    }

    fn at_least(&self, sum: Money, found: Found) -> Found {
        match self.least {
            Some(least) if least.amount > sum.amount => {
                Found::by(least, "the least charge, more than {}", [sum.into()])
            }
            _ => found,
        }
    }

    fn unfit(&self) -> Message {
        let (what, next) = match self.per {
            Per::Hour => ("hour, and no time was given", "give how long, like `3.hours`"),
            Per::Piece | Per::Frame | Per::Panel | Per::Sheet => {
                ("piece, and a time was given", "give how many, or nothing for one")
            }
            _ => ("size, and no size was given", "give width and height, like `piece.size`"),
        };
        Message::new(format!("`{}` is priced by the {what}", self.item), next)
    }

    /// The size it is made up to, in words, and by how much a piece is beyond it; nothing where the list gives no limit.
    #[must_use]
    pub fn limit(&self, (width, height): (Length, Length), units: Units) -> Option<(String, Option<String>)> {
        let (short, long) = if width.to_inch() <= height.to_inch() { (width, height) } else { (height, width) };
        let shown = |length: Length| Value::from(length).shown(units);
        let sides = [(self.widest, short, "wide"), (self.longest, long, "long")];
        let limits: Vec<_> = sides.iter().filter_map(|(most, ..)| *most).map(shown).collect();
        let over = sides.into_iter().filter_map(|(most, side, how)| {
            // Far less than a saw cuts.
            let most = most.filter(|most| side.to_inch() > most.to_inch() + 1e-6)?;
            Some(format!("{} {how}, and at most {}", shown(side), shown(most)))
        });
        let over = over.collect::<Vec<_>>().join("; ");
        (!limits.is_empty()).then(|| (limits.join(" × "), (!over.is_empty()).then_some(over)))
    }
}

/// A shop as one plan sees it.
#[derive(Debug)]
pub struct Shop {
    /// What it does: scanner, lab.
    pub role: String,
    /// What it is called; nothing while the plan names no shop for it.
    pub name: Option<String>,
    /// What it makes.
    pub lines: Vec<Line>,
}

impl Shop {
    /// What the page calls it.
    #[must_use]
    pub fn called(&self) -> String {
        self.name.clone().unwrap_or_else(|| format!("the {}", self.role))
    }

    /// The line of an item; nothing while no shop is named, or the one that is has no price list.
    ///
    /// # Errors
    /// When the shop has no such item.
    pub fn line(&self, item: &str) -> Result<Option<&Line>, Message> {
        if self.name.is_none() || self.lines.is_empty() {
            return Ok(None);
        }
        let same = |line: &&Line| line.item.trim().to_lowercase() == item.trim().to_lowercase();
        self.lines.iter().find(same).map(Some).ok_or_else(|| {
            let names: Vec<_> = self.lines.iter().map(|line| line.item.as_str()).collect();
            let next =
                match (names.iter().find(|one| one.to_lowercase().contains(&item.to_lowercase())), names.as_slice()) {
                    (_, []) => format!("add it to the price list of {}", self.called()),
                    (Some(near), _) => format!("was `{near}` meant? It has {}", names.join("; ")),
                    (None, _) => format!("it has {}", names.join("; ")),
                };
            Message::new(format!("{} has no `{item}` on its price list", self.called()), next)
        })
    }
}

thing!(Shop, "a shop", |shop| vec![shop.called().into()], {
    name "What it is called." => Found::stated(shop.called()),
    items "What stands on its price list, as the choices of a given." =>
        Found::stated(Value::List(shop.lines.iter().map(|line| line.item.as_str().into()).collect())),
});

/// A price nobody asked for yet.
#[derive(Debug)]
pub struct ToCome;

thing!(ToCome, "a price to come", |_to_come| vec!["price to come".into()], {});

/// A sum that misses lines of cost.
#[derive(Debug)]
pub struct OpenSum(pub String);

thing!(OpenSum, "a sum that misses a price", |sum| vec![sum.0.as_str().into()], {
    missing "The sum in words, with what it misses." => Found::stated(sum.0.as_str()),
});

/// Whether a value is a price to come, or a sum that misses one.
#[must_use]
pub fn is_open(value: &Value) -> bool {
    matches!(value, Value::Thing(thing) if thing.get::<ToCome>().is_some() || thing.get::<OpenSum>().is_some())
}

/// Working days.
#[must_use]
pub fn working_days(days: u32) -> Found {
    Found::stated(Days::days(f64::from(days)))
}

/// An amount of a price list, in the currency of its sheet: `18.50`, `18,50`, `1250`, `1,250.00`. What can be read in two ways,
/// as `1.250` and `1,250`, is not read: it is a thousand and more in one country and one and a quarter in another.
#[must_use]
pub fn amount(text: &str) -> Option<Decimal> {
    let digits: String = text.chars().filter(|c| !matches!(c, ' ' | '\u{a0}' | '\u{202f}' | '\'' | '’')).collect();
    let marks = digits.matches(['.', ',']).count();
    let (whole, part) = match digits.rsplit_once(['.', ',']) {
        Some((_, part)) if part.len() == 3 && marks == 1 => return None,
        Some((whole, part)) if part.len() != 3 => (whole, part),
        _ => (digits.as_str(), "0"),
    };
    let groups: Vec<_> = whole.split(['.', ',']).collect();
    let is_number = |text: &&str| !text.is_empty() && text.bytes().all(|c| c.is_ascii_digit());
    let well_set = groups.iter().skip(1).all(|group| group.len() == 3);
    let fits = well_set && groups.iter().all(is_number) && is_number(&part);
    fits.then(|| format!("{}.{part}", groups.concat()).parse().ok())?
}
