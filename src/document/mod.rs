//! Documents: YAML trees in which every piece knows its place, the forms they follow, and the
//! check of a document against its form.
