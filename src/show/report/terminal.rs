//! The terminal form: the record and the rule side by side, drawn by miette.
//!
//! miette is given only panes (see [`crate::report::pane`]): short safe lines with marks that lie
//! within them. It asks for the text around a mark by its offset, so the panes are laid one after
//! another in an offset space of their own, with gaps that no mark can cross.

use std::fmt;

use miette::{
    GraphicalReportHandler, GraphicalTheme, LabeledSpan, MietteError, MietteSpanContents, Severity as Level,
    SourceCode, SourceSpan, SpanContents, ThemeCharacters,
};

use crate::diagnostic::{self, Diagnostic, Label};
use crate::finding::{Finding, Judged, Standing, Summary};
use crate::language::ast::Severity;
use crate::report::facts::{self, Fact, Verdict};
use crate::report::folded::{self, Told};
use crate::report::locate::locate;
use crate::report::pane::{Mark, Pane, Point, panes};
use crate::report::text::{WORDS, drawn, fill, lines, shown, width};
use crate::report::{Format, LeftOut, Run, Style};
use crate::source::{SourceId, Sources};

/// The terminal form.
pub struct Terminal;

impl Format for Terminal {
    fn head(&self, _run: &Run, _style: &Style, _out: &mut Vec<u8>) {}

    fn faults(&self, run: &Run, style: &Style, out: &mut Vec<u8>) {
        let diagnostics = facts::of_run(run, style);
        if !diagnostics.is_empty() {
            Canvas { style, out }.rule("Rules and settings", Tone::Bad);
            self.diagnostics(&diagnostics, &run.sources, style, out);
        }
    }

    fn document(&self, run: &Run, judged: &Judged, style: &Style, out: &mut Vec<u8>) {
        let told = folded::told(judged, style, run.fail_on);
        if style.quiet && told.is_empty() {
            return;
        }
        let (own, in_short) = (folded::style_of(&told, style), folded::told_in_short(&told, style));
        let mut canvas = Canvas { style: &own, out };
        if judged.findings.is_empty() && judged.diagnostics.is_empty() {
            canvas.document_line(judged);
            return;
        }
        canvas.document_heading(judged);
        let mut rest = Vec::new();
        for entry in told {
            match entry.told {
                Told::Diagnostic(diagnostic)
                    if own.details && diagnostic.level != diagnostic::Level::Known =>
                {
                    canvas.diagnostic(diagnostic, &judged.sources);
                }
                Told::Diagnostic(diagnostic) => {
                    canvas.in_a_line(
                        diagnostic,
                        &judged.sources,
                        Some(judged.source),
                        entry.waiting_in_short(),
                    );
                    continue;
                }
                Told::Finding(finding) if own.details && finding.standing == Standing::Counts => {
                    canvas.finding(finding, judged);
                }
                Told::Finding(finding) => {
                    rest.push((finding, entry.waiting_in_short()));
                    continue;
                }
            }
            if let Some(waiting) = entry.waiting_in_words() {
                canvas.facts(&[Fact::new("waiting", &waiting)]);
            }
        }
        canvas.in_short(&rest, judged, in_short.is_some());
        if let Some(said) = in_short {
            canvas.gap();
            canvas.lines(Tone::Quiet, "  ", 2, &said);
        }
        canvas.gap();
    }

    fn tail(&self, run: &Run, summary: &Summary, _left_out: &LeftOut, style: &Style, out: &mut Vec<u8>) {
        let mut canvas = Canvas { style, out };
        canvas.statistics(summary);
        if style.quiet {
            if let Some((verdict, words)) = facts::quiet_verdict(run, summary) {
                canvas.verdict(verdict, &words);
            }
            return;
        }
        canvas.gap();
        canvas.rule(&format!("Summary as of {}", run.as_of), Tone::Quiet);
        canvas.facts(&facts::of_summary(run, summary));
        let (verdict, words) = facts::verdict(run, summary);
        canvas.verdict(verdict, &words);
    }

