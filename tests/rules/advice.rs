//! Advice that works when followed: on plans made to be faulty in many ways, each remedy and each advice that gives a figure clears its finding
//! and brings no other. `LAYRULE_ADVICE_PLANS` asks for another number of plans, or for those from one number up to another (`3000..6000`).

use std::collections::BTreeMap;
use std::fmt::Write as _;

use fancy_regex::{Captures, Regex};
use layrule::checker::Report;
use layrule::checker::mend::{apply, mend};
use layrule::finding::Finding;
use layrule::measure::plan::Measured;

use crate::common::{self, check, untried};
use crate::varied::{self, Numbers};

/// What tells a finding from others: its rule, its room, and what it is about.
type Told = (String, Option<String>, Vec<String>);

fn told(finding: &Finding) -> Told {
    let about = finding.subjects.iter().map(|subject| format!("{} {}", subject.kind.statement(), subject.name));
    (finding.rule.to_string(), finding.room.clone(), about.collect())
}

fn counted(report: &Report) -> BTreeMap<Told, usize> {
    let mut counts = BTreeMap::new();
    report.findings.iter().for_each(|finding| *counts.entry(told(finding)).or_default() += 1);
    counts
}

/// What is wrong with a plan after a change that should have settled a finding: that it hasn't, or what is new.
fn not_settled(finding: &Finding, before: &Report, after: &Report) -> Option<String> {
    let (known, then) = (counted(before), counted(after));
    let of = |counts: &BTreeMap<Told, usize>, told: &Told| counts.get(told).copied().unwrap_or_default();
    let own = told(finding);
    if of(&then, &own) >= of(&known, &own) {
        return Some(format!("{} is still found", finding.rule));
    }
    let new = then.iter().find(|(told, count)| **count > of(&known, told));
    new.map(|(told, _)| {
        let message = after.findings.iter().find(|other| self::told(other) == *told).map(|other| &other.message);
        format!("{told:?} is new: {message:?}")
    })
}

// ---- plans that are faulty in many ways

/// A cable laid in rows: where it starts, the lengths of its rows, and its statements.
struct Block {
    start: (f64, f64),
    lines: Vec<String>,
    output: f64,
}

/// Rows from the south of a strip of floor to its north, as somebody might lay them who measures badly.
fn block(numbers: &mut Numbers, (west, east): (f64, f64), (south, north): (f64, f64), from_east: bool) -> Block {
    let margin = if numbers.below(4) == 0 { numbers.between(30.0, 110.0) } else { numbers.between(50.0, 70.0) };
    let pitch = if numbers.below(4) == 0 { numbers.between(38.0, 160.0) } else { numbers.between(75.0, 115.0) };
    let length = east - west - 2.0 * margin;
    let most = ((north - south - 2.0 * margin) / pitch).floor() + 1.0;
    let count = (most - if numbers.below(3) == 0 { numbers.between(0.0, 6.0) } else { 0.0 }).max(4.0);
    let heading = |row: f64| if (row as u64).is_multiple_of(2) == from_east { "west" } else { "east" };
    let mut lines = vec![];
    let split = if numbers.below(4) == 0 { (count / 2.0).floor() } else { count };
    lines.push(format!("    loops  {split} of {length} {}, stepping {pitch} north", heading(0.0)));
    if split < count {
        // The other half lies otherwise, in the room that is left.
        let other = (pitch * [0.7, 1.0, 1.35][numbers.below(3) as usize]).round();
        let left = (((north - south - 2.0 * margin) - (split - 1.0) * pitch) / other).floor();
        if left >= 3.0 {
            lines.push(format!("    run    north {other}"));
            lines.push(format!("    loops  {left} of {length} {}, stepping {other} north", heading(split)));
        }
    } else if numbers.below(3) == 0 {
        lines.push(format!("    run    north {pitch}"));
        lines.push(format!("    run    {} {}", heading(count), numbers.between(150.0, length)));
    }
    let start = (if from_east { east - margin } else { west + margin }, south + margin);
    Block { start, lines, output: numbers.between(80.0, 170.0) }
}

