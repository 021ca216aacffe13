//! Mending the spelling of a record: only what diagnostics offer as certain, by cutting bytes out of the
//! text and putting others in, so that comments and layout stay as they are. What comes out is read
//! again and must say the same as before.

mod blame;

use std::collections::{BTreeSet, HashMap, HashSet};

use super::forms::MOST_MENDED;
use super::tree::{Bound, Document, Node, NodeId, NodeKind};
use super::{Forms, read};
use crate::code::{Code, OUTSIDE_FORM};
use crate::diagnostic::{Diagnostic, Fix, Level};
use crate::source::{Place, SourceId, Span};

/// How often a mended text is looked through for what could not be seen before: the value of a field
/// whose name was misspelt too.
const ROUNDS: usize = 3;

/// How often mends that are near something new that is wrong are taken out, all of them together.
const MOST_PRUNED: usize = 4;

/// How often mends that were taken out are tried again, by halves: in short texts, and in long ones.
const TRIED: (usize, usize) = (128, 4);

/// How many bytes are read for it where that is less than [`TRIED`].
const MOST_TRIED: usize = 2 * 1024 * 1024;

/// What can be mended in a text.
#[derive(Clone, Debug, PartialEq)]
pub struct Amended {
    /// The text with its mends.
    pub text: String,
    /// The mends, in the order of the text.
    pub mends: Vec<Fix>,
    /// Mends that were offered and left, because the record would not have said the same afterwards.
    pub withheld: Vec<Fix>,
    /// Mends that were offered and not tried by themselves, because too many others did not hold.
    pub untried: Vec<Fix>,
    /// Errors for which nothing certain was offered.
    pub left: Vec<Diagnostic>,
    /// How often the text was read, which is what the work is.
    pub readings: usize,
}

/// Mends what is certain in the documents of a text.
#[must_use]
pub fn amend(source: SourceId, text: &str, forms: &Forms) -> Amended {
    let forms = &forms.telling_all();
    let mut text = Text { source, text, forms, readings: 0 };
    let before = text.read(text.text);
    if before.diagnostics.len() > MOST_MENDED {
        return text.with_too_many();
    }
    let offered = before.offers(source);
    let mut mends = Mends { fixes: offered.clone(), units: (0..offered.len()).collect() };
    text.follow(&before, &mut mends);
    let mut choice = Choice {
        before: &before,
        mends: &mends,
        taken: vec![true; offered.len()],
        untried: HashSet::new(),
        tries_left: (MOST_TRIED / text.text.len().max(1)).clamp(TRIED.1, TRIED.0),
    };
    choice.make(&mut text);
    let Choice { taken, untried, .. } = choice;
    let is_taken = |unit: &usize| taken.get(*unit) == Some(&true);
    let made = mends.of(is_taken);
    let mended = spliced(text.text, &made).unwrap_or_else(|| text.text.to_owned());
    // What was missing only because its name was misspelt is there now.
    let after = text.read(&mended).diagnostics;
    let after: HashSet<(Code, String)> = after.into_iter().map(|fault| (fault.code, fault.message)).collect();
    let offers: HashSet<&Fix> = offered.iter().collect();
    let is_left = |fault: &Diagnostic| {
        fault.level == Level::Error
            && !fault.fix.as_deref().is_some_and(|fix| offers.contains(fix))
            && after.contains(&(fault.code, fault.message.clone()))
    };
    let left = before.diagnostics.iter().filter(|fault| is_left(fault)).cloned().collect();
    let not_taken = |is_untried: bool| {
        let numbered = offered.iter().enumerate();
        let of_kind = numbered.filter(|(unit, _)| !is_taken(unit) && untried.contains(unit) == is_untried);
        of_kind.map(|(_, fix)| fix.clone()).collect()
    };
    let (withheld, untried) = (not_taken(false), not_taken(true));
    Amended { text: mended, mends: made, withheld, untried, left, readings: text.readings }
}

/// A text, and how often it was read.
struct Text<'t> {
    source: SourceId,
    text: &'t str,
    forms: &'t Forms,
    readings: usize,
}

