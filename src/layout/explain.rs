//! Says in the reader's words what was expected where a statement can't be read.

use pest::Parser as _;

use super::grammar::{LayoutParser, Rule};
use super::kinds::{FixtureKind, Kind, KitColumn, MaterialKind, PipeKind, RcdType, UtilizationCategory};
use crate::language::expected::{Block, Language};
use crate::language::nodes::with_blanks;
use crate::quantity::Dimension;
use crate::worded::Worded as _;

/// The blocks of the language, what each is called, and the words its statements start with.
const BLOCKS: &[Block<Rule>] = &[
    (
        Rule::file_line,
        "a plan",
        &["use", "let", "material", "kit", "kits", "supply", "floor", "room", "drawing", "north"],
    ),
    (Rule::material_line, "a material", &["conductivity", "heat-capacity", "kind", "surface-limit"]),
    (
        Rule::kit_line,
        "a kit",
        &["output", "length", "resistance", "diameter", "bend-radius", "tail", "screen", "cores", "mat"],
    ),
    (
        Rule::kits_line,
        "a table of kits",
        &[
            "columns",
            "voltage",
            "tolerance",
            "spacing",
            "output",
            "length",
            "resistance",
            "diameter",
            "bend-radius",
            "tail",
            "screen",
            "cores",
            "mat",
        ],
    ),
    (
        Rule::supply_line,
        "a supply",
        &["voltage", "rcd", "breaker", "fuse", "conductor", "ambient", "grouped", "in-insulation", "before", "selv"],
    ),
    (Rule::drawing_line, "a title block", &["owner", "address", "number", "revision", "drawn", "checked", "approved"]),
    (
        Rule::room_line,
        "a room",
        &[
            "let",
            "outline",
            "wall",
            "door",
            "fixture",
            "drill",
            "joint",
            "pipe",
            "level",
            "rug",
            "partition",
            "shower-head",
            "outlet",
            "earthed-grid",
            "floor",
            "inside",
            "below",
            "heat-loss",
            "bonded",
            "junction",
            "thermostat",
            "contactor",
            "cable",
            "sensor",
            "record",
            "deviation",
        ],
    ),
    (Rule::floor_line, "a floor", &[]),
    (Rule::cable_line, "a cable", &["kit", "tail", "second-tail", "by", "start", "run", "loops"]),
    (
        Rule::record_line,
        "a record",
        &[
            "delivered",
            "laid",
            "before-tiling",
            "after-tiling",
            "before-switching-on",
            "screeded",
            "primed",
            "tiled",
            "switched-on",
            "signed",
            "label",
            "rcd-tested",
            "note",
            "photo",
        ],
    ),
];

/// The plan language as its readers are told about it.
pub static LANGUAGE: Language<Rule> = Language {
    blocks: BLOCKS,
    parse: |rule, text| {
        let shown = with_blanks(text);
        let pairs = LayoutParser::parse(rule, &shown).map_err(Box::new)?;
        Ok(pairs.map(|pair| pair.as_span().end()).max().unwrap_or(0))
    },
    words: rule_words,
    describe,
    dimension: expected_dimension,
    usage,
    former: &["outlet"],
    free: &[Rule::floor_line, Rule::kits_line],
    free_line: "a layer is written as its name, its thickness and its material, such as `plywood 18 mm`",
};

/// The words that statements of a block start with.
pub fn words_of(context: Rule) -> &'static [&'static str] {
    BLOCKS.iter().find(|(rule, ..)| *rule == context).map_or(&[], |(.., words)| words)
}

