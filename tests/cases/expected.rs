//! The expectations in the comments of a file.

/// What one file expects; every entry with its line, from 1.
#[derive(Debug, Default)]
pub struct Expected {
    pub findings: Vec<(usize, Wanted)>,
    pub diagnostics: Vec<(usize, Wanted)>,
    pub tallies: Vec<(usize, String)>,
    pub with: Vec<(usize, String)>,
}

/// An expected finding or diagnostic.
#[derive(Debug, Default)]
pub struct Wanted {
    /// `RULE broken hold`, or the code with `advice` where it is one.
    pub head: String,
    /// The text at its place.
    pub at: Option<String>,
    /// Its whole message.
    pub says: Option<String>,
    /// A name that its help offers.
    pub near: Option<String>,
}

const MARKS: [&str; 4] = ["# expect next: ", "# expect: ", "# tally: ", "# with: "];

impl Expected {
    pub fn read(text: &str) -> Expected {
        let mut expected = Expected::default();
        for (number, line) in text.lines().enumerate() {
            let mut begins: Vec<(usize, &str)> =
                MARKS.iter().flat_map(|mark| line.match_indices(mark)).collect();
            begins.sort_unstable();
            for (position, (begin, mark)) in begins.iter().enumerate() {
                let end = begins.get(position + 1).map_or(line.len(), |(next, _)| *next);
                expected.take(number + 1, mark, line[begin + mark.len()..end].trim());
            }
        }
        expected
    }

    fn take(&mut self, line: usize, mark: &str, text: &str) {
        match mark {
            "# tally: " => self.tallies.push((line, text.to_owned())),
            "# with: " => self.with.push((line, text.to_owned())),
            _ => {
                let line = if mark == "# expect next: " { line + 1 } else { line };
                for one in text.split(" | ") {
                    let wanted = Wanted::read(one.trim());
                    // Rules have names without a stroke, codes have one.
                    let list = match wanted.head.contains('/') {
                        true => &mut self.diagnostics,
                        false => &mut self.findings,
                    };
                    list.push((line, wanted));
                }
            }
        }
    }

    pub fn codes(&self) -> impl Iterator<Item = &str> {
        self.diagnostics.iter().filter_map(|(_, wanted)| wanted.head.split(' ').next())
    }
}

impl Wanted {
    fn read(text: &str) -> Wanted {
        let mut wanted = Wanted::default();
        let (rest, says) = cut(text, " says ");
        let (rest, near) = cut(rest, " near ");
        let (head, at) = cut(rest, " at ");
        (wanted.head, wanted.at, wanted.says, wanted.near) = (head.to_owned(), at, says, near);
        wanted
    }
}

fn cut<'t>(text: &'t str, word: &str) -> (&'t str, Option<String>) {
    match text.split_once(word) {
        Some((before, after)) => (before.trim(), Some(after.trim().to_owned())),
        None => (text.trim(), None),
    }
}