    fn diagnostics(&self, list: &[Diagnostic], sources: &Sources, style: &Style, out: &mut Vec<u8>) {
        let mut canvas = Canvas { style, out };
        for diagnostic in list {
            match style.details && diagnostic.level != diagnostic::Level::Known {
                true => canvas.diagnostic(diagnostic, sources),
                false => canvas.in_a_line(diagnostic, sources, None, None),
            }
        }
    }
}

/// How a level of diagnostics is drawn, painted and called.
fn level_of(level: diagnostic::Level) -> (Level, Tone, &'static str) {
    match level {
        diagnostic::Level::Error => (Level::Error, Tone::Bad, "error"),
        diagnostic::Level::Known => (Level::Advice, Tone::Quiet, "known"),
        diagnostic::Level::Advice => (Level::Warning, Tone::Warn, "advice"),
        diagnostic::Level::Note => (Level::Advice, Tone::Hint, "note"),
    }
}

/// What a stretch of text means; with colour off it shows nothing.
#[derive(Clone, Copy, Debug)]
enum Tone {
    Bad,
    Warn,
    Hint,
    Good,
    Strong,
    Quiet,
}

impl Tone {
    /// The parameters of the ECMA-48 sequence that sets it.
    fn sequence(self) -> &'static str {
        match self {
            Tone::Bad => "1;31",
            Tone::Warn => "1;33",
            Tone::Hint => "1;36",
            Tone::Good => "1;32",
            Tone::Strong => "1",
            Tone::Quiet => "2",
        }
    }

    fn of(verdict: Verdict) -> Self {
        match verdict {
            Verdict::Hold => Tone::Bad,
            Verdict::Incomplete | Verdict::Fails => Tone::Warn,
            Verdict::StillToDo => Tone::Hint,
            Verdict::Clear => Tone::Good,
        }
    }
}

struct Canvas<'c> {
    style: &'c Style,
    out: &'c mut Vec<u8>,
}