/// How each statement is written, for the reader who got it wrong; `grammar/layout.md` shows the same forms.
pub fn usage(first: &str, context: Rule) -> Option<&'static str> {
    Some(match (context, first) {
        (_, "use") => "use \"FILE.lay\"",
        (_, "let") => "let NAME = VALUE",
        (_, "material") => "material NAME { … }",
        (Rule::cable_line, "kit") => "kit NAME",
        (_, "kit") => "kit NAME \"TITLE\" { … }",
        (_, "kits") => "kits \"TITLE\" { … }",
        (_, "columns") => "columns output length resistance",
        (_, "tolerance") => "tolerance -5 % to +10 %",
        (_, "spacing") => "spacing 80",
        (_, "supply") => "supply NAME { … }",
        (_, "drawing") => "drawing { … }",
        (_, "north") => "north 30 deg",
        (_, "owner") => "owner \"NAME\"",
        (_, "address") => "address \"TEXT\"",
        (_, "number") => "number \"TEXT\"",
        (_, "revision") => "revision \"TEXT\"",
        (_, "drawn") => "drawn \"NAME\" 2026-11-16",
        (_, "checked") => "checked \"NAME\" 2026-11-16",
        (_, "approved") => "approved \"NAME\" 2026-11-16",
        (_, "room") => "room NAME \"TITLE\" { … }",
        (_, "conductivity") => "conductivity 0.18 W/mK",
        (_, "heat-capacity") => "heat-capacity 1.1 MJ/m3K",
        (_, "kind") => "kind timber",
        (_, "surface-limit") => "surface-limit 27 degC",
        (_, "output") => "output 420 W at 230 V",
        (_, "length") => "length 42 m",
        (_, "resistance") => "resistance 126 ohm, -5 % to +10 %",
        (_, "diameter") => "diameter 6 mm",
        (_, "bend-radius") => "bend-radius 25 mm",
        (Rule::kit_line | Rule::kits_line, "tail") => "tail 3 m",
        (_, "tail") => "tail JUNCTION (X, Y) (X, Y) … sleeve JOINT or tail cable CABLE (X, Y) …",
        (_, "second-tail") => "second-tail JUNCTION (X, Y) (X, Y) … sleeve JOINT",
        (_, "cores") => "cores 1",
        (_, "screen") => "screen earthed",
        (_, "mat") => "mat 500 by 6 m, spacing 80",
        (_, "voltage") => "voltage 230 V",
        (_, "rcd") => "rcd 30 mA type A",
        (_, "breaker") => "breaker 16 A",
        (_, "conductor") => "conductor 2.5 mm2 copper, 14 m, method C",
        (_, "ambient") => "ambient 30 degC",
        (_, "fuse") => "fuse 13 A",
        (_, "selv") => "selv",
        (_, "before") => "before 1.5 %",
        (_, "grouped") => "grouped 3",
        (_, "in-insulation") => "in-insulation 200 mm",
        (_, "outline") => "outline (X, Y) (X, Y) … or outline from (X, Y) east 3400, north 2200, …",
        (_, "wall") => "wall 3 \"TITLE\" outside",
        (_, "door") => {
            "door NAME wall 1 from 300 to 1200 through hinged left outward or door NAME on wall 1 from the left 300 to 1200"
        }
        (_, "fixture") => "fixture NAME KIND raised 150 open SHAPE",
        (_, "drill") => "drill NAME SHAPE",
        (_, "joint") => "joint NAME (X, Y) (X, Y) …",
        (_, "pipe") => "pipe NAME hot (X, Y) (X, Y) …",
        (_, "level") => "level NAME +150 SHAPE or level NAME stairs up north SHAPE",
        (_, "rug") => "rug NAME SHAPE resistance 0.15 m2K/W",
        (_, "partition") => "partition NAME (X, Y) (X, Y) … height 2000",
        (_, "shower-head" | "outlet") => "shower-head NAME (X, Y) height 2100",
        (_, "earthed-grid") => "earthed-grid mesh 30",
        (Rule::file_line, "floor") => "floor NAME timber { … }",
        (_, "floor") => "floor timber { … } or floor NAME",
        (_, "inside") => "inside 21 degC",
        (_, "below") => "below room 18 degC or below ground 10 degC",
        (_, "heat-loss") => "heat-loss 610 W",
        (_, "bonded") => "bonded or bonded main",
        (_, "junction") => "junction NAME (X, Y) height 1200 ip X4 wired JUNCTION",
        (_, "thermostat") => "thermostat NAME (X, Y) height 1200 rated 16 A limit 27 degC behind 16 A on SUPPLY",
        (_, "contactor") => "contactor NAME rated 25 A AC-7a for THERMOSTAT",
        (_, "cable") => "cable NAME { … }",
        (_, "by") => "by THERMOSTAT",
        (_, "start") => "start (X, Y)",
        (_, "run") => "run HEADING LENGTH, run HEADING to wall 4 less 80, run HEADING rest or run to (X, Y)",
        (_, "loops") => {
            "loops 12 of 1800 east, stepping 75 north or loops of 1800 east, stepping 75 north to wall 3 less 80"
        }
        (_, "sensor") => {
            "sensor NAME from THERMOSTAT (X, Y) (X, Y) … lead 3 m or sensor NAME from THERMOSTAT between runs 7 and 9 depth 500"
        }
        (_, "record") => "record { … }",
        (_, "deviation") => "deviation RULE cable NAME \"REASON\" until 2027-03-01",
        (_, "screeded") => "screeded 2026-10-05 cement drying 21 days",
        (_, "tiled") => "tiled 2026-11-02 drying 14 days",
        (_, "switched-on") => "switched-on 2026-11-16",
        (_, "signed") => "signed \"NAME\" 2026-11-16",
        (_, "label") => "label cable NAME serial \"NUMBER\" batch \"NUMBER\"",
        (_, "rcd-tested") => "rcd-tested 2026-11-16 supply NAME 24 ms with \"INSTRUMENT\" by \"NAME\"",
        (_, "note") => "note 2026-11-16 \"WHAT WAS BUILT OTHERWISE\" at (X, Y) photo \"FILE\"",
        (_, "photo") => "photo 2026-11-16 \"FILE\" at (X, Y)",
        (_, "primed") => "primed 2026-11-01",
        (Rule::record_line, _) => {
            "STAGE 2026-11-02 cable NAME 126 ohm insulation 200 Mohm at 500 V screen 0.4 ohm with \"INSTRUMENT\" serial \"NUMBER\" by \"NAME\" or STAGE 2026-11-02 sensor NAME 10 kohm"
        }
        _ => return None,
    })
}

