//! Reports: one file per output format.