impl Canvas<'_> {
    fn put(&mut self, text: &str) {
        self.out.extend_from_slice(text.as_bytes());
    }

    fn gap(&mut self) {
        self.put("\n");
    }

    fn paint(&self, tone: Tone, text: &str) -> String {
        if self.style.colour {
            format!("\u{1b}[{}m{text}\u{1b}[0m", tone.sequence())
        } else {
            text.to_owned()
        }
    }

    /// A text in lines, each painted by itself so that a pager may cut between them.
    fn lines(&mut self, tone: Tone, lead: &str, hang: usize, text: &str) {
        let filled = fill(lead, hang, text, self.style.columns());
        for line in filled.lines() {
            let line = self.paint(tone, line);
            self.put(&line);
            self.gap();
        }
    }

    /// A heading with a line drawn to the edge of the screen.
    fn rule(&mut self, heading: &str, tone: Tone) {
        let line = if self.style.unicode { "─" } else { "-" };
        let heading = shown(heading);
        let room = self.style.columns().saturating_sub(width(&heading) + 4);
        let drawn = format!("{line}{line} {heading} {}", line.repeat(room));
        for part in lines(&drawn, self.style.columns()) {
            let part = self.paint(tone, &part);
            self.put(&part);
            self.gap();
        }
    }

    /// In how many documents each thing was found, in columns.
    fn statistics(&mut self, summary: &Summary) {
        if !self.style.statistics {
            return;
        }
        let (rows, work) = (facts::statistics(summary), facts::costliest(summary));
        if rows.is_empty() && work.is_none() {
            return;
        }
        self.gap();
        self.rule("By rule", Tone::Quiet);
        let widest = rows.iter().map(|row| width(&row.numbers())).max().unwrap_or_default();
        for row in &rows {
            let lead = format!("  {:widest$}  {:7}", row.numbers(), row.kind);
            self.lines(Tone::Strong, &lead, 4, &row.name);
            let named = fill(&" ".repeat(width(&lead)), width(&lead), &row.named, self.style.columns());
            self.put(&named);
            self.gap();
        }
        if let Some(work) = work {
            let work = fill("  work           ", 17, &work, self.style.columns());
            self.put(&work);
            self.gap();
        }
    }

    fn document_line(&mut self, judged: &Judged) {
        let (verdict, comes_to) = facts::of_document(judged);
        self.lines(Tone::of(verdict), "", 2, &format!("{}: {comes_to}", shown(&judged.name)));
    }

    fn document_heading(&mut self, judged: &Judged) {
        let (verdict, comes_to) = facts::of_document(judged);
        self.gap();
        self.rule(&judged.name, Tone::Strong);
        let standards = judged.standards.join(", ");
        for text in [&judged.headline, &standards] {
            if !text.is_empty() {
                let text = fill("  ", 2, &shown(text), self.style.columns());
                self.put(&text);
                self.gap();
            }
        }
        self.lines(Tone::of(verdict), "  ", 2, &comes_to);
    }

    fn finding(&mut self, finding: &Finding, judged: &Judged) {
        let (level, tone) = match finding.severity {
            Severity::Hold => (Level::Error, Tone::Bad),
            Severity::Advice => (Level::Warning, Tone::Warn),
            Severity::Note => (Level::Advice, Tone::Hint),
        };
        let heading = format!("{}: {}", facts::kind(finding), shown(&finding.rule));
        let mut points = vec![Point { place: finding.at, text: &finding.at_text, context: 1 }];
        points.extend(finding.related.iter().map(|other| Point {
            place: other.at,
            text: &other.text,
            context: 0,
        }));
        points.push(Point { place: finding.demand, text: &finding.title, context: 0 });
        self.gap();
        self.lines(tone, "", 2, &heading);
        self.draw(level, &finding.message, &judged.sources, &points);
        self.facts(&facts::of_finding(finding));
        if !finding.drawing.is_empty() {
            self.gap();
        }
        for line in &finding.drawing {
            self.put(&drawn("      ", line, self.style.unicode));
            self.gap();
        }
    }

    /// A diagnostic with the lines that it points at.
    fn diagnostic<'d>(&mut self, diagnostic: &'d Diagnostic, sources: &Sources) {
        let (level, tone, word) = level_of(diagnostic.level);
        let point = |label: &'d Label| Point { place: label.place, text: &label.text, context: 1 };
        let points: Vec<_> = diagnostic.labels.iter().map(point).collect();
        self.gap();
        self.lines(tone, "", 2, &format!("{word}: {}", diagnostic.code.as_str()));
        self.draw(level, &diagnostic.message, sources, &points);
        if let Some(help) = &diagnostic.help {
            self.facts(&[Fact::new("help", help)]);
        }
    }

    /// A diagnostic in a line or two, with what to do and what waits for it. `home`: the source that has been named already.
    fn in_a_line(
        &mut self,
        diagnostic: &Diagnostic,
        sources: &Sources,
        home: Option<SourceId>,
        waiting: Option<String>,
    ) {
        let (_, tone, word) = level_of(diagnostic.level);
        let place = diagnostic.place();
        let line = place.and_then(|place| locate(sources, place));
        let line = line.map_or(0, |located| located.start.line);
        let source = place.filter(|place| Some(place.source) != home);
        let source =
            source.map_or_else(String::new, |place| format!("{} ", shown(sources.name(place.source))));
        let help = diagnostic.help.as_deref().filter(|_| diagnostic.level != diagnostic::Level::Known);
        let said = [Some(diagnostic.message.as_str()), help, waiting.as_deref()];
        let said: Vec<_> = said.into_iter().flatten().map(shown).collect();
        self.lines(tone, "  ", 4, &format!("{source}line {line} {word}: {}", said.join("; ")));
    }

    /// Facts in two columns.
    fn facts(&mut self, facts: &[Fact]) {
        let names = facts.iter().map(|fact| fact.name.len()).max().unwrap_or_default() + 4;
        // On a narrow screen the second column begins further left from its second line on.
        let hang = if self.style.columns() < 50 { 4 } else { names };
        let mut said = "";
        for Fact { name, text } in facts {
            let name_once = if *name == said { "" } else { name };
            said = name;
            let lead = format!("  {name_once:0$}", names - 2);
            let filled = fill(&lead, hang, text, self.style.columns());
            let painted = filled.replacen(&lead, &self.paint(Tone::Quiet, &lead), 1);
            self.put(if self.style.colour { &painted } else { &filled });
            self.gap();
        }
    }

    /// Findings in a line each, under a heading for each kind.
    fn in_short(&mut self, findings: &[(&Finding, Option<String>)], judged: &Judged, with_remedy: bool) {
        let mut said = "";
        for (finding, waiting) in findings {
            let kind = facts::kind(finding);
            if kind != said {
                self.gap();
                self.lines(Tone::Strong, "", 2, kind);
                said = kind;
            }
            let line = locate(&judged.sources, finding.at).map_or(0, |located| located.start.line);
            let mut lead = format!("  line {line:<5} ");
            let text = [Some(facts::in_a_line(finding)), waiting.clone()];
            let text = text.into_iter().flatten().collect::<Vec<_>>().join("; ");
            for text in
                [Some(text), facts::remedy_in_short(finding).filter(|_| with_remedy)].into_iter().flatten()
            {
                self.put(&fill(&lead, lead.len(), &text, self.style.columns()));
                self.gap();
                lead = " ".repeat(lead.len());
            }
        }
    }

    fn verdict(&mut self, verdict: Verdict, words: &str) {
        let line = if self.style.unicode { "━" } else { "=" }.repeat(self.style.columns());
        let tone = Tone::of(verdict);
        self.lines(tone, "", 0, &line);
        self.lines(tone, "  Verdict: ", 11, words);
        self.lines(tone, "", 0, &line);
    }

    /// The message and the panes, drawn by miette.
    fn draw(&mut self, level: Level, message: &str, sources: &Sources, points: &[Point<'_>]) {
        // Line numbers and the bar beside them take up to twelve columns.
        let columns = self.style.columns().saturating_sub(12);
        let panes = panes(sources, points, columns);
        let drawing = Drawing::new(shown(message).into_owned(), level, panes, columns);
        let mut text = String::new();
        let drawn = handler(self.style, level).render_report(&mut text, &drawing);
        if drawn.is_err() {
            // The words stand, whatever the drawing came to.
            text = format!("  {}\n", drawing.message);
        }
        for line in text.lines() {
            self.put(line.trim_end());
            self.gap();
        }
        self.facts(&drawing.beside);
    }
}

