//! What all else stands on: texts and the places in them, quantities, times, the published methods, and questions about
//! what was measured over time.

pub mod source;
pub mod code;
pub mod letters;
pub mod diagnostic;
pub mod quantity;
pub mod value;
pub mod edition;
pub mod time;
pub mod metrology;
pub mod statistics;
pub mod signal;
