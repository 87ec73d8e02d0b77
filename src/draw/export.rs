//! Sheets as PNG and PDF. Both are made from the SVG, with the fonts that go with the program; where those lack a letter, with the machine's
//! too, by which text is shaped as its script wants it. What no font has is refused, never drawn as a box.

use std::collections::BTreeSet;
use std::num::{NonZeroU16, NonZeroU32};
use std::sync::{Arc, LazyLock};

use krilla::destination::XyzDestination;
use krilla::geom::Size;
use krilla::metadata::Metadata;
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::surface::Surface;
use krilla::tagging::{
    Artifact, ArtifactType, ContentTag, Identifier, ListNumbering, TableHeaderScope, Tag, TagGroup, TagKind, TagTree,
};
use krilla_svg::{SurfaceExt as _, SvgSettings};
use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{FontResolver, Options, Tree, fontdb};

use super::parts::{Cell, Head, Part, parts};
use super::{Drawing, lettering};

/// Why a sheet could not be turned into another form.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the drawing can't be written as {form}: {reason}")]
pub struct ExportError {
    form: &'static str,
    reason: String,
}

/// Pixels of a PNG in an inch of paper.
pub const PIXELS_PER_INCH: f32 = 200.0;
const MM_PER_INCH: f32 = 25.4;
const POINTS_PER_INCH: f32 = 72.0;

static FONTS: LazyLock<Arc<fontdb::Database>> = LazyLock::new(|| {
    let mut fonts = fontdb::Database::new();
    fonts.load_font_data(ttf_noto_sans::REGULAR.to_vec());
    fonts.load_font_data(ttf_noto_sans::BOLD.to_vec());
    fonts.set_sans_serif_family("Noto Sans");
    Arc::new(fonts)
});

/// With the fonts of the machine; looked for once some letter asks for them.
static FONTS_OF_MACHINE: LazyLock<Arc<fontdb::Database>> = LazyLock::new(|| {
    let mut fonts = fontdb::Database::clone(&FONTS);
    fonts.load_system_fonts();
    Arc::new(fonts)
});

/// The most letters that a message names.
const MOST_NAMED: usize = 8;

/// The fonts that a drawing's letters want.
fn fonts(svg: &str, form: &'static str) -> Result<Arc<fontdb::Database>, ExportError> {
    let mut lacking: BTreeSet<char> = svg.chars().filter(|c| !c.is_ascii() && !lettering::has(*c)).collect();
    if lacking.is_empty() {
        return Ok(Arc::clone(&FONTS));
    }
    for face in FONTS_OF_MACHINE.faces() {
        if lacking.is_empty() {
            break;
        }
        FONTS_OF_MACHINE.with_face_data(face.id, |data, index| {
            if let Ok(face) = ttf_parser::Face::parse(data, index) {
                lacking.retain(|c| face.glyph_index(*c).is_none());
            }
        });
    }
    if lacking.is_empty() {
        return Ok(Arc::clone(&FONTS_OF_MACHINE));
    }
    let named: Vec<String> = lacking.iter().take(MOST_NAMED).map(|c| format!("U+{:04X}", u32::from(*c))).collect();
    let more = lacking.len().checked_sub(MOST_NAMED).filter(|more| *more > 0);
    let more = more.map_or_else(String::new, |more| format!(" and {more} more"));
    let reason = format!(
        "no font on this machine has {}{more}; install a font for that script, or write SVG, which is lettered where it is looked at",
        named.join(", ")
    );
    Err(ExportError { form, reason })
}

/// The font that takes over for a letter: the one most like the program's own, and the same whatever order fonts are found in.
fn take_over(c: char, used: &[fontdb::ID], fonts: &fontdb::Database) -> Option<fontdb::ID> {
    let has = |face: &&fontdb::FaceInfo| {
        let has =
            |data: &[u8], index| ttf_parser::Face::parse(data, index).is_ok_and(|face| face.glyph_index(c).is_some());
        !used.contains(&face.id) && fonts.with_face_data(face.id, has) == Some(true)
    };
    let bold = |face: &fontdb::FaceInfo| face.weight >= fontdb::Weight::SEMIBOLD;
    let asked = fonts.face(*used.first()?).is_some_and(bold);
    let unlike = |face: &&fontdb::FaceInfo| {
        let name = face.post_script_name.clone();
        let odd = [face.style != fontdb::Style::Normal, face.stretch != fontdb::Stretch::Normal, bold(face) != asked];
        (odd, face.monospaced, !name.contains("Sans"), name)
    };
    fonts.faces().filter(has).min_by_key(unlike).map(|face| face.id)
}

