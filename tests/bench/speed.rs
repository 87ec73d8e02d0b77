//! How fast the check is, as ratios. `cargo bench --bench speed` runs it; `-- --plans 1000` takes fewer plans, and `--python PATH`
//! names a Python that has Shapely (`tests/reference/requirements.txt`), without which that comparison is left out. `--write FOLDER`,
//! `--write-varied FOLDER` and `--write-crowded FOLDER` write plans for instructions to be counted over.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod crowded;
mod varied;

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

use layrule::checker;
use layrule::geometry::{Piece, Point};
use layrule::layout::grammar::{LayoutParser, Rule};
use layrule::measure::heat::{Below, Slab, SlabLayer};
use layrule::measure::temperature_map::{Line, TemperatureMap};
use layrule::model::load::Library;
use layrule::rules::packs::{RuleSet, built_in};
use layrule::source::Disk;
use pest::Parser as _;

const TODAY: jiff::civil::Date = jiff::civil::date(2026, 11, 25);

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).filter(|argument| argument != "--bench").collect();
    let value =
        |name: &str| arguments.iter().position(|argument| argument == name).and_then(|at| arguments.get(at + 1));
    if let Some(folder) = value("--write") {
        return write_plans(Path::new(folder), 300);
    }
    if let Some(folder) = value("--write-varied") {
        return write_varied(Path::new(folder), 300);
    }
    if let Some(folder) = value("--write-crowded") {
        return write_crowded(Path::new(folder));
    }
    if let Some(file) = value("--one-cable") {
        return one_cable(Path::new(file));
    }
    let plans = value("--plans").map_or(10_000, |count| count.parse().expect("a count of plans"));
    let folder = tempfile::tempdir().expect("a folder for the plans");
    let (rectangular, varied) = (folder.path().join("rectangular"), folder.path().join("varied"));
    write_plans(&rectangular, plans);
    write_varied(&varied.join("plans"), plans.min(300));
    let python = value("--python").map_or("python3", String::as_str);
    for (set, folder, plans) in [("rectangular", &rectangular, plans), ("varied", &varied, plans.min(300))] {
        println!("{plans} {set} plans");
        folder_of_plans(folder, plans);
        against_shapely(folder, plans, python);
    }
    let folder = rectangular;
    one_plan(&folder);
    cables(&folder);
    crowds();
    temperature_map();
}

/// A plan of the usual size, its runs spelled out, varied by its number.
fn plan(number: usize) -> String {
    let mut text = String::from(
        "# A room of Harrow Mill.\nuse \"kits.lay\"\n\nsupply flat {\n  voltage    230 V\n  rcd        30 mA\n  breaker    16 A\n  conductor  2.5 mm2 copper, 14 m, method C\n}\n\n",
    );
    let kind = number % KITS;
    let (width, pitch) = (run_length(kind), 75);
    let depth = 200 + (LOOPS - 1) * pitch;
    let _ = writeln!(text, "room r{number} \"Room {number}\" {{");
    let _ = writeln!(text, "  outline  (0, 0) ({}, 0) ({0}, {depth}) (0, {depth})", width + 800);
    let _ = writeln!(text, "  door     d wall 3 from 200 to 900");
    let _ = writeln!(text, "  fixture  unit rect ({}, 0) ({}, {depth})", width + 250, width + 800);
    let _ = writeln!(text, "  drill    stop circle ({}, {}) radius 40", width + 200, depth - 150);
    let _ = writeln!(text, "  pipe     p cold ({}, 0) ({0}, {depth})", width + 200);
    let _ = writeln!(
        text,
        "  floor concrete {{\n    tile        10 mm porcelain\n    adhesive    10 mm cable at 5 mm\n    board       30 mm insulation\n    concrete   150 mm\n  }}"
    );
    let _ = writeln!(text, "  inside   21 degC\n  below    ground 10 degC\n  heat-loss 240 W");
    let _ = writeln!(text, "  junction j ({}, 100) height 300", width + 250);
    let _ = writeln!(text, "  thermostat t ({}, 100) height 1200 rated 16 A on flat", width + 250);
    let _ = writeln!(
        text,
        "  cable a {{\n    kit    bench-{kind}\n    tail   j ({}, 100) ({}, 100)",
        width + 200,
        width + 100
    );
    let _ = writeln!(text, "    start  ({}, 100)", width + 100);
    for run in 0..LOOPS {
        let _ = writeln!(text, "    run    {} {width}", if run % 2 == 0 { "west" } else { "east" });
        if run + 1 < LOOPS {
            let _ = writeln!(text, "    run    north {pitch}");
        }
    }
    let middle = 100.0 + 4.5 * pitch as f64;
    let _ =
        writeln!(text, "  }}\n  sensor s from t ({}, {middle}) ({}, {middle}) lead 3 m\n}}", width + 250, width - 400);
    text
}