/// A faulty plan by its number.
fn faulty(number: usize) -> String {
    let numbers = &mut Numbers(0x5eed + number as u64);
    let (width, depth) = (numbers.between(1600.0, 3400.0), numbers.between(1300.0, 2800.0));
    let from_east = numbers.below(2) == 0;
    let wall = if from_east { width } else { 0.0 };
    let mut outline = format!("(0, 0) ({width}, 0) ({width}, {depth}) (0, {depth})");
    let mut things = String::new();
    let mut ends = (0.0, width);
    let mut tops = (0.0, depth);
    match number % 8 {
        1 => {
            // A corner cut off, where nothing is laid at first.
            let (x, y) = ((width * 0.6).round(), (depth * 0.7).round());
            outline = format!("(0, 0) ({width}, 0) ({width}, {y}) ({x}, {y}) ({x}, {depth}) (0, {depth})");
            tops.1 = y;
        }
        2 => {
            let slant = numbers.between(60.0, 300.0);
            match from_east {
                true => outline = format!("(0, 0) ({width}, 0) ({width}, {depth}) ({slant}, {depth})"),
                false => {
                    outline = format!("(0, 0) ({width}, 0) ({}, {depth}) (0, {depth})", width - slant);
                }
            }
            ends = if from_east { (slant, width) } else { (0.0, width - slant) };
        }
        3 => {
            let deep = numbers.between(250.0, 450.0);
            let _ = writeln!(things, "  fixture  shelf unit rect (0, {}) ({width}, {depth})", depth - deep);
            tops.1 = depth - deep;
        }
        4 => {
            let (x, y) = (numbers.between(300.0, width - 300.0), numbers.between(200.0, depth - 200.0));
            let _ = writeln!(things, "  drill    stop circle ({x}, {y}) radius 40");
        }
        5 => {
            let y = depth - numbers.between(60.0, 160.0);
            let _ = writeln!(things, "  pipe     flow hot (0, {y}) ({width}, {y})");
        }
        _ => {}
    }
    let mut blocks = Vec::new();
    if number % 8 == 6 {
        let middle = (depth / 2.0).round();
        let apart = numbers.between(-30.0, 60.0);
        blocks.push(block(numbers, ends, (0.0, middle), from_east));
        blocks.push(block(numbers, ends, (middle + apart, depth), from_east));
    } else {
        blocks.push(block(numbers, ends, tops, from_east));
    }
    let bend = numbers.between(20.0, 45.0);
    let tail = if numbers.below(5) == 0 { 0.4 } else { 3.0 };
    let written = |kits: &[f64]| {
        let mut text = String::from("# A room of Harrow Mill.\n");
        for ((index, block), length) in blocks.iter().enumerate().zip(kits) {
            let _ = writeln!(
                text,
                "kit own-c{index} {{\n  output {:.1} W at 230 V\n  length {length} mm\n  diameter 6 mm\n  bend-radius {bend} mm\n  tail {tail} m\n  screen earthed\n}}",
                length * block.output / 10_000.0
            );
        }
        text
    };
    let mut rest = String::from("\nsupply spur {\n  voltage    230 V\n  rcd        30 mA\n");
    let _ = writeln!(rest, "  breaker    {} A", [6, 6, 10, 16][numbers.below(4) as usize]);
    let _ = writeln!(
        rest,
        "  conductor  {} mm2 copper, {} m, method C\n}}\n",
        [1.0, 1.5, 2.5][numbers.below(3) as usize],
        numbers.between(8.0, 60.0)
    );
    let _ = writeln!(rest, "room r {{\n  outline  {outline}\n{things}");
    let (thick, height) = (numbers.between(6.0, 14.0), if numbers.below(6) == 0 { 1.0 } else { 3.0 });
    let insulated = numbers.between(0.0, 30.0);
    let board = if insulated >= 3.0 { format!("    board      {insulated} mm insulation\n") } else { String::new() };
    if numbers.below(2) == 0 {
        let _ = writeln!(
            rest,
            "  floor concrete {{\n    tile       10 mm porcelain\n    adhesive   {thick} mm cable at {height} mm\n{board}    concrete  150 mm\n  }}"
        );
    } else {
        let _ = writeln!(
            rest,
            "  floor timber {{\n    tile       10 mm porcelain\n    adhesive   {thick} mm cable at {height} mm\n{board}    backer     10 mm cement-board\n    plywood    18 mm\n  }}"
        );
    }
    let _ = writeln!(
        rest,
        "  inside     20 degC\n  below      room {} degC\n  heat-loss  {} W",
        numbers.between(5.0, 20.0),
        numbers.between(60.0, 260.0)
    );
    let first = &blocks[0];
    let at = numbers.between(first.start.1 + 60.0, first.start.1 + 700.0);
    let _ = writeln!(rest, "  junction   j ({wall}, 40) height 300");
    let _ = writeln!(rest, "  thermostat t ({wall}, {at}) height 1200 rated {} A on spur", numbers.between(1.0, 16.0));
    for (index, Block { start: (x, y), lines, .. }) in blocks.iter().enumerate() {
        let _ = writeln!(
            rest,
            "  cable c{index} {{\n    kit    own-c{index}\n    tail   j ({wall}, {y}) ({x}, {y})\n    start  ({x}, {y})"
        );
        lines.iter().for_each(|line| rest.push_str(&format!("{line}\n")));
        rest.push_str("  }\n");
    }
    let inwards = if from_east { -1.0 } else { 1.0 };
    let tip = wall + inwards * numbers.between(250.0, 900.0);
    let aside = if numbers.below(3) == 0 { numbers.between(-60.0, 60.0) } else { 0.0 };
    let _ = writeln!(
        rest,
        "  sensor s from t ({wall}, {at}) ({tip}, {}) lead {} m\n}}",
        at + aside,
        numbers.between(1.0, 4.0)
    );
    // The kits are as long as what is drawn, or as somebody guessed.
    let plan = common::plan(&format!("{}{rest}", written(&vec![1000.0; blocks.len()])));
    let measured = Measured::new(plan);
    let room = measured.room(0).unwrap_or_else(|| panic!("no room\n{rest}"));
    let lengths: Vec<f64> = (0..room.room.cables.len())
        .map(|cable| {
            let laid = room.laid_length(cable, bend);
            if numbers.below(2) == 0 { laid.round() } else { numbers.between(laid * 0.75, laid * 1.3) }
        })
        .collect();
    assert_eq!(lengths.len(), blocks.len(), "{rest}");
    format!("{}{rest}", written(&lengths))
}

