//! Numbers with a dimension: their units, how they are read and how they are printed.
//!
//! Values are held in one coherent system: millimetre, watt, ampere, kelvin, second. So a length needs no
//! conversion from the way a building drawing states it, and `W = V·A`, `V = A·ohm` hold without factors.

use std::fmt;

/// The day that dates are counted from.
const EPOCH: jiff::civil::Date = jiff::civil::date(1970, 1, 1);
/// A day, s.
const DAY: f64 = 86_400.0;

/// A dimension as whole powers of length, power, current, temperature difference and time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct Dimension {
    /// Power of length.
    pub length: i8,
    /// Power of (electric or heat) power.
    pub power: i8,
    /// Power of current.
    pub current: i8,
    /// Power of temperature difference.
    pub temperature: i8,
    /// Power of time.
    pub time: i8,
    /// A place on a scale rather than a difference of two: a temperature in `degC`, or a date.
    pub on_scale: bool,
}

macro_rules! dimensions {
    ($($(#[$doc:meta])* $name:ident = $length:literal $power:literal $current:literal $temperature:literal $time:literal;)*) => {
        impl Dimension {
            $($(#[$doc])* pub const $name: Dimension = Dimension {
                length: $length, power: $power, current: $current, temperature: $temperature, time: $time, on_scale: false,
            };)*
        }
    };
}

dimensions! {
    /// A plain number, or a share.
    NUMBER = 0 0 0 0 0;
    /// Length, mm.
    LENGTH = 1 0 0 0 0;
    /// Area, mm2.
    AREA = 2 0 0 0 0;
    /// Power, W.
    POWER = 0 1 0 0 0;
    /// Power per length, W/mm.
    POWER_PER_LENGTH = -1 1 0 0 0;
    /// Power per area, W/mm2.
    POWER_PER_AREA = -2 1 0 0 0;
    /// Electric potential difference, V = W/A.
    VOLTAGE = 0 1 -1 0 0;
    /// Current, A.
    CURRENT = 0 0 1 0 0;
    /// Electric resistance, ohm = W/A2.
    RESISTANCE = 0 1 -2 0 0;
    /// Temperature difference, K.
    TEMPERATURE_DIFFERENCE = 0 0 0 1 0;
    /// Thermal conductivity, W/(mm K).
    CONDUCTIVITY = -1 1 0 -1 0;
    /// Thermal resistance of an area, mm2 K/W.
    THERMAL_RESISTANCE = 2 -1 0 1 0;
    /// Heat capacity of a volume, J/(mm3 K).
    HEAT_CAPACITY = -3 1 0 -1 1;
    /// Energy, J.
    ENERGY = 0 1 0 0 1;
    /// Time, s.
    TIME = 0 0 0 0 1;
}

impl Dimension {
    /// A temperature on the scale of `degC`.
    pub const TEMPERATURE: Dimension = Dimension { on_scale: true, ..Dimension::TEMPERATURE_DIFFERENCE };

    /// A day of the calendar, s from the start of 1970.
    pub const DATE: Dimension = Dimension { on_scale: true, ..Dimension::TIME };

    fn combine(self, other: Dimension, sign: i8) -> Option<Dimension> {
        let power = |a: i8, b: i8| a.checked_add(b.checked_mul(sign)?);
        Some(Dimension {
            length: power(self.length, other.length)?,
            power: power(self.power, other.power)?,
            current: power(self.current, other.current)?,
            temperature: power(self.temperature, other.temperature)?,
            time: power(self.time, other.time)?,
            on_scale: false,
        })
    }

    /// The dimension of a product. What is on a scale can't be multiplied.
    pub fn times(self, other: Dimension) -> Option<Dimension> {
        (!self.on_scale && !other.on_scale).then(|| self.combine(other, 1)).flatten()
    }

    /// The dimension of a quotient.
    pub fn over(self, other: Dimension) -> Option<Dimension> {
        (!self.on_scale && !other.on_scale).then(|| self.combine(other, -1)).flatten()
    }

    /// The dimension of a sum: of two alike, or of a temperature or a date and a difference.
    pub fn plus(self, other: Dimension) -> Option<Dimension> {
        match (self.on_scale, other.on_scale) {
            (false, false) => (self == other).then_some(self),
            (true, false) | (false, true) => {
                (self.combine(other, -1)? == Dimension::NUMBER).then_some(Dimension { on_scale: true, ..self })
            }
            (true, true) => None,
        }
    }

    /// The dimension of a difference: of two alike, or of a temperature or a date and another or a difference.
    pub fn minus(self, other: Dimension) -> Option<Dimension> {
        match (self.on_scale, other.on_scale) {
            (true, true) => (self == other).then_some(Dimension { on_scale: false, ..self }),
            (false, true) => None,
            _ => self.plus(other),
        }
    }

    /// The square root's dimension, where every power is even.
    pub fn root(self) -> Option<Dimension> {
        let powers = [self.length, self.power, self.current, self.temperature, self.time];
        (!self.on_scale && powers.iter().all(|p| p % 2 == 0)).then_some(Dimension {
            length: self.length / 2,
            power: self.power / 2,
            current: self.current / 2,
            temperature: self.temperature / 2,
            time: self.time / 2,
            on_scale: false,
        })
    }

    /// The difference below which two values count as equal, in the coherent unit: 0.001 mm for lengths, and for each other dimension
    /// a step far below what its instruments or drawings resolve.
    pub fn grain(self) -> f64 {
        match self {
            Dimension::LENGTH => 1e-3,
            // Half the least step between cross-sections is 0.25 mm2; areas of floor are exact to far less than this.
            Dimension::AREA => 0.01,
            Dimension::POWER => 1e-6,
            Dimension::VOLTAGE | Dimension::CURRENT | Dimension::RESISTANCE => 1e-6,
            Dimension::POWER_PER_LENGTH | Dimension::POWER_PER_AREA => 1e-12,
            Dimension::TEMPERATURE | Dimension::TEMPERATURE_DIFFERENCE => 1e-6,
            // Far below a millisecond, and still above what a date in this century can be told by.
            Dimension::TIME | Dimension::DATE => 1e-5,
            Dimension::THERMAL_RESISTANCE => 1.0,
            _ => 1e-12,
        }
    }

    /// The word for it in a message, with a usual example.
    pub fn describe(self) -> String {
        match self {
            Dimension::NUMBER => "a plain number".into(),
            Dimension::LENGTH => "a length".into(),
            Dimension::AREA => "an area".into(),
            Dimension::POWER => "a power".into(),
            Dimension::POWER_PER_LENGTH => "a power per length".into(),
            Dimension::POWER_PER_AREA => "a power per area".into(),
            Dimension::VOLTAGE => "a voltage".into(),
            Dimension::CURRENT => "a current".into(),
            Dimension::RESISTANCE => "an electric resistance".into(),
            Dimension::TEMPERATURE_DIFFERENCE => "a temperature difference".into(),
            Dimension::TEMPERATURE => "a temperature".into(),
            Dimension::CONDUCTIVITY => "a thermal conductivity".into(),
            Dimension::THERMAL_RESISTANCE => "a thermal resistance".into(),
            Dimension::HEAT_CAPACITY => "a heat capacity of a volume".into(),
            Dimension::ENERGY => "an energy".into(),
            Dimension::TIME => "a time".into(),
            Dimension::DATE => "a date".into(),
            other => format!("a quantity in {}", other.coherent_unit()),
        }
    }

    /// What a reader could have written: `a length such as `75 mm``.
    pub fn describe_with_example(self) -> String {
        let example = match self {
            Dimension::NUMBER => "12",
            Dimension::LENGTH => "75 mm",
            Dimension::AREA => "2.5 mm2",
            Dimension::POWER => "420 W",
            Dimension::POWER_PER_LENGTH => "10 W/m",
            Dimension::POWER_PER_AREA => "130 W/m2",
            Dimension::VOLTAGE => "230 V",
            Dimension::CURRENT => "16 A",
            Dimension::RESISTANCE => "126 ohm",
            Dimension::TEMPERATURE_DIFFERENCE => "9 K",
            Dimension::TEMPERATURE => "21 degC",
            Dimension::CONDUCTIVITY => "1.3 W/mK",
            Dimension::THERMAL_RESISTANCE => "0.1 m2K/W",
            Dimension::HEAT_CAPACITY => "1.8 MJ/m3K",
            Dimension::ENERGY => "2 kWh",
            Dimension::TIME => "14 days",
            Dimension::DATE => "2026-11-25",
            _ => return self.describe(),
        };
        format!("{} such as `{example}`", self.describe())
    }

    fn coherent_unit(self) -> String {
        let mut parts = Vec::new();
        for (symbol, power) in
            [("mm", self.length), ("W", self.power), ("A", self.current), ("K", self.temperature), ("s", self.time)]
        {
            match power {
                0 => {}
                1 => parts.push(symbol.to_string()),
                power => parts.push(format!("{symbol}^{power}")),
            }
        }
        parts.join(" ")
    }
}

/// A unit as plans and rules write it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// How it is written in plans and rules, which are typed.
    pub symbol: &'static str,
    /// How people read it, by ISO 80000.
    pub sign: &'static str,
    /// What it measures.
    pub dimension: Dimension,
    /// How many coherent units it is.
    pub factor: f64,
}

const fn unit(symbol: &'static str, dimension: Dimension, factor: f64) -> Unit {
    Unit { symbol, sign: symbol, dimension, factor }
}

/// A unit whose sign no keyboard has.
const fn signed(symbol: &'static str, sign: &'static str, dimension: Dimension, factor: f64) -> Unit {
    Unit { symbol, sign, dimension, factor }
}

/// Every unit of the two languages.
pub const UNITS: &[Unit] = &[
    unit("mm", Dimension::LENGTH, 1.0),
    unit("cm", Dimension::LENGTH, 10.0),
    unit("m", Dimension::LENGTH, 1e3),
    // The international foot of 1959 and its inch.
    unit("ft", Dimension::LENGTH, 304.8),
    unit("in", Dimension::LENGTH, 25.4),
    signed("mm2", "mm²", Dimension::AREA, 1.0),
    signed("m2", "m²", Dimension::AREA, 1e6),
    unit("W", Dimension::POWER, 1.0),
    unit("kW", Dimension::POWER, 1e3),
    unit("W/m", Dimension::POWER_PER_LENGTH, 1e-3),
    signed("W/m2", "W/m²", Dimension::POWER_PER_AREA, 1e-6),
    unit("V", Dimension::VOLTAGE, 1.0),
    unit("A", Dimension::CURRENT, 1.0),
    unit("mA", Dimension::CURRENT, 1e-3),
    signed("ohm", "Ω", Dimension::RESISTANCE, 1.0),
    signed("kohm", "kΩ", Dimension::RESISTANCE, 1e3),
    signed("Mohm", "MΩ", Dimension::RESISTANCE, 1e6),
    signed("degC", "°C", Dimension::TEMPERATURE, 1.0),
    unit("K", Dimension::TEMPERATURE_DIFFERENCE, 1.0),
    signed("W/mK", "W/(m·K)", Dimension::CONDUCTIVITY, 1e-3),
    signed("m2K/W", "m²·K/W", Dimension::THERMAL_RESISTANCE, 1e6),
    unit("ms", Dimension::TIME, 1e-3),
    signed("MJ/m3K", "MJ/m³·K", Dimension::HEAT_CAPACITY, 1e-3),
    unit("kWh", Dimension::ENERGY, 3.6e6),
    unit("h", Dimension::TIME, 3600.0),
    unit("days", Dimension::TIME, 86400.0),
    unit("%", Dimension::NUMBER, 0.01),
];

/// The unit written `symbol`.
pub fn unit_named(symbol: &str) -> Option<&'static Unit> {
    UNITS.iter().find(|unit| unit.symbol == symbol)
}

