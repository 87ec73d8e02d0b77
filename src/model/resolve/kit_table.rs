//! Resolves kits of one make, a row each: every row comes to the kit that it would be if it stood by itself.

use super::kit::{Given, Resistance};
use super::resolver::{Once, Resolver};
use crate::layout::explain;
use crate::layout::grammar::Rule;
use crate::layout::kinds::{Kind, KitColumn};
use crate::layout::tree::{ExprKind, KitCell, KitRow, KitTable, KitTableEntry, Word};
use crate::model::Mat;
use crate::model::fault::Fault;
use crate::quantity::Dimension;
use crate::source::{Place, Span};
use crate::worded::Worded as _;

/// What the lines of a table say of all of its kits.
#[derive(Default)]
struct Shared {
    given: Given,
    voltage: Once<f64>,
    tolerance: Once<(f64, f64)>,
    spacing: Once<f64>,
    columns: Once<Vec<KitColumn>>,
}

impl Resolver {
    /// `kits { … }`
    pub(super) fn kit_table(&mut self, item: &KitTable) {
        let mut shared = Shared::default();
        for entry in &item.entries {
            self.kit_table_entry(entry, &mut shared);
        }
        item.unread.iter().for_each(|name| self.is_unread(name));
        let missing = !item.broken && self.lacks(&shared, item.span);
        let (columns, columns_place) = match (shared.columns.known().cloned(), shared.columns.place()) {
            (Some(columns), Some(place)) if !missing => (columns, place),
            // What is wrong is told once, for the table.
            _ => {
                item.rows().for_each(|row| self.is_unread(&row.name));
                return;
            }
        };
        let needed = shared.given.clone();
        for row in item.rows() {
            if row.cells.len() != columns.len() {
                self.count_differs(row, &columns, columns_place);
                self.is_unread(&row.name);
                continue;
            }
            let mut given = needed.clone();
            for (column, cell) in columns.iter().zip(&row.cells) {
                self.cell(*column, cell, &shared, &mut given);
            }
            let name = self.name(&row.name);
            self.keep_kit(name, item.title_of(row, &columns), given);
        }
    }

    /// So that naming the kit of a row at fault is no fault of its own.
    fn is_unread(&mut self, name: &Word) {
        self.unread.insert((Kind::Kit, name.text.clone()));
    }

    fn kit_table_entry(&mut self, entry: &KitTableEntry, shared: &mut Shared) {
        match entry {
            KitTableEntry::Shared(entry) => self.kit_entry(entry, &mut shared.given),
            KitTableEntry::Voltage(value, span) => {
                let value = self.positive(value, Dimension::VOLTAGE);
                self.once(&mut shared.voltage, value, "the voltage", *span);
            }
            KitTableEntry::Tolerance(least, most, span) => {
                let value = self.tolerance(least, most, *span);
                self.once(&mut shared.tolerance, value, "the tolerance", *span);
            }
            KitTableEntry::Spacing(value, span) => {
                let value = self.positive(value, Dimension::LENGTH);
                self.once(&mut shared.spacing, value, "the spacing", *span);
            }
            KitTableEntry::Columns(words, span) => {
                let columns = self.columns(words);
                self.once(&mut shared.columns, Some(columns), "the row of columns", *span);
            }
            KitTableEntry::Row(_) => {}
        }
    }

    fn columns(&mut self, words: &[Word]) -> Vec<KitColumn> {
        let mut columns = Vec::new();
        for (number, word) in words.iter().enumerate() {
            if let Some(earlier) = words[..number].iter().find(|earlier| earlier.text == word.text) {
                let fault = Fault::ColumnTwice { column: word.text.clone(), earlier: self.place(earlier.span) };
                self.fault(self.place(word.span), fault);
            }
            columns.extend(KitColumn::of_word(&word.text));
        }
        columns
    }

