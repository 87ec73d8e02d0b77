//! A sheet taken apart for those who have it read to them: the drawing itself, headings, lists and tables of what is written beside it.
//!
//! Each part is an SVG of the whole sheet that holds nothing else, so that all of them, one over the other, are the sheet again.

use resvg::usvg::roxmltree::{Document, Node};

/// A part of a sheet.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Part {
    /// What is drawn.
    Figure(String),
    /// A heading, and what it says.
    Heading(String, String),
    /// Lines of text.
    Paragraph(String),
    /// Entries one after the other.
    List(Vec<String>),
    /// Rows of cells.
    Table(Vec<Vec<Cell>>),
    /// Lines that say nothing by themselves.
    Rules(String),
}

/// How many cells a run has in the laying table.
const RUN_CELLS: u32 = 4;

/// A cell of a table.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Cell {
    pub svg: String,
    /// What it is the head of.
    pub head: Head,
    /// Over how many columns it reaches.
    pub columns: u32,
}

/// What a cell heads.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Head {
    None,
    Row,
    Column,
}

/// The parts of a sheet, what is drawn first; nothing where it isn't one of this program's.
pub(super) fn parts(svg: &str) -> Option<Vec<Part>> {
    let document = Document::parse(svg).ok()?;
    let root = document.root_element();
    let sheet = Source { svg };
    let is = |node: &Node<'_, '_>, class: &str| node.attribute("class") == Some(class);
    let written = ["panel", "title-block", "laying-table"];
    let (written, drawn): (Vec<Node<'_, '_>>, Vec<Node<'_, '_>>) =
        root.children().filter(Node::is_element).partition(|node| written.iter().any(|class| is(node, class)));
    // On a sheet of tables nothing is drawn but its frame.
    let drawn = sheet.alone(&drawn);
    let tables = written.iter().any(|node| is(node, "laying-table"));
    let mut parts = vec![if tables { Part::Rules(drawn) } else { Part::Figure(drawn) }];
    for node in written {
        if is(&node, "panel") {
            let (blocks, rules): (Vec<_>, Vec<_>) =
                node.children().filter(Node::is_element).partition(|node| is(node, "block"));
            parts.extend(blocks.into_iter().flat_map(|block| sheet.block(block)));
            parts.extend((!rules.is_empty()).then(|| Part::Rules(sheet.alone(&rules))));
        } else if is(&node, "laying-table") {
            parts.extend(sheet.laying_table(node));
        } else {
            parts.extend(sheet.title_block(node));
        }
    }
    Some(parts)
}

/// The text of a sheet.
struct Source<'s> {
    svg: &'s str,
}

