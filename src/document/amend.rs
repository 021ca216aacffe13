//! Mending the spelling of a record: only what diagnostics offer as certain, by cutting bytes out of the
//! text and putting others in, so that comments and layout stay as they are. What comes out is read
//! again and must say the same as before.

use std::collections::{HashMap, HashSet};

use super::tree::{Bound, Document, NodeId, NodeKind};
use super::{Forms, read};
use crate::code::Code;
use crate::diagnostic::{Diagnostic, Fix, Level};
use crate::source::{Place, SourceId, Span};

/// How often a mended text is looked through for what could not be seen before: the value of a field
/// whose name was misspelt too.
const ROUNDS: usize = 3;

/// How often mends are tried by halves where they do not all hold together.
const MOST_TRIED: usize = 256;

/// What can be mended in a text.
#[derive(Clone, Debug, PartialEq)]
pub struct Amended {
    /// The text with its mends.
    pub text: String,
    /// The mends, in the order of the text.
    pub mends: Vec<Fix>,
    /// Mends that were offered and left, because the record would not have said the same afterwards.
    pub withheld: Vec<Fix>,
    /// Errors for which nothing certain was offered.
    pub left: Vec<Diagnostic>,
}

/// Mends what is certain in the documents of a text.
#[must_use]
pub fn amend(source: SourceId, text: &str, forms: &Forms) -> Amended {
    let forms = &forms.telling_all();
    let (documents, diagnostics) = read(source, text, forms);
    let before = Reading { documents, diagnostics };
    let offered = before.offers(source);
    let holds = |mends: &[Fix]| {
        let Some(text) = spliced(text, mends) else { return false };
        let (documents, diagnostics) = read(source, &text, forms);
        before.is_said_by(&Reading { documents, diagnostics }, mends)
    };
    let all = in_rounds(source, text, forms, offered.clone());
    let mut mends: Vec<Fix> = Vec::new();
    if holds(&all) {
        mends = all;
    } else {
        try_by_halves(&mut mends, &offered, &holds, &mut 0);
    }
    let mended = spliced(text, &mends).unwrap_or_else(|| text.to_owned());
    // What was missing only because its name was misspelt is there now.
    let (_, after) = read(source, &mended, forms);
    let after: HashSet<(Code, String)> = after.into_iter().map(|fault| (fault.code, fault.message)).collect();
    let offers: HashSet<&Fix> = offered.iter().collect();
    let is_left = |fault: &Diagnostic| {
        fault.level == Level::Error
            && !fault.fix.as_deref().is_some_and(|fix| offers.contains(fix))
            && after.contains(&(fault.code, fault.message.clone()))
    };
    let left = before.diagnostics.iter().filter(|fault| is_left(fault)).cloned().collect();
    let made: HashSet<&Fix> = mends.iter().collect();
    let withheld = offered.iter().filter(|fix| !made.contains(fix)).cloned().collect();
    Amended { text: mended, mends, withheld, left }
}

/// Adds those of the offered mends that hold together with the ones before them: all, or those of each half.
fn try_by_halves(mends: &mut Vec<Fix>, offered: &[Fix], holds: &dyn Fn(&[Fix]) -> bool, tried: &mut usize) {
    if offered.is_empty() || *tried == MOST_TRIED {
        return;
    }
    *tried += 1;
    let before = mends.len();
    mends.extend_from_slice(offered);
    if holds(mends) {
        return;
    }
    mends.truncate(before);
    if offered.len() > 1 {
        let (first, second) = offered.split_at(offered.len() / 2);
        try_by_halves(mends, first, holds, tried);
        try_by_halves(mends, second, holds, tried);
    }
}

