//! Which of a room's layouts is taken: the first that is clean and, of some after it, the best; else one that is mended.

use std::collections::HashSet;

use super::Setting;
use super::fit::Layout;
use super::judge::{Before, Fault, Quality, Verdict};
use super::leads::Strip;
use super::room::{Job, Laid};
use super::until::Until;
use super::ways::Source;

/// How many of those that one spacing gives, and how many may lack a tail or a channel.
const OF_A_BATCH: usize = 20;
const TAILLESS: usize = 100;
/// How many of those are judged that leave floor cold as far as points on a grid tell.
const COLD_ONES: usize = 3;

/// How many layouts are looked at beyond the first that is clean, so that the best is taken: so many, and not for so long, so that any machine takes
/// the same; and up to which greatest spacing over the least it is even enough.
const BESIDES: usize = 5;
pub(super) const EVEN: f64 = 1.2;

/// From which turn on layouts are mended, how many at each and how often each is changed, what they weigh at the most, and by how much less a
/// change must make them miss their limits.
pub(super) const UNMENDED: usize = 3;
const MENDED: usize = 2;
const MOST_TRIES: usize = 60;
const HEAVIEST: usize = 4;
const LEAST_GAIN: f64 = 0.5;

/// A clean layout: its text, what it comes to, and how good it is.
pub(super) struct Clean {
    pub(super) text: String,
    pub(super) told: Vec<String>,
    pub(super) quality: Quality,
}

/// The nearest to clean of what was judged.
#[derive(Default)]
pub(super) struct Nearest {
    /// How much its findings weigh, its text, and the heaviest of its findings: the rule and what it says.
    pub(super) faulty: Option<(usize, String, (String, String))>,
    /// Layouts for which no way of a tail was found.
    pub(super) without_tail: usize,
    pub(super) judged: usize,
    /// How good those were that were judged.
    merits: HashSet<Vec<i64>>,
    /// Those that little changes may make clean.
    to_mend: Vec<ToMend>,
}

/// A layout that is to be changed where something is found in it.
#[derive(Clone)]
struct ToMend {
    laid: Vec<Laid>,
    weight: usize,
    faults: Vec<Fault>,
}

impl ToMend {
    fn new(laid: &[Laid], weight: usize, faults: Vec<Fault>) -> Self {
        ToMend { laid: laid.to_vec(), weight, faults }
    }

    /// What its findings weigh, and by how much they miss their limits in all.
    fn score(&self) -> (usize, f64) {
        (self.weight, self.faults.iter().map(|fault| fault.excess).sum())
    }

    fn is_better_than(&self, other: &ToMend) -> bool {
        let (own, other) = (self.score(), other.score());
        own.0 < other.0 || (own.0 == other.0 && own.1 < other.1 - LEAST_GAIN)
    }
}

