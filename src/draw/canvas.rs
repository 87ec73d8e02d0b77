//! Elements of SVG, numbers as it writes them, boxes on paper.

use svg::Node as _;
use svg::node::Value;
use svg::node::element::Element;

use crate::model::Point;

pub use crate::quantity::number;

/// One element with what it holds.
#[derive(Debug, Clone)]
pub struct Item(Element);

/// An element of that name.
pub fn item(name: &str) -> Item {
    Item(Element::new(name))
}

/// A group of that class.
pub fn group(class: &str) -> Item {
    item("g").set("class", class)
}

impl Item {
    /// The element with an attribute set.
    #[must_use]
    pub fn set(mut self, name: &str, value: impl Into<Value>) -> Self {
        self.0.assign(name, value);
        self
    }

    /// The element with an attribute set to a number, to 0.001.
    #[must_use]
    pub fn num(self, name: &str, value: f64) -> Self {
        self.set(name, number(value, 3))
    }

    /// The element drawn as a line of that colour and width, unfilled.
    #[must_use]
    pub fn line(self, color: &str, width: f64) -> Self {
        self.set("stroke", color).set("stroke-width", number(width, 4)).set("fill", "none")
    }

    /// The element with another put into it, after what it holds.
    #[must_use]
    pub fn with(mut self, child: Item) -> Self {
        self.push(child);
        self
    }

    /// The element with text put into it, escaped as it is written.
    #[must_use]
    pub fn text(mut self, text: &str) -> Self {
        self.0.append(svg::node::Text::new(clean(text)));
        self
    }

    /// Adds an element.
    pub fn push(&mut self, child: Item) {
        self.0.append(child.0);
    }

    /// Adds several.
    pub fn extend(&mut self, children: impl IntoIterator<Item = Item>) {
        children.into_iter().for_each(|child| self.push(child));
    }

    /// As it is written.
    pub fn write(&self) -> String {
        self.0.to_string()
    }
}

/// A text on one line, without the characters that XML can't hold.
pub fn clean(text: &str) -> String {
    let barred = |c: char| c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}');
    let spaced = text.trim_end().replace(['\n', '\r', '\t'], " ");
    spaced.replace(barred, "\u{fffd}")
}

/// Points joined by straight lines, as a path's data; closed where asked. Floor coordinates keep four decimals, 0.0001 mm.
pub fn path(points: &[Point], closed: bool) -> String {
    let mut data = String::new();
    for (index, point) in points.iter().enumerate() {
        data.push_str(if index == 0 { "M" } else { "L" });
        data.push_str(&pair(*point));
    }
    if closed {
        data.push('Z');
    }
    data
}

/// A sheet as a file holds it.
pub fn finished(whole: &Item) -> String {
    format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{}\n", whole.write())
}

/// A point as path data writes it.
pub fn pair(point: Point) -> String {
    format!("{} {}", number(point.x, 4), number(point.y, 4))
}

/// A straight line on paper.
pub fn straight(a: Point, b: Point, color: &str, width: f64) -> Item {
    item("line").num("x1", a.x).num("y1", a.y).num("x2", b.x).num("y2", b.y).line(color, width)
}

/// An upright box on paper, mm; y grows downward.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// Left edge.
    pub left: f64,
    /// Top edge.
    pub top: f64,
    /// Right edge.
    pub right: f64,
    /// Bottom edge.
    pub bottom: f64,
}

impl Frame {
    /// From a corner, a width and a height.
    pub fn new(left: f64, top: f64, width: f64, height: f64) -> Self {
        Frame { left, top, right: left + width, bottom: top + height }
    }

    /// The box round two points.
    pub fn around(a: Point, b: Point) -> Self {
        Frame { left: a.x.min(b.x), top: a.y.min(b.y), right: a.x.max(b.x), bottom: a.y.max(b.y) }
    }

    /// Its width.
    pub fn width(&self) -> f64 {
        self.right - self.left
    }

    /// Its height.
    pub fn height(&self) -> f64 {
        self.bottom - self.top
    }

    /// Its middle.
    pub fn middle(&self) -> Point {
        Point { x: f64::midpoint(self.left, self.right), y: f64::midpoint(self.top, self.bottom) }
    }

    /// The frame that lies so much further out on each side.
    #[must_use]
    pub fn grown(&self, by: f64) -> Self {
        Frame { left: self.left - by, top: self.top - by, right: self.right + by, bottom: self.bottom + by }
    }

    /// The frame that lies so much further out to its left and right.
    #[must_use]
    pub fn grown_across(&self, by: f64) -> Self {
        Frame { left: self.left - by, right: self.right + by, ..*self }
    }

    /// Whether it shares some area with another.
    pub fn meets(&self, other: &Frame) -> bool {
        self.left < other.right && other.left < self.right && self.top < other.bottom && other.top < self.bottom
    }

    /// Whether another lies within it.
    pub fn holds(&self, other: &Frame) -> bool {
        self.left <= other.left && other.right <= self.right && self.top <= other.top && other.bottom <= self.bottom
    }

    /// Whether a point lies in it or on its edge.
    pub fn reaches(&self, point: Point) -> bool {
        self.left <= point.x && point.x <= self.right && self.top <= point.y && point.y <= self.bottom
    }

    /// Whether some of the straight piece from `a` to `b` lies within it.
    pub fn cut_by(&self, a: Point, b: Point) -> bool {
        let step = b - a;
        let (mut from, mut to) = (0.0_f64, 1.0_f64);
        for (start, along, low, high) in [(a.x, step.x, self.left, self.right), (a.y, step.y, self.top, self.bottom)] {
            if along == 0.0 {
                if start <= low || start >= high {
                    return false;
                }
            } else {
                let (one, two) = ((low - start) / along, (high - start) / along);
                from = from.max(one.min(two));
                to = to.min(one.max(two));
            }
        }
        from < to
    }

    /// As an element.
    pub fn item(&self) -> Item {
        item("rect").num("x", self.left).num("y", self.top).num("width", self.width()).num("height", self.height())
    }
}
