//! Numbers as they are written: reading them, refusing what could be read in two ways, and
//! printing them.

use std::fmt;

use dashu_int::UBig;
use dashu_int::ops::BitTest;

use crate::code;
use crate::diagnostic::Fault;

use super::number::Number;

/// The most digits a written number may have. No instrument gives twenty.
const MOST_DIGITS: usize = 40;
/// The largest exponent, either way, that a written number may have.
const LARGEST_EXPONENT: i32 = 30;
/// A decimal of so many significant digits is shown exactly.
const EXACT_DIGITS: i32 = 12;
/// Any other number is rounded to so many.
const ROUNDED_DIGITS: i32 = 6;
/// A decimal of so many significant digits is short enough to be shown as it is beside others.
const SHORT_DIGITS: i32 = 9;

impl Number {
    /// Reads a whole text as a number: `45`, `-40`, `−40`, `+3`, `0.5`, `1e3`.
    ///
    /// # Errors
    /// Anything that could be read in two ways or is no number, with an offer of what to write:
    /// `45,5`, `12 500`, `3,500`, `.5`, `5.`, more than 40 digits, an exponent beyond ±30.
    pub fn parse(text: &str) -> Result<Number, Fault> {
        let text = text.trim();
        match scan(text) {
            Some((number, "")) => Ok(number),
            _ => {
                let (run, rest) = split_run(text);
                let whole = if rest.trim().is_empty() { run } else { text };
                Err(explain(whole, &|numbers| {
                    let offers: Vec<String> = numbers.iter().map(|number| format!("`{number}`")).collect();
                    format!("write {}", offers.join(" or "))
                })
                .meant(certain(whole)))
            }
        }
    }

    /// How many decimals its first `significant` digits take; none where they end before the point.
    #[must_use]
    pub fn decimals(&self, significant: i32) -> usize {
        if self.is_zero() {
            return 0;
        }
        let (numerator, denominator) = self.magnitude_parts();
        usize::try_from(significant - 1 - leading_exponent(&numerator, &denominator)).unwrap_or(0)
    }

    /// Itself where it is a decimal of at most nine significant digits, else rounded to so many decimals,
    /// halves away from zero.
    #[must_use]
    pub fn shortened(&self, decimals: usize) -> Number {
        let (numerator, denominator) = self.magnitude_parts();
        let decimals = i32::try_from(decimals).unwrap_or(i32::MAX);
        if self.is_zero() {
            return Number::ZERO;
        }
        let short = SHORT_DIGITS - 1 - leading_exponent(&numerator, &denominator);
        if Scaled::new(&numerator, &denominator, short).rest.is_zero() {
            return self.clone();
        }
        let digits = Scaled::new(&numerator, &denominator, decimals).rounded();
        Number::decimal(&digits, self.is_negative(), -decimals)
    }
}

/// Reads the number at the head of `text`; gives it and what follows. Nothing when no number of the
/// accepted form stands there.
pub(super) fn scan(text: &str) -> Option<(Number, &str)> {
    let (negative, unsigned) = sign(text);
    let whole = digits_len(unsigned);
    if whole == 0 {
        return None;
    }
    let (whole_digits, after) = unsigned.split_at_checked(whole)?;
    let (decimals, after) = match after.strip_prefix('.') {
        Some(rest) if digits_len(rest) > 0 => rest.split_at_checked(digits_len(rest))?,
        _ => ("", after),
    };
    let (exponent, rest) = exponent(after)?;
    let digits = whole_digits.len() + decimals.len();
    if digits > MOST_DIGITS || exponent.abs() > LARGEST_EXPONENT {
        return None;
    }
    let shift = exponent - i32::try_from(decimals.len()).ok()?;
    let number = short(whole_digits, decimals, negative, shift)
        .or_else(|| long(whole_digits, decimals, negative, shift))?;
    Some((number, rest))
}

