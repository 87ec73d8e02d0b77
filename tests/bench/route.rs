//! Lays cables in generated rooms and prints how it went. `cargo bench --bench route` runs it; `-- COUNT FIRST FOLDER` lays so many from a number
//! on, and writes their plans; `-- COUNT FIRST FOLDER SECONDS` lets each take as long.

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
    let given: Vec<String> = std::env::args().skip(1).filter(|word| word != "--bench").collect();
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
    println!(
        "laid clean              {} of {}, {:.1} %",
        laid.len(),
        done.len(),
        100.0 * laid.len() as f64 / done.len() as f64
    );
    let soon = done.iter().filter(|one| one.outcome.is_ok() && one.took <= MOST_TIME.as_secs_f64() * 1e3).count();
    println!("within {:.0} s of work      {:.1} %", MOST_TIME.as_secs_f64(), 100.0 * soon as f64 / done.len() as f64);
    let mut shares: Vec<f64> = laid.iter().map(|(share, _)| share * 100.0).collect();
    println!(
        "heated share            median {:.1} %, 5th percentile {:.1} %",
        at(&mut shares, 0.5),
        at(&mut shares, 0.05)
    );
    let even = laid.iter().filter(|(_, ratio)| *ratio <= 1.3).count();
    println!("spacings within 1.3     {:.1} %", 100.0 * even as f64 / laid.len().max(1) as f64);
    let mut times: Vec<f64> = done.iter().map(|one| one.took).collect();
    println!(
        "time of a room          median {:.0} ms, 95th percentile {:.0} ms, at most {:.0} ms",
        at(&mut times, 0.5),
        at(&mut times, 0.95),
        at(&mut times, 1.0)
    );
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
        println!("{:5}  {reason}: {:?}", numbers.len(), &numbers[..numbers.len().min(10)]);
    }
    let mut worst: Vec<(u64, f64)> =
        done.iter().filter_map(|one| Some((one.number, one.outcome.as_ref().ok()?.0))).collect();
    worst.sort_by(|a, b| a.1.total_cmp(&b.1));
    worst
        .iter()
        .take(10)
        .for_each(|(number, share)| println!("least heated            room {number}, {:.1} %", share * 100.0));
}
