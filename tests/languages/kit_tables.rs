//! Kits of one make as a table: each row is the kit that it would be by itself, and what is wrong is told of with its line.

use crate::common::program::Folder;
use crate::common::{check, plan};

/// Three kits a row each: of two conductors, of one, with a title of its own.
const TABLE: &str = "\
let drum = 42 m
kits \"10 W/m cable\" {
  voltage      230 V
  tolerance    -5 % to +10 %
  diameter     6 mm
  bend-radius  25 mm
  screen       earthed

  columns  output      length  resistance  tail  cores
  A-210     210 W        21 m     252 ohm   3 m      2
  A-420     420 W        drum     126 ohm   4 m      1
  A-840     840 W  (2 * drum)      63 ohm   3 m      2  \"Two drums\"
}
kits \"150 W/m2 mat\" {
  voltage  230 V
  spacing  80

  columns  output  length         mat
  M-450     450 W  37.5 m  500 by 6 m
}
";

const WRITTEN_OUT: &str = "\
let drum = 42 m
kit A-210 \"10 W/m cable, 210 W\" {
  output       210 W at 230 V
  length       21 m
  resistance   252 ohm, -5 % to +10 %
  diameter     6 mm
  bend-radius  25 mm
  screen       earthed
  tail         3 m
}
kit A-420 \"10 W/m cable, 420 W\" {
  output       420 W at 230 V
  length       drum
  resistance   126 ohm, -5 % to +10 %
  diameter     6 mm
  bend-radius  25 mm
  screen       earthed
  tail         4 m
  cores        1
}
kit A-840 \"Two drums\" {
  output       840 W at 230 V
  length       2 * drum
  resistance   63 ohm, -5 % to +10 %
  diameter     6 mm
  bend-radius  25 mm
  screen       earthed
  tail         3 m
  cores        2
}
kit M-450 \"150 W/m2 mat, 450 W\" {
  output  450 W at 230 V
  length  37.5 m
  mat     500 by 6 m, spacing 80
}
";

/// A store with a cable of one of them, and a room that has none yet.
const PLAN: &str = "\
use \"kits.lay\"
supply spur {
  voltage    230 V
  rcd        30 mA type A
  breaker    16 A
  conductor  2.5 mm2 copper, 14 m, method C
}
room store {
  outline  (0, 0) (1360, 0) (1360, 1700) (0, 1700)
  floor timber {
    tile      10 mm porcelain
    adhesive   6 mm
    plywood   18 mm
  }
  junction    j (0, 1500) height 300
  thermostat  t (0, 1400) height 1200 rated 16 A on spur
  cable a {
    kit    A-210
    tail   j (80, 1500) (80, 1620)
    start  (80, 1620)
    loops  13 of 1545 south, stepping 100 east
  }
}
room hall {
  outline  (3000, 0) (4360, 0) (4360, 1700) (3000, 1700)
  junction    k (3000, 1500) height 300
  thermostat  u (3000, 1400) height 1200 rated 16 A on spur
}
";

#[test]
fn rows_are_the_kits_that_they_would_be_by_themselves() {
    let folders = [TABLE, WRITTEN_OUT].map(|kits| Folder::new(&[("kits.lay", kits), ("plan.lay", PLAN)]));
    for arguments in [
        &["check", "plan.lay", "--output", "json"][..],
        &["measure", "plan.lay", "--output", "json"],
        &["size", "plan.lay", "--room", "hall", "--all", "--output", "json"],
        &["draw", "plan.lay", "--room", "store"],
        &["route", "plan.lay", "--room", "hall", "--kit", "A-210"],
    ] {
        let [(code, table, said), (as_written, written, told)] = folders.each_ref().map(|folder| folder.run(arguments));
        assert_eq!((code, &table, &said), (as_written, &written, &told), "{arguments:?}");
        assert!(table.len() > 100, "{arguments:?}: {table}{said}");
    }
}

#[test]
fn rows_at_fault_are_told_of_with_their_lines() {
    let head = "kits \"make\" {\nvoltage 230 V\ncolumns output length resistance\n";
    let line = |text: &str| {
        let room = "room r {\n outline (0, 0) (900, 0) (900, 900) (0, 900)\n cable a {\n kit A-1\n start (100, 100)\n run east 500\n }\n}\n";
        let report = check(&format!("{head}{text}\n}}\n{room}"));
        let read = report.findings.iter().filter(|one| matches!(&*one.rule, "syntax" | "name" | "quantity" | "plan"));
        let told = read.map(|one| {
            let line = report.sources.file_and_line(one.place()).rsplit(':').next().unwrap_or("").to_string();
            format!("{line} {}: {}", one.message, one.advice.as_deref().unwrap_or(""))
        });
        told.collect::<Vec<_>>()
    };
    let order = "give `output`, `length` and `resistance`, in this order";
    for (text, told) in [
        ("A-1 130 W 13 m 407 ohm", vec![]),
        ("A-1 130 W 13 m", vec![format!("4 `A-1` has 2 values, and there are 3 columns: {order}")]),
        (
            "A-1 130 W 13 feet 407 ohm",
            vec![format!("4 `A-1` has 4 values, and there are 3 columns: {order}; `feet` is no unit")],
        ),
        (
            "A-1 130 W 13 m 407 ohm\ndiamter 6 mm",
            vec!["5 `diamter` has 1 value, and there are 3 columns: did you mean `diameter`?".to_string()],
        ),
        (
            "A-1 130 13 m 407 ohm",
            vec!["4 a power is needed here, and this is a plain number: write a power such as `420 W`".to_string()],
        ),
        (
            "A-1 130 W 13 m 407 ohm\n\nA-1 210 W 21 m 252 ohm",
            vec!["6 2 kits are called `A-1`: give one of them another name".to_string()],
        ),
        ("A-1 130 W 13,5 m 407 ohm", vec!["4 `13,5` has a decimal comma: write `13.5`".to_string()]),
        (
            "A-1 130 W 13 m 407 ohm\nrug x rect (0, 0) (1, 1)",
            vec!["5 `rug` starts no statement of a table of kits: `rug` belongs in a room".to_string()],
        ),
    ] {
        assert_eq!(line(text), told, "{text}");
    }
}

/// What is said of all kits goes for those that are read, whatever else of the table isn't.
#[test]
fn a_line_at_fault_takes_no_other_with_it() {
    let plan = plan(&TABLE.replace("diameter     6 mm", "diameter     6 feet"));
    assert_eq!(
        plan.kits.iter().map(|kit| kit.name.text.as_str()).collect::<Vec<_>>(),
        ["A-210", "A-420", "A-840", "M-450"]
    );
    assert_eq!((plan.kits[0].diameter, plan.kits[0].bend_radius), (None, Some(25.0)));
    assert_eq!(plan.kits.named("A-840"), Some(2));
}

#[test]
fn columns_end_where_their_words_do() {
    let lines = TABLE.lines().map(|line| line.split_whitespace().collect::<Vec<_>>().join(" "));
    let crowded = lines.collect::<Vec<_>>().join("\n").replace("columns output", "\ncolumns output");
    let tidied = layrule::layout::tidy::tidy(&crowded).expect("it can be read");
    let columns = |text: &str| text[text.find("kits").unwrap_or(0)..].replace("\n\n\n", "\n\n");
    assert_eq!(columns(&tidied).replace(" \n", "\n"), columns(TABLE));
}