/// The mends, and those that are offered when they are made.
fn in_rounds(source: SourceId, text: &str, forms: &Forms, mut mends: Vec<Fix>) -> Vec<Fix> {
    for _ in 0..ROUNDS {
        let Some(mended) = spliced(text, &mends).filter(|_| !mends.is_empty()) else { break };
        let (documents, diagnostics) = read(source, &mended, forms);
        let offers = Reading { documents, diagnostics }.offers(source);
        let more: Vec<Fix> = offers.into_iter().filter_map(|fix| before_mends(fix, &mends)).collect();
        if more.is_empty() {
            break;
        }
        mends.extend(more);
        mends.sort_by_key(|fix| fix.place.span);
    }
    mends
}

/// A fix of a mended text as one of the text before; none where it touches what was mended.
fn before_mends(fix: Fix, mends: &[Fix]) -> Option<Fix> {
    let Span { start, end } = fix.place.span;
    // By how much the mends before it have moved the text.
    let mut shift = 0_i64;
    for mend in mends {
        let Span { start: from, end: to } = mend.place.span;
        let grown = mend.replacement.len() as i64 - mend.place.span.len() as i64;
        let (from, to) = (i64::from(from) + shift, i64::from(to) + shift + grown);
        if i64::from(end) <= from {
            break;
        }
        if i64::from(start) < to {
            return None;
        }
        shift += grown;
    }
    let moved = |at: u32| u32::try_from(i64::from(at) - shift).ok();
    let span = Span { start: moved(start)?, end: moved(end)? };
    Some(Fix { place: Place { span, ..fix.place }, ..fix })
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

    /// Whether another reading of the text says the same, but for the values and names that were
    /// mended: those could not be read before and can be read now, and nothing new is wrong.
    fn is_said_by(&self, after: &Reading<'_>, mends: &[Fix]) -> bool {
        self.documents.len() == after.documents.len()
            && self.no_new_fault(after, mends)
            && self.documents.iter().zip(&after.documents).all(|(before, after)| {
                let form = before.form().is_none() || before.form() == after.form();
                form && Pair { before, after, mends }.same(before.root(), after.root())
            })
    }

    /// Whether each fault of the other reading was there before and had no mend.
    fn no_new_fault(&self, after: &Reading<'_>, mends: &[Fix]) -> bool {
        let mut known: HashMap<(&str, &str), usize> = HashMap::new();
        let mends: HashSet<&Fix> = mends.iter().collect();
        let stays = |fault: &&Diagnostic| !fault.fix.as_deref().is_some_and(|fix| mends.contains(fix));
        for fault in self.diagnostics.iter().filter(stays) {
            *known.entry((fault.code.as_str(), &fault.message)).or_default() += 1;
        }
        after.diagnostics.iter().all(|fault| {
            match known.get_mut(&(fault.code.as_str(), fault.message.as_str())) {
                Some(number @ 1..) => {
                    *number -= 1;
                    true
                }
                _ => false,
            }
        })
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
    fn same(&self, before: NodeId, after: NodeId) -> bool {
        let (old, new) = (self.before.node(before), self.after.node(after));
        match (&old.kind, &new.kind) {
            (NodeKind::Empty, NodeKind::Empty) => true,
            (
                NodeKind::Scalar { raw, plain, value },
                NodeKind::Scalar { raw: new_raw, plain: new_plain, value: new_value },
            ) => {
                if self.is_mended(old.span) {
                    // A value that could be read is recorded, and never touched.
                    return !matches!(value, Bound::Value(_)) && !matches!(new_value, Bound::Wrong);
                }
                raw == new_raw && plain == new_plain && same_value(value, new_value)
            }
            (NodeKind::Map(_), NodeKind::Map(_)) => {
                let (old, new) = (self.before.entries(before), self.after.entries(after));
                old.len() == new.len()
                    && old.iter().zip(new).all(|(old, new)| {
                        (old.key == new.key || self.is_mended(old.key_span))
                            && self.same(old.value, new.value)
                    })
            }
            (NodeKind::List(_), NodeKind::List(_)) => {
                let (old, new) = (self.before.items(before), self.after.items(after));
                old.len() == new.len() && old.iter().zip(new).all(|(old, new)| self.same(*old, *new))
            }
            _ => false,
        }
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