/// Reads the fraction at the head of `text`, such as the `1/4` of a quarter turn; gives it and what
/// follows. Its two numbers are whole, and nothing stands between them and the stroke.
pub(super) fn fraction(text: &str) -> Option<(Number, &str)> {
    let (negative, unsigned) = sign(text);
    let (above, rest) = unsigned.split_at_checked(digits_len(unsigned))?;
    let rest = rest.strip_prefix(['/', '\u{2044}'])?;
    let (below, rest) = rest.split_at_checked(digits_len(rest))?;
    let part = scan_whole(above)?.over(&scan_whole(below)?)?;
    Some((if negative { -&part } else { part }, rest))
}

/// What is wrong with a number that is written with a fraction and is none that can be read: `25 1/2`, `1/0`.
pub(super) fn not_a_fraction(text: &str) -> Option<Fault> {
    let (first, rest) = text.split_at_checked(digits_len(text))?;
    let (whole, above, rest) = match rest.trim_start() {
        behind if behind.len() == rest.len() => ("", first, rest),
        behind => {
            let (above, rest) = behind.split_at_checked(digits_len(behind))?;
            (first, above, rest)
        }
    };
    let below = rest.strip_prefix(['/', '\u{2044}'])?;
    let (below, behind) = below.split_at_checked(digits_len(below))?;
    if first.is_empty() || above.is_empty() || below.is_empty() {
        return None;
    }
    let name = text.strip_suffix(behind).unwrap_or(text);
    if below.chars().all(|digit| digit == '0') {
        let what = format!("`{name}` divides by zero");
        return Some(Fault::new(code::NUMBER_FORM, what).help("write the number as it was read"));
    }
    let what = format!("`{name}` is a whole number and a fraction, and one number is wanted");
    let help = "write it with a decimal point, such as `25.5` for 25 and a half";
    (!whole.is_empty()).then(|| Fault::new(code::NUMBER_FORM, what).help(help))
}

fn scan_whole(digits: &str) -> Option<Number> {
    scan(digits).filter(|(_, rest)| rest.is_empty()).map(|(number, _)| number)
}

/// The common case: up to 18 digits and a power of ten that fits beside them.
fn short(whole: &str, decimals: &str, negative: bool, shift: i32) -> Option<Number> {
    const SHORT: usize = 18;
    if whole.len() + decimals.len() > SHORT || !(-18..=18).contains(&shift) {
        return None;
    }
    let mut value = 0_i64;
    for digit in whole.bytes().chain(decimals.bytes()) {
        value = value * 10 + i64::from(digit - b'0');
    }
    let value = i128::from(if negative { -value } else { value });
    let scale = i128::from(10_i64.pow(shift.unsigned_abs()));
    Some(if shift < 0 { Number::exact(value, scale) } else { Number::exact(value * scale, 1) })
}

fn long(whole: &str, decimals: &str, negative: bool, shift: i32) -> Option<Number> {
    let digits = UBig::from_str_radix(&[whole, decimals].concat(), 10).ok()?;
    Some(Number::decimal(&digits, negative, shift))
}

fn sign(text: &str) -> (bool, &str) {
    match text.as_bytes().first() {
        Some(b'0'..=b'9') => (false, text),
        _ => match text.strip_prefix(['-', '−', '–']) {
            Some(rest) => (true, rest.trim_start()),
            None => (false, text.strip_prefix('+').map_or(text, str::trim_start)),
        },
    }
}

fn digits_len(text: &str) -> usize {
    text.bytes().take_while(u8::is_ascii_digit).count()
}

/// An exponent and what follows it; zero when there is none; nothing when it has more than three digits.
fn exponent(text: &str) -> Option<(i32, &str)> {
    let Some((negative, digits)) = text.strip_prefix(['e', 'E']).map(sign) else {
        return Some((0, text));
    };
    match digits_len(digits) {
        0 => Some((0, text)),
        length => {
            let (digits, rest) = digits.split_at_checked(length)?;
            let value: i32 = digits.parse().ok().filter(|_| length <= 3)?;
            Some((if negative { -value } else { value }, rest))
        }
    }
}

