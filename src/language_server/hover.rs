//! What is shown of the thing under the pointer: what it measures, what it means, how it is written.

use std::path::Path;

use lsp_types::{Hover, HoverContents, HoverParams, MarkupContent, MarkupKind};

use super::documents::Language;
use super::forms::{told, told_within};
use super::occurrences::{self, Named, name_at};
use super::rule_in_short::{limit_line, plain, rule};
use super::workspace::{Analysis, Source, Workspace};
use crate::language::tokens::statement_start;
use crate::layout::names::{Kind, Occurrence};
use crate::layout::tree::Statement;
use crate::measure::index::RunId;
use crate::measure::nearest::nearest_run;
use crate::measure::room::RoomMeasure;
use crate::measure::temperature_map::Warmth;
use crate::model::Room;
use crate::model::materials::MATERIALS;
use crate::quantity::{Dimension, Quantity};
use crate::reference::{signature, squeeze};
use crate::rules::names::{Kind as RuleKind, Occurrence as RuleOccurrence};
use crate::rules::packs::RuleSet;
use crate::rules::value::{Type, Value};
use crate::rules::vocabulary;
use crate::source::{FileId, Place, Span};
use crate::takeoff::allowances::Allowances;
use crate::things::{InRoom, Item, KitId, Named as NamedThing, RoomId, WallId, World, show_place};
use crate::worded::Worded as _;

/// `textDocument/hover`.
///
/// # Errors
/// Never: what nothing is known of shows nothing.
pub fn hover(workspace: &mut Workspace, params: HoverParams) -> Result<Option<Hover>, String> {
    let at = params.text_document_position_params;
    let path = workspace.path_of(&at.text_document.uri);
    let Ok(source) = workspace.source(&path) else { return Ok(None) };
    let offset = source.text.offset(workspace.client.encoding, at.position);
    let language = workspace.language(&path);
    let named = name_at(language, &source, offset);
    let shown = match named {
        Some(Named::Layout(one)) => layout_name(workspace, &path, &one).map(|text| (text, one.span)),
        Some(Named::Rules(one)) => rule_name(workspace, &path, &one).map(|text| (text, one.span)),
        None => None,
    };
    let shown = match (shown, language) {
        (None, Some(Language::Layout)) => run(workspace, &path, offset).or_else(|| keyword(language, &source, offset)),
        (shown, _) => shown.or_else(|| keyword(language, &source, offset)),
    };
    Ok(shown.map(|(value, span)| Hover {
        contents: HoverContents::Markup(MarkupContent { kind: MarkupKind::Markdown, value }),
        range: Some(source.text.range(workspace.client.encoding, span)),
    }))
}

/// Names and values below a heading, as a block that shows them letter by letter.
fn table(heading: &str, rows: &[(String, String)]) -> String {
    let width = rows.iter().map(|(name, _)| name.chars().count()).max().unwrap_or(0);
    let mut text = format!("**{}**\n", plain(heading));
    if rows.is_empty() {
        return text;
    }
    text.push_str("\n```text\n");
    for (name, value) in rows {
        text.push_str(&format!("{name:width$}  {}\n", value.replace("```", "'''")));
    }
    text.push_str("```\n");
    text
}

/// Everything that a rule may ask of a thing without giving anything, as far as it is there.
fn fields(world: &World<'_>, item: Item) -> Vec<(String, String)> {
    let asked = vocabulary::fields().filter(|field| field.owner == item.kind() && field.parameters.is_empty());
    let rows = asked.filter_map(|field| {
        let value = match ((field.get)(world, item, &[]), field.gives) {
            (Value::Number(value), Type::Quantity(dimension)) => Quantity::new(value, dimension).show(0),
            (Value::Text(text), _) => text,
            (Value::Truth(truth), _) => if truth { "yes" } else { "no" }.to_string(),
            (Value::Place(at), _) => show_place(at),
            (Value::Item(item), _) => item.describe(world).replace('`', ""),
            _ => return None,
        };
        (!matches!(field.name, "name" | "number" | "cable")).then(|| (field.name.to_string(), value))
    });
    rows.collect()
}

