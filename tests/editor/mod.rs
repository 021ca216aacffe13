//! The server for editors: what it says of texts while they are typed, that this is what `inspect` and `prove` say of them, and
//! that nothing that is sent to it ends it.

mod client;
mod conversations;
mod highlighting;
mod hostile;
mod same_verdict;