fn tree(drawing: &Drawing, form: &'static str) -> Result<Tree, ExportError> {
    tree_of(&drawing.svg, fonts(&drawing.svg, form)?, form)
}

fn tree_of(svg: &str, fontdb: Arc<fontdb::Database>, form: &'static str) -> Result<Tree, ExportError> {
    let font_resolver = FontResolver {
        select_font: FontResolver::default_font_selector(),
        select_fallback: Box::new(|c, used, fonts| take_over(c, used, fonts)),
    };
    let options = Options { fontdb, font_resolver, font_family: "Noto Sans".into(), ..Options::default() };
    Tree::from_str(svg, &options).map_err(|error| ExportError { form, reason: error.to_string() })
}

/// The stack that renderers are given, bytes, however small the one of who asks.
const STACK: usize = 8 * 1024 * 1024;

/// Renders on a thread by itself, which has a stack of a known size, and whose failure is an error like any other.
fn render<T: Send>(form: &'static str, work: impl FnOnce() -> Result<T, ExportError> + Send) -> Result<T, ExportError> {
    let refused = |reason: String| ExportError { form, reason };
    std::thread::scope(|scope| {
        let thread = std::thread::Builder::new().name("render".into()).stack_size(STACK).spawn_scoped(scope, work);
        let thread = thread.map_err(|error| refused(format!("the system gives no thread for it: {error}")))?;
        thread.join().unwrap_or_else(|_| Err(refused("the renderer failed".into())))
    })
}

/// A sheet as PNG.
///
/// # Errors
/// When the renderer refuses it.
pub fn png(drawing: &Drawing) -> Result<Vec<u8>, ExportError> {
    render("PNG", || png_here(drawing))
}

fn png_here(drawing: &Drawing) -> Result<Vec<u8>, ExportError> {
    let refused = |reason: String| ExportError { form: "PNG", reason };
    let tree = tree(drawing, "PNG")?;
    let pixels = |mm: f64| (mm as f32 / MM_PER_INCH * PIXELS_PER_INCH).round();
    let (wide, high) = (pixels(drawing.sheet.width), pixels(drawing.sheet.height));
    let mut picture =
        Pixmap::new(wide as u32, high as u32).ok_or_else(|| refused("there is no room for its pixels".into()))?;
    let scale = Transform::from_scale(wide / tree.size().width(), high / tree.size().height());
    resvg::render(&tree, scale, &mut picture.as_mut());
    encoded(&picture).map_err(|error| refused(error.to_string()))
}

/// A picture as PNG that says how many of its pixels a metre of paper takes. The paper hides what lies behind it, so that no pixel lets
/// through.
fn encoded(picture: &Pixmap) -> Result<Vec<u8>, png::EncodingError> {
    let pixels: Vec<u8> = picture.data().chunks_exact(4).flat_map(|pixel| [pixel[0], pixel[1], pixel[2]]).collect();
    let per_metre = (PIXELS_PER_INCH / MM_PER_INCH * 1e3).round() as u32;
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, picture.width(), picture.height());
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_pixel_dims(Some(png::PixelDimensions { xppu: per_metre, yppu: per_metre, unit: png::Unit::Meter }));
    let mut writer = encoder.write_header()?;
    writer.write_image_data(&pixels)?;
    writer.finish()?;
    Ok(bytes)
}

/// Sheets as the pages of one PDF.
///
/// # Errors
/// When the writer refuses one of them.
pub fn pdf(drawings: &[Drawing]) -> Result<Vec<u8>, ExportError> {
    render("PDF", || pdf_here(drawings))
}

/// The language that sheets are written in.
const LANGUAGE: &str = "en";