/// The packs that ask for a floor's heat and build-up.
const HEAT_PACKS: [&str; 2] = ["rules/heat.rule", "rules/floor.rule"];

/// The rules whose checks the Python script makes too.
const SCRIPT_RULES: [&str; 21] = [
    "spacing",
    "crossing",
    "wall-clearance",
    "off-floor",
    "bend-radius",
    "laid-length",
    "kit-size",
    "fixture-overlap",
    "fixture-clearance",
    "drill-zone",
    "drilled-lead",
    "single-level",
    "movement-joint",
    "pipe-clearance",
    "doorway",
    "tail-crossing",
    "sensor-between-runs",
    "sensor-crossed",
    "sensor-depth",
    "cold-patch",
    "heated-share",
];

/// How many parallel runs a plan has, and how many kits their lengths call for.
const LOOPS: usize = 20;
const KITS: usize = 7;

fn run_length(kind: usize) -> usize {
    2000 + kind * 100
}

fn write_plans(folder: &Path, plans: usize) {
    std::fs::create_dir_all(folder.join("plans")).unwrap();
    let kits: Vec<String> = (0..KITS)
        .map(|kind| {
            let length = LOOPS * run_length(kind) + (LOOPS - 1) * 75;
            format!("kit bench-{kind} {{\n  output {} W at 230 V\n  length {length} mm\n  diameter 6 mm\n  bend-radius 25 mm\n  tail 3 m\n}}\n", length / 100)
        })
        .collect();
    std::fs::write(folder.join("plans/kits.lay"), kits.concat()).unwrap();
    for number in 0..plans {
        std::fs::write(folder.join(format!("plans/plan-{number:05}.lay")), plan(number)).unwrap();
    }
}

/// Plans as they vary, for instructions to be counted over: `valgrind --tool=callgrind layrule check --threads 1 FOLDER`.
fn write_varied(folder: &Path, plans: usize) {
    std::fs::create_dir_all(folder).unwrap();
    for number in 0..plans {
        std::fs::write(folder.join(format!("plan-{number:05}.lay")), varied::plan(number)).unwrap();
    }
}

/// Plans of one thing in great numbers, and of four times as many.
fn write_crowded(folder: &Path) {
    std::fs::create_dir_all(folder).unwrap();
    for (kind, few, plan) in crowded::KINDS {
        for count in [few, 4 * few] {
            std::fs::write(folder.join(format!("{}-{count:05}.lay", kind.replace([',', ' '], "-"))), plan(count))
                .unwrap();
        }
    }
}

/// What four times as many of a thing cost.
fn crowds() {
    let rules = RuleSet::build(built_in()).unwrap();
    let library = Library::new(&Disk, "", "");
    let check =
        |text: &str| checker::check(library.load_text(Path::new("crowd.lay"), "plan", text.to_owned()), &rules, TODAY);
    for (kind, few, plan) in crowded::KINDS {
        let [time, times] = [few, 4 * few].map(|count| {
            let text = plan(count);
            least(|| drop(std::hint::black_box(check(&text)))).as_secs_f64()
        });
        println!("{few} {kind}, and four times as many: {:.1} times as long (at most 6)", times / time);
    }
}

fn plan_files(folder: &Path, plans: usize) -> Vec<PathBuf> {
    (0..plans).map(|number| folder.join(format!("plans/plan-{number:05}.lay"))).collect()
}

/// The least time of several goes: what the machine's other work adds is left out.
fn least(mut work: impl FnMut()) -> Duration {
    (0..3)
        .map(|_| {
            let begun = Instant::now();
            work();
            begun.elapsed()
        })
        .min()
        .unwrap_or_default()
}