impl Job<'_> {
    /// The best of some layouts that is clean with its tails and its sensor, of the first such and some after it.
    pub(super) fn best_clean(
        &self,
        each: &[Vec<Layout>],
        junctions: &[Option<usize>],
        strips: &[Strip],
        (before, until, setting): (&Before, Until<'_>, &Setting<'_>),
        nearest: &mut Nearest,
    ) -> Option<Clean> {
        let mut best: Option<Clean> = None;
        let mut besides = 0;
        let most = each.iter().map(Vec::len).max().unwrap_or_default();
        let (mut judged, mut tailless, mut cold_ones) = (0, 0, 0);
        for rank in 0..most {
            besides += usize::from(best.is_some());
            let enough = judged >= OF_A_BATCH || tailless >= TAILLESS || besides > BESIDES;
            if enough || until.is_over() {
                break;
            }
            // What is cold anyhow is of use only where nothing else can be shown, or where it can be mended.
            let cold =
                each.iter().any(|found| found.get(rank.min(found.len().saturating_sub(1))).is_some_and(|one| one.cold));
            if cold && (best.is_some() || (nearest.faulty.is_some() && cold_ones >= COLD_ONES)) {
                continue;
            }
            cold_ones += usize::from(cold);
            let Some(laid) = self.with_tails(each, rank, junctions, strips, until) else {
                (nearest.without_tail, tailless) = (nearest.without_tail + 1, tailless + 1);
                continue;
            };
            // Ways as good to the last digit are hardly ever different.
            if !nearest.merits.insert(laid.iter().map(|one| (one.layout.merit * 1e4).round() as i64).collect()) {
                continue;
            }
            let (texts, lacking) = self.texts(&laid, strips);
            // One that leaves a sensor no channel is worth a look only where there is no other.
            if lacking && (nearest.faulty.is_some() || best.is_some()) {
                tailless += 1;
                continue;
            }
            judged += 1;
            nearest.judged += 1;
            for text in texts {
                match before.judged(&text, setting) {
                    Verdict::Clean(measured) => {
                        let quality = Quality::of(&measured, &self.said.name, &text, self.limits);
                        if best.as_ref().is_none_or(|best| quality < best.quality) {
                            best = Some(Clean { text, told: self.told(&laid), quality });
                        }
                        break;
                    }
                    Verdict::Faulty { findings, weight, faults } => {
                        // Another conduit helps where nothing else is at fault.
                        let of_a_sensor = |rule: &str| rule.contains("sensor") || rule.contains("conduit");
                        let other_conduit = findings.iter().all(|(rule, _)| of_a_sensor(rule));
                        nearest.to_mend.push(ToMend::new(&laid, weight, faults));
                        if nearest.faulty.as_ref().is_none_or(|(least, ..)| weight < *least) {
                            nearest.faulty = findings.into_iter().next().map(|first| (weight, text, first));
                        }
                        if !other_conduit {
                            break;
                        }
                    }
                }
            }
        }
        best
    }

    /// The best of what is to be mended, changed where something is found in it, as long as that makes it better: the first that is clean.
    pub(super) fn mended(
        &self,
        sources: &[Vec<Source>],
        junctions: &[Option<usize>],
        strips: &[Strip],
        (before, until, setting): (&Before, Until<'_>, &Setting<'_>),
        nearest: &mut Nearest,
    ) -> Option<(String, Vec<String>)> {
        let mut all = std::mem::take(&mut nearest.to_mend);
        all.retain(|one| one.weight <= HEAVIEST && !one.faults.is_empty());
        all.sort_by(|a, b| a.score().0.cmp(&b.score().0).then(a.score().1.total_cmp(&b.score().1)));
        for mut one in all.into_iter().take(MENDED) {
            let mut tries = MOST_TRIES;
            'better: loop {
                for (number, fault) in
                    (0..one.laid.len()).flat_map(|number| one.faults.iter().map(move |fault| (number, fault)))
                {
                    let layout = &one.laid[number].layout;
                    let Some(search) =
                        sources[number].iter().filter_map(Source::rows).find(|search| search.frame() == layout.frame)
                    else {
                        continue;
                    };
                    for changed in search.changed(layout, &fault.places) {
                        if tries == 0 || until.is_over() {
                            break 'better;
                        }
                        tries -= 1;
                        let Some(laid) = self.with_changed(&one.laid, number, changed, junctions, strips, until) else {
                            continue;
                        };
                        let (texts, lacking) = self.texts(&laid, strips);
                        if lacking {
                            continue;
                        }
                        let Some(text) = texts.into_iter().next() else { continue };
                        match before.judged(&text, setting) {
                            Verdict::Clean(_) => return Some((text, self.told(&laid))),
                            Verdict::Faulty { weight, faults, .. } => {
                                let better = ToMend::new(&laid, weight, faults);
                                if better.is_better_than(&one) {
                                    one = better;
                                    continue 'better;
                                }
                            }
                        }
                    }
                }
                break;
            }
        }
        None
    }

    /// Cables of which one has another way: its tail stays where its start does.
    fn with_changed(
        &self,
        laid: &[Laid],
        number: usize,
        changed: Layout,
        junctions: &[Option<usize>],
        strips: &[Strip],
        until: Until<'_>,
    ) -> Option<Vec<Laid>> {
        let own = &laid[number];
        if own.second.is_none() && own.layout.line.get(..2) == changed.line.get(..2) {
            let mut laid = laid.to_vec();
            laid[number].layout = changed;
            return Some(laid);
        }
        let mut layouts: Vec<Layout> = laid.iter().map(|one| one.layout.clone()).collect();
        layouts[number] = changed;
        self.tails_of(layouts, junctions, strips, until)
    }
}
