//! Reading costs in proportion to the text, whatever stands in it. What is counted is how often pest enters a rule or a part of one, which
//! comes to the same on every machine.
//!
//! pest's limit on that holds for a whole program, so this is one by itself, and its tests take turns.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::collections::{HashMap, HashSet};
use std::num::NonZeroUsize;
use std::sync::{Mutex, MutexGuard, PoisonError};

use layrule::language::brackets::scan_brackets;
use pest::{Parser, RuleType};

/// How often what is repeated stands in the shorter text; in the longer one four times as often. Beyond [`layrule::language::caps::DEEPEST_NESTING`]
/// nothing is read, so that nesting ends a little below it.
const FEW: usize = 7;

/// How often what is repeated stands in the shorter text where nothing nests.
const MANY: usize = 16;

/// What a text a few words long may cost whatever its length.
const BASE: usize = 1_000;

/// What one byte of any text may cost.
const MOST_A_BYTE: usize = 250;

fn turn() -> MutexGuard<'static, ()> {
    static TURN: Mutex<()> = Mutex::new(());
    TURN.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Whether reading takes no more than so many calls.
fn within(limit: usize, read: &dyn Fn() -> bool) -> bool {
    pest::set_call_limit(NonZeroUsize::new(limit));
    let done = read();
    pest::set_call_limit(None);
    done
}

/// A bound on the calls that reading takes, at most twice their number.
fn bound(length: usize, read: &dyn Fn() -> bool) -> usize {
    let mut limit = 16 * length + 64;
    while !within(limit, read) {
        limit *= 2;
        assert!(limit < 100_000_000, "there is no end to it");
    }
    limit
}

/// Reads by a rule what the program would let in; whether pest came to an end, be it a fault.
fn read<R: RuleType, P: Parser<R>>(rule: R, text: &str) -> bool {
    let Ok(shown) = scan_brackets(text, &mut Vec::new()) else { return true };
    match P::parse(rule, &shown) {
        Ok(_) => true,
        Err(error) => !error.variant.message().contains("limit reached"),
    }
}

/// What a rule of a grammar reads, as far as texts can be made of it: what is only looked at is left out.
#[derive(Debug, Clone)]
enum Expr {
    Text(String),
    Rule(String),
    All(Vec<Expr>),
    Any(Vec<Expr>),
    /// Read so many times, or not at all.
    Maybe(Box<Expr>),
    Times(Box<Expr>, usize),
}

/// The rules of a grammar by their names, each with whether it is one word.
struct Grammar {
    rules: HashMap<String, (bool, Expr)>,
}

impl Grammar {
    fn new(text: &str) -> Self {
        let mut rest = Tokens(text);
        let mut rules = HashMap::new();
        while let Some(name) = rest.next() {
            assert_eq!(rest.next().as_deref(), Some("="), "{name}");
            let mut kind = rest.next().expect("a body");
            let atomic = matches!(&*kind, "@" | "$");
            if kind != "{" {
                kind = rest.next().expect("a body");
            }
            assert_eq!(kind, "{", "{name}");
            rules.insert(name, (atomic, rest.choice("}")));
        }
        Grammar { rules }
    }

    /// The words of a text that the rule reads; of several ways to go on, the one of that number.
    fn words(&self, rule: &str, way: usize) -> Vec<String> {
        let mut words = Vec::new();
        self.add(&Expr::Rule(rule.into()), way, 14, false, &mut words);
        words.retain(|word| !word.is_empty());
        words
    }

    fn add(&self, expr: &Expr, way: usize, fuel: usize, joined: bool, words: &mut Vec<String>) {
        let less = fuel.saturating_sub(1);
        let put = |text: &str, words: &mut Vec<String>| match words.last_mut().filter(|_| joined) {
            Some(word) => word.push_str(text),
            None => words.push(text.into()),
        };
        match expr {
            Expr::Text(text) => put(text, words),
            Expr::Rule(name) => match (name.as_str(), self.rules.get(name)) {
                (_, Some((atomic, expr))) => {
                    if *atomic && !joined {
                        words.push(String::new());
                    }
                    self.add(expr, way, less, joined || *atomic, words);
                }
                ("ASCII_ALPHA" | "ASCII_ALPHANUMERIC", None) => put("a", words),
                ("ASCII_DIGIT", None) => put("1", words),
                ("ANY", None) => put("é", words),
                ("NEWLINE", None) => put("\n", words),
                ("SOI" | "EOI", None) => {}
                _ => panic!("no rule is called {name}"),
            },
            Expr::All(parts) => parts.iter().for_each(|part| self.add(part, way, fuel, joined, words)),
            Expr::Any(ways) => {
                let here = if fuel == 0 { 0 } else { way % ways.len() };
                self.add(&ways[here], way, less, joined, words);
            }
            Expr::Maybe(_) if fuel == 0 => {}
            Expr::Maybe(inner) => self.add(inner, way, less, joined, words),
            Expr::Times(inner, times) => (0..*times).for_each(|_| self.add(inner, way, fuel, joined, words)),
        }
    }