/// Splits off the head of `text` that a person would take for one number, marks between the digits
/// included.
pub(super) fn split_run(text: &str) -> (&str, &str) {
    let mut end = 0;
    let mut characters = text.char_indices().peekable();
    while let Some((at, character)) = characters.next() {
        let next = characters.peek().map(|(_, next)| *next);
        let before_digit = next.is_some_and(char::is_numeric);
        let belongs = match character {
            '+' | '-' | '−' | '–' => at == 0,
            '.' | ',' => end > 0 || before_digit,
            'e' | 'E' => end > 0 && next.is_some_and(|next| next.is_numeric() || "+-−".contains(next)),
            mark if is_group_mark(mark) => end > 0 && before_digit,
            other => other.is_numeric(),
        };
        let after_exponent =
            "+-−".contains(character) && text.get(..at).is_some_and(|t| t.ends_with(['e', 'E']));
        if !belongs && !after_exponent {
            break;
        }
        end = at + character.len_utf8();
    }
    text.split_at_checked(end).unwrap_or((text, ""))
}

fn is_group_mark(character: char) -> bool {
    matches!(character, ' ' | '\u{a0}' | '\u{2009}' | '\u{202f}' | '\'' | '’' | '_')
}

/// Says why `run` is no number and, in the words of `offer`, what to write instead.
pub(super) fn explain(run: &str, offer: &dyn Fn(&[String]) -> String) -> Fault {
    let fault = |what: String| Fault::new(code::NUMBER_FORM, what);
    let name = shown(run);
    let (negative, unsigned) = sign(run);
    let signed = |digits: &str| format!("{}{digits}", if negative { "-" } else { "" });
    if run.chars().any(|character| character.is_numeric() && !character.is_ascii_digit()) {
        return fault(format!("`{name}` is not written with the digits 0 to 9"))
            .help("write the number with the digits 0 to 9");
    }
    if run.chars().filter(char::is_ascii_digit).count() > MOST_DIGITS {
        return fault(format!("`{name}` has more than {MOST_DIGITS} digits"))
            .help("write the number as it was read, rounded to its last certain digit");
    }
    if let Some(readings) = marked(unsigned) {
        let readings: Vec<String> = readings.iter().map(|digits| signed(digits)).collect();
        let what = match readings.as_slice() {
            [one, two] => format!("`{name}` can mean {one} or {two}"),
            _ if unsigned.contains(',') => {
                format!("`{name}` has a comma where only a decimal point can stand")
            }
            _ => format!("`{name}` has marks between its digits"),
        };
        return fault(what).help(offer(&readings));
    }
    if let Some(decimals) = unsigned.strip_prefix('.').filter(|rest| all_digits(rest)) {
        return fault(format!("`{name}` has no digit before its decimal point"))
            .help(offer(&[signed(&format!("0.{decimals}"))]));
    }
    if let Some(whole) = unsigned.strip_suffix('.').filter(|rest| all_digits(rest)) {
        return fault(format!("`{name}` has no digit after its decimal point")).help(offer(&[signed(whole)]));
    }
    if unsigned.starts_with(|c: char| c.is_ascii_digit()) && unsigned.contains(['e', 'E']) {
        return fault(format!("the exponent of `{name}` is out of all proportion"))
            .help(format!("write a number between 1e-{LARGEST_EXPONENT} and 1e{LARGEST_EXPONENT}"));
    }
    fault(if name.is_empty() {
        "a number is missing".to_owned()
    } else {
        format!("`{name}` is not a number")
    })
    .help("write digits, with a decimal point where one is needed")
}

/// How a run that is refused can only be meant: with a decimal comma, with marks between groups of
/// digits, or without the zero before its point. A blank between digits may stand between two numbers.
pub(super) fn certain(run: &str) -> Option<String> {
    let (negative, unsigned) = sign(run);
    let digits = if unsigned.contains(' ') {
        None
    } else if let Some([only]) = marked(unsigned).as_deref() {
        Some(only.clone())
    } else if let Some(decimals) = unsigned.strip_prefix('.').filter(|rest| all_digits(rest)) {
        Some(format!("0.{decimals}"))
    } else {
        unsigned.strip_suffix('.').filter(|rest| all_digits(rest)).map(str::to_owned)
    };
    let whole = format!("{}{}", if negative { "-" } else { "" }, digits?);
    // It can have more digits than are read.
    matches!(scan(&whole), Some((_, ""))).then_some(whole)
}

