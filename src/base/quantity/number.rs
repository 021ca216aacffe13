//! An exact number: a ratio of two integers of any size.
//!
//! Almost every number of a record fits two machine integers, which makes a comparison a matter of
//! nanoseconds. An operation that would overflow them is done again in integers of any size, so the
//! answer is exact either way; no operation rounds.

use std::borrow::Cow;
use std::cmp::Ordering;
use std::fmt;
use std::hash::{Hash, Hasher};
use std::num::NonZero;
use std::ops::{Add, Mul, Neg, Sub};

use dashu_int::ops::{BitTest, UnsignedAbs};
use dashu_int::{IBig, UBig};
use dashu_ratio::RBig;

/// The greatest size, in bits, of the numerator or denominator of what the `checked_` operations
/// give. Real work stays below some 200 bits; a rule file that squares a number sixty times over
/// would otherwise fill the memory.
pub const CEILING: usize = 4096;

/// An exact number.
///
/// Equality, order and hash go by value: `0.50` equals `0.5`.
///
/// ```
/// use witnessmark_base::quantity::Number;
///
/// let tenth = Number::parse("0.1").unwrap();
/// let sum = &(&tenth + &tenth) + &tenth;
/// assert_eq!(sum, Number::parse("0.30").unwrap());
/// ```
#[derive(Clone)]
pub struct Number(Repr);

/// `Big` holds only what `Small` cannot hold even when reduced.
#[derive(Clone)]
enum Repr {
    /// Numerator and denominator, not always reduced. The denominator is positive, the numerator
    /// is not `i128::MIN`, so that it can be negated.
    Small(i128, NonZero<i128>),
    Big(Box<RBig>),
}

impl Number {
    /// Zero.
    pub const ZERO: Number = Number::exact(0, 1);
    /// One.
    pub const ONE: Number = Number::exact(1, 1);

    /// `numerator` ÷ `denominator`, for figures written in this program; the denominator is positive.
    pub(super) const fn exact(numerator: i128, denominator: i128) -> Number {
        match NonZero::new(denominator) {
            Some(denominator) => Number(Repr::Small(numerator, denominator)),
            None => Number(Repr::Small(0, NonZero::<i128>::MAX)),
        }
    }

    /// `numerator` ÷ `denominator`; nothing when the denominator is zero.
    #[must_use]
    pub fn ratio(numerator: i128, denominator: i128) -> Option<Number> {
        if denominator == 0 {
            return None;
        }
        let small = if denominator > 0 {
            Number::small(numerator, denominator)
        } else {
            numerator.checked_neg().zip(denominator.checked_neg()).and_then(|(n, d)| Number::small(n, d))
        };
        let big = || RBig::from_parts_signed(IBig::from(numerator), IBig::from(denominator));
        Some(small.unwrap_or_else(|| Number::from_big(big())))
    }

    fn small(numerator: i128, denominator: i128) -> Option<Number> {
        let denominator = NonZero::new(denominator).filter(|_| denominator > 0)?;
        (numerator != i128::MIN).then_some(Number(Repr::Small(numerator, denominator)))
    }

    /// `digits × 10^exponent`, for the reader of written numbers.
    pub(super) fn decimal(digits: &UBig, negative: bool, exponent: i32) -> Number {
        let scale = UBig::from(10u8).pow(exponent.unsigned_abs() as usize);
        let digits = if negative { -IBig::from(digits.clone()) } else { IBig::from(digits.clone()) };
        Number::from_big(if exponent < 0 {
            RBig::from_parts(digits, scale)
        } else {
            RBig::from(digits * IBig::from(scale))
        })
    }

    fn from_big(value: RBig) -> Number {
        let narrow = i128::try_from(value.numerator()).ok().zip(i128::try_from(value.denominator()).ok());
        narrow
            .and_then(|(numerator, denominator)| Number::small(numerator, denominator))
            .unwrap_or_else(|| Number(Repr::Big(Box::new(value))))
    }

