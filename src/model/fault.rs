//! What can be wrong with a plan as it is read: every kind of fault, what it knows, and the words in which it is told.

use crate::finding::{Finding, Fix, ids};
use crate::geometry::Point;
use crate::language::arithmetic;
use crate::language::expression::Meant;
use crate::layout::kinds::Kind;
use crate::quantity::{Dimension, Quantity};
use crate::source::{Astray, Place, ReadError};
use crate::text::{counted, nearest, quoted};

/// How many of the names that there are, are told where another stands.
const NAMES_TOLD: usize = 12;

/// The words of one kind of fault, before what it knows is filled in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Words {
    /// The kind of fault: a variant of [`Fault`].
    pub kind: &'static str,
    /// What the finding goes by, one of [`ids`].
    pub id: &'static str,
    /// What is wrong, with what the fault knows in braces.
    pub message: &'static str,
    /// What the mark in the text says.
    pub label: &'static str,
    /// What to do; empty where the label says all.
    pub advice: &'static str,
}

/// Joins the kinds of fault: from each entry, the variant, and how it becomes a finding.
///
/// An entry is the kind with what it knows, its id, and a `let` for each word that is made of that; then its message and the label of its mark,
/// further marks, what to do, and what to write: `instead` of what is marked, or as a `fix`.
macro_rules! faults {
    ($(
        $(#[doc = $about:literal])+
        $kind:ident $({ $($field:ident: $type:ty),* $(,)? })? => $id:ident $(, let $name:ident = $value:expr)*;
            $message:literal, $label:literal
            $(, mark $at:ident $mark:literal)*
            $(, advice $advice:literal)?
            $(, instead $instead:expr)?
            $(, fix $fix:expr)?;
    )*) => {
        /// A fault of a plan's text. Where it stands is told beside it.
        #[derive(Debug, Clone, PartialEq)]
        #[allow(missing_docs)]
        pub enum Fault {
            $($(#[doc = $about])+ $kind $({ $($field: $type),* })?,)*
        }

        impl Fault {
            /// The words of every kind.
            pub const WORDS: &[Words] = &[$(Words {
                kind: stringify!($kind),
                id: ids::$id,
                message: $message,
                label: $label,
                advice: concat!("" $(, $advice)?),
            }),*];

            /// The finding of it at a place.
            pub fn finding(self, place: Place) -> Finding {
                match self {
                    $(Fault::$kind { $($($field),*)? } => {
                        $(let $name = $value;)*
                        let finding = Finding::reading(ids::$id, format!($message), place, format!($label));
                        $(let finding = finding.mark($at, format!($mark));)*
                        $(let finding = finding.advise(format!($advice));)?
                        $(let finding = finding.fix($instead.map(|word| Fix::write(word, place)));)?
                        $(let finding = finding.fix($fix);)?
                        finding
                    })*
                }
            }
        }
    };
}

faults! {
    // Files.

    /// A file in which no statement stands.
    NothingToCheck => PLAN;
        "this file holds nothing to check", "no statement in it",
        advice "write a room, or a kit or supply for other plans to use";

    /// A `use` of a path from the root of a disk, or of one that is written with `\`.
    NoRelativePath { path: String } => USE;
        "`{path}` is no relative path", "used here",
        advice "name the file as it lies from this one, with `/` between folders";

    /// A `use` of what lies outside the project.
    UsesOutside { path: String, project: String } => USE;
        "`{path}` leads outside the project folder {project}", "used here",
        advice "keep what a plan uses inside its project, or name the project's folder with `--project`";

    /// A `use` that a link or git's own folder leads astray.
    UsesAstray { path: String, how: Astray } => USE;
        "`{path}` {how}", "used here",
        advice "name the file of a plan as it lies in the project";

    /// A `use` of what isn't called as plans are.
    UsesNoPlan { path: String } => USE;
        "`{path}` is no plan: its name doesn't end in `.lay`", "used here",
        advice "name a plan, or a file of kits and materials, that ends in `.lay`";

    /// A `use` of a file that uses this one; the files are named on the way from the one to the other.
    UsesItself { path: String, way: Vec<String> } => USE, let way = way.join(" uses ");
        "`{path}` leads back to itself: {way}", "used here",
        advice "take one of these `use` lines out";

    /// A `use` too many.
    TooManyFiles { most: usize } => USE;
        "a plan uses more than {most} files", "used here",
        advice "put what belongs together in one file";

    /// A `use` with which there is too much to read, in MiB.
    TooMuchText { most: usize } => USE;
        "a plan and what it uses hold more than {most} MiB of text", "used here",
        advice "use only the files that hold what the plan names";

    /// A `use` of a file that can't be read; with the path of the one that was meant, where there is such a one.
    UsesUnreadable { path: String, why: ReadError, meant: Option<String> } => USE,
        let written = meant.as_ref().map(|meant| format!("\"{meant}\"")),
        let what_to_do = meant.as_deref().map_or_else(
            || match why {
                ReadError::Missing => format!("check the path, which starts from this file's folder; where the plan was sent to you, ask for `{path}` too, or for a bundle"),
                _ => "check the path, which starts from this file's folder".into(),
            },
            did_you_mean,
        );
        "`{path}` can't be used: {why}", "used here",
        advice "{what_to_do}",
        instead written.as_deref();

    // Names.

    /// A name that two things of one kind bear.
    NameTwice { kind: Kind, name: String, earlier: Place } => NAME, let things = counted(2, kind.short());
        "{things} are called `{name}`", "again here",
        mark earlier "first here",
        advice "give one of them another name";

    /// A name that nothing of its kind bears, of those that are known.
    UnknownName { kind: Kind, name: String, known: Vec<String> } => NAME,
        let kind = kind.short(),
        let near = near(&name, &known),
        let what_to_do = name_one_of(kind, near, &known);
        "no {kind} is called `{name}`", "not known",
        advice "{what_to_do}",
        instead near;

    /// A material that neither the plan nor the table has.
    UnknownMaterial { name: String, known: Vec<String> } => NAME,
        // One word for two things, of which one conducts four times what the other does.
        let near = near(&name, &known).filter(|_| name != FELT),
        let what_to_do = name_a_material(&name, near, &known);
        "no material is called `{name}`", "not known",
        advice "{what_to_do}",
        instead near;

    /// A deviation from a rule that there is not.
    UnknownRule { name: String, known: Vec<String> } => NAME,
        let near = near(&name, &known),
        let what_to_do = near.map_or("`layrule rules` lists the rules there are".into(), did_you_mean);
        "no rule is called `{name}`", "not known",
        advice "{what_to_do}",
        instead near;

    /// A number of a wall that the outline hasn't.
    UnknownWall { number: String, walls: usize } => NAME;
        "there is no wall {number}", "the outline has walls 1 to {walls}",
        advice "walls are numbered from 1 in the order the outline draws them";

    // Blocks and their lines.

    /// A value that a block may give once.
    GivenTwice { what: &'static str, earlier: Place } => PLAN;
        "{what} is given twice", "again here",
        mark earlier "first here",
        advice "keep the one that holds";

    /// A block that doesn't give what it must.
    GivesNo { kind: Kind, name: String, line: &'static str, example: &'static str } => PLAN, let kind = kind.word();
        "{kind} `{name}` gives no {line}", "no `{line}` in this block",
        advice "add a line such as `{example}`";

    /// A bearing of north beyond a whole turn.
    NoBearing => PLAN;
        "north lies no further round than 360 deg", "more than a whole turn",
        advice "write how far it lies clockwise from the plan's own north, such as `north 30 deg`";

    /// A day that is in no calendar.
    NoDay { day: String } => QUANTITY;
        "there is no day {day}", "write year, month and day, such as `2026-11-25`";

    // Materials and floors.

    /// A conductivity, in W/mK, that nothing has.
    NoConductivity { least: f64, most: f64 } => QUANTITY;
        "no material conducts heat like this", "conductivities lie between {least} and {most} W/mK",
        advice "check it against the material's data sheet";

    /// A heat capacity, in MJ/m3K, that no material has.
    NoHeatCapacity { least: f64, most: f64 } => QUANTITY;
        "no material holds heat like this", "heat capacities lie between {least} and {most} MJ/m³·K",
        advice "it is density in kg/m3 times specific heat in J/kgK, over a million";

    /// A thermal resistance of a layer or a rug, in m2K/W, that none has.
    NoResistance { most: f64 } => QUANTITY;
        "nothing in a floor or on it resists heat like this", "{most} m²·K/W, metres of insulation, is the most",
        advice "a resistance is thickness in m over conductivity in W/mK";

    /// A number of circuits that no factor is tabulated for.
    NoGroup { most: f64 } => QUANTITY;
        "so many circuits are not tabulated", "a whole number from 1 to {most}",
        advice "part them, or have the conductor chosen by whoever is licensed to";

    /// An ambient temperature at which conductors so insulated carry nothing for good.
    TooHot { insulation: &'static str, most: f64 } => QUANTITY;
        "conductors insulated with {insulation} carry no current for good where it is so hot", "{most} °C is the most",
        advice "lead them where it is cooler, or choose others";

    /// A floor of more layers than are reckoned with.
    TooManyLayers { most: usize, layers: usize } => PLAN;
        "the floor has more than {most} layers", "{layers} in this block",
        advice "draw layers of one material that lie on each other as one";

    /// A cable in a second layer of a floor.
    CableInTwoLayers { first: Place } => PLAN;
        "the cable lies in two layers", "here as well",
        mark first "here";

    /// A layer of which only the resistance is known, and of which something else is told.
    LayerOfNoThickness { what: &'static str } => PLAN;
        "a layer given by its resistance has no thickness for {what}", "give a thickness and a material instead";

    /// A cable that lies higher in its layer than that is thick.
    CableAboveLayer { layer: String, thickness: Quantity } => PLAN;
        "the cable lies above layer `{layer}`", "the layer is {thickness} thick",
        advice "the height is measured from the layer's underside to the cable's centre";

    // Kits.

    /// A tolerance whose least is more than its most, or leaves less than nothing.
    NoTolerance => PLAN;
        "this tolerance leaves no resistance that would fit", "write the least first, such as `-5 % to +10 %`";

    /// A kit whose resistance is another than its output means.
    KitContradictsItself { kit: String, implied: Quantity, least: Quantity, most: Quantity, output: Place } => PLAN;
        "kit `{kit}` contradicts itself: its output at its voltage means {implied}", "this allows {least} to {most}",
        mark output "R = U2 / P from this line",
        advice "check both lines against the kit's data sheet";

    /// A number of conductors that no heating cable has.
    NoSuchCores { number: f64 } => QUANTITY;
        "a heating cable has one conductor or two", "this is {number}",
        advice "write `cores 1` for a cable with a cold tail at both ends, or leave the line out";

    /// A table of kits that doesn't say what all of its kits need.
    TableGivesNo { line: &'static str, example: &'static str } => PLAN;
        "this table of kits gives no {line}", "no `{line}` in this block",
        advice "add a line such as `{example}`";

    /// A table of kits without a column for what tells kits apart.
    TableHasNoColumn { column: &'static str } => PLAN;
        "this table of kits has no column `{column}`", "no `{column}` among these",
        advice "name `{column}` among the columns, and give it in each row";

    /// A column that a table has already.
    ColumnTwice { column: String, earlier: Place } => PLAN;
        "the column `{column}` stands twice", "again here",
        mark earlier "first here",
        advice "keep one of them, with its values";

    /// A column for what a line of the table says of all kits.
    ColumnAndLine { column: &'static str, earlier: Place } => PLAN;
        "`{column}` is given in each row and for all rows", "a column `{column}` here",
        mark earlier "for all rows here",
        advice "keep the column or the line";

    /// What is said of the values of a column that the table hasn't.
    NoColumnFor { line: &'static str, column: &'static str } => PLAN;
        "`{line}` belongs to the values of a column `{column}`, which this table of kits hasn't", "of no column",
        advice "name `{column}` among the columns, or take this line out";

    /// A row with more or fewer values than there are columns. It may be a line whose first word is misspelt.
    CellsDiffer { name: String, values: usize, columns: Vec<String>, unit: Option<String>, asked: Place, known: Vec<String> } => PLAN,
        let values = counted(values, "value"),
        let asked_for = counted(columns.len(), "column"),
        let columns = quoted(columns.iter().map(String::as_str), "and"),
        let what_to_do = match (near(&name, &known), unit) {
            (Some(word), _) => did_you_mean(word),
            (None, Some(unit)) => format!("give {columns}, in this order; `{unit}` is no unit"),
            (None, None) => format!("give {columns}, in this order"),
        };
        "`{name}` has {values}, and there are {asked_for}", "{values} in this row",
        mark asked "{asked_for} here",
        advice "{what_to_do}";

    /// A value of a row that is written as another column's.
    CellOfAnother { column: &'static str, example: &'static str } => QUANTITY;
        "no `{column}` is written like this", "a value of the column `{column}`",
        advice "write it such as `{example}`";

    // Rooms and their outlines.

    /// A room with more in it than is resolved.
    TooManyStatements { room: String, most: usize, statements: usize } => PLAN;
        "room `{room}` holds more than {most} statements", "{statements} in this block",
        advice "draw it as several rooms";

    /// A room that isn't drawn.
    NoOutline { room: String } => PLAN;
        "room `{room}` has no outline", "no `outline` in this block",
        advice "write its corners, such as `outline (0, 0) (3400, 0) (3400, 2200) (0, 2200)`";

    /// A room drawn again.
    TwoOutlines { room: String, earlier: Place } => PLAN;
        "room `{room}` has two outlines", "again here",
        mark earlier "first here";

    /// An outline that encloses nothing.
    OutlineTooShort { room: String } => PLAN;
        "the outline of room `{room}` has fewer than three corners", "no floor in it";

    /// An outline of more corners than are measured.
    OutlineTooLong { room: String, most: usize } => PLAN;
        "the outline of room `{room}` has more than {most} corners", "too many to measure";

    /// An outline that goes to and fro.
    OutlineOfNoArea { room: String } => PLAN;
        "the outline of room `{room}` has no area", "its corners lie on one line";

    /// A wall that ends where it begins.
    WallOfNoLength { room: String, wall: usize } => PLAN;
        "wall {wall} of room `{room}` has no length", "the same corner twice";

    /// An outline of which two walls meet where they shouldn't.
    OutlineCrossesItself { room: String, wall: usize, other: usize, first: Place } => PLAN;
        "the outline of room `{room}` crosses itself", "wall {wall} meets wall {other}",
        mark first "wall {other}",
        advice "check the order of the corners";

    /// A wall described again.
    WallTwice { wall: usize, earlier: Place } => PLAN;
        "wall {wall} is described twice", "again here",
        mark earlier "first here";

    /// A door that reaches beyond its wall, in mm, or ends before it begins.
    DoorOffWall { door: String, from: f64, to: f64, wall: usize, length: Quantity, drawn: Place } => PLAN;
        "door `{door}` doesn't fit its wall", "from {from} to {to}",
        mark drawn "wall {wall} is {length} long",
        advice "both are measured from the wall's first corner, the lesser first";

    /// A thing no part of which lies in its room; it may lie in another.
    OutsideRoom { kind: Kind, name: String, room: String, given: Place, elsewhere: Option<String> } => PLAN,
        let kind = kind.word(),
        let what_to_do = elsewhere.map_or("check its coordinates: no room is there".into(), move_to_room);
        "{kind} `{name}` lies outside room `{room}`", "no part of it is in the room",
        mark given "the room",
        advice "{what_to_do}";

    // Shapes and lines.

    /// A polygon that encloses nothing.
    ShapeTooShort => PLAN;
        "a polygon needs three corners or more", "check its corners";

    /// A shape of more corners than are measured.
    ShapeTooLong => PLAN;
        "this shape has more corners than can be measured", "check its corners";

    /// A shape that covers nothing.
    ShapeOfNoArea => PLAN;
        "this shape has no area", "check its corners";

    /// A shape of which two edges meet where they shouldn't.
    ShapeCrossesItself => PLAN;
        "the edge of this shape crosses itself", "check its corners";

    /// A strip without a direction.
    StripGoesNowhere => PLAN;
        "a strip needs two points or more, none twice in a row", "this one has no direction";

    /// A strip that turns back at a corner.
    StripDoublesBack => PLAN;
        "a strip can't double back on itself", "it turns round at a corner",
        advice "draw it as two, or as a polygon";

    /// A line without a direction.
    LineGoesNowhere { kind: Kind, name: String } => PLAN, let kind = kind.word();
        "{kind} `{name}` needs two points or more, none twice in a row", "this one has no direction";

    /// A level as high as the rest of the floor.
    LevelOfNoHeight { level: String } => PLAN;
        "level `{level}` is no other level", "at the height of the rest";

    // Cables.

    /// A cable begun again.
    StartsTwice { cable: String } => PLAN;
        "cable `{cable}` starts twice", "a cable can't be cut and begun again";

    /// A cable whose way begins with a run.
    RunsBeforeStart { cable: String } => PLAN;
        "cable `{cable}` runs before it has a start", "no `start` above this",
        advice "write `start (x, y)` before its first run";

    /// A cable without a way.
    NoStart { cable: String } => PLAN;
        "cable `{cable}` has no start", "no `start` in this block",
        advice "write `start (x, y)` and then its runs, or have `layrule route` lay it";

    /// A cable that doesn't go on from its start.
    NoRun { cable: String } => PLAN;
        "cable `{cable}` has no run", "it starts and goes nowhere",
        advice "write its way on, such as `run west 1800`";

    /// A run that ends where it begins.
    RunOfNoLength => PLAN;
        "this run has no length", "it ends where it begins";

    /// A run too many.
    TooManyRuns { most: usize } => PLAN;
        "the cables of a plan have more than {most} runs in all", "one too many here",
        advice "check the counts of loops, or draw some of the rooms in a plan of their own";

    /// A count of loops that is none.
    LoopsInParts { count: f64 } => QUANTITY;
        "loops are counted in whole numbers", "this is {count}";

    /// A count of loops beyond any cable.
    TooManyLoops { count: f64, most: usize } => QUANTITY;
        "{count} loops are more than a cable can have ({most})", "too many",
        advice "check the count";

    /// A wall or a fixture that a run is to go up to and that lies elsewhere.
    NotAhead { what: String, heading: &'static str, here: Point } => PLAN,
        let here = shown(here);
        "{what} doesn't lie straight to the {heading} of {here}", "a way from there to the {heading} doesn't meet it",
        advice "name what lies ahead there, or write a length";

    /// A wall or a fixture that lies nearer than a run is to end before it.
    ReachesNoFurther { what: String, ahead: f64, less: f64 } => PLAN,
        let ahead = Quantity::new(ahead, Dimension::LENGTH).show(0),
        let less = Quantity::new(less, Dimension::LENGTH).show(0);
        "{what} is {ahead} ahead here, and {less} less leaves nothing", "no room left",
        advice "start further off, or write a smaller length behind `less`";

    /// What is left of a kit that isn't named.
    RestOfNoKit { cable: String } => PLAN;
        "cable `{cable}` names no kit, so that nothing tells how much of it is left", "the rest of which kit?",
        advice "write `kit NAME` in this cable, or a length for `rest`";

    /// What is left of a kit that is laid already.
    NoRest { cable: String, supplied: f64, laid: f64 } => PLAN,
        let supplied = Quantity::new(supplied, Dimension::LENGTH).show(0),
        let laid = Quantity::new(laid, Dimension::LENGTH).show(0);
        "nothing is left of the kit of cable `{cable}`: it has {supplied}, and {laid} are laid before this", "no cable left",
        advice "draw less before this, or choose a longer kit";

    /// A run of a cable that has no such.
    UnknownRun { number: String, cable: String, runs: usize } => PLAN,
        let runs = counted(runs, "run");
        "cable `{cable}` has no run {number}", "it has {runs}",
        advice "runs are numbered from 1 in the order in which they are laid, the turns between loops among them";

    /// Runs of a cable that isn't said.
    RunsOfWhichCable { sensor: String, one: Option<String> } => PLAN,
        let advice = one.map_or("draw a cable first".into(), |one| format!("write `of cable {one}`, or of another, behind the runs' numbers"));
        "sensor `{sensor}` doesn't say between runs of which cable it lies", "runs of which cable?",
        advice "{advice}";

    /// Two runs with no channel between them.
    NoChannel { first: usize, second: usize, why: &'static str } => PLAN;
        "there is no channel between runs {first} and {second}: {why}", "no channel",
        advice "name two runs that lie beside each other; between two loops lies a turn that has a number too";

    /// A channel that doesn't open towards a thermostat's wall.
    NoWayIn { first: usize, second: usize, wall: usize } => PLAN;
        "the channel between runs {first} and {second} doesn't open towards wall {wall}, at which the thermostat stands", "no way in from there",
        advice "name runs whose channel does, or write the conduit's points";

    /// A channel that ends before a sensor's tip.
    ChannelTooShort { first: usize, second: usize, long: f64, depth: f64 } => PLAN,
        let long = Quantity::new(long, Dimension::LENGTH).show(0),
        let depth = Quantity::new(depth, Dimension::LENGTH).show(0);
        "the channel between runs {first} and {second} is {long} long, and the sensor is to lie {depth} in it", "not as long as that",
        advice "write a lesser depth, or name a longer channel";

    /// Loops that would lie on one another.
    LoopsAlongRuns => PLAN;
        "these loops step along their own runs", "the runs and the steps go one way",
        advice "step at right angles to the runs: north or south for runs east or west";

    /// A cable that any of several thermostats may switch; one of them is named.
    NoThermostatNamed { cable: String, one: String } => PLAN;
        "cable `{cable}` doesn't say which thermostat switches it", "the room has more than one",
        advice "add `by {one}` or the name of another";

    /// A cold tail that doesn't lead to its cable. Its end is `written` there, where that is one point of the text.
    TailEndsElsewhere { cable: String, end: Point, start: Point, starts: Place, written: Option<Place> } => PLAN,
        let end = shown(end),
        let start = shown(start);
        "the tail of cable `{cable}` ends somewhere else than the cable starts", "ends at {end}",
        mark starts "starts at {start}",
        advice "end the tail at the cable's start",
        fix written.map(|written| Fix::write(&start, written));

    /// The cold tail of a cable's far end that leads elsewhere. What is written last of it is replaced.
    SecondTailEndsElsewhere { cable: String, end: Point, far: Point, ends: Place, written: Option<Place> } => PLAN,
        let end = shown(end),
        let far = shown(far);
        "the second tail of cable `{cable}` ends somewhere else than the cable ends", "ends at {end}",
        mark ends "the cable ends at {far}",
        advice "end the second tail at the cable's far end",
        fix written.map(|written| Fix::write(&far, written));

    /// A cold tail that its own cable is said to feed.
    TailFromItself { cable: String } => PLAN;
        "the tail of cable `{cable}` comes from the cable itself", "its own name",
        advice "name the junction box that it comes from";

    // Records and deviations.

    /// A record signed by no one.
    NoSignature => PLAN;
        "a signature needs a name", "no name";

    /// A note without words.
    EmptyNote => PLAN;
        "a note needs words", "says nothing";

    /// An instrument, a person or a photograph of a record without a name.
    EmptyInRecord => PLAN;
        "an instrument, a number, a person or a photograph needs a name", "an empty text",
        advice "write the name, or leave it out with the word before it";

    /// A kit's label without what stands on it.
    EmptyLabel => PLAN;
        "a label needs what stands on it", "an empty text",
        advice "copy the serial number from the kit's label; leave `batch` out where it has none";

    /// A second label of one cable's kit.
    LabelTwice { cable: String, earlier: Place } => PLAN;
        "the label of cable `{cable}` is given twice", "again here",
        mark earlier "first here",
        advice "keep the one that holds";

    /// A deviation for which nothing speaks.
    NoReason => PLAN;
        "a deviation needs a reason", "say why, and who agreed";

    /// A deviation from a rule that none covers.
    BindingRule { rule: String } => PLAN;
        "no deviation covers `{rule}`", "a binding rule",
        advice "put the fault right and take the deviation out";

    // Values.

    /// A name that two `let` give.
    ValueTwice { name: String, earlier: Place } => NAME;
        "`{name}` is defined twice", "again here",
        mark earlier "first here",
        advice "give one of them another name";

    /// A name that no `let` above gives, with what was meant by it.
    NoValue { name: String, meant: Option<Meant> } => NAME,
        let what_to_do = meant.as_ref().map_or_else(|| format!("define it above with `let {name} = …`"), Meant::help),
        let written = meant.map(Meant::instead);
        "no value is called `{name}`", "not defined above",
        advice "{what_to_do}",
        instead written.as_deref();

    /// A quantity that measures something else than is wanted.
    OtherDimension { wanted: Dimension, found: Dimension } => QUANTITY,
        let example = wanted.describe_with_example(),
        let wanted = wanted.describe(),
        let found = found.describe();
        "{wanted} is needed here, and this is {found}", "{found}",
        advice "write {example}";

    /// A temperature below absolute zero.
    TooCold => QUANTITY;
        "nothing is as cold as this", "below -273.15 °C";

    /// A quantity that must be more than nothing, and isn't.
    NotMoreThanNothing { value: Quantity } => QUANTITY, let what = value.dimension.describe();
        "{what} must be more than nothing here", "this is {value}";

    /// A quantity that must not be less than nothing, and is.
    LessThanNothing { value: Quantity } => QUANTITY, let what = value.dimension.describe();
        "{what} can't be less than nothing here", "this is {value}";

    /// A point too far from the origin, m.
    OutOfReach { x: f64, y: f64 } => QUANTITY;
        "a coordinate lies more than 1 km from the plan's origin", "this leads to ({x}, {y}) m",
        advice "coordinates without a unit are in millimetres; draw the room near (0, 0)";

    /// A value beyond all that is laid in floors.
    TooLarge => QUANTITY;
        "this is larger than anything in a floor", "too large a number";

    /// Arithmetic that can't be done.
    Arithmetic { fault: arithmetic::Fault } => QUANTITY,
        let what = fault.message(),
        let label = fault.label();
        "{what}", "{label}";

    /// Faults beyond those that are listed.
    MoreFaults { more: usize } => PLAN,
        let more = crate::text::more_faults(more);
        "{more} not listed", "the first of them",
        advice "mend the others first";
}

/// The word for two materials, roofing felt and what lies under a covering.
const FELT: &str = "felt";

/// The known name that another was probably meant for.
fn near<'k>(name: &str, known: &'k [String]) -> Option<&'k str> {
    nearest(name, known.iter().map(String::as_str))
}

fn did_you_mean(name: &str) -> String {
    format!("did you mean `{name}`?")
}

fn name_one_of(kind: &str, near: Option<&str>, known: &[String]) -> String {
    match near {
        Some(near) => did_you_mean(near),
        None if known.is_empty() => format!("there is no {kind} here; add one"),
        None => format!("there is {}", quoted(known.iter().take(NAMES_TOLD).map(String::as_str), "and")),
    }
}

fn name_a_material(name: &str, near: Option<&str>, known: &[String]) -> String {
    match near {
        Some(near) => did_you_mean(near),
        None if name == FELT => {
            "write `bitumen-felt` for roofing felt, or `felt-underlay` for what lies under a covering".into()
        }
        None => format!(
            "name one of {}, or define it with `material {name} {{ conductivity … }}`",
            quoted(known.iter().map(String::as_str), "or")
        ),
    }
}

fn move_to_room(room: String) -> String {
    format!("it lies in room `{room}`; move the statement there")
}

/// A point as a plan writes it.
fn shown(point: Point) -> String {
    format!("({}, {})", point.x, point.y)
}
