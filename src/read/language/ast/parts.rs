//! The operands of what expressions of any stage are made of, to change them.

use super::{Case, RangeForm, Timed, When};

impl<T> Case<T> {
    /// Its parts, as they are looked at.
    pub(in crate::language) fn parts_mut(&mut self) -> impl Iterator<Item = &mut T> {
        self.condition.iter_mut().chain([&mut self.value])
    }
}

impl<T> RangeForm<T> {
    /// Its operands, as written from left to right.
    pub(in crate::language) fn operands_mut(&mut self) -> impl Iterator<Item = &mut T> {
        let (first, second, third) = match self {
            RangeForm::Between(a, b) | RangeForm::PlusMinus(a, b) => (a, Some(b), None),
            RangeForm::PlusAndMinus(a, b, c) => (a, Some(b), Some(c)),
            RangeForm::AtLeast(a) | RangeForm::AtMost(a) | RangeForm::Above(a) | RangeForm::Below(a) => {
                (a, None, None)
            }
        };
        std::iter::once(first).chain(second).chain(third)
    }
}

impl<T> Timed<T> {
    /// Its operands, in the order in which they are computed; the body last.
    pub(in crate::language) fn operands_mut(&mut self) -> impl Iterator<Item = &mut T> {
        let own = match &mut self.when {
            When::Throughout | When::AtSomeMoment => None,
            When::HeldFor(operand) | When::Until(operand) => Some(operand),
        };
        let ends = [&mut self.from, &mut self.to].into_iter();
        ends.chain(&mut self.gaps).chain(own).chain([&mut self.body])
    }
}
