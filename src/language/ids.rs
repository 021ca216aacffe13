//! The numbers of what a program declares, and the lists that they are places in.

use std::marker::PhantomData;
use std::ops::{Index, IndexMut};

/// A place in an [`Arena`].
pub trait Id: Copy {
    /// That of a place.
    fn at(place: u32) -> Self;

    /// The place.
    fn place(self) -> usize;
}

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident;)*) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(u32);

        impl Id for $name {
            fn at(place: u32) -> $name {
                $name(place)
            }

            fn place(self) -> usize {
                self.0 as usize
            }
        }
    )*};
}

ids! {
    /// The number of a rule.
    RuleId;
    /// The number of a let.
    LetId;
    /// The number of a parameter.
    ParameterId;
    /// The number of a table.
    TableId;
}

/// Things by their numbers. Only [`Arena::push`] makes a number, and nothing is ever taken out, so that a look-up
/// always finds its thing.
#[derive(Debug)]
pub struct Arena<I, T> {
    things: Vec<T>,
    ids: PhantomData<fn() -> I>,
}

impl<I: Id, T> Arena<I, T> {
    /// Adds a thing and gives its number.
    pub(in crate::language) fn push(&mut self, thing: T) -> I {
        let id = self.next();
        self.things.push(thing);
        id
    }

    /// The number that the next thing will have.
    pub(in crate::language) fn next(&self) -> I {
        // Four thousand million declarations do not fit into the largest rule file.
        I::at(u32::try_from(self.things.len()).unwrap_or(u32::MAX))
    }

    /// All of them, in their order.
    #[must_use]
    pub fn all(&self) -> &[T] {
        &self.things
    }

    /// All of them with their numbers.
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = (I, &T)> + ExactSizeIterator {
        self.things.iter().enumerate().map(|(place, thing)| (id(place), thing))
    }

    /// The numbers.
    pub fn ids(&self) -> impl DoubleEndedIterator<Item = I> + use<I, T> {
        (0..self.things.len()).map(id)
    }

    /// The same things in another form.
    pub(in crate::language) fn map<U>(self, form: impl FnMut(T) -> U) -> Arena<I, U> {
        Arena { things: self.things.into_iter().map(form).collect(), ids: PhantomData }
    }
}

fn id<I: Id>(place: usize) -> I {
    I::at(u32::try_from(place).unwrap_or(u32::MAX))
}

impl<I, T> Default for Arena<I, T> {
    fn default() -> Self {
        Arena { things: Vec::new(), ids: PhantomData }
    }
}

impl<I: Id, T> Index<I> for Arena<I, T> {
    type Output = T;

    #[expect(clippy::indexing_slicing, reason = "numbers are made by `push` alone, and nothing is taken out")]
    fn index(&self, id: I) -> &T {
        &self.things[id.place()]
    }
}

impl<I: Id, T> IndexMut<I> for Arena<I, T> {
    #[expect(clippy::indexing_slicing, reason = "numbers are made by `push` alone, and nothing is taken out")]
    fn index_mut(&mut self, id: I) -> &mut T {
        &mut self.things[id.place()]
    }
}