/// The plain numbers that an unsigned number with commas or group marks can mean, one with decimals first; nothing when
/// it has none, or makes no sense with them.
fn marked(text: &str) -> Option<Vec<String>> {
    let is_mark = |character: char| matches!(character, '.' | ',') || is_group_mark(character);
    let marks: Vec<char> = text.chars().filter(|character| is_mark(*character)).collect();
    let runs: Vec<&str> = text.split(is_mark).collect();
    if marks.is_empty() || marks == ['.'] || !runs.iter().all(|run| all_digits(run)) {
        return None;
    }
    let decimals = marks.iter().enumerate().filter_map(|(at, mark)| with_decimals(&marks, &runs, at, *mark));
    let decimals: Vec<String> = decimals.collect();
    // Where a point and a comma stand together, or a point behind groups, the last of them is the decimal sign.
    let certain = decimals.len() == 1 && sign_is_last(&marks);
    let whole = Some(runs.concat()).filter(|_| !certain && grouped(&runs));
    let mut readings = decimals;
    if whole.is_some() {
        readings.iter_mut().for_each(|reading| *reading = unmistakable(reading));
    }
    readings.extend(whole);
    (!readings.is_empty()).then_some(readings)
}

/// The number whose decimals begin behind the mark `at`, where that can be: no other mark is the same, the groups before
/// it are of three digits, and so are those behind it, up to the last.
fn with_decimals(marks: &[char], runs: &[&str], at: usize, mark: char) -> Option<String> {
    let (whole, decimals) = runs.split_at_checked(at + 1)?;
    let alone = marks.iter().filter(|other| **other == mark).count() == 1 && !is_group_mark(mark);
    let behind = marks.get(at + 1..)?;
    let (last, groups) = decimals.split_last()?;
    let fits = (whole.len() == 1 || grouped(whole))
        && behind.iter().all(|mark| is_group_mark(*mark))
        && groups.iter().all(|group| group.len() == 3)
        && (groups.is_empty() || last.len() <= 3);
    (alone && fits).then(|| format!("{}.{}", whole.concat(), decimals.concat()))
}

/// Whether runs of digits are groups of three behind a head of up to three that does not begin with zero.
fn grouped(runs: &[&str]) -> bool {
    let Some((head, groups)) = runs.split_first() else { return false };
    head.len() <= 3 && !head.starts_with('0') && groups.iter().all(|group| group.len() == 3)
}

/// Whether the last mark is a decimal sign behind marks of another kind.
fn sign_is_last(marks: &[char]) -> bool {
    match marks.split_last() {
        Some((last, groups)) => !groups.is_empty() && !is_group_mark(*last) && !groups.contains(last),
        None => false,
    }
}

/// A decimal with three digits behind its point, written so that no one takes the point for a mark between
/// thousands: without its last zeros, or with one more.
fn unmistakable(decimal: &str) -> String {
    match decimal.strip_suffix('0') {
        Some(_) => decimal.trim_end_matches('0').trim_end_matches('.').to_owned(),
        None => format!("{decimal}0"),
    }
}

/// The two readings of the number at the head of `text` where its one point can stand between thousands:
/// `61.000` is 61 or 61000. Below one and with more than three digits before the point it cannot.
fn dotted(text: &str) -> Option<(&str, [String; 2])> {
    let (run, _) = split_run(text);
    // Two points belong to the range and not to the number before them.
    let run = run.split_once("..").map_or(run, |(run, _)| run);
    let (_, unsigned) = sign(run);
    let (whole, decimals) = unsigned.split_once('.')?;
    let thousands = (1..=3).contains(&whole.len())
        && all_digits(whole)
        && whole.bytes().any(|digit| digit != b'0')
        && decimals.len() == 3
        && all_digits(decimals);
    let before = run.strip_suffix(unsigned)?;
    let figure = unsigned.trim_start_matches('0');
    let readings = [unmistakable(figure), figure.replace('.', "")];
    thousands.then(|| (run, readings.map(|reading| format!("{before}{reading}"))))
}

