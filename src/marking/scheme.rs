//! What everything is worth. The default stands here; a file may set any of it.

use serde::Deserialize;

use super::{Marked, Outcome};

/// Points for what became of faults, and for what else was done.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
pub struct Scheme {
    /// For a fault mended in a plan.
    pub mended: f64,
    /// For a fault that is mended but for what followed from it.
    pub partly: f64,
    /// For a fault that is gone since what it was about was taken away.
    pub taken_away: f64,
    /// For a fault that was agreed to.
    pub agreed: f64,
    /// For a fault that is still there, or can't be told.
    pub still_there: f64,
    /// For a finding that is new in a mended plan.
    pub new: f64,
    /// For a statement changed needlessly.
    pub needless: f64,
    /// For a fault named in a table with its rule and its line.
    pub found: f64,
    /// For a fault of which the rule alone is named.
    pub rule_alone: f64,
    /// For a fault of which the line alone is named.
    pub place_alone: f64,
    /// For a row that names nothing that is there.
    pub wrong: f64,
    /// A cable of which less than this share of its length, per cent, is left was taken away.
    pub laid_share: f64,
    /// Marks in words, each with the least share of the points that it takes, per cent.
    pub marks: toml::Table,
}

impl Default for Scheme {
    fn default() -> Self {
        Scheme {
            mended: 2.0,
            partly: 1.0,
            taken_away: 0.0,
            agreed: 0.0,
            still_there: 0.0,
            new: -1.0,
            needless: -0.5,
            found: 1.0,
            rule_alone: 0.5,
            place_alone: 0.5,
            wrong: -0.5,
            laid_share: 50.0,
            marks: toml::Table::new(),
        }
    }
}

/// The most points that one thing may be worth, either way.
const MOST: f64 = 1_000.0;

impl Scheme {
    /// Reads a scheme.
    ///
    /// ```
    /// use layrule::marking::scheme::Scheme;
    ///
    /// let scheme = Scheme::read("mended = 3\n[marks]\n\"passed\" = 60\n").unwrap();
    /// assert_eq!((scheme.mended, scheme.new, scheme.mark(60.0).as_deref()), (3.0, -1.0, Some("passed")));
    /// assert!(Scheme::read("mendet = 3").unwrap_err().contains("mendet"));
    /// ```
    ///
    /// # Errors
    /// In words, where it is none.
    pub fn read(text: &str) -> Result<Scheme, String> {
        let scheme: Scheme = toml::from_str(text).map_err(|error| {
            let place = error
                .span()
                .map(|span| format!("line {}: ", text[..span.start.min(text.len())].matches('\n').count() + 1));
            format!("{}{}", place.unwrap_or_default(), error.message())
        })?;
        let points = [
            scheme.mended,
            scheme.partly,
            scheme.taken_away,
            scheme.agreed,
            scheme.still_there,
            scheme.new,
            scheme.needless,
            scheme.found,
            scheme.rule_alone,
            scheme.place_alone,
            scheme.wrong,
        ];
        if points.iter().any(|points| !points.is_finite() || points.abs() > MOST) {
            return Err(format!("points lie between -{MOST} and {MOST}"));
        }
        if scheme.mended <= 0.0 || scheme.found <= 0.0 {
            return Err("`mended` and `found` are worth more than nothing".into());
        }
        if !(0.0..=100.0).contains(&scheme.laid_share) {
            return Err("`laid-share` is a share of 0 to 100 per cent".into());
        }
        match scheme.marks.iter().find(|(_, least)| share(least).is_none()) {
            Some((word, _)) => {
                Err(format!("the mark `{}` takes a share of 0 to 100 per cent", crate::source::one_line(word)))
            }
            None => Ok(scheme),
        }
    }

    /// What became of a fault is worth this.
    fn of(&self, outcome: Outcome) -> f64 {
        match outcome {
            Outcome::Mended => self.mended,
            Outcome::Partly => self.partly,
            Outcome::TakenAway => self.taken_away,
            Outcome::Agreed => self.agreed,
            Outcome::Untold | Outcome::StillThere => self.still_there,
            Outcome::Found => self.found,
            Outcome::RuleAlone => self.rule_alone,
            Outcome::PlaceAlone => self.place_alone,
            Outcome::Missed => 0.0,
        }
    }

    /// The mark for a share of the points, per cent; none where the scheme gives no marks, or none for so little.
    pub fn mark(&self, reached: f64) -> Option<String> {
        let marks = self.marks.iter().filter_map(|(word, least)| Some((word, share(least)?)));
        let earned = marks.filter(|(_, least)| reached + 1e-9 >= *least);
        earned.max_by(|one, other| one.1.total_cmp(&other.1)).map(|(word, _)| crate::source::one_line(word))
    }

    /// Counts the points of an answer.
    pub(super) fn count(&self, marked: &mut Marked) {
        let each = if marked.table { self.found } else { self.mended };
        let faults: f64 = marked.faults.iter().map(|fault| self.of(fault.outcome)).sum();
        let others = self.new * marked.new.len() as f64
            + self.needless * marked.needless.len() as f64
            + self.wrong * marked.wrong.len() as f64;
        marked.most = each * marked.faults.len() as f64;
        marked.points = (faults + others).clamp(0.0, marked.most.max(0.0));
        marked.mark = self.mark(marked.share());
    }
}

/// A share that is given as a number.
fn share(value: &toml::Value) -> Option<f64> {
    let number = value.as_float().or_else(|| value.as_integer().map(|whole| whole as f64))?;
    (0.0..=100.0).contains(&number).then_some(number)
}