fn pdf_here(drawings: &[Drawing]) -> Result<Vec<u8>, ExportError> {
    let refused = |reason: String| ExportError { form: "PDF", reason };
    let mut document = krilla::Document::new();
    let (mut outline, mut tags) = (Outline::new(), TagTree::new().with_lang(Some(LANGUAGE.into())));
    for (index, drawing) in drawings.iter().enumerate() {
        let points = |mm: f64| mm as f32 / MM_PER_INCH * POINTS_PER_INCH;
        let (wide, high) = (points(drawing.sheet.width), points(drawing.sheet.height));
        let settings = PageSettings::from_wh(wide, high).ok_or_else(|| refused("a page has no size".into()))?;
        let size = Size::from_wh(wide, high).ok_or_else(|| refused("a page has no size".into()))?;
        let mut page = document.start_page_with(settings);
        let parts = parts(&drawing.svg).unwrap_or_else(|| vec![Part::Figure(drawing.svg.clone())]);
        let fonts = fonts(&drawing.svg, "PDF")?;
        tagged(Tagging { surface: page.surface(), size, fonts }, &parts, drawing, &mut tags)?;
        page.finish();
        let top = XyzDestination::new(index, krilla::geom::Point::from_xy(0.0, 0.0));
        outline.push_child(OutlineNode::new(drawing.title.clone(), top));
    }
    let titles: Vec<&str> = drawings.iter().map(|drawing| drawing.title.as_str()).collect();
    let title = format!("Heating cable layout: {}", titles.join(", "));
    document.set_metadata(Metadata::new().title(title).language(LANGUAGE.into()));
    document.set_outline(outline);
    document.set_tag_tree(tags);
    document.finish().map_err(|error| refused(format!("{error:?}")))
}

/// Draws the parts of a sheet on its page.
fn tagged(mut page: Tagging<'_>, parts: &[Part], drawing: &Drawing, tags: &mut TagTree) -> Result<(), ExportError> {
    let alternative = format!("{}. {}", drawing.title, drawing.shows);
    for part in parts {
        if let Some(group) = page.part(part, &alternative)? {
            tags.push(group);
        }
    }
    page.surface.finish();
    Ok(())
}

/// A page on which parts of a sheet are drawn, each with its tag (ISO 32000-1, 14.8.4).
struct Tagging<'p> {
    surface: Surface<'p>,
    size: Size,
    fonts: Arc<fontdb::Database>,
}

impl Tagging<'_> {
    fn draw(&mut self, svg: &str, content: ContentTag<'_>) -> Result<Identifier, ExportError> {
        let tree = tree_of(svg, Arc::clone(&self.fonts), "PDF")?;
        let identifier = self.surface.start_tagged(content);
        let drawn = self.surface.draw_svg(&tree, self.size, SvgSettings::default());
        self.surface.end_tagged();
        drawn.map(|()| identifier).ok_or_else(|| ExportError { form: "PDF", reason: "a page can't be drawn".into() })
    }

    /// A group that holds what is drawn of one piece.
    fn leaf(&mut self, tag: impl Into<TagKind>, svg: &str) -> Result<TagGroup, ExportError> {
        let mut group = TagGroup::new(tag);
        group.push(self.draw(svg, ContentTag::Other)?);
        Ok(group)
    }

    /// A part as its group; none for lines that say nothing.
    fn part(&mut self, part: &Part, alternative: &str) -> Result<Option<TagGroup>, ExportError> {
        Ok(Some(match part {
            Part::Figure(svg) => self.leaf(Tag::Figure(Some(alternative.to_string())), svg)?,
            Part::Heading(svg, words) => self.leaf(Tag::Hn(NonZeroU16::MIN, Some(words.clone())), svg)?,
            Part::Paragraph(svg) => self.leaf(Tag::P, svg)?,
            Part::List(entries) => {
                let mut list = TagGroup::new(Tag::L(ListNumbering::None));
                for entry in entries {
                    let mut own = TagGroup::new(Tag::LI);
                    own.push(self.leaf(Tag::LBody, entry)?);
                    list.push(own);
                }
                list
            }
            Part::Table(rows) => self.table(rows)?,
            Part::Rules(svg) => {
                self.draw(svg, ContentTag::Artifact(Artifact::with_kind(ArtifactType::Layout)))?;
                return Ok(None);
            }
        }))
    }

    fn table(&mut self, rows: &[Vec<Cell>]) -> Result<TagGroup, ExportError> {
        let mut table = TagGroup::new(Tag::Table);
        for row in rows {
            let mut own = TagGroup::new(Tag::TR);
            for cell in row {
                let columns = NonZeroU32::new(cell.columns).filter(|columns| columns.get() > 1);
                let head = |scope| Tag::TH(scope).with_col_span(columns);
                own.push(match cell.head {
                    Head::None => self.leaf(Tag::TD.with_col_span(columns), &cell.svg)?,
                    Head::Row => self.leaf(head(TableHeaderScope::Row), &cell.svg)?,
                    Head::Column => self.leaf(head(TableHeaderScope::Column), &cell.svg)?,
                });
            }
            table.push(own);
        }
        Ok(table)
    }
}
