//! A text that is open, and what was found out of it.

use std::cell::RefCell;
use std::path::{Path, PathBuf};
use std::rc::Rc;

use super::rule_file::RuleFile;
use crate::command::files::is_rule_file;
use crate::editor::symbols::Symbols;
use crate::editor::text::Text;
use crate::finding::Judged;

/// A text that is open.
pub(super) struct Open {
    /// Its file; nothing for one that was never saved.
    pub(super) path: Option<PathBuf>,
    /// What reports call it.
    pub(super) name: String,
    pub(super) version: i64,
    pub(super) text: Text,
    /// The settings that are found for it.
    pub(super) settings: Option<PathBuf>,
    /// What was judged of its documents, and of which version.
    pub(super) judged: Option<(i64, Vec<Judged>)>,
    /// The same of the text without the lines that cannot be read, where somebody asked for what is shown beside it.
    pub(super) rest: Option<(i64, Vec<Judged>)>,
    /// What is known of it if it is a rule file.
    pub(super) rules: RuleFile,
    /// The names in it then, and of which text: several questions about one ask for them.
    symbols: RefCell<Option<(Known, Rc<Symbols>)>>,
}

/// A version of a rule file, how often what it stands on became another, and whether its own rules were checked.
type Known = (i64, u64, bool);

impl Open {
    pub(super) fn new(
        path: Option<PathBuf>,
        name: String,
        version: i64,
        text: String,
        settings: Option<PathBuf>,
    ) -> Open {
        Open {
            path,
            name,
            version,
            text: Text::new(text),
            settings,
            judged: None,
            rest: None,
            rules: RuleFile::default(),
            symbols: RefCell::default(),
        }
    }

    pub(super) fn is_rules(&self) -> bool {
        is_rule_file(Path::new(&self.name))
    }

    /// What was judged of the documents of the text as it is now.
    pub(super) fn judged_now(&self) -> &[Judged] {
        let now = self.judged.as_ref().filter(|(version, _)| *version == self.version);
        now.map_or(&[], |(_, judged)| judged)
    }

    /// The same, of what can be read of the text.
    pub(super) fn judged_readings(&self) -> &[Judged] {
        let rest = self.rest.as_ref().filter(|(version, _)| *version == self.version);
        rest.map_or_else(|| self.judged_now(), |(_, judged)| judged)
    }

    /// Which text of a rule file, and what it stands on, as of when.
    pub(super) fn state(&self) -> (i64, u64) {
        (self.version, self.rules.state())
    }

    /// The names in a rule file, read anew where they are not known.
    pub(super) fn symbols(&self, read: impl FnOnce() -> Symbols) -> Rc<Symbols> {
        let (version, state) = self.state();
        let wanted = (version, state, self.rules.session().is_some());
        if let Some((known, symbols)) = &*self.symbols.borrow()
            && *known == wanted
        {
            return Rc::clone(symbols);
        }
        let symbols = Rc::new(read());
        *self.symbols.borrow_mut() = Some((wanted, Rc::clone(&symbols)));
        symbols
    }
}