/// A value in coherent units and its dimension.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quantity {
    /// In the coherent unit of the dimension.
    pub value: f64,
    /// What it measures.
    pub dimension: Dimension,
}

/// The most decimals that are shown so that a small figure doesn't read as nothing.
const MOST_DECIMALS: usize = 6;

impl Quantity {
    /// `value` coherent units of `dimension`.
    pub const fn new(value: f64, dimension: Dimension) -> Self {
        Quantity { value, dimension }
    }

    /// A day of the calendar.
    ///
    /// ```
    /// use layrule::quantity::Quantity;
    /// let day = |day| Quantity::date(jiff::civil::date(2026, 11, day));
    /// assert_eq!(day(25).to_string(), "2026-11-25");
    /// assert_eq!(day(25).value - day(11).value, 14.0 * 86400.0);
    /// ```
    pub fn date(day: jiff::civil::Date) -> Self {
        let days = (day - EPOCH).get_days();
        Quantity::new(f64::from(days) * DAY, Dimension::DATE)
    }

    /// The day that a date stands for; nothing where it is out of the calendar's reach.
    fn day(self) -> Option<jiff::civil::Date> {
        let days = (self.value / DAY).round();
        // Far beyond any calendar, and within the reach of what is cast to.
        (days.abs() < 1e7).then(|| EPOCH.checked_add(jiff::Span::new().try_days(days as i64).ok()?).ok()).flatten()
    }

