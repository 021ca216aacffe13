//! The handbook as Markdown.

use std::fmt::Write as _;

use super::figures::FigureRow;
use super::sentence::{Run, Sentence, capital};
use super::{Chapter, Handbook, RulePage, shared};
use crate::report::text;

/// The text.
#[must_use]
pub fn markdown(book: &Handbook) -> String {
    let mut out = format!("# {}\n\n", plain(&book.title));
    let _ = writeln!(
        out,
        "Handbook of the rules by which records are checked, made on {} by witnessmark {}.\n",
        book.made,
        env!("CARGO_PKG_VERSION")
    );
    for caution in shared::CAUTIONS {
        let _ = writeln!(out, "> **{caution}**\n>");
    }
    for one in &book.chapters {
        chapter(one, &mut out);
    }
    if !book.names.is_empty() {
        out.push_str("\n## What the names mean\n");
        for name in &book.names {
            let _ = writeln!(out, "\n### {}\n", plain(&name.heading()));
            if name.meaning.len() > 1 && name.is_by_cases {
                let _ = writeln!(out, "{}\n", shared::CASES);
            }
            for case in name.meaning.iter().filter(|_| !name.is_told_by_figures()) {
                let _ = writeln!(out, "- {}", said(case));
            }
            figures(&name.figures, &mut out);
        }
    }
    if !book.parameters.is_empty() {
        let _ = writeln!(out, "\n## What maker and workshop state\n\n{}", shared::PARAMETERS);
        for parameter in &book.parameters {
            let declared = &parameter.declared;
            let _ = writeln!(out, "\n### {}\n", plain(&capital(&declared.title)));
            item(&mut out, &format!("{}, {}", declared.name, shared::parameter(declared)));
            item(
                &mut out,
                &format!(
                    "stated under `parameters` in the settings as `{}`",
                    parameter.setting.replace('`', "'")
                ),
            );
            for words in &parameter.words {
                item(&mut out, words);
            }
            if parameter.stated.is_empty() && parameter.words.is_empty() {
                item(&mut out, shared::UNSTATED);
            }
            let rows: Vec<FigureRow> = parameter
                .stated
                .iter()
                .map(|(row, at)| FigureRow { of: format!("{} ({at})", row.of.plain()).into(), ..row.clone() })
                .collect();
            figures(&rows, &mut out);
        }
    }
    if !book.index.is_empty() {
        out.push_str("\n## Index\n\n");
        for entry in &book.index {
            let titles: Vec<&str> = entry.rules.iter().map(|(_, title)| title.as_str()).collect();
            item(&mut out, &format!("{}: {}", entry.word, titles.join("; ")));
        }
    }
    let _ = writeln!(out, "\n{}", shared::FIGURES);
    out
}

/// A text in which no sign is one of the layout.
fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if matches!(c, '\\' | '`' | '*' | '_' | '[' | ']' | '<' | '>' | '#' | '|' | '~') {
            out.push('\\');
        }
        text::put(c, " ", &mut out);
    }
    out
}

fn item(out: &mut String, words: &str) {
    let _ = writeln!(out, "- {}", plain(words));
}

/// A sentence, with the names in it in italics.
fn said(sentence: &Sentence) -> String {
    let run = |run: &Run| match run {
        Run::Words(words) => plain(words),
        Run::Name(name, _) => format!("*{}*", plain(name)),
    };
    sentence.runs().iter().map(run).collect()
}

fn lead_said(out: &mut String, lead: &str, sentence: &Sentence) {
    let _ = writeln!(out, "- **{}:** {}", plain(lead), said(sentence));
}

fn lead(out: &mut String, lead: &str, words: &str) {
    let _ = writeln!(out, "- **{}:** {}", plain(lead), plain(words));
}

fn chapter(chapter: &Chapter, out: &mut String) {
    let _ = writeln!(
        out,
        "\n## {}\n\n{}, {}\n",
        plain(&capital(&chapter.title)),
        plain(&chapter.name),
        chapter.edition
    );
    for remark in &chapter.remarks {
        if remark.starts_with("   ") {
            let _ = writeln!(
                out,
                "{}\n",
                remark.lines().map(|line| format!("    {}", line.trim_end())).collect::<Vec<_>>().join("\n")
            );
        } else {
            let _ = writeln!(out, "{}\n", plain(remark));
        }
    }
    let _ = writeln!(out, "{}", said(&chapter.applies));
    if let Some(changes) = &chapter.changes {
        let _ = writeln!(out, "\n### What changed since {}\n", plain(&changes.since));
        if changes.list.is_empty() {
            out.push_str("Nothing changed in meaning.\n");
        }
        changes.list.iter().for_each(|(_, words)| item(out, words));
    }
    chapter.rules.iter().for_each(|one| rule(one, out));
}

fn rule(rule: &RulePage, out: &mut String) {
    let _ = writeln!(out, "\n### {}\n", plain(&rule.title));
    let _ = writeln!(out, "**{}**, {}\n", shared::severity(rule.severity), plain(&rule.name));
    if let Some(reason) = &rule.left_out {
        lead(out, "Left out in this workshop", reason);
    }
    lead_said(out, "It concerns", &rule.concerns);
    if let Some(counts) = &rule.counts {
        lead_said(out, "It counts", counts);
    }
    for demand in &rule.demands {
        lead_said(out, "It demands", demand);
    }
    for (name, meaning) in &rule.own_names {
        let cases: Vec<String> = meaning.iter().map(said).collect();
        let _ = writeln!(out, "- ***{}* is:** {}", plain(name), cases.join("; "));
    }
    for (name, words) in [("What to do", &rule.remedy), ("Because", &rule.because), ("Basis", &rule.basis)] {
        if let Some(words) = words {
            lead(out, name, &capital(words));
        }
    }
    lead(out, "Not recorded", rule.unrecorded);
    lead(out, "Concession by", &rule.concession);
    if !rule.replaces.is_empty() {
        lead(out, "In place of", &rule.replaces.join(", "));
    }
    figures(&rule.figures, out);
    if rule.examples.is_empty() {
        return;
    }
    let _ = writeln!(
        out,
        "\n<details><summary>{}</summary>\n",
        text::count(rule.examples.len() as u64, "example")
    );
    for example in &rule.examples {
        let said: Vec<String> = example.said.iter().map(|said| format!("→ {said}")).collect();
        let lines = [&example.recorded, &example.with, &said].into_iter().flatten();
        let lines: Vec<String> = lines.map(|line| plain(line)).collect();
        let _ = writeln!(out, "- {} {}", shared::outcome(example.outcome), lines.join(" / "));
    }
    out.push_str("\n</details>\n");
}

fn figures(rows: &[FigureRow], out: &mut String) {
    if rows.is_empty() {
        return;
    }
    out.push_str("\n| What | Metric | Imperial |\n|---|---|---|\n");
    for row in rows {
        let imperial = row.imperial.as_deref().unwrap_or("the same");
        let _ = writeln!(out, "| {} | {} | {} |", said(&row.of), plain(&row.metric), plain(imperial));
    }
}