/// The whole check against pest's parsing alone, both in one thread.
fn folder_of_plans(folder: &Path, plans: usize) {
    let files = plan_files(folder, plans);
    let rules = RuleSet::build(built_in()).unwrap();
    let texts: Vec<String> = files.iter().map(|file| std::fs::read_to_string(file).unwrap()).collect();
    let parsing = least(|| {
        for text in &texts {
            std::hint::black_box(LayoutParser::parse(Rule::file, text).unwrap());
        }
    });
    let checking = least(|| {
        let library = Library::new(&Disk, folder, folder);
        for (file, text) in files.iter().zip(&texts) {
            let loaded = library.load_text(file, "plan", text.clone());
            std::hint::black_box(checker::check(loaded, &rules, TODAY));
        }
    });
    let ratio = checking.as_secs_f64() / parsing.as_secs_f64();
    let share = parsing.as_secs_f64() / checking.as_secs_f64() * 100.0;
    println!("  whole check / pest's parsing alone, one thread: {ratio:.2}; parsing is {share:.0} % of it");
    let without =
        RuleSet::build(built_in().into_iter().filter(|pack| !HEAT_PACKS.contains(&&*pack.name)).collect()).unwrap();
    let cold = least(|| {
        let library = Library::new(&Disk, folder, folder);
        for (file, text) in files.iter().zip(&texts) {
            let loaded = library.load_text(file, "plan", text.clone());
            std::hint::black_box(checker::check(loaded, &without, TODAY));
        }
    });
    let ratio = checking.as_secs_f64() / cold.as_secs_f64();
    let heat = (checking.as_secs_f64() - cold.as_secs_f64()) * 1e6 / plans as f64;
    println!(
        "  whole check / without the rules of heat and floor: {ratio:.2} (at most 2); these take {heat:.0} us a plan"
    );
}

/// The time of the program over the folder.
fn program(folder: &Path, more: &[&str]) -> Duration {
    let (plans, project) = (folder.join("plans").display().to_string(), folder.display().to_string());
    let arguments = [&[&*plans, "--project", &*project], more].concat();
    least(|| {
        let output = layrule(&arguments);
        assert!(output.status.code().is_some_and(|code| code < 2), "{}", String::from_utf8_lossy(&output.stderr));
    })
}

fn layrule(arguments: &[&str]) -> std::process::Output {
    Command::new(env!("CARGO_BIN_EXE_layrule")).arg("check").args(arguments).output().expect("the program runs")
}

/// The program, with all rules and with those that the script makes too, against a Python script that makes geometric checks with
/// Shapely, over some of the same plans; one thread each.
fn against_shapely(folder: &Path, plans: usize, python: &str) {
    let rules = RuleSet::build(built_in()).unwrap();
    let others = rules.rules.iter().filter(|rule| !SCRIPT_RULES.contains(&&*rule.name));
    let off: String = others.map(|rule| format!("amend {} {{ severity off }}\n", rule.name)).collect();
    let pack = folder.join("same.rule");
    std::fs::write(&pack, off).unwrap();
    let each = |more: &[&str]| program(folder, &[&["--threads", "1"], more].concat()).as_secs_f64() / plans as f64;
    let (whole, same) = (each(&[]), each(&["--rules", &pack.display().to_string()]));
    println!("  program, one thread: {:.0} us a plan, {:.0} with the script's checks alone", whole * 1e6, same * 1e6);
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bench/shapely_check.py");
    let most = plans.min(500);
    let answer = (0..3).map(|_| {
        let output =
            Command::new(python).arg(&script).arg(folder.join("plans")).args(["--most", &most.to_string()]).output();
        let output = output.map_err(|error| format!("{python}: {error}"))?;
        if !output.status.success() {
            return Err(String::from_utf8_lossy(&output.stderr).lines().last().unwrap_or_default().to_owned());
        }
        let answer: serde_json::Value = serde_json::from_slice(&output.stdout).expect("a line of JSON");
        Ok((answer["seconds"].as_f64().expect("how long"), answer["findings"].clone()))
    });
    // As of the program, the least time of several goes.
    let answers: Result<Vec<_>, String> = answer.collect();
    let (seconds, theirs) = match answers {
        Ok(mut answers) => {
            answers.sort_by(|a, b| a.0.total_cmp(&b.0));
            answers.swap_remove(0)
        }
        Err(why) => return println!("  Shapely comparison left out: {why}"),
    };
    let ratio = |ours: f64| seconds / most as f64 / ours;
    println!(
        "  Python with Shapely ({:.0} us a plan, over {most} plans) / the program: {:.0} with the same checks, {:.0} with all rules",
        seconds / most as f64 * 1e6,
        ratio(same),
        ratio(whole)
    );
    let ours = findings(folder, most, &rules);
    for rule in SCRIPT_RULES {
        let theirs = theirs[rule].as_u64().unwrap_or(0);
        let ours = ours.get(rule).copied().unwrap_or(0);
        if ours != theirs {
            println!("  {rule}: the program finds {ours}, the script {theirs}");
        }
    }
    let agreed: u64 = SCRIPT_RULES.iter().filter_map(|rule| ours.get(*rule)).sum();
    println!(
        "  found by the script's checks over these plans: {agreed}, of {} rules",
        ours.keys().filter(|rule| SCRIPT_RULES.contains(&&***rule)).count()
    );
}