    /// `number` of `unit`. Percent divides rather than multiplies, so that `5 %` is the same number as `0.05`.
    pub fn of(number: f64, unit: &Unit) -> Self {
        let value = if unit.factor < 1.0 { number / (1.0 / unit.factor).round() } else { number * unit.factor };
        Quantity { value, dimension: unit.dimension }
    }

    /// The unit it is best shown in, and the value in that unit.
    ///
    /// Lengths under 10 m are in mm, as on a building drawing.
    pub fn in_shown_unit(self) -> (f64, &'static str) {
        let size = self.value.abs();
        let symbol = match self.dimension {
            Dimension::LENGTH if size < 9999.5 => "mm",
            Dimension::LENGTH => "m",
            // A conductor's cross-section.
            Dimension::AREA if size > 0.0 && size < 1e3 => "mm2",
            Dimension::AREA => "m2",
            Dimension::POWER => "W",
            Dimension::POWER_PER_LENGTH => "W/m",
            Dimension::POWER_PER_AREA => "W/m2",
            Dimension::VOLTAGE => "V",
            // Residual currents, up to 500 mA, are rated in mA.
            Dimension::CURRENT if size <= 0.5 => "mA",
            Dimension::CURRENT => "A",
            Dimension::RESISTANCE if size >= 1e5 => "Mohm",
            Dimension::RESISTANCE => "ohm",
            Dimension::TEMPERATURE => "degC",
            Dimension::TEMPERATURE_DIFFERENCE => "K",
            Dimension::CONDUCTIVITY => "W/mK",
            Dimension::THERMAL_RESISTANCE => "m2K/W",
            // How soon an RCD trips.
            Dimension::TIME if size > 0.0 && size < 10.0 => "ms",
            Dimension::HEAT_CAPACITY => "MJ/m3K",
            Dimension::ENERGY => "kWh",
            Dimension::TIME if size < 48.0 * 3600.0 => "h",
            Dimension::TIME => "days",
            Dimension::NUMBER => return (self.value, ""),
            _ => return (self.value, ""),
        };
        (self.value / unit_named(symbol).map_or(1.0, |unit| unit.factor), symbol)
    }

