//! What was rendered of the documents of a file, until it is its turn to be written.

use std::io::{self, Read, Seek, Write};

use tempfile::SpooledTempFile;

/// So many bytes of one file wait in memory; of a text with very many documents the rest waits on disk.
const IN_MEMORY: usize = 256 * 1024;

/// The pieces of a report, in order.
#[derive(Default)]
pub(super) struct Rendered {
    kept: Option<SpooledTempFile>,
    lengths: Vec<u64>,
    failed: Option<io::Error>,
}

impl Rendered {
    /// Adds a piece.
    pub(super) fn push(&mut self, piece: &[u8]) {
        let kept = self.kept.get_or_insert_with(|| SpooledTempFile::new(IN_MEMORY));
        if let Err(error) = kept.write_all(piece) {
            self.failed.get_or_insert(error);
        }
        self.lengths.push(piece.len() as u64);
    }

    /// Hands on each piece.
    ///
    /// # Errors
    /// What came of keeping them, or of what is done with one.
    pub(super) fn each<E: From<io::Error>>(
        self,
        mut take: impl FnMut(&[u8]) -> Result<(), E>,
    ) -> Result<(), E> {
        if let Some(failed) = self.failed {
            return Err(failed.into());
        }
        let Some(mut kept) = self.kept else { return Ok(()) };
        kept.rewind()?;
        let mut piece = Vec::new();
        for length in self.lengths {
            piece.clear();
            (&mut kept).take(length).read_to_end(&mut piece)?;
            take(&piece)?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::{IN_MEMORY, Rendered};

    #[test]
    fn pieces_come_out_as_they_went_in_also_from_the_disk() {
        for length in [0, 10, IN_MEMORY, IN_MEMORY + 1] {
            let pieces: Vec<Vec<u8>> = (0..5_u8).map(|number| vec![number; length]).collect();
            let mut rendered = Rendered::default();
            pieces.iter().for_each(|piece| rendered.push(piece));
            let mut found = Vec::new();
            let done: Result<(), std::io::Error> = rendered.each(|piece| {
                found.push(piece.to_vec());
                Ok(())
            });
            assert!(done.is_ok() && found == pieces, "{length}");
        }
    }
}