fn layout_name(workspace: &mut Workspace, path: &Path, one: &Occurrence) -> Option<String> {
    match one.kind {
        Kind::Rule => {
            let rules = workspace.rules_for(path);
            return rule(&rules, &one.text);
        }
        Kind::File => return None,
        Kind::Material => {
            if let Some(text) = material(workspace, path, one) {
                return Some(text);
            }
        }
        _ => {}
    }
    let given = occurrences::given(workspace, path, &Named::Layout(one.clone())).into_iter().next()?;
    let room = enclosing_room(workspace, path, one);
    let analysis = workspace.analysis(path)?;
    let measured = match one.kind {
        Kind::Value => {
            let values = analysis.plan().values.iter();
            let at = |place: Place| place.span == given.1 && analysis.path(place.file).as_ref() == Some(&given.0);
            let value = values.into_iter().find(|value| at(value.name.place))?.value;
            let length = if value.dimension == Dimension::NUMBER { ", which as a length is in mm" } else { "" };
            Some(format!("**{}** = {}{length}\n", one.text, value.show(2)))
        }
        Kind::Kit => {
            let index = analysis.plan().kits.named(&one.text)?;
            let world = World::new(&analysis.measured, workspace.today());
            let kit = &analysis.plan().kits[index];
            let mut rows = fields(&world, Item::Kit(KitId(index)));
            if let Some((least, most)) = kit.tolerance {
                let band = |share: f64| Quantity::new(kit.resistance * (1.0 + share), Dimension::RESISTANCE).show(0);
                rows.push((
                    "tolerance".into(),
                    format!("{:+} % to {:+} %: {} to {}", percent(least), percent(most), band(least), band(most)),
                ));
            }
            let heading = kit.title.as_ref().map_or(String::new(), |title| format!(" \"{title}\""));
            Some(table(&format!("kit {}{heading}", one.text), &rows))
        }
        _ => item(&analysis, one, room).map(|item| {
            let world = World::new(&analysis.measured, workspace.today());
            let mut rows = fields(&world, item);
            if let Item::Room(RoomId(room)) = item {
                rows.extend(warmth(&world.rooms[room], &workspace.rules_for(path)));
            }
            table(&item.describe(&world).replace('`', ""), &rows)
        }),
    };
    // What there is no more to say of is shown as it is written.
    measured.or_else(|| written(workspace, one.kind, &given))
}

/// The warmest and the coolest place of a room's floor, as far as that can be told.
fn warmth(room: &RoomMeasure<'_>, rules: &RuleSet) -> Vec<(String, String)> {
    let (Ok(map), Ok(margins)) = (room.temperature_map(), Allowances::of(rules).margins) else { return Vec::new() };
    let free = room.free_cells(&map, margins.free_height);
    let places = [("warmest-surface", map.warmest(&free)), ("coolest-surface", map.coolest(&free))];
    let row = |(name, place): (&str, Option<Warmth>)| {
        let place = place?;
        let temperature = Quantity::new(place.temperature, Dimension::TEMPERATURE).show(0);
        Some((name.to_string(), format!("{temperature} at {}", show_place(place.at))))
    };
    places.into_iter().filter_map(row).collect()
}

fn percent(share: f64) -> f64 {
    (share * 1e4).round() / 1e2
}

/// The statement that gives a name, as it stands.
fn written(workspace: &mut Workspace, kind: Kind, (path, span): &(std::path::PathBuf, Span)) -> Option<String> {
    let source = workspace.source(path).ok()?;
    let text = source.read();
    let line_start = text[..span.range().start].rfind(['\n', '\r']).map_or(0, |end| end + 1);
    let line = text[line_start..].lines().next()?.trim();
    Some(format!("**{}**\n\n```text\n{}\n```\n", kind.word(), line.replace("```", "'''")))
}

fn material(workspace: &mut Workspace, path: &Path, one: &Occurrence) -> Option<String> {
    if !occurrences::given(workspace, path, &Named::Layout(one.clone())).is_empty() {
        return None;
    }
    let known = MATERIALS.iter().find(|material| material.name == one.text)?;
    let mut rows = vec![("conductivity".to_string(), format!("{} W/mK", known.conductivity))];
    rows.push(("heat-capacity".into(), format!("{} MJ/m³·K", known.heat_capacity)));
    rows.extend(known.kind.map(|kind| ("kind".to_string(), kind.word().to_string())));
    rows.push(("from".into(), known.source.into()));
    Some(table(&format!("material {}", known.name), &rows))
}

/// The name of the room that a name stands in.
fn enclosing_room(workspace: &mut Workspace, path: &Path, one: &Occurrence) -> Option<Span> {
    let source = workspace.source(path).ok()?;
    match source.layout().tree.statements.get(one.room?)? {
        Statement::Room(room) => Some(room.name.span),
        _ => None,
    }
}

/// What a name of a plan stands for among the things that rules know; `within` is the name of the room it stands in.
fn item(analysis: &Analysis, one: &Occurrence, within: Option<Span>) -> Option<Item> {
    let plan = analysis.plan();
    // A room that could not be resolved has no figures, nor has what stands in it.
    let wanted = if one.kind == Kind::Room { Some(one.span) } else { within };
    let is_it = |room: &Room| room.name.place.file == FileId(0) && Some(room.name.place.span) == wanted;
    let room = plan.rooms.iter().position(is_it).map(RoomId);
    Item::named(plan, room, NamedThing { kind: one.kind, text: &one.text })
}

