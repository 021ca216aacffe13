//! Where a reading is safe under guarded acceptance: in words, as which tool will be used is known only when the
//! work is done, and in figures for the tools of the register.

use crate::metrology::Working;
use crate::metrology::conformity::{DecisionRule, Guard, judge};
use crate::metrology::uncertainty::quoted;
use crate::quantity::{Number, Range};
use crate::report::text;
use crate::session::{Instrument, Session};

/// How many tools are named for one value.
const MOST_TOOLS: usize = 3;

/// How far inside its limits a reading must lie; nothing where it only has to lie within.
pub(super) fn words(decision: &DecisionRule) -> Option<String> {
    let DecisionRule::GuardedAcceptance(guard) = decision else { return None };
    Some(match guard {
        Guard::Multiple(multiple) if *multiple == Number::ONE => {
            "inside its limits by the uncertainty of the tool".to_owned()
        }
        Guard::Multiple(multiple) => {
            format!("inside its limits by {multiple} times the uncertainty of the tool")
        }
        Guard::Probability(wanted) => {
            let percent = wanted * &Number::from(100_i64);
            format!(
                "so far inside its limits that, with the uncertainty of the tool, it conforms with {percent} %"
            )
        }
    })
}

/// The readings that are safe with each tool of the register that covers a range: `9.3 Nm .. 10.7 Nm with T-04`.
pub(super) fn with_tools(
    session: &Session,
    measured: &str,
    range: &Range,
    decision: &DecisionRule,
) -> Option<String> {
    words(decision)?;
    let mut tools = session.instruments(measured);
    tools.retain(|tool| range.lies_within(&tool.range));
    let told = tools.iter().take(MOST_TOOLS).map(|tool| match drawn_in(range, tool, decision) {
        Some(inside) => format!("{} with {}", inside.limits_text(), tool.number),
        None => format!("nothing with {}", tool.number),
    });
    let mut told: Vec<String> = told.collect();
    if tools.len() > MOST_TOOLS {
        told.push(format!("{} would do", text::count((tools.len() - MOST_TOOLS) as u64, "more tool")));
    }
    (!told.is_empty()).then(|| told.join(", "))
}

/// A range with its limits drawn in by the guard band; nothing where no reading is left.
fn drawn_in(range: &Range, tool: &Instrument, decision: &DecisionRule) -> Option<Range> {
    let (low, high) = (range.low().map(|limit| &limit.value), range.high().map(|limit| &limit.value));
    let (expanded, mut working) = (Some(&tool.expanded), Working::none());
    let guard = judge(low.or(high)?, expanded, &tool.coverage, range, decision, &mut working).ok()?.guard;
    let guard = quoted(&guard);
    match (low.map(|low| low.add(&guard)), high.map(|high| high.sub(&guard))) {
        (Some(low), Some(high)) => Range::between(low.ok()?, high.ok()?),
        (Some(low), None) => Range::at_least(low.ok()?),
        (None, Some(high)) => Range::at_most(high.ok()?),
        (None, None) => return None,
    }
    .ok()
}