    /// Every beginning of every text that a rule reads, with what it leaves open.
    fn openings(&self) -> Vec<(String, String)> {
        let mut names: Vec<&String> = self.rules.keys().collect();
        names.sort();
        let mut seen = HashSet::new();
        let mut openings = Vec::new();
        for name in names {
            for way in 0..4 {
                let words = self.words(name, way);
                for end in 1..=words.len().min(5) {
                    let opening = words[..end].join(" ");
                    if seen.insert(opening.clone()) {
                        openings.push((opening, words[end..].join(" ")));
                    }
                }
            }
        }
        openings
    }
}

/// The words and marks of a grammar's text that are still to come.
struct Tokens<'g>(&'g str);

impl Iterator for Tokens<'_> {
    type Item = String;

    fn next(&mut self) -> Option<String> {
        loop {
            self.0 = self.0.trim_start();
            match self.0.strip_prefix("//") {
                Some(comment) => self.0 = comment.find('\n').map_or("", |end| &comment[end..]),
                None => break,
            }
        }
        let first = self.0.chars().next()?;
        let length = match first {
            '"' | '\'' => {
                let mut escaped = false;
                let end = self.0[1..].find(|c| {
                    let ends = c == first && !escaped;
                    escaped = c == '\\' && !escaped;
                    ends
                });
                end.expect("an end of the text") + 2
            }
            '.' => 2,
            c if c.is_ascii_alphanumeric() || c == '_' => {
                self.0.find(|c: char| !(c.is_ascii_alphanumeric() || c == '_')).unwrap_or(self.0.len())
            }
            c => c.len_utf8(),
        };
        let (token, rest) = self.0.split_at(length);
        self.0 = rest;
        Some(token.into())
    }
}

impl Tokens<'_> {
    fn peek(&self) -> Option<String> {
        Tokens(self.0).next()
    }

    /// Ways to go on, up to the mark that closes them.
    fn choice(&mut self, close: &str) -> Expr {
        let mut ways = vec![Vec::new()];
        loop {
            match &*self.next().expect("a mark that closes") {
                token if token == close => break,
                "|" => ways.push(Vec::new()),
                "~" => {}
                "!" | "&" => drop(self.term()),
                token => {
                    let token = token.to_string();
                    let term = self.term_of(&token);
                    ways.last_mut().expect("a way").push(term);
                }
            }
        }
        let mut ways: Vec<Expr> = ways.into_iter().map(Expr::All).collect();
        if ways.len() == 1 { ways.remove(0) } else { Expr::Any(ways) }
    }

    fn term(&mut self) -> Expr {
        let token = self.next().expect("a term");
        self.term_of(&token)
    }

    fn term_of(&mut self, token: &str) -> Expr {
        let mut term = match token.chars().next() {
            Some('(') => self.choice(")"),
            Some('"' | '\'') => {
                if self.peek().as_deref() == Some("..") {
                    self.next();
                    self.next();
                }
                Expr::Text(plain(&token[1..token.len() - 1]))
            }
            _ => Expr::Rule(token.into()),
        };
        loop {
            match self.peek().as_deref() {
                Some("?" | "*") => term = Expr::Maybe(Box::new(term)),
                Some("+") => {}
                Some("{") => {
                    self.next();
                    let times = self.next().and_then(|times| times.parse().ok()).expect("a number");
                    term = Expr::Times(Box::new(term), times);
                }
                _ => return term,
            }
            self.next();
        }
    }
}

/// What stands in a text of a grammar.
fn plain(text: &str) -> String {
    let text = text.replace("\\n", "\n").replace("\\r", "\r").replace("\\t", "\t").replace("\\\"", "\"");
    match text.strip_prefix("\\u{").and_then(|code| code.strip_suffix('}')) {
        Some(code) => char::from_u32(u32::from_str_radix(code, 16).expect("a code")).expect("a character").into(),
        None => text,
    }
}