    fn big(&self) -> Cow<'_, RBig> {
        match &self.0 {
            Repr::Small(n, d) => {
                Cow::Owned(RBig::from_parts(IBig::from(*n), UBig::from(d.get().unsigned_abs())))
            }
            Repr::Big(value) => Cow::Borrowed(value),
        }
    }

    /// The same value with the smallest numerator and denominator, so that later work stays quick.
    #[must_use]
    pub fn reduced(&self) -> Number {
        match &self.0 {
            Repr::Small(n, d) => {
                let divisor = gcd(n.unsigned_abs(), d.get().unsigned_abs());
                // The divisor is at most the denominator, which is an i128.
                let divisor = i128::try_from(divisor).unwrap_or(1);
                Number::small(n / divisor, d.get() / divisor).unwrap_or_else(|| self.clone())
            }
            Repr::Big(_) => self.clone(),
        }
    }

    /// The absolute numerator and the denominator.
    pub(super) fn magnitude_parts(&self) -> (UBig, UBig) {
        let (numerator, denominator) = self.big().into_owned().into_parts();
        (numerator.unsigned_abs(), denominator)
    }

    /// The absolute numerator and the denominator, not always reduced, where both are short.
    pub(super) fn short_magnitude_parts(&self) -> Option<(u64, u64)> {
        match &self.0 {
            Repr::Small(numerator, denominator) => {
                let numerator = u64::try_from(numerator.unsigned_abs()).ok();
                numerator.zip(u64::try_from(denominator.get()).ok())
            }
            Repr::Big(_) => None,
        }
    }

    /// Its distance from zero.
    #[must_use]
    pub fn abs(&self) -> Number {
        if self.signum() == Ordering::Less { -self } else { self.clone() }
    }

    /// How it compares with zero.
    #[must_use]
    pub fn signum(&self) -> Ordering {
        match &self.0 {
            Repr::Small(numerator, _) => numerator.cmp(&0),
            Repr::Big(value) => value.as_ref().cmp(&RBig::ZERO),
        }
    }

    /// Whether it is zero.
    #[must_use]
    pub fn is_zero(&self) -> bool {
        self.signum() == Ordering::Equal
    }

    /// Whether it is below zero.
    #[must_use]
    pub fn is_negative(&self) -> bool {
        self.signum() == Ordering::Less
    }

    /// Whether it is a whole number.
    #[must_use]
    pub fn is_integer(&self) -> bool {
        match &self.0 {
            Repr::Small(numerator, denominator) => numerator % denominator.get() == 0,
            Repr::Big(value) => value.is_int(),
        }
    }

    /// The sum; nothing past the [`CEILING`].
    #[must_use]
    pub fn checked_add(&self, other: &Number) -> Option<Number> {
        (self + other).below_ceiling()
    }

    /// The difference; nothing past the [`CEILING`].
    #[must_use]
    pub fn checked_sub(&self, other: &Number) -> Option<Number> {
        (self - other).below_ceiling()
    }

    /// The product; nothing past the [`CEILING`].
    #[must_use]
    pub fn checked_mul(&self, other: &Number) -> Option<Number> {
        (self * other).below_ceiling()
    }

    /// The quotient; nothing when `other` is zero or past the [`CEILING`].
    #[must_use]
    pub fn checked_div(&self, other: &Number) -> Option<Number> {
        self.over(other)?.below_ceiling()
    }

    /// The quotient of any size; nothing when `other` is zero.
    pub(super) fn over(&self, other: &Number) -> Option<Number> {
        if other.is_zero() {
            return None;
        }
        if let (Repr::Small(a, b), Repr::Small(c, d)) = (&self.0, &other.0) {
            let sign = if *c < 0 { -1 } else { 1 };
            let quotient = product(sign * *a, d.get())
                .zip(product(b.get(), sign * *c))
                .and_then(|(n, d)| Number::small(n, d));
            if quotient.is_some() {
                return quotient;
            }
        }
        Some(Number::from_big(self.big().as_ref() / other.big().as_ref()))
    }

    /// Numerator and denominator, not always reduced, where both are short. Their products are never too large,
    /// which keeps the usual path of every operation short, too.
    fn short_parts(&self) -> Option<(i64, i64)> {
        match &self.0 {
            Repr::Small(n, d) => i64::try_from(*n).ok().zip(i64::try_from(d.get()).ok()),
            Repr::Big(_) => None,
        }
    }

    #[cold]
    fn long_cmp(&self, other: &Number) -> Ordering {
        if let (Repr::Small(a, b), Repr::Small(c, d)) = (&self.0, &other.0) {
            if b == d {
                return a.cmp(c);
            }
            if let (Some(left), Some(right)) = (a.checked_mul(d.get()), c.checked_mul(b.get())) {
                return left.cmp(&right);
            }
        }
        self.big().cmp(&other.big())
    }

    /// The sum or the difference, by the operation on numerators of the same denominator, where it is small.
    fn small_joined(&self, other: &Number, join: impl Fn(i128, i128) -> Option<i128>) -> Option<Number> {
        let (Repr::Small(a, b), Repr::Small(c, d)) = (&self.0, &other.0) else { return None };
        if b == d {
            return Number::small(join(*a, *c)?, b.get());
        }
        let numerator = join(product(*a, d.get())?, product(*c, b.get())?)?;
        Number::small(numerator, product(b.get(), d.get())?)
    }

    fn below_ceiling(self) -> Option<Number> {
        let fits = match &self.0 {
            Repr::Small(..) => true,
            Repr::Big(value) => value.numerator().bit_len().max(value.denominator().bit_len()) <= CEILING,
        };
        fits.then_some(self)
    }

    /// The nearest double: for formulas that cannot be exact, never for a verdict.
    #[must_use]
    pub fn to_f64(&self) -> f64 {
        const EXACT: u128 = 1 << 53;
        match &self.0 {
            // Both are exact doubles, and a division of doubles is correctly rounded.
            Repr::Small(n, d) if n.unsigned_abs() <= EXACT && d.get().unsigned_abs() <= EXACT => {
                *n as f64 / d.get() as f64
            }
            _ => self.big().to_f64().value(),
        }
    }

    /// The greatest whole number that is not above it; nothing past what an `i64` holds.
    #[must_use]
    pub fn floor(&self) -> Option<i64> {
        match &self.0 {
            // The denominator is above zero.
            Repr::Small(numerator, denominator) => {
                i64::try_from(numerator.div_euclid(denominator.get())).ok()
            }
            Repr::Big(value) => i64::try_from(value.floor()).ok(),
        }
    }

    /// The number as a count; nothing when it is negative, broken or too large.
    #[must_use]
    pub fn to_u64(&self) -> Option<u64> {
        match &self.0 {
            Repr::Small(numerator, denominator) if self.is_integer() => {
                u64::try_from(numerator / denominator.get()).ok()
            }
            _ => None,
        }
    }
}