/// How many findings of each rule the first plans have.
fn findings(folder: &Path, most: usize, rules: &RuleSet) -> BTreeMap<String, u64> {
    let library = Library::new(&Disk, folder, folder);
    let mut found = BTreeMap::new();
    for file in plan_files(folder, most) {
        let report = checker::check(library.load(&file, "plan").unwrap(), rules, TODAY);
        report.findings.iter().for_each(|finding| *found.entry(finding.rule.to_string()).or_default() += 1);
    }
    found
}

/// One plan, the whole process.
fn one_plan(folder: &Path) {
    let file = folder.join("plans/plan-00000.lay").display().to_string();
    let time = least(|| {
        layrule(&[&file]);
    });
    println!("one plan, whole process: {:.1} ms (under 10)", time.as_secs_f64() * 1e3);
}

/// The temperature of a room's floor everywhere, of 20 m2 with 49 runs.
fn temperature_map() {
    let layers = [(0.010, 1.3), (0.010, 1.0), (0.010, 0.035), (0.018, 0.13)];
    let solid = |(thickness, conductivity)| SlabLayer::Solid { thickness, conductivity };
    let slab = Slab {
        layers: layers.map(solid).to_vec(),
        cable_layer: 1,
        cable_height: 0.003,
        cable_radius: 0.003,
        below: Below::Room(18.0),
        inside: 21.0,
    };
    let p = |x: f64, y: f64| Point { x, y };
    let line = |row: u32| {
        let y = 100.0 * f64::from(row);
        Line { piece: Piece::new(p(100.0, y), p(3900.0, y)), power: 10.0, radius: Some(0.003) }
    };
    let lines: Vec<Line> = (1..50).map(line).collect();
    let corners = [p(0.0, 0.0), p(4000.0, 0.0), p(4000.0, 5000.0), p(0.0, 5000.0)];
    let time = least(|| {
        std::hint::black_box(TemperatureMap::new(&corners, &slab, &lines).expect("a map"));
    });
    println!("map of a room of 20 m2 in cells of 10 mm: {:.0} ms (under 50)", time.as_secs_f64() * 1e3);
}

/// A room with nothing in it.
const EMPTY: &str = "room hall {\n  outline (0, 0) (7775, 0) (7775, 750) (0, 750)\n}\n";

