//! The numbers of what a program declares, and the lists that they are places in.

use std::marker::PhantomData;
use std::ops::{Index, IndexMut, Range};

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
    /// The number of a record that trials share.
    BaseId;
}

/// Things by their numbers. Only the checker makes a number, when it adds a thing, and nothing is ever taken out, so that a look-up
/// always finds its thing.
#[derive(Clone, Debug)]
pub struct Arena<I, T> {
    things: Vec<T>,
    ids: PhantomData<fn() -> I>,
}

impl<I: Id, T> Arena<I, T> {
    /// Adds a thing and gives its number.
    pub(in crate::language) fn push(&mut self, thing: T) -> I {
        self.things.push(thing);
        id(self.things.len() - 1)
    }

    /// All of them, in their order.
    #[must_use]
    pub fn all(&self) -> &[T] {
        &self.things
    }

    /// All of them with their numbers.
    #[must_use]
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = (I, &T)> + ExactSizeIterator + Clone {
        self.things.iter().enumerate().map(|(place, thing)| (id(place), thing))
    }

    /// All numbers.
    #[must_use]
    pub fn ids(&self) -> Ids<I> {
        self.since(0)
    }

    /// The numbers of those that were added when there were already so many.
    #[must_use]
    pub(in crate::language) fn since(&self, before: usize) -> Ids<I> {
        Ids { places: before..self.things.len(), ids: PhantomData }
    }

    /// The same things in another form.
    pub(in crate::language) fn map<U>(self, form: impl FnMut(T) -> U) -> Arena<I, U> {
        Arena { things: self.things.into_iter().map(form).collect(), ids: PhantomData }
    }
}

/// The numbers of things that were added one after the other.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ids<I> {
    places: Range<usize>,
    ids: PhantomData<fn() -> I>,
}

impl<I: Id> Ids<I> {
    /// How many they are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.places.len()
    }

    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.places.is_empty()
    }
}

impl<I: Id> Iterator for Ids<I> {
    type Item = I;

    fn next(&mut self) -> Option<I> {
        self.places.next().map(id)
    }
}

impl<I: Id> DoubleEndedIterator for Ids<I> {
    fn next_back(&mut self) -> Option<I> {
        self.places.next_back().map(id)
    }
}

/// The number of a place. Four thousand million declarations do not fit into the largest rule file.
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
