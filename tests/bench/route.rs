//! Lays cables in generated rooms and prints how it went, each figure beside what it is held to. `cargo bench --bench route` runs it;
//! `-- COUNT FIRST FOLDER` lays so many from a number on, and writes their plans; `-- COUNT FIRST FOLDER SECONDS` lets each take as long.
//! `--worst FOLDER` anywhere among that draws the worst ten: those that are not laid, then those that are heated the least.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, dead_code)]

mod rooms_to_lay;
mod varied;

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::time::{Duration, Instant};

use layrule::measure::areas::Margins;
use layrule::route::{Asked, Outcome, Setting, route};
use layrule::rules::packs::{RuleSet, built_in};
use rayon::prelude::*;
use rooms_to_lay::{read, room};

/// What the heated share is reckoned with, mm.
const MARGINS: Margins = Margins { clearance: 50.0, free_height: 60.0 };
/// How long two runs lie alongside each other where their spacing counts, mm.
const ALONGSIDE: f64 = 300.0;
/// What a room may take, as the program lets it by default.
const MOST_TIME: Duration = Duration::from_secs(2);

/// How laying one room went.
struct Done {
    number: u64,
    shape: &'static str,
    took: f64,
    /// Share of the free floor heated, and the greatest spacing over the least; or why it isn't laid.
    outcome: Result<(f64, f64), String>,
    text: String,
}

fn main() {
    let mut given: Vec<String> = std::env::args().skip(1).filter(|word| word != "--bench").collect();
    let worst = given.iter().position(|word| word == "--worst").map(|at| {
        given.remove(at);
        assert!(at < given.len(), "--worst takes a folder");
        PathBuf::from(given.remove(at))
    });
    let number = |at: usize, usual: u64| given.get(at).map_or(usual, |word| word.parse().expect("a number"));
    let (count, first) = (number(0, 1000), number(1, 0));
    let rules = RuleSet::build(built_in()).expect("the built-in packs are sound");
    let most = given.get(3).map_or(MOST_TIME, |word| Duration::from_secs_f64(word.parse().expect("seconds")));
    let done: Vec<Done> = (first..first + count).into_par_iter().map(|number| lay(number, &rules, most)).collect();
    if let Some(folder) = given.get(2).map(PathBuf::from) {
        std::fs::create_dir_all(&folder).expect("a folder");
        for one in &done {
            let mark = if one.outcome.is_ok() { "" } else { "-not" };
            std::fs::write(folder.join(format!("room-{}{mark}.lay", one.number)), &one.text).expect("a plan");
        }
    }
    print(&done);
    let worst_ten = worst_of(&done);
    for one in &worst_ten {
        let heated = |(share, uneven): &(f64, f64)| {
            format!("{:.1} % heated, greatest spacing over least {uneven:.2}", share * 100.0)
        };
        let told = one.outcome.as_ref().map_or("not laid".into(), heated);
        println!("worst                   room {}: {told}", one.number);
    }
    if let Some(folder) = worst {
        draw(&worst_ten, &folder, &rules);
    }
}

/// How many are the worst.
const WORST: usize = 10;

/// Those that aren't laid, then those that are heated the least.
fn worst_of(done: &[Done]) -> Vec<&Done> {
    let share = |one: &Done| one.outcome.as_ref().map_or(-1.0, |(share, _)| *share);
    let mut all: Vec<&Done> = done.iter().collect();
    all.sort_by(|a, b| share(a).total_cmp(&share(b)).then(a.number.cmp(&b.number)));
    all.truncate(WORST);
    all
}

/// Draws what is laid, or the nearest that was found, with what the rules find in it.
#[cfg(feature = "draw")]
fn draw(done: &[&Done], folder: &std::path::Path, rules: &RuleSet) {
    use layrule::draw::{Request, draw};
    std::fs::create_dir_all(folder).expect("a folder");
    for one in done {
        let measured = read(&one.text);
        let report = layrule::checker::untried(&measured, rules, jiff::civil::date(2026, 11, 25));
        let request = Request { findings: true, ..Request::new(&report.findings) };
        let room = measured.rooms().next().expect("a room");
        std::fs::write(folder.join(format!("room-{}.svg", one.number)), draw(room, &request).svg).expect("a drawing");
    }
}

#[cfg(not(feature = "draw"))]
fn draw(_: &[&Done], _: &std::path::Path, _: &RuleSet) {
    println!("drawings take the feature `draw`");
}