/// The product of two short factors, which always fits.
fn wide(a: i64, b: i64) -> i128 {
    i128::from(a) * i128::from(b)
}

/// The product, without the slow 128-bit multiplication where both factors are short.
fn product(a: i128, b: i128) -> Option<i128> {
    match (i64::try_from(a), i64::try_from(b)) {
        (Ok(a), Ok(b)) => Some(wide(a, b)),
        _ => a.checked_mul(b),
    }
}

fn gcd(mut a: u128, mut b: u128) -> u128 {
    while b != 0 {
        if let (Ok(a), Ok(b)) = (u64::try_from(a), u64::try_from(b)) {
            return short_gcd(a, b).into();
        }
        (a, b) = (b, a % b);
    }
    a
}

fn short_gcd(mut a: u64, mut b: u64) -> u64 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

impl From<i64> for Number {
    fn from(value: i64) -> Self {
        Number::exact(i128::from(value), 1)
    }
}

impl From<u64> for Number {
    fn from(value: u64) -> Self {
        Number::exact(i128::from(value), 1)
    }
}

impl Add for &Number {
    type Output = Number;

    fn add(self, other: &Number) -> Number {
        let small = self.small_joined(other, i128::checked_add);
        small.unwrap_or_else(|| Number::from_big(self.big().as_ref() + other.big().as_ref()))
    }
}

impl Sub for &Number {
    type Output = Number;

    fn sub(self, other: &Number) -> Number {
        let small = self.small_joined(other, i128::checked_sub);
        small.unwrap_or_else(|| Number::from_big(self.big().as_ref() - other.big().as_ref()))
    }
}

impl Mul for &Number {
    type Output = Number;

    fn mul(self, other: &Number) -> Number {
        if let (Repr::Small(a, b), Repr::Small(c, d)) = (&self.0, &other.0) {
            let small = product(*a, *c).zip(product(b.get(), d.get())).and_then(|(n, d)| Number::small(n, d));
            if let Some(product) = small {
                return product;
            }
        }
        Number::from_big(self.big().as_ref() * other.big().as_ref())
    }
}

impl Neg for &Number {
    type Output = Number;

    fn neg(self) -> Number {
        match &self.0 {
            Repr::Small(numerator, denominator) => Number(Repr::Small(-numerator, *denominator)),
            Repr::Big(value) => Number::from_big(-value.as_ref()),
        }
    }
}

impl PartialEq for Number {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Number {}

impl PartialOrd for Number {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Number {
    fn cmp(&self, other: &Self) -> Ordering {
        match (self.short_parts(), other.short_parts()) {
            (Some((a, b)), Some((c, d))) => wide(a, d).cmp(&wide(c, b)),
            _ => self.long_cmp(other),
        }
    }
}

impl Hash for Number {
    fn hash<H: Hasher>(&self, state: &mut H) {
        match &self.reduced().0 {
            Repr::Small(numerator, denominator) => (numerator, denominator).hash(state),
            Repr::Big(value) => value.hash(state),
        }
    }
}

impl fmt::Debug for Number {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}