/// The exact words that a rule reads, where it reads words.
fn rule_words(rule: Rule) -> Vec<&'static str> {
    match rule {
        Rule::heading => vec!["east", "north", "west", "south"],
        Rule::column => KitColumn::words(),
        Rule::screen_kind => vec!["earthed", "none"],
        Rule::metal => vec!["copper"],
        Rule::method => vec!["A1", "A2", "B1", "B2", "C"],
        Rule::insulation => vec!["pvc", "xlpe"],
        Rule::fixture_kind => FixtureKind::words(),
        Rule::pipe_kind => PipeKind::words(),
        Rule::material_sort => MaterialKind::words(),
        Rule::below_kind => vec!["room", "ground"],
        Rule::floor_kind => vec!["timber", "concrete"],
        Rule::stairs => vec!["stairs"],
        Rule::outside => vec!["outside"],
        Rule::rect => vec!["rect"],
        Rule::circle => vec!["circle"],
        Rule::polygon => vec!["polygon"],
        Rule::strip => vec!["strip"],
        Rule::raised => vec!["raised"],
        Rule::open_below => vec!["open"],
        Rule::ip_rating => vec!["ip"],
        Rule::wired_to => vec!["wired"],
        Rule::over_range => vec!["over"],
        Rule::height => vec!["height"],
        Rule::rated => vec!["rated"],
        Rule::floor_limit => vec!["limit"],
        Rule::through => vec!["through"],
        Rule::from_side => vec!["the"],
        Rule::side => vec!["left", "right"],
        Rule::swing => vec!["hinged"],
        Rule::swing_way => vec!["inward", "outward"],
        Rule::flight | Rule::flight_way => vec!["up", "down"],
        Rule::behind => vec!["behind"],
        Rule::category => UtilizationCategory::words(),
        Rule::rcd_type => vec!["type"],
        Rule::rcd_kind => RcdType::words(),
        Rule::by_main => vec!["main"],
        Rule::on_supply => vec!["on"],
        Rule::lead => vec!["lead"],
        Rule::between => vec!["between"],
        Rule::of_cable => vec!["of"],
        Rule::sleeves => vec!["sleeve"],
        Rule::rest => vec!["rest"],
        Rule::reach => vec!["to"],
        Rule::reached_fixture => vec!["fixture"],
        Rule::less => vec!["less"],
        Rule::fitting_loops => vec!["of"],
        Rule::walk => vec!["from"],
        Rule::leg => vec!["east", "north", "west", "south", "to"],
        Rule::until => vec!["until"],
        Rule::drying => vec!["drying"],
        Rule::insulation_reading => vec!["insulation"],
        Rule::screen_reading => vec!["screen"],
        Rule::interrupted => vec!["open"],
        Rule::sensor_reading => vec!["sensor"],
        Rule::screed_kind => vec!["cement", "anhydrite"],
        Rule::batch => vec!["batch"],
        Rule::instrument => vec!["with"],
        Rule::instrument_serial => vec!["serial"],
        Rule::measured_by => vec!["by"],
        Rule::spot => vec!["at"],
        Rule::pictured => vec!["photo"],
        Rule::layer_cable | Rule::tail_cable => vec!["cable"],
        Rule::deviation_target | Rule::target_kind => Kind::TARGETS.map(Kind::statement).to_vec(),
        _ => Vec::new(),
    }
}