    /// The value in the one unit that other programs are given for its dimension, whatever its size.
    pub fn in_fixed_unit(self) -> (f64, String) {
        if self.dimension == Dimension::DATE {
            return (self.value / DAY, "days since 1970-01-01".into());
        }
        let symbol = match self.dimension {
            Dimension::LENGTH => "mm",
            Dimension::AREA => "m2",
            Dimension::CURRENT => "A",
            Dimension::RESISTANCE => "ohm",
            Dimension::TIME => "h",
            Dimension::NUMBER => return (self.value, String::new()),
            _ => self.in_shown_unit().1,
        };
        match unit_named(symbol) {
            Some(unit) => (self.value / unit.factor, unit.symbol.to_string()),
            None => (self.value, self.dimension.coherent_unit()),
        }
    }

    /// The number in a unit of the caller's choosing, with as many decimals as it needs up to six.
    fn number_in(self, unit: &Unit) -> String {
        number(
            if unit.factor < 1.0 { self.value * (1.0 / unit.factor).round() } else { self.value / unit.factor },
            MOST_DECIMALS,
        )
    }

    /// The text that a plan or a rule would hold, in a unit of its own choosing.
    pub fn written_in(self, unit: &Unit) -> String {
        format!("{} {}", self.number_in(unit), unit.symbol)
    }

