//! The page as it is without script: the drawings and the list of what was found, read afresh every few seconds. The script takes it over.

use std::fmt::Write as _;

use super::view::{FindingView, View};

const PAGE: &str = include_str!("page.html");

/// Text as HTML shows it.
fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            c => safe.push(c),
        }
    }
    safe
}

fn finding(found: &FindingView) -> String {
    let link = found.spot.map(|(room, ..)| format!("room-{}-finding-{}", room + 1, found.number));
    let (open, close) = match link {
        Some(to) => (format!("<a href=\"#{to}\">"), "</a>"),
        None => ("<div>".to_string(), "</div>"),
    };
    let agreed = if found.agreed.is_some() { ", agreed to" } else { "" };
    let mut item = format!(
        "<li class=\"{}\">{open}<span class=\"head\">{}. {}: {}{agreed}</span>",
        found.severity,
        found.number,
        found.severity,
        escaped(&found.rule)
    );
    let agreed = found.agreed.as_ref().map(|why| format!("Agreed: {why}"));
    let advice = found.advice.as_ref().map(|advice| format!("Advice: {advice}"));
    let lines = [
        ("message", Some(found.message.clone())),
        ("message", found.others.clone()),
        ("advice", agreed),
        ("advice", advice),
        ("place", Some(found.place.clone())),
    ];
    for (class, text) in lines {
        if let Some(text) = text {
            let _ = write!(item, "<span class=\"{class}\">{}</span>", escaped(&text));
        }
    }
    item + close + "</li>"
}

/// The page with what is shown now, and why that is not of the text as it is, where it isn't.
pub(super) fn page(view: Option<&View>, problem: Option<&str>) -> String {
    let hidden = |hide: bool| if hide { " hidden" } else { "" };
    let status = view.map_or("Reading the plan.".to_string(), |view| format!("{}.", view.summary));
    let drawings = view.iter().flat_map(|view| &view.rooms);
    let drawings: String = drawings.map(|room| format!("<figure>{}</figure>", room.svg)).collect();
    let findings: String = view.iter().flat_map(|view| &view.findings).map(finding).collect();
    let none = view.is_some_and(|view| view.findings.is_empty());
    let fields = [
        ("file", escaped(view.map_or("Floor heating plan", |view| &view.file))),
        ("status", escaped(&status)),
        ("no-problem", hidden(problem.is_none()).to_string()),
        ("problem", escaped(problem.unwrap_or_default())),
        ("some", hidden(!none).to_string()),
        ("drawings", drawings),
        ("findings", findings),
    ];
    // What is filled in is never looked through for fields of its own.
    let mut page = String::new();
    let mut rest = PAGE;
    while let Some((before, after)) = rest.split_once("<!--") {
        page.push_str(before);
        let (name, after) = after.split_once("-->").unwrap_or((after, ""));
        page.extend(fields.iter().find(|(own, _)| *own == name).map(|(_, text)| text.as_str()));
        rest = after;
    }
    page + rest
}