    /// Faults for what no kit of a table can do without, and for what is said of a column that it hasn't or twice; whether the table as it
    /// stands makes no kits.
    fn lacks(&mut self, shared: &Shared, head: Span) -> bool {
        let head = self.place(head);
        let Some(place) = shared.columns.place() else {
            let fault = Fault::TableGivesNo { line: "columns", example: "columns output length" };
            self.fault(head, fault);
            return true;
        };
        let columns = shared.columns.known().cloned().unwrap_or_default();
        let has = |column: KitColumn| columns.contains(&column);
        let given = &shared.given;
        for (column, line) in lines_of(given).into_iter().filter(|(column, _)| has(*column)) {
            if let Some(earlier) = line {
                self.fault(place, Fault::ColumnAndLine { column: column.word(), earlier });
            }
        }
        let needed = [(KitColumn::Output, given.output.place()), (KitColumn::Length, given.length.place())];
        let mut lacks = false;
        for (column, _) in needed.into_iter().filter(|(column, line)| !has(*column) && line.is_none()) {
            self.fault(place, Fault::TableHasNoColumn { column: column.word() });
            lacks = true;
        }
        // What belongs to the values of a column, how it is written, and whether these mean nothing without it.
        let halves = [
            (KitColumn::Output, shared.voltage.place(), "voltage", "voltage 230 V", true),
            (KitColumn::Resistance, shared.tolerance.place(), "tolerance", "tolerance -5 % to +10 %", false),
            (KitColumn::Mat, shared.spacing.place(), "spacing", "spacing 80", true),
        ];
        for (column, half, line, example, needed) in halves {
            match half {
                Some(place) if !has(column) => self.fault(place, Fault::NoColumnFor { line, column: column.word() }),
                None if has(column) && needed => {
                    self.fault(head, Fault::TableGivesNo { line, example });
                    lacks = true;
                }
                _ => {}
            }
        }
        lacks
    }

    fn count_differs(&mut self, row: &KitRow, columns: &[KitColumn], asked: Place) {
        let known = explain::words_of(Rule::kits_line).iter().map(|word| (*word).to_string()).collect();
        let columns = columns.iter().map(|column| column.word().to_string()).collect();
        let (name, values, unit) = (row.name.text.clone(), row.cells.len(), stray_unit(&row.cells));
        self.fault(self.place(row.span), Fault::CellsDiffer { name, values, columns, unit, asked, known });
    }

    /// What a value of a row gives.
    fn cell(&mut self, column: KitColumn, cell: &KitCell, shared: &Shared, given: &mut Given) {
        let place = self.place(cell.span);
        if cell.by.is_some() != (column == KitColumn::Mat) {
            self.fault(place, Fault::CellOfAnother { column: column.word(), example: example(column) });
        }
        let value = match column {
            KitColumn::Cores => None,
            _ => self.positive(&cell.value, column.dimension()),
        };
        match column {
            KitColumn::Output => given.output = Once::given(value.zip(shared.voltage.known().copied()), place),
            KitColumn::Length => given.length = Once::given(value, place),
            KitColumn::Resistance => {
                let resistance: Option<Resistance> = value.map(|value| (value, shared.tolerance.known().copied()));
                given.resistance = Once::given(resistance, place);
            }
            KitColumn::Diameter => given.diameter = Once::given(value, place),
            KitColumn::BendRadius => given.bend_radius = Once::given(value, place),
            KitColumn::Tail => given.tail = Once::given(value, place),
            KitColumn::Cores => given.cores = Once::given(self.cores(&cell.value), place),
            KitColumn::Mat => {
                let length = cell.by.as_ref().and_then(|by| self.positive(by, Dimension::LENGTH));
                let mat = value.zip(length).zip(shared.spacing.known().copied());
                let mat = mat.map(|((width, length), spacing)| Mat { width, length, spacing });
                given.mat = Once::given(mat, place);
            }
        }
    }
}

/// What stands by itself behind a number without a unit, so that it was meant as one.
fn stray_unit(cells: &[KitCell]) -> Option<String> {
    let plain = |cell: &KitCell| matches!(cell.value.kind, ExprKind::Number(_, None));
    let word = |cell: &KitCell| matches!(cell.value.kind, ExprKind::Operand(_));
    let stray = cells.windows(2).find(|pair| plain(&pair[0]) && word(&pair[1]))?;
    Some(stray[1].text.clone())
}

/// Where a line says of all kits what a column would say of each.
fn lines_of(given: &Given) -> [(KitColumn, Option<Place>); 8] {
    [
        (KitColumn::Output, given.output.place()),
        (KitColumn::Length, given.length.place()),
        (KitColumn::Resistance, given.resistance.place()),
        (KitColumn::Diameter, given.diameter.place()),
        (KitColumn::BendRadius, given.bend_radius.place()),
        (KitColumn::Tail, given.tail.place()),
        (KitColumn::Cores, given.cores.place()),
        (KitColumn::Mat, given.mat.place()),
    ]
}

/// How a value of a column is written.
fn example(column: KitColumn) -> &'static str {
    match column {
        KitColumn::Output => "420 W",
        KitColumn::Length => "42 m",
        KitColumn::Resistance => "126 ohm",
        KitColumn::Diameter => "6 mm",
        KitColumn::BendRadius => "25 mm",
        KitColumn::Tail => "3 m",
        KitColumn::Cores => "2",
        KitColumn::Mat => "500 by 6 m",
    }
}