impl Text<'_> {
    /// Not all of its errors are known, so that it is not known either which are new.
    fn with_too_many(&self) -> Amended {
        let place = Place { source: self.source, span: Span::default() };
        let message = format!("this text has more than {MOST_MENDED} errors, and none of them is corrected");
        let fault = Diagnostic::error(OUTSIDE_FORM, place, message)
            .help("correct by hand what most of them have in common, and run again");
        Amended {
            text: self.text.to_owned(),
            mends: Vec::new(),
            withheld: Vec::new(),
            untried: Vec::new(),
            left: vec![fault],
            readings: self.readings,
        }
    }

    fn read<'s>(&mut self, text: &'s str) -> Reading<'s> {
        self.readings += 1;
        let (documents, diagnostics) = read(self.source, text, self.forms);
        Reading { documents, diagnostics }
    }

    /// Adds what is offered when the mends are made. It belongs to the one that is nearest: where that is not made, it is not.
    fn follow(&mut self, before: &Reading<'_>, mends: &mut Mends) {
        for _ in 0..ROUNDS {
            let Some(mended) = spliced(self.text, &mends.fixes).filter(|_| !mends.fixes.is_empty()) else {
                break;
            };
            let moved = Moved::by(&mends.fixes);
            let offers = self.read(&mended).offers(self.source);
            let more: Vec<Fix> = offers.into_iter().filter_map(|fix| moved.before(fix)).collect();
            if more.is_empty() {
                break;
            }
            mends.add(more, &before.documents);
        }
    }

    /// The mends that do not hold with all others that were chosen, by the units they belong to: those that are nearest to
    /// what is said otherwise, or is wrong and was not before.
    fn guilty(&mut self, before: &Reading<'_>, mends: &Mends, taken: &[bool]) -> BTreeSet<usize> {
        let (fixes, units) = mends.chosen(|unit| taken.get(*unit) == Some(&true));
        let Some(text) = spliced(self.text, &fixes) else { return units.into_iter().collect() };
        let after = self.read(&text);
        let spans = Moved::by(&fixes).spans;
        let differences = before.differences(&after, &fixes).into_iter();
        let near = differences.flat_map(|place| blame::nearest(&after.documents, &spans, place));
        near.filter_map(|number| units.get(number).copied()).collect()
    }
}

/// Mends in the order of the text, each with the number of the one that was offered first and on which it depends.
struct Mends {
    fixes: Vec<Fix>,
    units: Vec<usize>,
}

impl Mends {
    fn add(&mut self, more: Vec<Fix>, documents: &[Document<'_>]) {
        let spans: Vec<Span> = self.fixes.iter().map(|fix| fix.place.span).collect();
        let unit = |fix: &Fix| {
            let near = blame::nearest(documents, &spans, fix.place.span).next();
            near.and_then(|number| self.units.get(number)).copied().unwrap_or_default()
        };
        let more: Vec<(Fix, usize)> = more.into_iter().map(|fix| (fix.clone(), unit(&fix))).collect();
        let old = std::mem::take(&mut self.fixes).into_iter().zip(std::mem::take(&mut self.units));
        let mut all: Vec<(Fix, usize)> = old.chain(more).collect();
        all.sort_by_key(|(fix, _)| fix.place.span);
        (self.fixes, self.units) = all.into_iter().unzip();
    }

    fn chosen(&self, is_one: impl Fn(&usize) -> bool) -> (Vec<Fix>, Vec<usize>) {
        let all = self.fixes.iter().zip(&self.units);
        all.filter(|(_, unit)| is_one(unit)).map(|(fix, unit)| (fix.clone(), *unit)).unzip()
    }

    fn of(&self, is_one: impl Fn(&usize) -> bool) -> Vec<Fix> {
        self.chosen(is_one).0
    }
}

/// Which of the mends that were offered first are made, each with those that depend on it.
struct Choice<'c> {
    before: &'c Reading<'c>,
    mends: &'c Mends,
    taken: Vec<bool>,
    untried: HashSet<usize>,
    tries_left: usize,
}