impl Source<'_> {
    fn slice(&self, range: std::ops::Range<usize>) -> &str {
        self.svg.get(range).unwrap_or_default()
    }

    /// A sheet that holds some elements of one parent alone, each where it stands.
    fn alone(&self, nodes: &[Node<'_, '_>]) -> String {
        let outer = nodes.first().map(|node| node.ancestors().skip(1).filter(Node::is_element).collect::<Vec<_>>());
        let outer = outer.unwrap_or_default();
        let mut svg = String::new();
        for node in outer.iter().rev() {
            let end = node.first_child().map_or(node.range().end, |child| child.range().start);
            svg.push_str(self.slice(node.range().start..end));
        }
        nodes.iter().for_each(|node| svg.push_str(self.slice(node.range())));
        outer.iter().for_each(|node| svg.push_str(&format!("</{}>", node.tag_name().name())));
        svg
    }

    /// A heading and what stands below it.
    fn block(&self, block: Node<'_, '_>) -> Vec<Part> {
        let mut parts = Vec::new();
        for node in block.children().filter(Node::is_element) {
            match (node.tag_name().name(), node.attribute("class")) {
                ("line", _) => parts.push(Part::Rules(self.alone(&[node]))),
                ("text", _) => parts.push(Part::Heading(self.alone(&[node]), said(node))),
                (_, Some("finding-list")) => parts.extend(self.list(node)),
                (_, Some("cables-table")) => parts.push(self.rows(node, Head::Column)),
                (_, Some("rows")) => parts.push(self.rows(node, Head::Row)),
                _ => parts.push(Part::Paragraph(self.alone(&[node]))),
            }
        }
        parts
    }

    /// Entries, and the lines behind them.
    fn list(&self, list: Node<'_, '_>) -> Vec<Part> {
        let (entries, rest): (Vec<_>, Vec<_>) =
            list.children().filter(Node::is_element).partition(|node| node.attribute("class") == Some("list-entry"));
        let entries: Vec<String> = entries.iter().map(|entry| self.alone(&[*entry])).collect();
        let rest = (!rest.is_empty()).then(|| Part::Paragraph(self.alone(&rest)));
        (!entries.is_empty()).then_some(Part::List(entries)).into_iter().chain(rest).collect()
    }

    /// Texts in rows, by the height that they stand at. The first row has the heads of columns, or each row begins with its own.
    fn rows(&self, table: Node<'_, '_>, head: Head) -> Part {
        let texts: Vec<Node<'_, '_>> = table.children().filter(Node::is_element).collect();
        let rows = texts.chunk_by(|a, b| a.attribute("y") == b.attribute("y")).enumerate();
        let cell = |row: usize, column: usize, node: &Node<'_, '_>| {
            let heads = if head == Head::Column { row == 0 } else { column == 0 };
            Cell { svg: self.alone(&[*node]), head: if heads { head } else { Head::None }, columns: 1 }
        };
        let rows = rows.map(|(row, texts)| texts.iter().enumerate().map(|(at, node)| cell(row, at, node)).collect());
        Part::Table(rows.collect())
    }

    /// A heading, what the table is, and its columns, a table each: the heads of what is told of a run, a row for each cable and each run.
    fn laying_table(&self, table: Node<'_, '_>) -> Vec<Part> {
        let mut parts = Vec::new();
        for node in table.children().filter(Node::is_element) {
            if node.tag_name().name() == "text" {
                let svg = self.alone(&[node]);
                parts.push(if parts.is_empty() { Part::Heading(svg, said(node)) } else { Part::Paragraph(svg) });
                continue;
            }
            let (rows, rules): (Vec<_>, Vec<_>) =
                node.children().filter(Node::is_element).partition(|node| node.tag_name().name() == "g");
            let cells = |row: &Node<'_, '_>| {
                let class = row.attribute("class").unwrap_or_default();
                let texts: Vec<Node<'_, '_>> = row.children().filter(Node::is_element).collect();
                let cell = |(place, node): (usize, &Node<'_, '_>)| {
                    let head = match (class, place) {
                        ("heads", _) => Head::Column,
                        ("run" | "cable", 0) => Head::Row,
                        _ => Head::None,
                    };
                    Cell { svg: self.alone(&[*node]), head, columns: if texts.len() == 1 { RUN_CELLS } else { 1 } }
                };
                texts.iter().enumerate().map(cell).collect()
            };
            parts.push(Part::Table(rows.iter().map(cells).collect()));
            parts.extend((!rules.is_empty()).then(|| Part::Rules(self.alone(&rules))));
        }
        parts
    }

    /// The title block: a row for each of its fields that says something, and its lines.
    fn title_block(&self, block: Node<'_, '_>) -> Vec<Part> {
        let (texts, lines): (Vec<_>, Vec<_>) =
            block.children().filter(Node::is_element).partition(|node| node.tag_name().name() == "text");
        let (fields, blank): (Vec<_>, Vec<_>) =
            texts.chunks(2).partition(|field| field.len() == 2 && !said(field[1]).is_empty());
        let row = |field: &&[Node<'_, '_>]| {
            let cell = |node: Node<'_, '_>, head: Head| Cell { svg: self.alone(&[node]), head, columns: 1 };
            vec![cell(field[0], Head::Row), cell(field[1], Head::None)]
        };
        let rest: Vec<Node<'_, '_>> = lines.into_iter().chain(blank.into_iter().flatten().copied()).collect();
        vec![Part::Table(fields.iter().map(row).collect()), Part::Rules(self.alone(&rest))]
    }
}

/// What a text says.
fn said(node: Node<'_, '_>) -> String {
    node.descendants().filter(Node::is_text).filter_map(|node| node.text()).collect::<String>().trim().to_string()
}