/// The run, or the runs, that the statement at an offset lays.
fn run(workspace: &mut Workspace, path: &Path, offset: usize) -> Option<(String, Span)> {
    let analysis = workspace.analysis(path)?;
    let plan = analysis.plan();
    let holds = |place: Place| place.file == FileId(0) && place.span.start() <= offset && offset <= place.span.end();
    let (room, cable, runs) = plan.rooms.iter().enumerate().find_map(|(room, item)| {
        item.cables.iter().enumerate().find_map(|(cable, item)| {
            // Runs lie in the order of their statements.
            let first = item.runs.partition_point(|run| run.place.span.end() < offset);
            let count = item.runs[first..].iter().take_while(|run| holds(run.place)).count();
            (count > 0).then_some((room, cable, first..first + count))
        })
    })?;
    let world = World::new(&analysis.measured, workspace.today());
    let measured = &world.rooms[room];
    let own = &plan.rooms[room].cables[cable];
    let id = |run: usize| RunId::new(cable, run);
    let length = |value: f64| Quantity::new(value, Dimension::LENGTH).show(0);
    let describe = |item: Item| item.describe(&world).replace('`', "");
    let total: f64 = own.runs[runs.clone()].iter().map(crate::model::Run::length).sum();
    let whole: f64 = own.runs.iter().map(crate::model::Run::length).sum();
    let share = total / whole.max(f64::MIN_POSITIVE);
    let (heading, mut rows) = match runs.len() {
        1 => {
            let item = InRoom { room: RoomId(room), thing: id(runs.start) }.into();
            (describe(item), fields(&world, item))
        }
        count => {
            let heading = format!("runs {} to {} of cable {}", runs.start + 1, runs.end, own.name.text);
            let walls = runs.clone().map(|run| (run, measured.wall_distance(id(run))));
            let nearest = walls.min_by(|a, b| a.1.distance.total_cmp(&b.1.distance));
            let mut rows = vec![("runs".to_string(), count.to_string()), ("length".into(), length(total))];
            if let Some((run, wall)) = nearest {
                let nearest = describe(WallId { room: RoomId(room), index: wall.wall }.into());
                let text = format!("{} at the least, run {} to {nearest}", length(wall.distance), run + 1);
                rows.push(("wall-distance".into(), text));
            }
            (heading, rows)
        }
    };
    let others = runs.clone().filter_map(|run| Some((run, nearest_run(&measured.index(), id(run))?)));
    if let Some((run, (other, distance))) = others.min_by(|a, b| a.1.1.total_cmp(&b.1.1)) {
        let other = describe(InRoom { room: RoomId(room), thing: other }.into());
        let from = if runs.len() > 1 { format!("run {} to ", run + 1) } else { String::new() };
        rows.push(("nearest-run".into(), format!("{}, {from}{other}", length(distance))));
    }
    let part = format!("{:.1} % of its cable", share * 100.0);
    rows.push(match measured.power(own) {
        Some(power) => {
            let watts = |value: f64| Quantity::new(value, Dimension::POWER).show(0);
            ("heat".into(), format!("{} of {}, {part}", watts(power * share), watts(power)))
        }
        None => ("share".into(), part),
    });
    Some((table(&heading, &rows), own.runs[runs.start].place.span))
}

/// How the statement is written that a word of the language at an offset belongs to, and what it means.
fn keyword(language: Option<Language>, source: &Source, offset: usize) -> Option<(String, Span)> {
    let text = source.read();
    let holds = |span: Span| span.range().start <= offset && offset <= span.range().end;
    let token = source.tokens().iter().find(|token| holds(token.span))?;
    let at = token.span.range();
    let word = &text[at.clone()];
    let start = statement_start(text, source.tokens(), at.end);
    if start == at.start {
        return Some((told(language?, source, at.start, word)?, token.span));
    }
    let first = source.tokens().iter().find(|token| token.span.start() == start)?;
    Some((told_within(language?, source, (start, &text[first.span.range()]), word)?, token.span))
}

fn rule_name(workspace: &mut Workspace, path: &Path, one: &RuleOccurrence) -> Option<String> {
    let rules = workspace.rules_for(path);
    match one.kind {
        RuleKind::Rule => rule(&rules, &one.text),
        RuleKind::Limit => {
            let rule = rules.rule(one.rule.as_deref()?)?;
            rule.limits.iter().find(|limit| limit.name == one.text).map(limit_line)
        }
        RuleKind::Local => Some(match one.gives {
            Some(kind) => format!("**{}**: {}\n", one.text, kind.describe()),
            None => format!("**{}**\n", one.text),
        }),
        RuleKind::Collection => vocabulary::collection(&one.text).map(|collection| {
            let signature = signature(collection.name, collection.parameters);
            format!("**{signature}**: each a {}\n\n{}\n", collection.of.word(), squeeze(collection.meaning))
        }),
        RuleKind::Field(owner) => vocabulary::field(owner, &one.text).map(|field| {
            let signature = signature(field.name, field.parameters);
            format!("**{signature}** of a {}: {}\n\n{}\n", owner.word(), field.gives.describe(), squeeze(field.meaning))
        }),
    }
}
