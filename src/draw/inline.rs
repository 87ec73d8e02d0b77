//! Puts a drawing into a page: without the lines that make it a file, and with names of its own for its elements.

use quick_xml::events::{BytesStart, Event};
use quick_xml::{Reader, Writer};

/// An SVG file as it stands in a page; `prefix` is put before the names of its elements, and where they are referred to.
///
/// # Errors
/// When it is no XML.
pub fn inline(svg: &str, prefix: &str) -> Result<String, String> {
    let wrong = |error: &dyn std::fmt::Display| format!("the drawing can't be put into the page: {error}");
    let mut reader = Reader::from_str(svg);
    let mut writer = Writer::new(Vec::new());
    loop {
        let event = match reader.read_event().map_err(|error| wrong(&error))? {
            Event::Eof => break,
            Event::Decl(_) | Event::DocType(_) | Event::PI(_) | Event::Comment(_) => continue,
            Event::Start(start) => Event::Start(renamed(&start, prefix).map_err(|error| wrong(&error))?),
            Event::Empty(start) => Event::Empty(renamed(&start, prefix).map_err(|error| wrong(&error))?),
            other => other,
        };
        writer.write_event(event).map_err(|error| wrong(&error))?;
    }
    let text = String::from_utf8(writer.into_inner()).map_err(|error| wrong(&error))?;
    Ok(text.trim().to_string())
}

fn renamed(
    start: &BytesStart<'_>,
    prefix: &str,
) -> Result<BytesStart<'static>, quick_xml::events::attributes::AttrError> {
    let mut own = start.to_owned();
    own.clear_attributes();
    for attribute in start.attributes() {
        let mut attribute = attribute?;
        let name = match (attribute.key.as_ref(), attribute.value.strip_prefix('#')) {
            ("id", _) => Some(format!("{prefix}{}", attribute.value)),
            ("href" | "xlink:href", Some(name)) => Some(format!("#{prefix}{name}")),
            _ => attribute.value.strip_prefix("url(#").map(|rest| format!("url(#{prefix}{rest}")),
        };
        if let Some(name) = name {
            attribute.value = name.into();
        }
        own.push_attribute(attribute);
    }
    Ok(own)
}
