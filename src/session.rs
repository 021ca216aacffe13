//! To be filled by its own commit.