/// With what excerpts are drawn: a sheet with square corners, on which a value is underlined as with a marker.
fn characters(unicode: bool) -> ThemeCharacters {
    if !unicode {
        return ThemeCharacters {
            ltop: '+',
            lbot: '+',
            rtop: '+',
            rbot: '+',
            underbar: '=',
            underline: '=',
            error: "#".to_owned(),
            warning: "!".to_owned(),
            advice: "*".to_owned(),
            ..ThemeCharacters::ascii()
        };
    }
    ThemeCharacters {
        ltop: '┌',
        lbot: '└',
        rtop: '┐',
        rbot: '┘',
        vbar_break: '┆',
        underbar: '┯',
        underline: '━',
        error: "■".to_owned(),
        warning: "▲".to_owned(),
        advice: "●".to_owned(),
        ..ThemeCharacters::unicode()
    }
}

fn handler(style: &Style, level: Level) -> GraphicalReportHandler {
    let mut theme = if style.colour { GraphicalTheme::unicode() } else { GraphicalTheme::unicode_nocolor() };
    theme.characters = characters(style.unicode);
    let first = match level {
        Level::Error => theme.styles.error,
        Level::Warning => theme.styles.warning,
        Level::Advice => theme.styles.advice,
    };
    theme.styles.highlights = vec![if style.colour { first.bold() } else { first }, theme.styles.help];
    GraphicalReportHandler::new_themed(theme)
        .with_width(style.columns())
        .with_links(false)
        .with_context_lines(1)
        .without_syntax_highlighting()
        .with_word_separator(WORDS)
        .with_word_splitter(textwrap::WordSplitter::NoHyphenation)
}