/// Holds every text that is made of the grammar's rules to it.
fn hold<R: RuleType, P: Parser<R>>(grammar: &str, file: R, lines: &[R], places: &[&str]) {
    let _turn = turn();
    let openings = Grammar::new(grammar).openings();
    assert!(openings.len() > 200, "{}", openings.len());
    type Shape = fn(&str, &str, usize) -> String;
    let nested: &[Shape] = &[
        |opening, rest, times| format!("{}{}", format!("{opening} ").repeat(times), format!("{rest} ").repeat(times)),
        |opening, _, times| format!("{}{}", format!("{opening} ").repeat(times), "y { }\n".repeat(times)),
        |opening, _, times| format!("{}{}", format!("{opening}\n").repeat(times), "y # z\n".repeat(times)),
        |opening, _, times| format!("zz {}", format!("{{ {opening}").repeat(times)),
        |opening, _, times| format!("let a = {}", format!("({opening} ").repeat(times)),
    ];
    let flat: &[Shape] = &[
        |opening, _, times| format!("{opening} ").repeat(times),
        |opening, _, times| format!("{opening}\n").repeat(times),
        |opening, rest, times| format!("{opening} {rest}\n").repeat(times),
        |opening, _, times| format!("{opening}{}{opening}", " ".repeat(4 * times)),
        |opening, rest, times| format!("{opening}{}{rest}", "\n\n# y\n".repeat(times)),
    ];
    let mut worst = (0, String::new());
    for (opening, rest) in &openings {
        for (shapes, times) in [(nested, FEW), (flat, MANY)] {
            for shape in shapes {
                let (short, long) = (shape(opening, rest, times), shape(opening, rest, 4 * times));
                let mut grows = |rule: R, place: &str| {
                    let (short, long) = (format!("{place}{short}"), format!("{place}{long}"));
                    let bound = bound(short.len(), &|| read::<R, P>(rule, &short));
                    // A bound may be twice what it took; what takes the square of the length takes sixteen times as much.
                    let most = (5 * bound + BASE).min(MOST_A_BYTE * long.len() + BASE);
                    assert!(within(most, &|| read::<R, P>(rule, &long)), "{rule:?} reads this more than once: {long}");
                    if bound > worst.0 * short.len() {
                        worst = (bound / short.len(), short);
                    }
                };
                places.iter().for_each(|place| grows(file, place));
                lines.iter().for_each(|rule| grows(*rule, ""));
            }
        }
    }
    println!("{} openings; at most {} calls a byte: {}", openings.len(), worst.0, worst.1);
}

#[test]
fn plans_are_read_once() {
    use layrule::layout::grammar::{LayoutParser, Rule};
    let lines = [Rule::room_line];
    hold::<Rule, LayoutParser>(
        include_str!("../../grammar/layout.pest"),
        Rule::file,
        &lines,
        &["", "room r {\n", "room r {\ncable c {\n"],
    );
}

#[test]
fn rules_are_read_once() {
    use layrule::rules::grammar::{Rule, RulesParser};
    hold::<Rule, RulesParser>(
        include_str!("../../grammar/rules.pest"),
        Rule::file,
        &[Rule::in_text],
        &["rule r {\n", "rule r {\nrequire "],
    );
}

/// The braces that once doubled the time each, all the way through what tells of them.
#[test]
fn braces_left_open_are_read_once() {
    let _turn = turn();
    for opening in ["a {", "zz { y ", "{", "room {", "{ \"", "y { # {\n", "cable a {\n", "message \"{\n"] {
        for tail in ["", "\n}\n", "}\n}\n", "\nroom r { }\n"] {
            let text = format!("{}{}{tail}", opening.repeat(30), "y\n".repeat(1_000));
            let most = MOST_A_BYTE * text.len() + BASE;
            let told = |faults: Vec<layrule::language::faults::SyntaxFault>| {
                assert!(!faults.iter().any(|fault| fault.message.contains("past this place")), "{text}: {faults:?}");
                true
            };
            assert!(within(most, &|| told(layrule::layout::parse(&text).faults)));
            assert!(within(most, &|| told(layrule::rules::parse(&text).faults)));
            assert!(within(most, &|| layrule::layout::tidy::tidy(&text).is_err()));
        }
    }
}

/// A brace that is never closed closes nothing and hides nothing: what stands below it is still read.
#[test]
fn what_stands_below_a_brace_left_open_is_read() {
    let file = layrule::layout::parse("zz { y { y\nlet a = 1\nroom r {\n  inside (20 degC\n  what {\n  inside\n");
    assert_eq!(file.statements.len(), 2);
    let messages: Vec<&str> = file.faults.iter().map(|fault| &*fault.message).collect();
    assert_eq!(messages.iter().filter(|message| **message == "this brace is never closed").count(), 4, "{messages:?}");
    assert!(messages.contains(&"`zz` starts no statement of a plan"), "{messages:?}");
    let early = messages.iter().filter(|message| message.starts_with("the line ends too early in this `inside`"));
    assert_eq!(early.count(), 2, "{messages:?}");
}