impl Choice<'_> {
    /// All of them, if they hold together. Otherwise those are left that the differences are nearest to, and then tried again.
    fn make(&mut self, text: &mut Text<'_>) {
        let mut suspects = BTreeSet::new();
        let mut holds = false;
        for _ in 0..MOST_PRUNED {
            let guilty = text.guilty(self.before, self.mends, &self.taken);
            holds = guilty.is_empty();
            if holds {
                break;
            }
            self.take(&guilty, false);
            suspects.extend(guilty);
        }
        if !holds {
            suspects = (0..self.taken.len()).collect();
            self.take(&suspects, false);
        }
        let suspects: Vec<usize> = suspects.into_iter().collect();
        self.try_by_halves(&suspects, text);
    }

    fn take<'n>(&mut self, units: impl IntoIterator<Item = &'n usize>, is_taken: bool) {
        for unit in units {
            if let Some(taken) = self.taken.get_mut(*unit) {
                *taken = is_taken;
            }
        }
    }

    /// Adds those that hold together with the ones that are taken: all, or those of each half.
    fn try_by_halves(&mut self, units: &[usize], text: &mut Text<'_>) {
        if units.is_empty() {
            return;
        }
        if self.tries_left == 0 {
            return self.untried.extend(units);
        }
        self.tries_left -= 1;
        self.take(units, true);
        if text.guilty(self.before, self.mends, &self.taken).is_empty() {
            return;
        }
        self.take(units, false);
        if units.len() > 1 {
            let (first, second) = units.split_at(units.len() / 2);
            self.try_by_halves(first, text);
            self.try_by_halves(second, text);
        }
    }
}

/// Where mends are in the text that they make.
struct Moved<'m> {
    mends: &'m [Fix],
    /// There.
    spans: Vec<Span>,
}

impl<'m> Moved<'m> {
    fn by(mends: &'m [Fix]) -> Self {
        let mut shift = 0_i64;
        let mut spans = Vec::with_capacity(mends.len());
        for mend in mends {
            let start = i64::from(mend.place.span.start) + shift;
            let end = start + mend.replacement.len() as i64;
            spans.push(Span::new(start.unsigned_abs() as usize, end.unsigned_abs() as usize));
            shift += mend.replacement.len() as i64 - mend.place.span.len() as i64;
        }
        Moved { mends, spans }
    }

    /// A fix of the mended text as one of the text before; none where it touches what was mended.
    fn before(&self, fix: Fix) -> Option<Fix> {
        let Span { start, end } = fix.place.span;
        let behind = self.spans.partition_point(|mend| mend.end <= start);
        if self.spans.get(behind).is_some_and(|mend| mend.start < end) {
            return None;
        }
        // By how much the mends before it have moved the text.
        let last =
            behind.checked_sub(1).and_then(|last| Some((self.mends.get(last)?, self.spans.get(last)?)));
        let shift = last.map_or(0, |(was, is)| i64::from(is.end) - i64::from(was.place.span.end));
        let moved = |at: u32| u32::try_from(i64::from(at) - shift).ok();
        let span = Span { start: moved(start)?, end: moved(end)? };
        Some(Fix { place: Place { span, ..fix.place }, ..fix })
    }
}

/// The text with each stretch replaced; the fixes stand in the order of the text and apart. None where
/// one of them does not lie between characters.
fn spliced(text: &str, fixes: &[Fix]) -> Option<String> {
    let mut out = String::with_capacity(text.len());
    let mut done = 0;
    for Fix { place, replacement } in fixes {
        out.push_str(text.get(done..place.span.start as usize)?);
        out.push_str(replacement);
        done = place.span.end as usize;
    }
    out.push_str(text.get(done..)?);
    Some(out)
}

/// A text as it was read.
struct Reading<'s> {
    documents: Vec<Document<'s>>,
    diagnostics: Vec<Diagnostic>,
}