fn lay(number: u64, rules: &RuleSet, most: Duration) -> Done {
    let to_lay = room(number);
    let setting = Setting { read: &read, rules, today: jiff::civil::date(2026, 11, 25), stop: &|| false };
    let (started, busy) = (Instant::now(), on_the_processor());
    let asked = Asked::by(started + most);
    let routed = route(&to_lay.text, &asked, &setting);
    let took = (on_the_processor() - busy) * 1e3;
    let (outcome, text) = match routed.rooms.into_iter().next() {
        Some((_, Outcome::Laid(_))) => (Ok(figures(&routed.text)), routed.text),
        Some((_, Outcome::Stopped(stop))) => (Err(stop.reason), stop.nearest.unwrap_or(to_lay.text)),
        None => (Err("nothing to lay".into()), to_lay.text),
    };
    Done { number, shape: to_lay.shape, took, outcome, text }
}

/// How long this thread has been on a processor, s: what else the machine does counts for nothing. Linux tells it.
fn on_the_processor() -> f64 {
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").unwrap_or_default();
    told.split(' ').next().and_then(|nanoseconds| nanoseconds.parse::<f64>().ok()).map_or(f64::NAN, |time| time / 1e9)
}

fn figures(text: &str) -> (f64, f64) {
    let measured = read(text);
    let room = measured.rooms().next().expect("a room");
    let share = room.heated_area(MARGINS).zip(room.free_area(MARGINS)).map_or(0.0, |(heated, free)| heated / free);
    let spacings = room.spacings(ALONGSIDE);
    let apart = spacings.as_ref().as_ref().map_or(&[][..], |pairs| &pairs.found);
    let (least, most) = apart
        .iter()
        .fold((f64::INFINITY, 0.0_f64), |(least, most), pair| (least.min(pair.distance), most.max(pair.distance)));
    (share, if most > 0.0 { most / least } else { 1.0 })
}

fn print(done: &[Done]) {
    let laid: Vec<(f64, f64)> = done.iter().filter_map(|one| one.outcome.as_ref().ok().copied()).collect();
    let at = |values: &mut Vec<f64>, share: f64| {
        values.sort_by(f64::total_cmp);
        values.get(((values.len() as f64 - 1.0).max(0.0) * share) as usize).copied().unwrap_or(f64::NAN)
    };
    let told = |what: &str, value: String, asked: &str| println!("{what:24}{value:44}{asked}");
    let share = |count: usize, of: usize| 100.0 * count as f64 / of.max(1) as f64;
    let all = done.len();
    told("", String::new(), "asked for");
    let clean = format!("{} of {all}, {:.1} %", laid.len(), share(laid.len(), all));
    told("laid clean", clean, "at least 97 %");
    let most = MOST_TIME.as_secs_f64();
    let soon = done.iter().filter(|one| one.outcome.is_ok() && one.took <= most * 1e3).count();
    told(&format!("within {most:.0} s of work"), format!("{:.1} %", share(soon, all)), "");
    let mut shares: Vec<f64> = laid.iter().map(|(share, _)| share * 100.0).collect();
    let heated = format!("median {:.1} %, 5th percentile {:.1} %", at(&mut shares, 0.5), at(&mut shares, 0.05));
    told("heated share", heated, "93 %, 85 %");
    let even = laid.iter().filter(|(_, ratio)| *ratio <= 1.3).count();
    told("spacings within 1.3", format!("{:.1} %", share(even, laid.len())), "at least 95 %");
    let mut times: Vec<f64> = done.iter().map(|one| one.took).collect();
    let [median, late, longest] = [0.5, 0.95, 1.0].map(|share| at(&mut times, share));
    let time = format!("median {median:.0} ms, 95 % {late:.0} ms, at most {longest:.0} ms");
    told("time of a room", time, "median 50 ms, at most 2000 ms");
    let mut shapes: BTreeMap<&str, (usize, usize)> = BTreeMap::new();
    let mut reasons: BTreeMap<String, Vec<u64>> = BTreeMap::new();
    for one in done {
        let (laid, all) = shapes.entry(one.shape).or_default();
        (*laid, *all) = (*laid + usize::from(one.outcome.is_ok()), *all + 1);
        if let Err(reason) = &one.outcome {
            let kind =
                reason.split(": ").next().unwrap_or(reason).chars().filter(|letter| !letter.is_ascii_digit()).collect();
            reasons.entry(kind).or_default().push(one.number);
        }
    }
    for (shape, (laid, all)) in shapes {
        println!("  {shape:22}{laid} of {all}");
    }
    let mut reasons: Vec<_> = reasons.into_iter().collect();
    reasons.sort_by_key(|(_, numbers)| std::cmp::Reverse(numbers.len()));
    for (reason, numbers) in reasons {
        println!("{:5}  {reason}: {numbers:?}", numbers.len());
    }
    for one in done {
        let Err(reason) = &one.outcome else { continue };
        println!("not laid                room {}: {reason}", one.number);
    }
}