/// The two readings of a text that holds a number whose one point can stand between thousands; the first
/// such number decides.
#[must_use]
pub fn dotted_thousands(text: &str) -> Option<[String; 2]> {
    let mut at = 0;
    while let Some(begin) = text.get(at..)?.find(|c: char| c.is_ascii_digit()) {
        let (before, from) = text.split_at_checked(at + begin)?;
        if let Some((run, readings)) = dotted(from) {
            let after = from.strip_prefix(run)?;
            return Some(readings.map(|reading| format!("{before}{reading}{after}")));
        }
        at += begin + split_run(from).0.len().max(1);
    }
    None
}

/// That no figure in a text has a point that could mark thousands, where a wrong reading is not to be risked. One whose
/// third decimal is no nought, `50.625`, is written with a decimal point: as such it would say less without it.
///
/// # Errors
/// Such a figure, with both readings.
pub fn read_in_one_way(text: &str) -> Result<(), Fault> {
    match dotted_thousands(text) {
        Some([decimal, thousands]) if decimal.len() < text.len() => {
            Err(Fault::new(code::NUMBER_FORM, format!("`{text}` can mean {decimal} or {thousands}"))
                .help(format!("write `{decimal}` or `{thousands}`")))
        }
        _ => Ok(()),
    }
}

fn all_digits(text: &str) -> bool {
    !text.is_empty() && digits_len(text) == text.len()
}

/// `text` as a message can carry it: short, and without control characters.
pub(super) fn shown(text: &str) -> String {
    const MOST: usize = 40;
    let mut clipped: String = text.trim().chars().take(MOST).flat_map(char::escape_debug).collect();
    if text.trim().chars().count() > MOST {
        clipped.push('…');
    }
    clipped.replace("\\'", "'").replace("\\\"", "\"")
}

/// A decimal of at most twelve significant digits is shown exactly; any other number is rounded to
/// six (halves away from zero). Very large and very small numbers carry an exponent, so a number
/// that is not zero is never shown as zero. What is shown can be read back, unless its exponent is past
/// that of any number that is read.
///
/// With a precision, as `{:.3}`, it is [`Number::shortened`] to so many decimals.
impl fmt::Display for Number {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(decimals) = f.precision() {
            return f.write_str(&decimal(&self.shortened(decimals)));
        }
        if self.is_zero() {
            return f.write_str("0");
        }
        let (digits, exponent) = short_decimal(self).unwrap_or_else(|| long_decimal(self));
        let sign = if self.is_negative() { "-" } else { "" };
        write!(f, "{sign}{}", laid_out(digits.trim_end_matches('0'), exponent))
    }
}

/// All digits of a decimal.
fn decimal(number: &Number) -> String {
    if number.is_zero() {
        return "0".to_owned();
    }
    let (numerator, denominator) = number.magnitude_parts();
    let exponent = leading_exponent(&numerator, &denominator);
    let places = i32::try_from(denominator.bit_len()).unwrap_or(i32::MAX).max(-exponent);
    let digits = Scaled::new(&numerator, &denominator, places).whole.to_string();
    let sign = if number.is_negative() { "-" } else { "" };
    format!("{sign}{}", laid_out(digits.trim_end_matches('0'), exponent))
}

/// The digits of a number that is not zero, and the power of ten of the first, in the common case: a
/// decimal that is shown exactly and fits a machine integer.
fn short_decimal(number: &Number) -> Option<(String, i32)> {
    let (numerator, denominator) = number.short_magnitude_parts()?;
    let places =
        (0..EXACT_DIGITS.unsigned_abs()).find(|places| 10_u64.pow(*places).is_multiple_of(denominator))?;
    let digits = numerator.checked_mul(10_u64.pow(places) / denominator)?.to_string();
    let exponent = i32::try_from(digits.len()).ok()? - 1 - i32::try_from(places).ok()?;
    (digits.trim_end_matches('0').len() <= EXACT_DIGITS as usize).then_some((digits, exponent))
}