/// What miette draws: a message over panes.
#[derive(Debug)]
struct Drawing {
    message: String,
    level: Level,
    laid: Laid,
    labels: Vec<LabeledSpan>,
    /// What is said of marks that have no room for it beside them.
    beside: Vec<Fact>,
}

impl Drawing {
    fn new(message: String, level: Level, panes: Vec<Pane>, columns: usize) -> Self {
        let laid = Laid::new(panes);
        let (mut labels, mut beside) = (Vec::new(), Vec::new());
        for (base, pane) in &laid.panes {
            for mark in &pane.marks {
                let text = beside_mark(mark, columns);
                if text.is_none() && !mark.text.is_empty() {
                    beside.push(Fact::new("here", &format!("line {}: {}", mark.position.line, mark.text)));
                }
                labels.push(LabeledSpan::new(text, base + mark.bytes.start, mark.bytes.len()));
            }
        }
        Drawing { message, level, laid, labels, beside }
    }
}

/// The words beside a mark, in lines, if they have room there: miette draws them after the middle
/// of the mark and four characters of line.
fn beside_mark(mark: &Mark, columns: usize) -> Option<String> {
    const LEAST_ROOM: usize = 12;
    let text = shown(&mark.text);
    let room = columns.saturating_sub(mark.column + mark.columns / 2 + 5);
    let fits = !text.is_empty() && (room >= LEAST_ROOM || width(&text) <= room);
    fits.then(|| lines(&text, room).join("\n"))
}

impl fmt::Display for Drawing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for Drawing {}

impl miette::Diagnostic for Drawing {
    fn severity(&self) -> Option<Level> {
        Some(self.level)
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(&self.laid)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        Some(Box::new(self.labels.iter().cloned()))
    }
}

/// Panes laid one after another, each with the offset of its first byte.
#[derive(Debug)]
struct Laid {
    panes: Vec<(usize, Pane)>,
}

/// Offsets between two panes, so that no mark touches a pane that it is not in.
const GAP: usize = 16;

impl Laid {
    fn new(panes: Vec<Pane>) -> Self {
        let mut next = 0;
        let place = |pane: Pane| {
            let base = next;
            next += pane.text.len() + GAP;
            (base, pane)
        };
        Laid { panes: panes.into_iter().map(place).collect() }
    }
}

impl SourceCode for Laid {
    /// The whole pane that holds `span`. miette asks with no lines of context when it wants to
    /// know where the mark itself stands, to name the place above the pane.
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        before: usize,
        after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let (start, end) = (span.offset(), span.offset() + span.len());
        let holds = |(base, pane): &&(usize, Pane)| *base <= start && end <= base + pane.text.len();
        let (base, pane) = self.panes.iter().find(holds).ok_or(MietteError::OutOfBounds)?;
        let asked = pane.marks.iter().find(|mark| base + mark.bytes.start == start);
        let (line, column) = match asked {
            Some(mark) if before == 0 && after == 0 => (mark.position.line, mark.position.column),
            _ => (pane.first_line, 1),
        };
        Ok(Box::new(MietteSpanContents::new_named(
            pane.name.clone(),
            pane.text.as_bytes(),
            SourceSpan::new((*base).into(), pane.text.len()),
            line.saturating_sub(1),
            column.saturating_sub(1),
            pane.text.lines().count(),
        )))
    }
}