fn describe(context: Rule, rule: Rule, first: &str, last: &str) -> Option<String> {
    Some(match rule {
        Rule::sum | Rule::wrapped_sum | Rule::bracketed | Rule::number | Rule::value_name => {
            expected_quantity(context, first, last)
        }
        Rule::name | Rule::layer_material => "a name".into(),
        Rule::text => "a text in double quotes".into(),
        Rule::date => "a date such as `2026-11-25`".into(),
        Rule::count => "a wall's number".into(),
        Rule::run_number => "a run's number".into(),
        Rule::ip_code => "the two digits of an IP code, such as `X4`".into(),
        Rule::point => "a point such as `(1200, 300)`".into(),
        Rule::operator | Rule::sign | Rule::unit | Rule::EOI => return None,
        _ => return None,
    })
}

/// What quantity stands after the word `last` of a statement that starts with `first`.
fn expected_quantity(context: Rule, first: &str, last: &str) -> String {
    match expected_dimension(context, first, last) {
        None => "a quantity such as `75 mm`".into(),
        Some(Dimension::NUMBER) if first == "north" => "an angle such as `30 deg`".into(),
        Some(Dimension::NUMBER) if first == "tolerance" => "a share such as `-5 %`".into(),
        Some(Dimension::NUMBER) if first == "before" => "a share such as `1.5 %`".into(),
        Some(Dimension::NUMBER) => "a count such as `12`".into(),
        Some(dimension) => dimension.describe_with_example(),
    }
}

/// The dimension of what stands after the word `last` of a statement that starts with `first`; none where it may have any.
pub fn expected_dimension(context: Rule, first: &str, last: &str) -> Option<Dimension> {
    // In the row of a kit its column says.
    if context == Rule::kits_line && !words_of(context).contains(&first) {
        return None;
    }
    let reading = matches!(first, "delivered" | "laid" | "before-tiling" | "after-tiling" | "before-switching-on");
    Some(match (first, last) {
        ("let", _) => return None,
        ("north", _) | ("loops", "loops") => Dimension::NUMBER,
        (_, "before" | "grouped" | "cores" | "tolerance") => Dimension::NUMBER,
        (_, "rated" | "behind" | "rcd" | "breaker" | "fuse") => Dimension::CURRENT,
        ("output", "at") | (_, "voltage") => Dimension::VOLTAGE,
        (_, "at") if reading => Dimension::VOLTAGE,
        (_, "output" | "heat-loss") => Dimension::POWER,
        ("rug", "resistance") => Dimension::THERMAL_RESISTANCE,
        (_, "resistance" | "insulation") => Dimension::RESISTANCE,
        _ if reading => Dimension::RESISTANCE,
        (_, "inside" | "ambient" | "surface-limit" | "limit") | ("below", _) => Dimension::TEMPERATURE,
        (_, "conductivity") => Dimension::CONDUCTIVITY,
        (_, "heat-capacity") => Dimension::HEAT_CAPACITY,
        (_, "conductor") => Dimension::AREA,
        (_, "drying") | ("rcd-tested", _) => Dimension::TIME,
        _ => Dimension::LENGTH,
    })
}