// ---- following advice as its words say

/// What is left of an advice, and of a plan's text, once what it says has been done.
struct Following {
    text: String,
    rest: String,
    done: usize,
}

impl Following {
    /// Does what a phrase says, as often as it stands there; the phrase is taken out.
    fn each(&mut self, pattern: &str, does: impl Fn(&str, &Captures<'_, str>) -> String) {
        let regex = Regex::new(pattern).expect("a pattern");
        loop {
            let rest = self.rest.clone();
            let Some(found) = regex.captures(rest.as_str()).expect("it ends") else { break };
            self.text = does(&self.text, &found);
            let whole = found.get(0).expect("all of it").range();
            self.rest.replace_range(whole, "");
            self.done += 1;
        }
    }
}

fn group(found: &Captures<'_, str>, number: usize) -> String {
    found.get(number).map_or(String::new(), |part| part.as_str().to_string())
}

/// A text with the first line that `wanted` picks written anew; lines after it up to one that ends a block are left out where asked.
fn with_line(text: &str, wanted: impl Fn(&str) -> bool, anew: impl Fn(&str) -> String) -> String {
    let mut done = false;
    let lines = text.lines().map(|line| {
        let picked = !done && wanted(line);
        done |= picked;
        if picked { anew(line) } else { line.to_string() }
    });
    let lines: Vec<String> = lines.collect();
    assert!(done, "no such line in\n{text}");
    lines.join("\n") + "\n"
}

/// The number after a word of a line replaced.
fn with_number(line: &str, after: &str, number: &str) -> String {
    let regex = Regex::new(&format!(r"({after}\s+)[\d.]+")).expect("a pattern");
    regex.replace(line, format!("${{1}}{number}")).into_owned()
}

/// A cable's kit taken to be another, with as much power per length.
fn with_kit(text: &str, cable: &str, length: f64) -> String {
    let block = text.find(&format!("kit own-{cable} {{")).expect("its kit");
    let (before, after) = text.split_at(block);
    let of = |what: &str| -> f64 {
        let at = after.find(what).expect("a line") + what.len();
        after[at..].split_whitespace().next().and_then(|number| number.parse().ok()).expect("a number")
    };
    let (output, now) = (of("output"), of("length"));
    let after = with_line(
        after,
        |line| line.contains("output"),
        |line| with_number(line, "output", &format!("{:.3}", output * length / now)),
    );
    let after =
        with_line(&after, |line| line.contains("length"), |line| with_number(line, "length", &length.to_string()));
    format!("{before}{after}")
}

/// A cable's loops, from the first on, laid as an advice says.
fn with_loops(text: &str, cable: &str, found: &Captures<'_, str>, from: usize) -> String {
    let block = text.find(&format!("  cable {cable} {{")).expect("the cable");
    let loops = block + text[block..].find("    loops").expect("its loops");
    let end = loops + text[loops..].find("  }\n").expect("its end");
    let part = |number: usize| group(found, from + number);
    let mut lines = format!("    loops {} of {} {}, stepping {} {}\n", part(0), part(1), part(2), part(3), part(4));
    if !part(5).is_empty() {
        let _ = write!(lines, "    run {} {}\n    run {} {}\n", part(4), part(3), part(6), part(5));
    }
    format!("{}{lines}{}", &text[..loops], &text[end..])
}

const LOOPS: &str = r"in (\d+) loops of ([\d.]+) (\w+), stepping ([\d.]+) (\w+)(?:, and a last run of ([\d.]+) (\w+))?";

/// A plan after what an advice says; nothing where it names no figure.
///
/// # Panics
/// Where it gives a figure that nothing here knows how to follow.
fn followed(text: &str, finding: &Finding) -> Option<String> {
    let mut all = Following { text: text.to_string(), rest: finding.advice.clone()?, done: 0 };
    all.each(&format!(r"choose a kit of ([\d.]+) m for cable `([^`]+)` and lay it {LOOPS}"), |text, found| {
        let length = group(found, 1).parse::<f64>().expect("a length") * 1e3;
        with_loops(&with_kit(text, &group(found, 2), length), &group(found, 2), found, 3)
    });
    all.each(r"choose a kit of ([\d.]+) m for cable `([^`]+)`", |text, found| {
        with_kit(text, &group(found, 2), group(found, 1).parse::<f64>().expect("a length") * 1e3)
    });
    all.each(&format!(r"lay cable `([^`]+)` {LOOPS}"), |text, found| with_loops(text, &group(found, 1), found, 2));
    all.each(r"lead the conduit of sensor `([^`]+)` along ((?:\([-\d., ]+\) ?)+)", |text, found| {
        let points = Regex::new(r"(from \w+ )[-\d.,() ]+").expect("a pattern");
        let own = format!("  sensor {} ", group(found, 1));
        with_line(
            text,
            |line| line.starts_with(&own),
            |line| points.replace(line, format!("${{1}}{} ", group(found, 2).trim())).into_owned(),
        )
    });
    all.each(r"put the tip of sensor `([^`]+)` at (\([-\d., ]+\))", |text, found| {
        let own = format!("  sensor {} ", group(found, 1));
        with_line(
            text,
            |line| line.starts_with(&own),
            |line| {
                let (open, close) = (line.rfind('(').expect("a point"), line.rfind(')').expect("a point"));
                format!("{}{}{}", &line[..open], group(found, 2), &line[close + 1..])
            },
        )
    });
    all.each(r"lay ([\d.]+) mm of insulating board under the cable", |text, found| {
        let board = format!("\n    board {} mm", group(found, 1));
        with_line(text, |line| line.contains(" cable at "), |line| format!("{line}{board}"))
    });
    all.each(r"rated (\d+) A or more(?:, or let it work a contactor of that rating)?", |text, found| {
        let rated =
            |line: &str| line.trim_start().starts_with("thermostat") || line.trim_start().starts_with("contactor");
        with_line(
            text,
            |line| rated(line) && line.contains("rated"),
            |line| with_number(line, "rated", &group(found, 1)),
        )
    });
    all.each(r"a cable of ([\d.]+ m+) or more", |text, found| {
        let lead = Regex::new(r"lead [\d.]+ m+").expect("a pattern");
        with_line(
            text,
            |line| line.starts_with("  sensor"),
            |line| lead.replace(line, format!("lead {}", group(found, 1))).into_owned(),
        )
    });
    all.each(r"(?:choose|with) a breaker of ([\d.]+) A", |text, found| {
        with_line(text, |line| line.contains(" breaker "), |line| with_number(line, "breaker", &group(found, 1)))
    });
    all.each(r"(?:choose|and) a conductor of ([\d.]+) mm²", |text, found| {
        with_line(text, |line| line.contains(" conductor "), |line| with_number(line, "conductor", &group(found, 1)))
    });
    all.each(
        r"make `(\w+)` ([\d.]+) mm thick, with the cable's centre ([\d.]+) mm over its underside",
        |text, found| {
            let own = format!("    {} ", group(found, 1));
            with_line(
                text,
                |line| line.starts_with(&own),
                |line| with_number(&with_number(line, &group(found, 1), &group(found, 2)), "at", &group(found, 3)),
            )
        },
    );
    all.each(r"let the cable's centre lie ([\d.]+) mm over the underside of `\w+`", |text, found| {
        with_line(text, |line| line.contains(" cable at "), |line| with_number(line, "at", &group(found, 1)))
    });
    // A run is moved, or stepped wider, as the change to the text that goes with it says.
    let by_change =
        r"move run \d+ of cable `[^`]+` by [\d.]+ mm|step these loops by [\d.]+ m+|take out the deviation from `[^`]+`";
    if let Some(fix) = finding.fix.as_ref() {
        let changed = apply(text, &fix.edits).expect("they fit");
        all.each(by_change, |_, _| changed.clone());
    }
    // What is left may name limits, and things by their names and numbers.
    let named = Regex::new(r"`[^`]*`|(?:run|wall|clause|table) \d+").expect("a pattern");
    let mut rest = named.replace_all(&all.rest, "").into_owned();
    for limit in finding.figures.iter().filter(|figure| figure.limit) {
        rest = rest.replace(&limit.text, "");
    }
    assert!(!rest.chars().any(|c| c.is_ascii_digit()), "{}: {:?} is left of {:?}", finding.rule, rest, finding.advice);
    (all.done > 0).then_some(all.text)
}

/// How many findings of each rule had advice that could be followed.
type Tally = BTreeMap<String, usize>;

/// Follows all that the findings of a plan advise, each by itself, and tells of what went wrong.
fn hold_to_its_word(name: &str, text: &str, tally: &mut Tally) -> Vec<String> {
    let before = check(text);
    let mut wrong = Vec::new();
    for finding in &before.findings {
        assert!(finding.offers.is_empty());
        let mut afters = Vec::new();
        if let Some(fix) = &finding.fix {
            afters.push(apply(text, &fix.edits).expect("they fit"));
            let said = finding.advice.as_deref().unwrap_or_default();
            assert!(said.contains(&fix.title), "{name}: {said:?} says nothing of {:?}", fix.title);
        }
        afters.extend(followed(text, finding).filter(|after| !afters.contains(after)));
        if !afters.is_empty() {
            *tally.entry(finding.rule.to_string()).or_default() += 1;
        }
        wrong.extend(afters.into_iter().filter_map(|after| {
            let why = not_settled(finding, &before, &check(&after))?;
            Some(format!("{name}: {why}\n{}: {:?}\n{text}\n{after}", finding.message, finding.advice))
        }));
    }
    wrong
}

/// All remedies of a plan made one after the other, as `check --apply` does, leave no finding of another kind and none that could be settled.
fn hold_to_the_end(name: &str, text: &str) -> Vec<String> {
    let before = untried(text);
    let mended = mend(text, &before, untried);
    let after = check(&mended.text);
    let (known, then) = (counted(&before), counted(&after));
    let more = then.iter().find(|(told, count)| **count > known.get(*told).copied().unwrap_or_default());
    let left = after.findings.iter().find(|finding| finding.fix.is_some());
    let idle = !mended.made.is_empty() && after.findings.len() >= before.findings.len();
    let wrong = more.is_some() || left.is_some() || idle;
    let told = || format!("{name}: {more:?} {left:?} {:?}\n{text}\n{}", mended.made, mended.text);
    if wrong { vec![told()] } else { Vec::new() }
}

/// Fails on the first of what went wrong, and says of the others in a line what they are.
fn all_well(wrong: &[String]) {
    let others: Vec<String> = wrong.iter().map(|one| one.lines().take(2).collect::<Vec<_>>().join(" | ")).collect();
    assert!(wrong.is_empty(), "{}\n{}", others.join("\n"), wrong[0]);
}

fn plans(usual: usize) -> std::ops::Range<usize> {
    let asked = std::env::var("LAYRULE_ADVICE_PLANS").unwrap_or_default();
    let (first, end) = asked.split_once("..").unwrap_or(("0", &asked));
    first.parse().unwrap_or(0)..end.parse().unwrap_or(usual)
}

#[test]
fn what_is_advised_settles_what_it_is_advised_for() {
    let mut tally = Tally::new();
    let each = plans(48).flat_map(|number| hold_to_its_word(&format!("faulty {number}"), &faulty(number), &mut tally));
    all_well(&each.collect::<Vec<_>>());
    let rules = [
        "laid-length",
        "kit-size",
        "wall-clearance",
        "even-spacing",
        "sensor-between-runs",
        "sensor-crossed",
        "sensor-depth",
    ];
    for rule in rules {
        assert!(tally.contains_key(rule), "nothing of {rule} was followed: {tally:?}");
    }
}

#[test]
fn what_is_advised_on_plans_as_they_vary_settles_what_it_is_advised_for() {
    let mut tally = Tally::new();
    let each =
        plans(36).flat_map(|number| hold_to_its_word(&format!("varied {number}"), &varied::plan(number), &mut tally));
    all_well(&each.collect::<Vec<_>>());
    assert!(!tally.is_empty());
}

#[test]
fn all_remedies_made_leave_nothing_worse_and_nothing_to_be_made() {
    // Of the last, hundreds of findings are offered the same ahead of the one that can be mended.
    let each = plans(24).chain([1645]);
    let each = each.flat_map(|number| hold_to_the_end(&format!("faulty {number}"), &faulty(number)));
    all_well(&each.collect::<Vec<_>>());
}