/// The same of any number.
fn long_decimal(number: &Number) -> (String, i32) {
    let (numerator, denominator) = number.magnitude_parts();
    let mut exponent = leading_exponent(&numerator, &denominator);
    let exact = Scaled::new(&numerator, &denominator, EXACT_DIGITS - 1 - exponent);
    if exact.rest.is_zero() {
        return (exact.whole.to_string(), exponent);
    }
    let digits = Scaled::new(&numerator, &denominator, ROUNDED_DIGITS - 1 - exponent).rounded().to_string();
    // 9.999999 rounds to 10.0000, which has a digit more before the point.
    exponent += i32::from(digits.len() > ROUNDED_DIGITS as usize);
    (digits, exponent)
}

/// A positive ratio times a power of ten, divided out.
struct Scaled {
    whole: UBig,
    rest: UBig,
    divisor: UBig,
}

impl Scaled {
    fn new(numerator: &UBig, denominator: &UBig, power: i32) -> Self {
        let scale = UBig::from(10_u8).pow(power.unsigned_abs() as usize);
        let (dividend, divisor) = if power >= 0 {
            (numerator * scale, denominator.clone())
        } else {
            (numerator.clone(), denominator * scale)
        };
        Scaled { whole: &dividend / &divisor, rest: &dividend % &divisor, divisor }
    }

    fn rounded(&self) -> UBig {
        let up = &self.rest + &self.rest >= self.divisor;
        &self.whole + UBig::from(u8::from(up))
    }
}

/// The power of ten of the leading digit of a positive ratio.
fn leading_exponent(numerator: &UBig, denominator: &UBig) -> i32 {
    let length = |value: &UBig| i32::try_from(value.to_string().len()).unwrap_or(i32::MAX);
    let guess = length(numerator) - length(denominator);
    if Scaled::new(numerator, denominator, -guess).whole.is_zero() { guess - 1 } else { guess }
}

/// Writes significant digits whose first stands for `10^exponent`.
fn laid_out(digits: &str, exponent: i32) -> String {
    const PLAIN: std::ops::RangeInclusive<i32> = -6..=14;
    if !PLAIN.contains(&exponent) {
        let (head, tail) = digits.split_at_checked(1).unwrap_or((digits, ""));
        let point = if tail.is_empty() { "" } else { "." };
        return format!("{head}{point}{tail}e{exponent}");
    }
    if exponent < 0 {
        let zeros = "0".repeat(exponent.unsigned_abs() as usize - 1);
        return format!("0.{zeros}{digits}");
    }
    let whole = exponent as usize + 1;
    match digits.split_at_checked(whole) {
        Some((whole, "")) => whole.to_owned(),
        Some((whole, decimals)) => format!("{whole}.{decimals}"),
        None => format!("{digits:0<whole$}"),
    }
}

#[cfg(test)]
mod tests {
    use super::{long_decimal, short_decimal};
    use crate::quantity::Number;

    #[test]
    fn the_short_way_to_print_a_decimal_gives_what_the_long_one_gives() {
        let mut rng = fastrand::Rng::with_seed(3);
        let mut short = 0;
        for _ in 0..20_000 {
            let numerator = rng.i64(..) >> rng.u32(..63);
            let denominator = [1, 2, 4, 5, 8, 10, 25, 30, 100, 1000, 100_000, 7][rng.usize(..12)];
            let number = Number::exact(i128::from(numerator), denominator);
            let Some((digits, exponent)) = short_decimal(&number).filter(|_| !number.is_zero()) else {
                continue;
            };
            let (long, long_exponent) = long_decimal(&number);
            assert_eq!(digits.trim_end_matches('0'), long.trim_end_matches('0'), "{numerator}/{denominator}");
            assert_eq!(exponent, long_exponent, "{numerator}/{denominator}");
            short += 1;
        }
        assert!(short > 5_000, "only {short} numbers were printed the short way");
    }
}
