//! Why the cables of a room are not laid.

use geo::{Area as _, MultiPolygon};

use super::choose::Nearest;
use super::fit::{Cable, Layout};
use super::frame::Frame;
use super::room::{Job, Laid, edit};
use super::spiral::Spirals;
use super::text::Unlaid;
use super::until::Until;
use super::{Pattern, Stop, stop, write};
use crate::checker::mend::apply;
use crate::model::Kit;

impl Job<'_> {
    /// Why no cable can be led over its part of the floor.
    pub(super) fn why_none(
        &self,
        floors: &[MultiPolygon<f64>],
        frames: &[Frame],
        junctions: &[Option<usize>],
        (pattern, until): (Pattern, Until<'_>),
    ) -> Stop {
        for (own, floor) in floors.iter().enumerate() {
            let cable = self.cable(self.kits[own], floor, junctions[own]);
            let found = |cable: Cable| match pattern {
                Pattern::Spiral => Spirals::new(floor, floor, cable).next(until).is_some(),
                Pattern::Auto | Pattern::Loops => {
                    self.searches_for(cable, floor, frames, 0).iter_mut().any(|search| search.next(until).is_some())
                }
            };
            if found(cable) {
                continue;
            }
            // From farther off than its tail reaches it could be laid.
            return match cable.home.is_some() && found(Cable { home: None, ..cable }) {
                true => self.out_of_reach(None),
                false => self.no_layout((self.kits[own], &self.unlaid[own]), floor, cable, (pattern, until)),
            };
        }
        self.late()
    }

    fn no_layout(
        &self,
        (kit, unlaid): (&Kit, &Unlaid),
        floor: &MultiPolygon<f64>,
        cable: Cable,
        (pattern, until): (Pattern, Until<'_>),
    ) -> Stop {
        let area = floor.unsigned_area();
        let pitch = area / kit.length;
        let (least, most) = cable.spacing;
        let name = &kit.name.text;
        let asks = format!(
            "{} of kit `{name}` on {:.2} m² of floor that cable `{}` may lie on come to a spacing of {:.0} mm",
            if kit.length < 1e3 {
                format!("{} mm", write::number(kit.length))
            } else {
                format!("{} m", write::number(kit.length / 1e3))
            },
            area / 1e6,
            unlaid.name,
            pitch
        );
        if pitch < least {
            return stop(
                format!("{asks}; {least:.0} mm is the least (rule `spacing`)"),
                "choose a shorter kit: `layrule size` shows which suit",
            );
        }
        if pitch > most {
            return stop(
                format!("{asks}; {most:.0} mm is the most (rule `wide-spacing`)"),
                "choose a longer kit, or several cables: `layrule size` shows which suit",
            );
        }
        if until.is_over() {
            return self.late();
        }
        if pattern == Pattern::Spiral {
            let why = match Spirals::new(floor, floor, cable).are_any() {
                true => format!("no spiral takes it whole: {asks}"),
                false => format!(
                    "no spiral goes round the floor of room `{}`: something stands in the middle of it",
                    self.said.name
                ),
            };
            return stop(why, "lay it with `--pattern loops`");
        }
        stop(format!("no way was found for it: {asks}"), "try another kit, or `--along` another wall")
    }

    fn late(&self) -> Stop {
        stop(format!("time was up before a layout was found for room `{}`", self.said.name), "give it more `--time`")
    }

    /// Why none of the layouts found is laid.
    pub(super) fn why_not(&self, nearest: Nearest, each: &[Vec<Layout>], until: Until<'_>) -> Stop {
        let name = &self.said.name;
        let late = until.is_over();
        if let Some((_, text, (rule, message))) = nearest.faulty {
            let (none, advice) = match late {
                true => {
                    ("time was up before a layout", "give it more `--time`; `--draw FILE` shows the nearest layout")
                }
                false => (
                    "no layout",
                    "`--draw FILE` shows the nearest layout; choose another kit, of which `layrule size` shows those that suit, or move what is in its way",
                ),
            };
            let keeps = if late { "was found that keeps" } else { "keeps" };
            return Stop {
                reason: format!("{none} of room `{name}` {keeps} every rule; the nearest breaks `{rule}`: {message}"),
                advice: advice.into(),
                nearest: Some(text),
            };
        }
        if nearest.without_tail > 0 {
            return self.out_of_reach(self.bare_text(each));
        }
        if late {
            return self.late();
        }
        stop(format!("no layout was found for room `{name}`"), "choose another kit")
    }

    fn out_of_reach(&self, nearest: Option<String>) -> Stop {
        let reason = format!(
            "no cold tail reaches the junction box of room `{}` from where a cable can start (rule `tail-reach`)",
            self.said.name
        );
        let advice =
            "put the junction box nearer to a corner of the floor that is heated, or choose a kit with a longer tail";
        Stop { nearest, ..stop(reason, advice) }
    }

    /// The plan with the best layouts and no leads.
    fn bare_text(&self, each: &[Vec<Layout>]) -> Option<String> {
        let first = each.iter().map(|found| Some(Laid { layout: found.first()?.clone(), tail: None, second: None }));
        let laid: Vec<Laid> = first.collect::<Option<_>>()?;
        let edits = self.unlaid.iter().zip(&laid).map(|(unlaid, one)| edit(unlaid.span, self.cable_text(unlaid, one)));
        apply(self.text, &edits.collect::<Vec<_>>())
    }
}