    /// The text that a reader sees, in a unit of its own choosing.
    pub fn show_in(self, unit: &Unit) -> String {
        format!("{} {}", self.number_in(unit), unit.sign)
    }

    /// The text a reader sees, in `unit` where one is asked for and to three significant figures, with `extra` more decimals than usual;
    /// else as [`show`](Quantity::show) gives it.
    ///
    /// ```
    /// use layrule::quantity::{Dimension, Quantity, unit_named};
    /// let length = Quantity::new(3632.0, Dimension::LENGTH);
    /// assert_eq!((length.show_as(unit_named("m"), 0), length.show_as(unit_named("m"), 1)), ("3.63 m".into(), "3.632 m".into()));
    /// assert_eq!(length.show_as(None, 0), "3632 mm");
    /// ```
    pub fn show_as(self, unit: Option<&Unit>, extra: usize) -> String {
        let Some(unit) = unit else { return self.show(extra) };
        let value = self.value / unit.factor;
        let decimals = 2 - (1..=2).filter(|digits| value.abs() >= 10f64.powi(*digits)).count();
        format!("{} {}", number(value, decimals + extra), unit.sign)
    }

    /// The text a reader sees, with `extra` more decimals than usual: three significant figures, four of distances and resistances, whose
    /// instruments read as many.
    ///
    /// ```
    /// use layrule::quantity::{Dimension, Quantity};
    /// assert_eq!(Quantity::new(41.26, Dimension::LENGTH).show(0), "41.3 mm");
    /// assert_eq!(Quantity::new(50.0, Dimension::LENGTH).show(0), "50 mm");
    /// assert_eq!(Quantity::new(7_276_000.0, Dimension::AREA).show(0), "7.28 m²");
    /// assert_eq!(Quantity::new(72_760_000.0, Dimension::AREA).show(0), "72.8 m²");
    /// assert_eq!(Quantity::new(1234.56, Dimension::LENGTH).show(0), "1235 mm");
    /// assert_eq!(Quantity::new(0.002, Dimension::LENGTH).show(0), "0.002 mm");
    /// ```
    pub fn show(self, extra: usize) -> String {
        if let Some(day) = (self.dimension == Dimension::DATE).then(|| self.day()).flatten() {
            return day.to_string();
        }
        let (value, symbol) = self.in_shown_unit();
        let usual: usize = match symbol {
            "mm" | "W" | "V" | "degC" | "K" | "W/m2" | "W/m" | "h" | "days" | "ms" | "mA" => 1,
            "m2" | "ohm" if value.abs() < 0.1 => 4,
            "W/mK" => 3,
            _ => 2,
        };
        let significant: usize = if matches!(symbol, "mm" | "ohm" | "Mohm") { 4 } else { 3 };
        let before_point = (1..significant).filter(|digits| value.abs() >= 10f64.powi(*digits as i32)).count() + 1;
        let decimals = usual.min(significant - before_point);
        // What is something is not shown as nothing.
        let is_some = self.value.abs() > self.dimension.grain();
        let shows = |decimals: &usize| (value.abs() * 10f64.powi(*decimals as i32)).round() > 0.0;
        let first = decimals + extra;
        let decimals = if is_some { (first..=MOST_DECIMALS).find(shows).unwrap_or(first) } else { first };
        let mut text = format!("{value:.decimals$}");
        if text.contains('.') {
            text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
        }
        if text == "-0" {
            text = "0".into();
        }
        match symbol {
            "" if self.dimension == Dimension::NUMBER => text,
            "" => format!("{text} {}", self.dimension.coherent_unit()),
            symbol => format!("{text} {}", unit_named(symbol).map_or(symbol, |unit| unit.sign)),
        }
    }
}

impl fmt::Display for Quantity {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(&self.show(0))
    }
}

/// A number with so many decimals at the most.
///
/// ```
/// assert_eq!(layrule::quantity::number(-0.00001, 3), "0");
/// assert_eq!(layrule::quantity::number(12.5, 3), "12.5");
/// ```
pub fn number(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".into() } else { text.into() }
}