impl Reading<'_> {
    /// The fixes that are offered, in the order of the text; of two that overlap neither is certain.
    fn offers(&self, source: SourceId) -> Vec<Fix> {
        let own = |fix: &&Fix| fix.place.source == source;
        let mut fixes: Vec<Fix> =
            self.diagnostics.iter().filter_map(|fault| fault.fix.as_deref()).filter(own).cloned().collect();
        fixes.sort_by_key(|fix| fix.place.span);
        fixes.dedup();
        // In the order of their starts: up to where those before one reach, and where the next one begins.
        let (mut apart, mut reached) = (Vec::with_capacity(fixes.len()), 0);
        for (number, fix) in fixes.iter().enumerate() {
            let Span { start, end } = fix.place.span;
            let next = fixes.get(number + 1).map_or(u32::MAX, |next| next.place.span.start);
            if start >= reached && next >= end {
                apart.push(fix.clone());
            }
            reached = reached.max(end);
        }
        apart
    }

    /// Where another reading of the text says something else, in that text. The values and names that were mended do not
    /// count, for those could not be read before and can be read now; but nothing new may be wrong.
    fn differences(&self, after: &Reading<'_>, mends: &[Fix]) -> Vec<Span> {
        let mut places = self.new_faults(after, mends);
        if self.documents.len() != after.documents.len() {
            places.push(Span { start: 0, end: u32::MAX });
        }
        for (before, after) in self.documents.iter().zip(&after.documents) {
            if before.form().is_some() && before.form() != after.form() {
                places.push(after.span(after.root()));
            }
            Pair { before, after, mends }.differences(before.root(), after.root(), &mut places);
        }
        places
    }

    /// Where the faults of the other reading are that were not there before, or were and had a mend.
    fn new_faults(&self, after: &Reading<'_>, mends: &[Fix]) -> Vec<Span> {
        let mut known: HashMap<(&str, &str), usize> = HashMap::new();
        let mends: HashSet<&Fix> = mends.iter().collect();
        let stays = |fault: &&Diagnostic| !fault.fix.as_deref().is_some_and(|fix| mends.contains(fix));
        for fault in self.diagnostics.iter().filter(stays) {
            *known.entry((fault.code.as_str(), &fault.message)).or_default() += 1;
        }
        let whole = Span { start: 0, end: u32::MAX };
        let mut places = Vec::new();
        for fault in &after.diagnostics {
            match known.get_mut(&(fault.code.as_str(), &*fault.message)) {
                Some(number @ 1..) => *number -= 1,
                _ => places.push(fault.place().map_or(whole, |place| place.span)),
            }
        }
        places
    }
}

/// One document before and after its mends.
struct Pair<'p> {
    before: &'p Document<'p>,
    after: &'p Document<'p>,
    mends: &'p [Fix],
}

impl Pair<'_> {
    fn is_mended(&self, span: Span) -> bool {
        // The mends lie in the order of the text.
        let from = self.mends.partition_point(|fix| fix.place.span.end <= span.start);
        self.mends.get(from).is_some_and(|fix| fix.place.span.start < span.end)
    }

    /// Depth is bounded by the reader's limit.
    fn differences(&self, before: NodeId, after: NodeId, places: &mut Vec<Span>) {
        let (old, new) = (self.before.node(before), self.after.node(after));
        match (&old.kind, &new.kind) {
            (NodeKind::Empty, NodeKind::Empty) => {}
            (NodeKind::Scalar { .. }, NodeKind::Scalar { .. }) if self.same_scalar(old, new) => {}
            (NodeKind::Map(_), NodeKind::Map(_)) => {
                let (old, new) = (self.before.entries(before), self.after.entries(after));
                if old.len() != new.len() {
                    places.push(self.after.span(after));
                }
                for (old, new) in old.iter().zip(new) {
                    if old.key != new.key && !self.is_mended(old.key_span) {
                        places.push(new.key_span);
                    }
                    self.differences(old.value, new.value, places);
                }
            }
            (NodeKind::List(_), NodeKind::List(_)) => {
                let (old, new) = (self.before.items(before), self.after.items(after));
                if old.len() != new.len() {
                    places.push(self.after.span(after));
                }
                for (old, new) in old.iter().zip(new) {
                    self.differences(*old, *new, places);
                }
            }
            _ => places.push(new.span),
        }
    }

    fn same_scalar(&self, old: &Node<'_>, new: &Node<'_>) -> bool {
        let NodeKind::Scalar { raw, plain, value } = &old.kind else { return false };
        let NodeKind::Scalar { raw: new_raw, plain: new_plain, value: new_value } = &new.kind else {
            return false;
        };
        if self.is_mended(old.span) {
            // A value that could be read is recorded, and never touched.
            return !matches!(value, Bound::Value(_)) && !matches!(new_value, Bound::Wrong);
        }
        raw == new_raw && plain == new_plain && same_value(value, new_value)
    }
}

/// Whether a value that was not mended is worth the same: a field whose name was mended may only now be
/// worth anything.
fn same_value(before: &Bound<'_>, after: &Bound<'_>) -> bool {
    match (before, after) {
        (Bound::Value(before), Bound::Value(after)) => before == after,
        (Bound::Unbound, after) => !matches!(after, Bound::Wrong),
        (Bound::Wrong, Bound::Wrong) => true,
        (Bound::Value(_) | Bound::Wrong, _) => false,
    }
}