/// The time (s) and the memory (bytes) that a process of its own takes to check a file, of several goes the quickest.
fn alone(file: &Path, goes: usize) -> (f64, f64) {
    (0..goes)
        .map(|_| {
            let output = Command::new(std::env::current_exe().unwrap()).arg("--one-cable").arg(file).output().unwrap();
            assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
            let text = String::from_utf8(output.stdout).unwrap();
            let mut figures = text.split_whitespace().map(|figure| figure.parse::<f64>().unwrap());
            (figures.next().unwrap(), figures.next().unwrap())
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .unwrap()
}

/// One cable of two thousand, twenty thousand and two hundred thousand runs, the most that a plan may have. What an empty plan takes is the
/// process's own, such as the program's code, which comes into memory as it is first used, and is no cable's.
fn cables(folder: &Path) {
    let empty = folder.join("empty.lay");
    std::fs::write(&empty, EMPTY).unwrap();
    let (_, own) = alone(&empty, 5);
    println!("an empty plan: {:.0} KiB", own / 1024.0);
    let mut before: Option<f64> = None;
    for runs in [2_000usize, 20_000, 200_000] {
        let file = folder.join(format!("cable-{runs}.lay"));
        std::fs::write(&file, long_cable(runs)).unwrap();
        let goes = if runs < 200_000 { 5 } else { 2 };
        let (time, memory) = alone(&file, goes);
        let growth = before.map_or(String::new(), |before| {
            format!(", {:.1} times as long for ten times the runs (at most 13)", time / before)
        });
        let each = (memory - own) / runs as f64;
        println!("cable of {runs} runs: {each:.0} bytes a run more than an empty plan (at most 1024){growth}");
        before = Some(time);
    }
}

/// A cable of so many runs: rows of a hundred loops, side by side in a hall.
fn long_cable(runs: usize) -> String {
    // A hundred loops are 199 runs, with two on to the next row and one to the next column: no more in all than were asked for.
    let rows = runs / 202;
    let (length, pitch, loops) = (200, 75, 100);
    let width = loops * pitch;
    let across = ((rows as f64).sqrt() * 0.17).ceil().max(1.0) as usize;
    // An even number of rows ends on the side that the next column lies on.
    let each = rows.div_ceil(across).next_multiple_of(2);
    let height = each * (length + pitch) + 200;
    let mut text = String::from(
        "kit bench {\n  output 440 W at 230 V\n  length 44 m\n  diameter 6 mm\n  bend-radius 25 mm\n  tail 3 m\n}\n",
    );
    let _ = writeln!(
        text,
        "room hall {{\n  outline (0, 0) ({0}, 0) ({0}, {height}) (0, {height})",
        across * (width + pitch) + 200
    );
    let _ = writeln!(text, "  fixture column rect (0, 0) (30, 30)\n  cable a {{\n    kit bench\n    start (100, 100)");
    let mut row = 0;
    for column in 0..across {
        let down = column % 2 == 1;
        for step in 0..each {
            if row == rows {
                break;
            }
            row += 1;
            let (first, along) = if step % 2 == 0 { ("north", "east") } else { ("north", "west") };
            let first = if down { "south" } else { first };
            let _ = writeln!(text, "    loops {loops} of {length} {first}, stepping {pitch} {along}");
            // Loops in even number end on the side they began on; one step further the next row is reached.
            let _ = writeln!(text, "    run {along} {pitch}\n    run {first} {}", length + pitch);
        }
        let _ = writeln!(text, "    run east {}", width + pitch);
    }
    text.push_str("  }\n}\n");
    text
}

/// A figure of the process's memory, bytes.
fn memory(name: &str) -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix(name)).and_then(|rest| rest.split_whitespace().next());
    line.and_then(|kilobytes| kilobytes.parse::<f64>().ok()).unwrap_or(f64::NAN) * 1024.0
}

/// Checks one file and prints how long that took (s) and how much more memory the process needed at most than before (bytes).
fn one_cable(file: &Path) {
    let rules = RuleSet::build(built_in()).unwrap();
    let library = Library::new(&Disk, file.parent().unwrap(), "");
    // What the peak stands at is what reading the packs took for a moment; from here on it is the check's own.
    let reset = std::fs::write("/proc/self/clear_refs", "5");
    assert!(reset.is_ok(), "the peak can't be told from what was needed before: {reset:?}");
    let before = memory("VmRSS:");
    let begun = Instant::now();
    let loaded = library.load(file, "cable").unwrap();
    let report = checker::check(loaded, &rules, TODAY);
    let time = begun.elapsed().as_secs_f64();
    let worst: Vec<&str> = report
        .findings
        .iter()
        .filter(|finding| &*finding.rule == "plan" || &*finding.rule == "quantity")
        .map(|finding| finding.message.as_str())
        .collect();
    assert!(worst.is_empty(), "{worst:?}");
    let peak = memory("VmHWM:") - before;
    println!("{time} {peak}");
}
