//! Exercises: broken plans made out of a sound one, each with the key to what is wrong with it.
//!
//! `ways` are the mistakes that people make, as data; `site` is the plan that they are made in, `slips` what happens to its numbers.
//! `provoke` makes a change and tells what the rules then find: a mistake is kept only where a rule finds it, and all that follows from it goes
//! into the `key`. `choose` draws mistakes by lot, `sheet` is the page that a learner gets. Nothing here knows a limit, reads a file or writes one.

pub mod changes;
pub mod choose;
pub mod key;
pub mod learners;
pub mod numbers;
pub mod provoke;
pub mod sheet;
pub mod site;
pub mod slips;
pub mod sound;
pub mod told;
pub mod ways;

use choose::{Asked, Lacking, Level, Pool};
use key::{Exercise, FORMAT, Key, Origin, SoundPlan, VERSION, fingerprint, rules_fingerprint};
use learners::Learner;
use numbers::Numbers;

/// What exercises are asked for.
#[derive(Debug, Clone)]
pub struct Wanted {
    /// Which mistakes.
    pub asked: Asked,
    /// How hard.
    pub level: Level,
    /// For whom; one exercise for nobody in particular where there is no one.
    pub learners: Vec<Learner>,
}

/// How often exercises are drawn anew where somebody has the same already.
const MOST_ALIKE: usize = 8;

/// Makes exercises of a sound plan, each learner's own.
///
/// # Errors
/// Where what is asked for can't be had of this plan.
pub fn exercises(origin: Origin<'_>, wanted: &Wanted) -> Result<Key, Lacking> {
    let Origin { sound, rules, today, seed } = origin;
    let mut pool = Pool::new(sound, rules, today);
    let mut exercises: Vec<Exercise> = Vec::new();
    for number in 0..wanted.learners.len().max(1) {
        let learner = wanted.learners.get(number).map(|one| (one.name.clone(), one.folder.clone()));
        let mut numbers = Numbers::of(seed, number as u64);
        let mut own = None;
        for _ in 0..MOST_ALIKE {
            let mistakes = pool.draw(&wanted.asked, wanted.level, &mut numbers)?;
            own = key::exercise(origin, number, learner.clone(), &mistakes);
            let alike = |one: &Exercise| own.as_ref().is_some_and(|own| plan_of(&own.text) == plan_of(&one.text));
            if own.is_some() && !exercises.iter().any(alike) {
                break;
            }
        }
        exercises.push(own.ok_or(Lacking::Together)?);
    }
    let plan = SoundPlan { name: sound.name.clone(), fingerprint: fingerprint(&sound.text), text: sound.text.clone() };
    Ok(Key {
        format: FORMAT.into(),
        version: VERSION,
        plan,
        rules: rules_fingerprint(rules),
        date: today.to_string(),
        seed,
        exercises,
    })
}

/// A learner's plan without the line that says whose it is.
fn plan_of(text: &str) -> &str {
    text.split_once('\n').map_or(text, |(_, plan)| plan)
}
