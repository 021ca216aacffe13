//! Every stable code of a diagnostic, with its title and explanation.
//!
//! A code is `area/what-is-wrong`. Codes are never renamed and never reused: reports, editors and
//! the files of known findings refer to them.

/// A stable code; its text is the key into [`CODES`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Code(&'static str);

impl Code {
    /// The code as reports print it.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        self.0
    }
}

/// A row of [`CODES`].
#[derive(Clone, Copy, Debug)]
pub struct CodeRow {
    /// The code.
    pub code: Code,
    /// A few words, for lists.
    pub title: &'static str,
    /// A paragraph: what is wrong, why it matters, how to mend it.
    pub explanation: &'static str,
}

macro_rules! codes {
    ($($name:ident = $code:literal, $title:literal, $explanation:literal;)*) => {
        $(#[doc = $title] pub const $name: Code = Code($code);)*

        /// Every code there is.
        pub const CODES: &[CodeRow] = &[
            $(CodeRow { code: $name, title: $title, explanation: $explanation },)*
        ];
    };
}

codes! {
    // Quantities.
    NUMBER_FORM = "quantity/number-form", "a number that cannot be read",
        "A number is digits, an optional sign and an optional decimal point. A decimal comma, a \
         thousands mark or an exponent that is out of all proportion is refused, because guessing \
         would turn a wrong value into a passed one.";
    DOTTED_THOUSANDS = "quantity/dotted-thousands", "a point that could mark thousands",
        "Where a comma is the decimal mark, people write a point between thousands: 61.000 for sixty-one \
         thousand. A number above zero with one point and exactly three digits behind it is read with \
         a decimal point, and the other reading is named. A field whose values are whole refuses it.";
    NUMBER_SIZE = "quantity/number-size", "a number too large to work with",
        "The result of a calculation has more than a thousand digits. No real calculation does; look \
         for a value that is multiplied by itself again and again.";
    DIVISION_BY_ZERO = "quantity/division-by-zero", "a division by zero",
        "The divisor is zero, so there is no result. Ask first whether the divisor is above zero.";
    QUANTITY_FORM = "quantity/quantity-form", "a text that is no quantity",
        "A quantity is a number and its unit, such as `45 Nm` or `38 °C`.";
    UNIT_MISSING = "quantity/unit-missing", "a number without a unit",
        "A number alone does not say what was measured. The unit is part of the value and is written \
         after the number.";
    UNIT_UNKNOWN = "quantity/unit-unknown", "a unit that is not known",
        "Only units whose exact size is fixed by a standard or by law are known, each with the \
         spellings of the trade. Capital and small letters matter: mNm is a thousandth of a newton \
         metre, MNm a million.";
    UNIT_AMBIGUOUS = "quantity/unit-ambiguous", "a unit that can mean two things",
        "Some short names stand for units of different size: a quart is 0.946 L in the United States \
         and 1.137 L in the imperial system. Write which one is meant.";
    KIND_WRONG = "quantity/kind-wrong", "a quantity of the wrong kind",
        "The unit belongs to another kind of quantity than the one wanted here: a temperature where a \
         torque is wanted, or a temperature where a difference of temperatures is wanted.";
    KINDS_MIXED = "quantity/kinds-mixed", "kinds of quantity that do not go together",
        "Only like can be added to like or compared with it. Torque is not energy though both are \
         newtons times metres, a temperature is not a difference of temperatures, and gauge pressure \
         is not absolute pressure.";
    BELOW_ZERO_POINT = "quantity/below-zero-point", "a value below the zero of its scale",
        "Nothing is colder than absolute zero (−273.15 °C), and no absolute pressure is below that of a \
         vacuum. The value cannot have been measured.";
    RANGE_FORM = "quantity/range-form", "a text that is no range",
        "A range is written `40 Nm .. 50 Nm` with both ends included, `45 Nm ± 10 %`, `45 Nm ± 3 Nm`, \
         `45 Nm +5/-0 Nm`, or with `at least`, `at most`, `above` or `below` and one value.";
    RANGE_INVERTED = "quantity/range-inverted", "a range whose ends are the wrong way round",
        "The first end of a range is the lower one. A range whose lower end lies above its upper end \
         holds nothing.";
    TOLERANCE = "quantity/tolerance", "a tolerance that cannot be used",
        "A tolerance is a distance above zero of the same kind as the nominal value, or a percentage of \
         it. A percentage of a temperature on a scale such as °C has no meaning, and a percentage of a \
         percentage can be read in two ways.";

    // Documents.
    ENCODING = "document/encoding", "a file that is not UTF-8 text",
        "Files are read as UTF-8. Another encoding would turn letters and signs into wrong ones \
         without a word; save the file again as UTF-8.";
    TOO_LARGE = "document/too-large", "a text past the size limit",
        "A text is read up to 16 MiB and 1,000,000 values, far more than any record needs; past \
         that it is refused, so that a damaged file cannot stall the run.";
    TOO_DEEP = "document/too-deep", "nesting past the limit",
        "Lists and groups may be nested 64 levels deep; a record needs about five. Deeper nesting \
         is a damaged file.";
    LAYOUT = "document/layout", "a text whose layout cannot be read",
        "The text breaks a rule of YAML: a bracket or a quote is not closed, a tab indents, a line \
         begins in the wrong column. The document is left out; other documents of the file are read.";
    FIELD_TWICE = "document/field-twice", "a field that is given twice",
        "One group holds the same field twice. Taking either would hide the other, so neither is \
         guessed, and what needs the field is undecided, unless both say the same: take the wrong one out.";
    DEPRECATED_FIELD = "document/deprecated-field", "a field that is not used any more",
        "The schema says that another field takes the place of this one. What is recorded here stays readable, but rules \
         that ask for the other field do not see it.";
    FIELD_NAME = "document/field-name", "a field without a proper name",
        "The name of a field must be a plain text before a colon. Brackets at the place of a name \
         often come from a value that needs quotes.";
    SHARED_VALUE = "document/shared-value", "a value shared by a mark",
        "YAML can mark a value with & and repeat it with *, or copy fields with <<. A record states \
         each value where it belongs, so that whoever reads the line sees it.";
    TYPE_TAG = "document/type-tag", "a type tag",
        "YAML can force the type of a value with a tag such as !!int. The form of the document \
         says what each field is; a tag could only contradict it.";

    PLACEHOLDER = "document/placeholder", "a sign in the place of a value",
        "`unknown`, `??`, `-`, `n/a` or a number of seventeen ones is no value, and looks like one that somebody \
         has read. It is treated like a blank: what needs it is not recorded. Leave the field out, or write the \
         value. Remarks and other texts in anybody's own words can say what they like.";

    READ_AS = "document/read-as", "a word that is read as another",
        "The settings of the workshop say under `words` what its own words stand for. Where such a word stands in a \
         field whose words those are, it is read as the word of the rules, and that is said once in each document.";
    DOCUMENT_EMPTY = "document/empty", "a document with nothing in it",
        "A file or a part of it holds no fields. An empty record proves nothing, so it is not \
         passed over in silence.";
    FORM_MISSING = "document/form-missing", "a document that names no form",
        "Each document begins with a line such as form: job/1, which says what it is and which \
         fields it has.";
    FORM_UNKNOWN = "document/form-unknown", "a form or version that is not known",
        "The form that the document names does not exist, or this program knows another version of it.";
    FIELD_UNKNOWN = "document/unknown-field", "a field that the form does not have",
        "A field under a misspelt or unknown name would be overlooked by every rule. Correct the \
         name, move it to the group it belongs to, or let a schema of the workshop add it.";
    FIELD_MISSING = "document/missing-field", "a field that must be there",
        "The form demands this field of every document, because without it the record cannot be \
         told apart or judged.";
    WRONG_SHAPE = "document/wrong-shape", "a list, a group or a single value in the wrong place",
        "A field holds a single value, a list of items or a group of fields, and another of these \
         is here. Often a dash or the indentation is missing.";
    WORD_UNKNOWN = "document/unknown-word", "a word that the field cannot have",
        "Some fields have a closed list of words, so that rules and people mean the same by them.";
    TRUTH_FORM = "document/yes-or-no", "neither yes nor no",
        "The field says whether something is so: yes or no (true and false are read too). What is \
         not known is left out.";
    COUNT_FORM = "document/whole-number", "no whole number",
        "The field counts something, so it holds a whole number.";
    DAY_FORM = "document/day", "a day that cannot be read",
        "Days are written year-month-day, such as 2026-03-02. Other orders can be taken for another \
         day and are refused.";
    MOMENT_FORM = "document/time", "a time that cannot be read",
        "Times are written 2026-03-02T08:15:00+01:00 (RFC 3339), or without the offset, and then \
         hold in the workshop's own time zone.";
    OUTSIDE_FORM = "document/outside-form", "a value that the form does not allow",
        "The value is of the right kind but breaks a further demand of the form, such as a least \
         number of items or a pattern.";
    SCHEMA = "document/schema", "a schema of the workshop that cannot be used",
        "A schema of the workshop adds fields to a form. It may not change or loosen what the form \
         states, and may refer only to its own definitions.";

    // The language.
    TEXT_TOO_LARGE = "language/too-large", "a rule file that is too large",
        "A rule file may have 4 MiB. Nothing a person writes comes near that; a larger file is \
         refused before it is read, so that it cannot block the run.";
    NESTED_TOO_DEEP = "language/nested-too-deep", "an expression that is nested or chained too far",
        "Brackets, conditions and quantifiers may be nested 64 deep, and one expression may have 200 \
         operators. Give a part of the expression a name with `let`, or make several demands of it.";
    MANY_MISTAKES = "language/many-mistakes", "more errors than are listed",
        "Only the first errors of a file are listed, and what is behind them is not read. Correct \
         those and run again.";
    OUTSIDE_ITEM = "language/outside-item", "text that belongs to no item",
        "A rule file is a run of items, each begun by a word at the head of a line: standard, use, let, \
         parameter, table, rule. What stands before the first item, or begins a line with another \
         word, belongs to none of them. A comment begins with `#`.";
    UNKNOWN_CLAUSE = "language/unknown-clause", "a line that begins with no clause word",
        "Each clause of a rule begins with its word at the head of a line: concerns, demands, otherwise, \
         remedy, because, basis, concession, if unrecorded, trial. A line may also go on with the \
         clause above it, but this one does not fit there.";
    UNCLOSED = "language/unclosed", "a quote, bracket or brace without its partner",
        "A quoted text is closed on its own line, a bracket within its clause, the brace of a record \
         before the next item. Reading goes on behind it, but the item cannot be used.";
    CLAUSE_FORM = "language/clause-form", "a clause that cannot be read",
        "The words of a clause have their order, and its values are joined by words such as `and`, `is` \
         or `within`. The message says what is wanted at the place where reading stopped.";
    CLAUSE_MISSING = "language/clause-missing", "a rule without a part that it needs",
        "A rule has a name, a title in quotes, at least one `demands` and one `otherwise`: without \
         them it would judge nothing, or nobody would learn what it found.";
    CLAUSE_REPEATED = "language/clause-repeated", "a clause that is there twice",
        "Only `demands` and `trial` may stand several times in a rule. With any other clause it would \
         be a guess which of the two is meant.";
    FOREIGN_SIGN = "language/foreign-sign", "a sign where the language has a word",
        "Comparisons and connectives are words, so that everybody in the workshop can read a rule: \
         `at least`, `at most`, `above`, `below`, `is`, `is not`, `and`, `or`, `not`.";
    CHAINED_COMPARISON = "language/chained-comparison", "a comparison of a comparison",
        "`a above b above c` could mean several things. Compare twice and join with `and`, or give a \
         range: `b within c .. a`. Brackets end a `where` or a quantifier before a comparison.";
    CHAINED_RANGE = "language/chained-range", "a range made of ranges",
        "A range has one nominal value and one tolerance, or two limits. `a .. b ± c` is neither.";
    TEXT_FORM = "language/text-form", "a quoted text that cannot be read",
        "In a quoted text a backslash stands before a quote, before another backslash or before `n` for \
         a new line, and control characters are refused because they would change what a terminal shows.";
    MESSAGE_FORM = "language/message-form", "a message whose values cannot be read",
        "A value stands in a message between braces: `{s.torque}`. A brace itself is written twice. A \
         value cannot hold a quoted text; give it a name with `let`.";
    UNKNOWN_WORD = "language/unknown-word", "a word that is not among those that can stand here",
        "Severities are hold, advice and note. Missing data counts as hold, advice, note or pass. A trial \
         expects met, broken, undecided or not concerned.";
    TABLE_FORM = "language/table-form", "a table whose rows do not fit it",
        "A table has at least one row, and each row has one quoted text for each key named behind `by`.";

    // Standards, rules and runs.
    UNKNOWN_NAME = "rules/unknown-name", "a name that nothing has",
        "A rule uses a name that is neither a variable of `each` or a quantifier, nor a let, parameter or \
         table of this file or of one that it uses, nor a field of the document, nor a builtin.";
    NO_SUCH_FIELD = "rules/unknown-field", "a field that the document does not have",
        "The form of the document, written down in its schema, has no such field at this place. A rule on \
         it could never be decided, so it is refused before it runs.";
    NO_SUCH_WORD = "rules/unknown-word", "a word that can never stand in the field",
        "The field takes one of a closed list of words, and this is none of them, so the comparison would \
         always come out the same way.";
    TYPE_MISMATCH = "rules/type-mismatch", "two things that do not go together",
        "Every expression has a type before the rules run: a quantity of some kind, a range, a text, yes or \
         no, a time, a list. This one is not of the type that its place wants.";
    ORDER_OF_TEXT = "rules/order", "a comparison that has no meaning for these values",
        "Quantities are compared with `above`, `below`, `at least` and `at most`; times with `before` and \
         `after`.";
    WHOLE_LIST = "rules/whole-list", "a question put to a whole list",
        "A list has many elements. A rule speaks of each of them (`each x in …`), of all (`every x in …: …`), \
         of one at least (`some x in …: …`), or of a sum or count.";
    QUANTIFIER_REACH = "rules/quantifier-reach", "a quantifier that takes in more than was meant",
        "`every`, `some` and `no` take in all that is behind their colon, to the end of the clause or the \
         bracket. What does not speak of the elements is then asked of each element, and of an empty list of \
         none. Brackets around the quantifier, or around all that it says, show what is meant.";
    DUPLICATE_NAME = "rules/duplicate-name", "a name that is taken",
        "A name may stand for one thing only within a file, and not for a field of the document as well: a \
         reader must never have to guess which is meant.";
    NAME_TAKEN = "rules/name-taken", "two standards or rules of one name",
        "Findings are reported under the names of the standard and the rule, so both must be told apart.";
    CIRCLE = "rules/circle", "values that are built on each other in a circle",
        "A let or a table may build on others, but the chain must have an end, and one of moderate length.";
    TABLE_ROWS = "rules/table-rows", "a row that does not fit its table",
        "Each row of a table has one key for each of the table's, no keys twice, and a fixed value of the \
         kind that the other rows have.";
    PERIOD = "rules/period", "days on which a rule can never count",
        "A rule that begins or ends to count (`from 2026-07-01`, `until 2026-12-31`, the last day included) goes by the \
         day on which a job was opened. It must have one day at least, and judge jobs.";
    TRIAL_RECORD = "rules/trial-record", "a record of a trial that cannot be made",
        "A trial can begin with a record that several share (`from closed_twin`) and say what differs (`with \
         fastenings[0].torque = 10 Nm`, `without road_test`). What is named there must be a place in that record, \
         and what is put there a value as records have it.";
    WORD_TWICE = "rules/word-twice", "a word that is in a list twice",
        "A list of words has each of its words once, and no two that look alike.";
    LEFT_OUT = "rules/left-out", "a rule that is left out for the mistakes of others",
        "A let, table or parameter that the rule uses has an error. The rule does not run, because half a \
         rule would judge otherwise than its author meant.";
    PARAMETER_VALUE = "rules/parameter-value", "a value that does not fit its parameter",
        "A parameter takes a fixed value of the kind that it is declared with.";
    PARAMETER_TWICE = "rules/parameter-twice", "a parameter that is stated twice",
        "The settings, or the command line, state two values for one parameter, perhaps once with the name of its \
         standard and once without. Nobody can tell which is meant, so what needs it is undecided. Only the \
         command line takes the place of the settings.";
    MESSAGE_VALUE = "rules/message-value", "a message that shows more than a value",
        "Between braces a message shows one value; a group of fields or a list has none.";
    TOO_MANY_VARIABLES = "rules/too-many-variables", "too many variables in one rule",
        "The variables of `each` and of quantifiers that are in sight at once are limited, so that a run \
         stays fast whatever a rule says. A rule that needs more can be split.";
    STANDARD_MISSING = "rules/standard-missing", "a file without one standard",
        "A rule file that judges documents begins with the name of its standard and says which form of \
         document it judges; a file holds one standard.";
    NO_SUCH_STANDARD = "rules/no-such-standard", "a standard that is not there",
        "The settings or the command line name a standard that is neither shipped with the program nor a \
         file that can be read.";
    USE_UNREADABLE = "rules/use-unreadable", "a used file that cannot be read",
        "`use` takes the lets, parameters and tables of another rule file, by a path relative to the file in \
         which it stands.";
    USE_LEAVES_RULES = "rules/use-leaves-rules", "a used file whose rules do not run",
        "`use` takes the lets, parameters and tables of another rule file, not its rules. They judge where the \
         file is itself among the standards of the run.";
    FUNCTION_RANGE = "rules/no-answer", "a computation that has no answer",
        "A builtin or a computation was given a value for which it has no answer. What needs it is undecided.";
    TOO_MUCH_WORK = "rules/too-much-work", "a rule that takes too long on a document, or would",
        "Nested lists are walked in full. A rule that has looked at a million elements of one document is \
         given up and left undecided, so that a run ends whatever a record holds.";
    MANY_FAULTS = "rules/many-mistakes", "more errors than are listed",
        "The check of the rules stops after some hundreds of mistakes. Mend those and run again.";
    VIN_FORM = "rules/vin-form", "no vehicle identification number",
        "A vehicle identification number has 17 characters, digits and capital letters without I, O and Q \
         (ISO 3779).";
    TRIAL_FAILED = "rules/trial-failed", "a trial that comes out otherwise",
        "A trial states an outcome for a small record. The rule came to another one, so either the rule or the trial says what was not meant.";
    NO_TRIAL = "rules/no-trial", "a rule without a trial",
        "A rule that was never tried may say something else than was meant. A trial for each of met, broken and undecided takes three lines.";
    MUTANT_SURVIVES = "rules/mutant-survives", "a change of a rule that no trial notices",
        "With `--mutants`, one thing of a rule at a time is changed: a limit, a word, a demand left out. Where all trials come out as before, a mistake there would go unnoticed too.";
    NOT_EXERCISED = "rules/not-exercised", "a part of a rule that no trial exercises",
        "A demand that no trial breaks, a side of `or` that never holds, a case, row or end of a range that nothing comes to: what stands there was never seen to work.";
    NO_BASIS = "rules/no-basis", "a rule that does not say where it comes from",
        "Whoever has to act on a finding may ask where the demand comes from: the maker's instruction, a \
         published standard, common practice. `basis` says so.";
    SAID_AGAIN = "rules/said-again", "what the head of a standard says already",
        "The head of a standard says where the demands of its rules come from and who may grant a concession. A rule \
         that says the same can leave it out; when the head changes, it would keep the old words.";
    // Rules, told from the rules alone.
    ANALYSIS_NEVER_CONCERNS = "analysis/never-concerns", "a rule that can never judge anything",
        "What the rule concerns, with the condition of its standard, can never be true. A rule that never judges looks like \
         a check that is made. Correct the condition, or take the rule out.";
    ANALYSIS_NEVER_MET = "analysis/never-met", "a demand that nothing can meet",
        "Whatever a document records, it does not meet this demand, so the rule fails every job that it concerns.";
    ANALYSIS_CONTRADICTION = "analysis/contradiction", "demands that nothing meets together",
        "No document meets both. Where that is so for all that the rules concern it is an error; where it is so in one case \
         only, it is an advice, because the case may never come.";
    ANALYSIS_NEVER_BROKEN = "analysis/never-broken", "a demand that nothing can break",
        "Whatever a document records, it does not break this demand. A check that cannot fail looks like one that is made: \
         often `and` is meant where `or` is written, or another field or limit.";
    ANALYSIS_CONSTANT = "analysis/constant", "a demand that reads nothing of the document",
        "Only figures of the rules are compared, so that it comes out the same for every document.";
    ANALYSIS_IMPLIED = "analysis/implied", "a demand that another one says already",
        "Whatever meets the one demand meets the other. One of the limits is wrong, or the weaker demand can go.";
    ANALYSIS_NEVER_TRUE = "analysis/never-true", "a part of a condition or demand that is never true",
        "The part can never be true where it is looked at, so it does nothing.";
    ANALYSIS_ALWAYS_TRUE = "analysis/always-true", "a condition that is always true",
        "The condition holds wherever it is looked at, so it chooses nothing.";
    ANALYSIS_SAME_ENTRY = "analysis/same-entry", "two subjects that can be the same entry",
        "Two variables go through one list, nothing keeps them apart, and of an entry with itself the demand is broken: every \
         document with an entry fails. Narrow one of them, such as `each b in steps where a before b`.";
    ANALYSIS_PAIR_TWICE = "analysis/pair-twice", "pairs that are judged twice",
        "Two variables go through one list, and what is asked of a pair is the same the other way round, so that each finding \
         is there twice. Narrow one of them, such as `each b in steps where a before b`.";
    ANALYSIS_UNUSED = "analysis/unused", "a name that nothing uses",
        "A name that nothing uses is a slip of the pen, or what is left of a rule that is gone. A subject of which nothing is said \
         repeats each finding once for each of its entries. What is written in a field that no rule reads is checked by nobody.";
    ANALYSIS_TABLE_GAP = "analysis/table-gap", "a table without a row for a word that can come",
        "A key of the table is a field with a closed list of words, and of one that the field can have there is no row. There \
         the rules that look it up are undecided. Add the row, or say in `concerns` where the rule counts.";
    ANALYSIS_ROW_NEVER_REACHED = "analysis/row-never-reached", "a row of a table that nothing can look up",
        "Where the rules that use the table judge, its keys never have these words. The row is left over, or a condition is wrong.";
    ANALYSIS_NO_ANSWER = "analysis/no-answer", "a computation without an answer",
        "With the value that is stated for a parameter, the computation has no answer for any document, so the demand is always \
         undecided. Another value can be stated in the settings or by a procedure.";
    ANALYSIS_SHADOWED = "analysis/shadowed", "a rule that never speaks alone",
        "Whatever breaks this rule breaks a rule that weighs as much or more; two steps have their limits the wrong way round.";
    ANALYSIS_MESSAGE_EMPTY = "analysis/message-empty", "a message with a value that is never there",
        "Wherever the message is given, the value in it is not recorded, so it always shows `(not recorded)`.";
    ANALYSIS_DEAD_CLAUSE = "analysis/dead-clause", "a clause about missing data where nothing can be missing",
        "The rule judges only where all that it reads is recorded, so the clause never counts.";
    ANALYSIS_NOTHING_GUARDED = "analysis/nothing-guarded", "a guard against an uncertainty that cannot be",
        "The demand says how readings with an uncertainty are decided, and no value in it is such a reading.";
    ANALYSIS_ACCEPTED = "analysis/accepted", "an accepted advice that is not given",
        "The rule accepts an advice that it does not get. The clause is taken out, so that it does not hide one that comes later.";
    ANALYSIS_STOPPED = "analysis/stopped", "rules that take too much work to analyse",
        "The analysis of rules has a bound that is the same on every machine; past it, it ends and looks at nothing more.";

    // Methods of the trade.
    OUTSIDE_METHOD = "metrology/outside-method", "a value outside what a method covers",
        "A published method holds for a stated range of its inputs. Past it the method says nothing, and a \
         figure computed all the same would look as good as a sound one; what needs it is undecided.";
    IMPOSSIBLE_VALUE = "metrology/impossible-value", "a value that cannot be",
        "A lever of no length, an uncertainty below zero, a filter that lets more particles out than went in: \
         such a value was mistyped, so nothing is computed from it.";
    DESIGNATION = "metrology/designation", "a designation that is not known",
        "Threads, property classes, classes of tools, oil grades and cleanliness codes are written as their \
         standard writes them. This one cannot be read or stands in no table.";
    BOLT_NUMBERS = "metrology/bolt-numbers", "numbers that do not count every bolt once",
        "Whether a tightening order is criss-cross can only be told when every bolt round the rim has its \
         place in the order exactly once.";

    // Logs: what was measured over a stretch of time.
    LOG_FORM = "log/form", "a log that is not written as one",
        "A log is the name of a file, a group with its `file` and `column`, or the values at their times, \
         such as `{0 s: 34 °C, 10 s: 35 °C}`.";
    LOG_FILE = "log/file", "the file of a log that cannot be opened",
        "The file of a log lies in the folder of the record or below it, as a plain file of at most 512 MB. A \
         name that leads elsewhere is refused, so that a record cannot read what is not its own.";
    LOG_MIXED_UNITS = "log/mixed-units", "values of a log in several units",
        "All values of a log are written in one unit. A unit that changes on the way is more often a slip \
         than meant.";
    LOG_WINDOW = "log/window", "a stretch of time that ends before it begins",
        "A question about a log is asked of a stretch of time, such as that of a step. Its end lies before its \
         beginning, so there is nothing to look at.";
    LOG_TIME_ORDER = "log/time-order", "samples whose times do not rise",
        "The samples of a log stand in the order in which they were taken, each time once. A time that is \
         repeated or goes back would leave open what was measured when.";
    LOG_HEADING = "log/heading", "a log without proper headings",
        "The first line of a log names its columns, each by a name of its own with the unit behind it, such as \
         `time [s], temperature [°C]`.";
    LOG_COLUMN = "log/column", "a column that the log does not have",
        "A log has a column `time` and one for each signal that is taken from it. The record names a column, or \
         means the one that is called like the signal.";
    LOG_UNIT = "log/unit", "a column whose unit is missing or wrong",
        "The unit of a column stands in square or round brackets behind its name. Without it nobody can tell what \
         was measured, and a unit of another kind belongs to another signal.";
    LOG_RAGGED = "log/ragged", "a line with too many or too few fields",
        "Each line of a log has as many fields as there are headings. One field too many often comes from a decimal \
         comma in a log whose fields are separated by commas.";
    LOG_TIME = "log/time", "a time of a log that cannot be read",
        "Times are written as in a record, such as 2026-03-02T08:15:00+01:00; or, with a unit in the heading, as what \
         has passed since the log was started.";
    LOG_VALUE = "log/value", "a value of a log that cannot be read",
        "A value is a plain number with a decimal point; its unit stands in the heading. Nothing, `NaN` or a decimal \
         comma is no value, and a guess would turn a gap into a measurement.";
    LOG_ENCODING = "log/encoding", "a log that is not UTF-8 text",
        "Logs are read as UTF-8. In another encoding the sign of a degree is another byte, so the unit would be \
         taken for another one; save the log again as UTF-8.";
    LOG_TOO_LARGE = "log/too-large", "a log past the size limit",
        "A log is read up to 512 MiB and 16,777,216 samples, a line up to 64 KiB and 1,024 columns. Past that it is \
         refused, so that a damaged file cannot stall the run.";
    LOG_UNREADABLE = "log/unreadable", "a log that cannot be read to its end",
        "Reading the file failed half-way. Nothing is judged by the part that could be read.";

    // The run as a whole.
    CANNOT_TELL = "run/cannot-tell-which-standards", "a document for which no one can say which standards apply",
        "Each standard says by its `where` which documents it applies to. A field that this needs is not \
         recorded, so the standard was neither applied nor set aside.";
    NO_STANDARD = "run/no-standard-applies", "a document that no standard applies to",
        "None of the standards of this run is meant for this document, so nothing was judged. That is said \
         because a document without findings would look the same.";
    NOT_JUDGED = "run/not-judged", "a recorded value that no rule judged",
        "Something was measured or decided and written down, and no demand of a rule in force looked at it: nobody \
         checked it. Mostly the entry has a name that no rule knows, a role of a fastening that is spelt in another \
         way, or the standard for it is not named in this run. What only a `where` looks at is not judged, and \
         neither is what stands beside a condition that met the demand without it.";
    KIND_NOT_JUDGED = "run/kind-not-judged", "a kind of unit that no standard is meant for",
        "The standards of this run say nothing of this kind of unit, so only what holds for every job was judged: \
         who did the work, when, on which vehicle. That nothing was found says nothing about the work itself.";
    NEAR_WORD = "run/near-word", "a word that is nearly one for which rules ask",
        "A rule finds what it judges by words: the step called `drain`, the reading of `coolant`. A word that is one \
         letter off, or has other capitals, is another word, and the rules about the right one pass over it. Where \
         it is meant as it is, nothing is wrong; a name that is less like the other one ends the advice.";
    OWN_WORDS = "run/own-words", "words of a workshop that cannot be used",
        "The settings say under `words` what the workshop's own words stand for, each word once and for a word that \
         the rules use. A word of the same closed list means itself, one that rules ask for must not be read as \
         another, and a word that stands for a further one would leave open which is meant.";
    OUTSIDE_WORKSHOP = "run/outside-workshop", "a path that leads out of the workshop's folder",
        "The settings, or a rule file below them, name a file outside the folder of the settings. Where the settings \
         were found beside the documents, it is not read: they may be a stranger's. Where the user named them, it is, \
         and that is said because whoever moves, reviews or guards that folder does not see it.";
    LINK_NOT_FOLLOWED = "run/link-not-followed", "a link where a file or folder belongs",
        "What settings, rule files and folders name is read where it is. A link can lead to anything, and another \
         tomorrow than today; only one that is named on the command line is followed.";
    NAMES_NOTHING = "run/names-nothing", "settings that name nothing",
        "A list of the settings is empty, or a folder that it names holds nothing of the kind. The run goes on as if the line were not there.";
    JOB_NUMBER_TWICE = "run/job-number-twice", "two records of one job number",
        "Two records of one number are a copy that was left behind, or a number that was given twice. Nobody can tell which is meant.";
    DAY_TO_COME = "run/day-to-come", "work on a day that is still to come",
        "The record says that the job was opened or closed after the day as of which the run judges. Either \
         the date was mistyped, or the record was written before the work was done.";
    IN_WORK_AND_CLOSED = "run/in-work-and-closed", "a job that is in work and closed",
        "What is still missing from a job in work is still to do and does not hold the vehicle. A record that also says when the job was closed is judged as that of a closed job, and must say which of the two it is.";
    PHOTOGRAPH = "run/photograph", "a photograph that is not there, or another one",
        "A record names a photograph by the way to it from its own folder, and can say by SHA-256 what is in it. Another file of that name shows something else; one that is not there is advised, for it may be kept elsewhere.";
    MANY_FINDINGS = "run/many-findings", "more findings of one rule than are listed",
        "A rule that a document breaks very often is listed a hundred times and then only counted.";
    NEIGHBOUR_FAULTY = "run/neighbour-faulty", "a document around the jobs has errors",
        "A procedure, a tool register or an earlier job that jobs refer to has errors. What a job would take from \
         the faulty places is not known. Inspect the document by itself to see all of them. A job whose plate and \
         VIN are not recorded or cannot be read is missing from the history of its vehicle.";
    LOGBOOKS_INCOMPLETE = "run/logbooks-incomplete", "logbooks that may lack jobs",
        "Logbooks list the jobs of a vehicle, a tool, a technician and a lift. Of some record it cannot be read whose job it is, so that \
         rules which count jobs may count too few. Inspect the records that are named. A stream of records has no logbooks.";
    PROCEDURE_TWICE = "run/procedure-twice", "two procedures of one name and edition",
        "A job names its procedure by name and edition, so each such pair can be there only once.";
    LOOKS_ALIKE = "run/looks-alike", "two names that look alike",
        "Two tools or two procedures have names that nobody can tell apart by eye, as one is written with letters \
         of another alphabet. A job that means the one can name the other; rename one of them. A plate or VIN that \
         looks like that of an earlier job is taken for the same vehicle, and its letters are to be corrected.";
    INTERNAL_ERROR = "run/internal-error", "a fault of the program itself",
        "Something that must always hold in the program does not hold. What it was working on is not judged, and the run fails; all other documents are judged as ever. Keep the document and the rules that led to it, \
         and report the fault with the place that it names.";
    SAME_TIME = "run/same-time", "two earlier jobs that were opened at the same time",
        "A rule asks for the last job on the vehicle, and the two last ones were opened at the same time. Either the time of one is wrong, or they are two copies of one job under different numbers. Two records of one number \
         and one time that differ are such jobs, too: nobody can tell which of them says what was done.";
    OUT_OF_ORDER = "run/out-of-order", "a record that comes after a later job in a stream",
        "The later job was judged without this one in the history of its vehicle. Sort the stream by vehicle and time.";
    STREAM_PART = "run/stream-part", "a part of a stream that is not a whole record",
        "It ends within a line, or the line is not JSON of a record or of a text with its name. What is missing may hold the vehicle.";
    UNCERTAINTY_UNSTATED = "run/uncertainty-unstated", "tools whose uncertainty nobody states",
        "The settings guard readings by the uncertainty of the tool, and the register states none of these tools: \
         neither an uncertainty nor, for a torque wrench, its type and class. What they measured is compared as \
         it is. Take the uncertainty from the certificate of the calibration.";
    EDITION_MISSING = "run/edition-missing", "an edition that this run does not have",
        "A job that names an edition of a standard is judged by that edition. Where the run does not have \
         it, nothing is judged by another one in its place. Keep the files of earlier editions, and name \
         their folder under `documents: standards:` in the workshop's settings.";
    EDITION_NOT_TAKEN = "run/edition-not-taken", "an edition that the settings do not take from a job",
        "A job names an edition of a standard, and the settings of the run take none from the files that it judges, so that \
         nobody picks a milder one. The edition in force judges it. Where jobs may name their editions, add `editions` to \
         `files_may_bring` in the settings.";
    NEIGHBOUR_NOT_TAKEN = "run/neighbour-not-taken", "a procedure or register that the settings do not take from the files",
        "A procedure prescribes limits and a register vouches for tools. The settings of the run take none from the files that \
         it judges, so such a file is judged and decides nothing about a job. Name it under `documents` in the settings, or add \
         `procedures` or `tools` to `files_may_bring` there.";
    EDITION_OLDER = "run/edition-older", "a job that names an older edition than it should",
        "A job names an edition of a standard that a newer one had followed when the job was opened. The older edition judges it, \
         which is advised; it is an error where the newer one had come longer ago than `older_edition_for` in the settings allows. \
         From which day an edition holds, `from DAY` below the head of the standard says.";
    EDITION_SET_ASIDE = "run/edition-set-aside", "an edition that is named and does not judge",
        "Two editions of one standard are named to judge. A job is judged by the later one, or by the edition that it names. Name \
         the earlier one under `documents: standards:` in the workshop's settings, or leave it out.";
    EDITION_CHANGED = "run/edition-changed", "a text that was changed within its edition",
        "A job can state the content hash of the standard or procedure that it was done by. The text of this name and edition has \
         another one: somebody has changed it and not raised its edition.";
    EARLIER_JOB_CHANGED = "run/earlier-job-changed", "a record that differs from its copy beside the settings",
        "The settings name earlier jobs, and a record that is judged is a changed text of one of them. It takes the place of that \
         one in the history of the vehicle, so that later jobs are judged by what it says now. Look at what was changed.";
    STANDARD_NOT_HERE = "run/standard-not-here", "a standard that a job names and this run does not have",
        "The job says that it is bound to the standard. This run does not judge by it, so its verdict does not cover everything.";
    CONCESSION_UNKNOWN = "concession/unknown-rule", "a concession for a rule that there is none of",
        "A concession names its rule by its full name, `standard.rule`, as the finding shows it. Under a name that no rule of the run has, nothing can stand.";
    CONCESSION_NOT_ALLOWED = "concession/not-allowed", "a concession that the rule does not allow",
        "A rule says who may grant a concession, by role, or that nobody may. Where it says nothing, \
         nobody may. Granted by anyone else, it counts for nothing and the finding counts.";
    CONCESSION_OTHER_JOB = "concession/other-job", "a concession for another job",
        "A concession can be granted for one job only. In the record of another it counts for nothing.";
    CONCESSION_PLACE = "concession/no-such-place", "a concession for a place that the record does not have, or not so",
        "A concession can be limited to one entry or value of the record, by the path that the finding shows, \
         such as `fastenings[1].torque`. At a path that leads nowhere nothing can stand, and where something else is \
         recorded than was found when it was granted, nobody has looked at it. The finding counts.";
    CONCESSION_EXPIRED = "concession/expired", "a concession that holds no longer",
        "The last day of the concession lies before the day on which the job was closed, or before the \
         day of the run while the job is in work. The finding counts.";
    CONCESSION_FAULTY = "concession/faulty", "a concession with an error in it",
        "Something in this concession is missing or cannot be read; what, is said at its place. Until that \
         is mended it grants nothing: a last day that nobody can read must not count as no last day.";
    CONCESSION_NOT_TAKEN = "concession/not-taken", "a concession that the settings do not take from a record",
        "A record states a concession, and the settings of the run take none from the files that it judges, so that nobody \
         releases their own work. Where records may state them, add `concessions` to `files_may_bring` in the settings.";
    CONCESSION_UNUSED = "concession/unused", "a concession that is not needed",
        "The rule found nothing here that the concession could be for. It is taken out, so that nobody thinks the vehicle left with a fault.";
    NO_TIME_ZONE = "run/no-time-zone", "times with and without an offset, and no time zone",
        "A time without an offset is one of the workshop's zone, which its settings name under `time_zone`. \
         Without it, nobody can tell how such a time lies to one that has an offset.";
    OFFSETS_DIFFER = "run/offsets-differ", "times of one day with two offsets",
        "All times of one day in one workshop have one offset. One that has another, mostly that of winter time on a day \
         of summer time, is an hour off, and what came first may not have.";
    CLOCK_CHANGE = "run/clock-change", "a time at which the clocks change",
        "A time without an offset is one of the workshop's zone. Where the clocks are put forward, an hour of it does not exist; \
         where they are put back, an hour is there twice. Which instant is meant is not known, so what needs it is undecided.";
    FILE_CHANGED = "run/file-changed", "a file that was changed while it was read",
        "Somebody wrote to the file while it was read, so its text may be half old and half new. It is not judged; run again.";
    PARAMETER_KEY = "run/parameter-key", "a value that is nearly a key for which a parameter is stated",
        "The workshop's settings state a parameter by family or role. Of the value in this document they say \
         nothing, and it is nearly one of their keys: if it is a slip of the pen, the wrong limit counts.";
    PARAMETER_CLASH = "run/parameter-clash", "a procedure and the settings that state different values",
        "The procedure that the job names states one value for a parameter, and the workshop's settings another. \
         The procedure's counts. One of the two is out of date: correct it, or take the value out of the settings.";
    RULE_CHANGE = "run/rule-change", "a change of a rule that cannot be made",
        "The settings can make a rule stricter (`severity`), name who may grant its concession, or leave it out with a \
         reason. They cannot make it milder, and the rule must be there.";
    RULE_LEFT_OUT = "run/rule-left-out", "a rule that the settings leave out",
        "No document is judged by this rule in the workshop, for the reason that its settings give.";
    RULE_REPLACED = "run/rule-replaced", "the name of a rule whose place another has taken",
        "A rule says that it replaces one of this name. What is written for the old one (a concession, a known finding, \
         a line of the settings) counts for the new one.";
    PARAMETER_REPLACED = "run/parameter-replaced", "a parameter of the settings that the command line states",
        "The command line states another value for a parameter of the settings. It counts for this run, and \
         that of the settings does not.";
    HIDDEN_RECORD = "run/hidden-record", "a record that the run would not see",
        "In a folder of the run, an ignore file, a leading dot or a link hides something that looks like a \
         document. What was not judged must not pass, so it fails the run until somebody says what becomes of it: \
         `--hidden judge` judges it, `--hidden leave` leaves it out.";
    CHANGED_SINCE = "run/changed-since", "what has changed since a revision, besides the records themselves",
        "With --changed-since, records that have not changed since a revision of Git are not judged. Where \
         something has changed by which records are judged, those that it can concern are judged all the same: \
         every record after a change of settings, rule files, schemas, known findings or tool registers; the \
         jobs that name a changed procedure, those on the vehicle of a changed job, and those whose log changed.";
    FILE_UNREADABLE = "run/file-unreadable", "a file that cannot be read",
        "The file is not there, may not be read, is too long, or holds something that is no text. Nothing \
         is judged that was not read whole.";
    SETTINGS = "run/settings", "settings that cannot be used",
        "The workshop's settings name the standards, parameters and time zone of a run. This value cannot be used.";

    // Procedures.
    AGAINST_STANDARD = "procedure/against-standard", "a procedure that contradicts a standard",
        "A job that is done exactly as the procedure says, at one end of its ranges, would break a rule of the \
         standards for jobs that are in force. Whoever keeps to one of the two breaks the other.";

    // Known findings.
    KNOWN_ENTRY = "known/entry", "an entry of known findings that cannot be used",
        "A file of known findings names rules by their full name and errors in documents by their code, \
         each with the weight under which a run reports it, its place and what was found there. This entry names \
         something else or does not say all of that, so it accepts nothing.";
    KNOWN_TWICE = "known/twice", "known findings that are listed twice",
        "A document, a finding, its weight, place and value are listed once in a file of known findings, with their number. Of \
         two entries neither is taken to be the right one; the first is used until they are put together.";
    NO_LONGER_FOUND = "known/no-longer-found", "known findings that are gone",
        "The run found fewer findings than the file of known findings lists for this document. Take them out \
         of the file, by hand or by `--note-known`: what stays in it would let new ones pass.";
    NO_SUCH_DOCUMENT = "known/no-such-document", "known findings of a document that is not there",
        "The file of known findings lists a document that does not exist any more at this path.";

    // Sheets.
    NO_PROCEDURE = "sheet/no-procedure", "a document that is no procedure",
        "A sheet is a blank record for the work that a procedure describes, so it is written for a document \
         of the form `procedure/1`, one in a file.";
    SHEET_TOO_LONG = "sheet/too-long", "a sheet that is too long",
        "A sheet has a line for each fastening and for each entry of every other list, up to 500. A larger \
         number is a slip of the pen, or work that nobody does in one job.";
}
