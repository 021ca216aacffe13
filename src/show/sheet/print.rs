//! The job sheet as a page of HTML.

use super::blank::in_order;
use super::html::{BOX, ROOM, bare, choices, escaped, in_style, line, table};
use super::needs::{Needs, yes_or_no};
use crate::document::{Field, Record, Shape};
use crate::report::text;
use crate::trade::blank::{Draft, Group, HEAD, Heading, PRINTED_BY_THEMSELVES, Plan, RAISED, limits};
use crate::trade::procedure::{Fastening, Position, Procedure, Step};
use crate::trade::register::TORQUE;

/// What each caution means, for whoever does the work.
const CAUTIONS: [(&str, &str); 11] = [
    (RAISED, "on stands or in the locks of the lift before anyone goes under it"),
    ("hot fluid", "let it cool; gloves, sleeves and goggles on before a plug is opened"),
    ("hot surface", "exhaust and housings burn long after the engine stops"),
    ("rotating parts", "hair, sleeves and tools clear of belts, fans and shafts"),
    ("exhaust gas", "lead it away before the engine is started indoors"),
    ("skin contact", "gloves on; wash oil and coolant off at once"),
    ("pinching", "hands clear where a heavy part is set down"),
    ("high voltage", "isolated and proved dead by a qualified person first"),
    ("stored pressure", "let it off slowly before anything is opened"),
    ("heavy part", "two people or a lifting device"),
    ("fire", "no flame or spark; extinguisher and absorbent at hand"),
];

/// The whole page.
pub(super) fn page(
    procedure: &Procedure,
    record: &Group,
    form: &Record,
    standards: &[String],
    needs: &Needs<'_>,
    holds: usize,
) -> String {
    let mut body = stop(holds);
    body.push_str(&head(procedure, record, form));
    body.push_str(&cautions(procedure));
    body.push_str(&needed(procedure));
    body.push_str(&steps(procedure));
    let safe = needs.safe_readings();
    if !safe.is_empty() {
        let words: Vec<String> =
            safe.iter().map(|words| format!("A reading with a tool is safe {words}.")).collect();
        body.push_str(&format!("<p><b>Uncertain readings.</b> {}</p>\n", escaped(&words.join(" "))));
    }
    body.push_str(&fastenings(procedure, record, needs));
    body.push_str("<h2>To be recorded (in bold what is planned or required)</h2>\n");
    let rest = in_order(record, form).filter(|(field, _)| !PRINTED_BY_THEMSELVES.contains(&&*field.name));
    for (field, draft) in rest {
        body.push_str(&section(field, draft));
    }
    body.push_str(&signature(procedure, standards));
    let title = bare(procedure.title.as_deref().unwrap_or(&procedure.name));
    let identity = identity(procedure);
    let foot = format!(
        "@page {{ @bottom-left {{ content: {}; font: 9pt Arial, sans-serif; }} @bottom-right {{ content: \"page \" counter(page) \" of \" counter(pages); font: 9pt Arial, sans-serif; }} }}\n",
        in_style(&identity)
    );
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\n\
         <title>{title}</title>\n<style>\n{}{foot}</style>\n</head>\n<body>\n{body}</body>\n</html>\n",
        include_str!("sheet.css"),
    )
}

/// Name, edition and the beginning of the content hash: what the foot of each page says.
fn identity(procedure: &Procedure) -> String {
    let edition = match procedure.edition {
        Some(edition) => format!("edition {edition}"),
        None => "no edition".to_owned(),
    };
    let content = procedure.content.map(|content| format!(", content {}", content.short()));
    format!("{}, {edition}{}", procedure.name, content.unwrap_or_default())
}

/// A procedure that does not hold to its own standard is not to be worked by.
fn stop(holds: usize) -> String {
    if holds == 0 {
        return String::new();
    }
    let holds = text::count(holds as u64, "hold");
    format!(
        "<p class=\"stop\">Do not work by this sheet: its procedure has {holds}. Inspect and correct it first.</p>\n"
    )
}

fn head(procedure: &Procedure, record: &Group, form: &Record) -> String {
    let title = procedure.title.as_deref().unwrap_or(&procedure.name);
    let issued = [
        procedure.issued.as_ref().map(|day| format!("issued {day}")),
        procedure.author.as_ref().map(|author| format!("by {author}")),
    ];
    let issued: Vec<String> = issued.into_iter().flatten().collect();
    let unit = match &procedure.family {
        Some(family) => format!("{}, {family}", procedure.kind),
        None => procedure.kind.clone(),
    };
    let edition = procedure.edition.map_or_else(String::new, |edition| format!(", edition {edition}"));
    let mut of = vec![format!("{}{edition}", procedure.name)];
    of.extend((!issued.is_empty()).then(|| issued.join(" ")));
    let of: Vec<String> = of.iter().map(|line| escaped(line)).collect();
    let mut lines = String::new();
    for heading in HEAD {
        let named = in_order(record, form).find(|(field, _)| &*field.name == heading.group);
        let Some((field, Draft::Group(inner))) = named else { continue };
        let Shape::Record(shape) = &field.shape else { continue };
        for (field, draft) in in_order(inner, shape) {
            if matches!(draft, Draft::Blank(_)) && !heading.elsewhere.contains(&&*field.name) {
                lines.push_str(&line(width(field), &label(&field.name, &heading), &room(field, draft)));
            }
        }
        if let Some((name, boxes)) = heading.boxes {
            let boxes = "<i></i>".repeat(boxes);
            lines.push_str(&line("", name, &format!("<span class=\"vin\">{boxes}</span>")));
        }
    }
    format!(
        "<header><div class=\"head\"><div><h1>{}</h1><p><b>Unit:</b> {}</p></div><div class=\"of\">{}</div></div>\n\
         <ul class=\"fields\">{lines}</ul></header>\n",
        escaped(title),
        escaped(&unit),
        of.join("<br>"),
    )
}

/// The label of a field in the head.
fn label(name: &str, heading: &Heading) -> String {
    let own = heading.labels.iter().find(|(field, _)| *field == name);
    own.map_or_else(|| spoken(name), |(_, label)| (*label).to_owned())
}

/// A field's name in words.
fn spoken(name: &str) -> String {
    let words = name.replace('_', " ");
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

fn cautions(procedure: &Procedure) -> String {
    let all = procedure.all_cautions();
    let one = |caution: &&str| {
        let meaning = CAUTIONS.iter().find(|(name, _)| name == caution).map_or("", |(_, meaning)| meaning);
        let colon = if meaning.is_empty() { "" } else { ": " };
        format!("<li>&#9888; <b>{}</b>{colon}{meaning}</li>", escaped(&spoken(caution)))
    };
    let supported = if all.contains(&RAISED) {
        format!("<li>{BOX}raised vehicle secured against falling</li>")
    } else {
        String::new()
    };
    format!(
        "<section class=\"cautions\"><h2>Before the work: cautions</h2>\n<ul class=\"list\">{}</ul>\n\
         <p>The maker's instruction, local codes and licensed practice come before this sheet. Who has not been \
         shown the work does not do it alone.</p>\n\
         <ul class=\"fields\"><li class=\"medium\"><span class=\"label\">{BOX}read before the work began, by</span> {ROOM}</li>{supported}</ul></section>\n",
        all.iter().map(one).collect::<String>(),
    )
}

/// Tools, parts and fluids.
fn needed(procedure: &Procedure) -> String {
    let join = |pieces: [Option<String>; 3]| pieces.into_iter().flatten().collect::<Vec<_>>().join(", ");
    let tools = procedure.tools.iter().map(|tool| {
        join([Some(tool.name.clone()), tool.range.as_ref().map(|range| range.limits_text()), None])
    });
    let parts = procedure.parts.iter().map(|part| {
        let quantity = part.quantity.map_or_else(String::new, |quantity| format!("{quantity} × "));
        join([Some(format!("{quantity}{}", part.name)), part.number.clone(), None])
    });
    let fluids = procedure.fluids.iter().map(|fluid| {
        let name = fluid.product.clone().or_else(|| fluid.class.clone());
        let volume = fluid.volume.as_ref().map(|volume| limits(volume));
        let first = fluid.first_fill.as_ref().map(|first| format!(" ({first} before the engine turns)"));
        let volume = volume.map(|volume| volume + first.as_deref().unwrap_or_default());
        join([name, fluid.specification.as_ref().map(|text| format!("specification {text}")), volume])
    });
    let list = |title: &str, entries: Vec<String>| {
        let entries: Vec<String> = entries
            .iter()
            .map(|entry| format!("<span class=\"entry\">{BOX}{}</span>", escaped(entry)))
            .collect();
        if entries.is_empty() {
            String::new()
        } else {
            format!("<p><b>{title}:</b> {}</p>\n", entries.join("; "))
        }
    };
    let text =
        [list("Tools", tools.collect()), list("Parts", parts.collect()), list("Fluids", fluids.collect())]
            .concat();
    if text.is_empty() { text } else { format!("<section><h2>To have ready</h2>\n{text}</section>\n") }
}

fn steps(procedure: &Procedure) -> String {
    if procedure.steps.is_empty() {
        return String::new();
    }
    let rows: Vec<Vec<String>> =
        procedure.steps.iter().enumerate().map(|(number, step)| self::step(number + 1, step)).collect();
    format!(
        "<section><h2>Steps, in this order</h2>\n{}</section>\n",
        table("steps", &["Done", "Step", "State"], &rows)
    )
}

fn step(number: usize, step: &Step) -> Vec<String> {
    let warn = if step.cautions.is_empty() {
        String::new()
    } else {
        format!("<div class=\"warn\">&#9888; {}</div><br>", escaped(&spoken(&step.cautions.join(", "))))
    };
    let mut what = format!(
        "{warn}<b>{}.</b> {}",
        escaped(&spoken(&step.name)),
        escaped(step.text.as_deref().unwrap_or_default())
    );
    if !step.fastenings.is_empty() {
        what.push_str(&format!(" <b>Tighten:</b> {}.", escaped(&step.fastenings.join(", "))));
    }
    if !step.tools.is_empty() {
        what.push_str(&format!(" <b>Tools:</b> {}.", escaped(&step.tools.join(", "))));
    }
    if !step.positions.is_empty() {
        what.push_str(&format!("<br>{}", positions(&step.positions)));
    }
    let state = [
        step.lift.as_ref().map(|lift| format!("lift {lift}")),
        step.engine.as_ref().map(|engine| format!("engine {engine}")),
        step.fluid_temperature.as_ref().map(|range| format!("fluid {}", limits(range))),
    ];
    let state: Vec<String> = state.into_iter().flatten().map(|line| escaped(&line)).collect();
    vec![format!("{BOX}{number}"), what, state.join("<br>")]
}

fn positions(positions: &[Position]) -> String {
    let one = |position: &Position| {
        let hold = position.hold.as_ref().map_or_else(String::new, |hold| format!(" {}", limits(hold)));
        format!("<span class=\"choice\">{BOX}{}</span>", escaped(&format!("{}{hold}", position.position)))
    };
    format!("<b>Positions:</b> {}", positions.iter().map(one).collect::<String>())
}

/// Each fastening of the procedure with its limits, and below it room for the reading of each place.
fn fastenings(procedure: &Procedure, record: &Group, needs: &Needs<'_>) -> String {
    if procedure.fastenings.is_empty() {
        return String::new();
    }
    let mut entries = record.fastenings();
    let mut text = String::from(
        "<section><h2>Fastenings: write the torque that was reached; tick the box when the witness mark is set</h2>\n",
    );
    for joint in &procedure.fastenings {
        let count = usize::try_from(joint.count).unwrap_or(usize::MAX);
        let places: Vec<&Group> = entries.by_ref().take(count).collect();
        text.push_str(&fastening(joint, &places, needs));
    }
    text.push_str("</section>\n");
    text
}

fn fastening(joint: &Fastening, places: &[&Group], needs: &Needs<'_>) -> String {
    let role = spoken(joint.role.as_deref().unwrap_or("fastening"));
    let place = joint.place.as_deref().map(|place| format!(" ({place})")).unwrap_or_default();
    let unit = joint
        .torque
        .as_ref()
        .and_then(|torque| torque.low().or(torque.high()))
        .and_then(|limit| limit.value.unit());
    let unit = unit.map_or("", |unit| unit.symbol);
    let stages = joint.stages.iter().enumerate().map(|(number, stage)| {
        let figures: Vec<String> =
            [&stage.torque, &stage.angle].into_iter().flatten().map(|range| limits(range)).collect();
        format!(
            "<span class=\"choice\">{BOX}stage {}: {}</span>",
            number + 1,
            escaped(&figures.join(", then "))
        )
    });
    let stages: String = stages.collect();
    let details = [
        joint.thread.clone(),
        joint.property_class.as_ref().map(|class| format!("class {class}")),
        joint.new.map(|new| if new { "new ones".to_owned() } else { "used again".to_owned() }),
        joint.pattern.clone(),
        joint.tool.as_ref().map(|tool| format!("with the {tool}")),
    ];
    let details: Vec<String> = details.into_iter().flatten().collect();
    let torque = joint.torque.as_ref().map_or_else(
        || "no torque stated".to_owned(),
        |range| {
            let safe = needs.safe_with_tools(TORQUE, range);
            let safe = safe.map(|safe| format!(" (safe: {safe})")).unwrap_or_default();
            format!("{}{safe}", limits(range))
        },
    );
    let cell = |(number, group): (usize, &&Group)| {
        let own = joint.place.as_deref().unwrap_or_default();
        let name = match group.place() {
            _ if places.len() == 1 => "Torque".to_owned(),
            Some(place) if !place.starts_with(own) => place.to_owned(),
            _ => (number + 1).to_string(),
        };
        let order = if group.asks_turn() { "turn <span class=\"room short\"></span>" } else { "" };
        format!("<li><span class=\"name\">{}</span>{ROOM}{}{BOX}{order}</li>", escaped(&name), escaped(unit))
    };
    let cells: String = places.iter().enumerate().map(cell).collect();
    let ordered = places.iter().any(|place| place.asks_turn());
    let cells_class = if ordered { "cells long" } else { "cells" };
    let class = if places.len() <= 8 { "joint keep" } else { "joint" };
    format!(
        "<div class=\"{class}\"><p><b>{} × {}</b>{}: <span class=\"limit\">{}</span>, {}</p>{}\
         <ul class=\"{cells_class}\"><li><span class=\"name\">Tool no.</span>{ROOM}</li>{cells}</ul></div>\n",
        joint.count,
        escaped(&role),
        escaped(&place),
        escaped(&torque),
        escaped(&details.join(", ")),
        if stages.is_empty() { stages } else { format!("<p>{stages}</p>") },
    )
}

/// A part of the record in the general form: lists as tables, all else as labels with room.
fn section(field: &Field, draft: &Draft) -> String {
    let title = escaped(&spoken(&field.name));
    match (draft, &field.shape) {
        (Draft::Group(group), Shape::Record(form)) => {
            format!(
                "<section class=\"run keep\"><h2>{title}</h2><div>{}</div></section>\n",
                fields(group, form)
            )
        }
        (Draft::List(elements, _), Shape::List(element)) => match element.as_ref() {
            Shape::Record(form) => {
                format!("<section class=\"keep\"><h2>{title}</h2>\n{}</section>\n", list(elements, form))
            }
            _ => String::new(),
        },
        _ => format!(
            "<section class=\"run keep\"><h2>{title}</h2><ul class=\"fields\">{}</ul></section>\n",
            line("wide", "", &room(field, draft))
        ),
    }
}

/// The fields of a group as labels with room, its lists below them.
fn fields(group: &Group, form: &Record) -> String {
    let (mut lines, mut below) = (String::new(), String::new());
    for (field, draft) in in_order(group, form) {
        match (draft, &field.shape) {
            (Draft::Group(inner), Shape::Record(form)) => {
                for (nested, draft) in in_order(inner, form) {
                    let label = format!("{} {}", spoken(&field.name), nested.name.replace('_', " "));
                    lines.push_str(&line(width(nested), &label, &room(nested, draft)));
                }
            }
            (Draft::List(elements, head), Shape::List(element)) => {
                let Shape::Record(form) = element.as_ref() else { continue };
                let head = head.as_ref().map_or_else(String::new, |head| format!(" ({})", escaped(head)));
                let title = escaped(&spoken(&field.name));
                below.push_str(&format!("<p><b>{title}</b>{head}</p>{}", list(elements, form)));
            }
            _ => lines.push_str(&line(width(field), &spoken(&field.name), &room(field, draft))),
        }
    }
    format!("<ul class=\"fields\">{lines}</ul>{below}")
}

/// How much room a value needs.
fn width(field: &Field) -> &'static str {
    match &field.shape {
        Shape::Text | Shape::List(_) | Shape::Any => "wide",
        Shape::Moment | Shape::Day => "medium",
        _ => "",
    }
}

/// A list as a table: a row for each entry, a column for each field that any of them has.
fn list(elements: &[Draft], form: &Record) -> String {
    let groups: Vec<&Group> = elements
        .iter()
        .filter_map(|element| match element {
            Draft::Group(group) => Some(group),
            _ => None,
        })
        .collect();
    let columns: Vec<&Field> = form
        .fields
        .iter()
        .filter(|field| !matches!(field.shape, Shape::Record(_) | Shape::List(_)))
        .filter(|field| groups.iter().any(|group| group.get(&field.name).is_some()))
        .collect();
    if let [name, value] = columns.as_slice() {
        // A table of two columns is mostly empty: its rows stand side by side.
        let pair = |group: &&Group| {
            let value = group.get(&value.name).map_or_else(String::new, |draft| room(value, draft));
            Some(line("", group.stated(&name.name)?, &value))
        };
        if let Some(pairs) = groups.iter().map(pair).collect::<Option<String>>() {
            return format!("<ul class=\"fields\">{pairs}</ul>");
        }
    }
    let head: Vec<String> = columns.iter().map(|field| escaped(&spoken(&field.name))).collect();
    let head: Vec<&str> = head.iter().map(String::as_str).collect();
    let cell = |group: &&Group, field: &&Field| {
        group.get(&field.name).map_or_else(String::new, |draft| room(field, draft))
    };
    // What only a standard asks for, the procedure does not count: there may be more than one.
    let twice = groups.iter().filter(|group| group.asked_by.is_some());
    let rows: Vec<Vec<String>> = groups
        .iter()
        .chain(twice)
        .map(|group| columns.iter().map(|field| cell(group, field)).collect())
        .collect();
    table("list", &head, &rows)
}

/// What stands in the place of a value: the value, boxes, or room with what is planned.
fn room(field: &Field, draft: &Draft) -> String {
    let plan = match draft {
        Draft::Stated(text) | Draft::Recorded(text) => return escaped(text),
        Draft::Blank(plan) => plan,
        Draft::List(..) | Draft::Group(_) => &Plan::Open,
    };
    let planned = match plan {
        Plan::Open | Plan::Note(_) => None,
        Plan::Within(range) => Some(limits(range)),
        Plan::Text(text) => Some(text.clone()),
        Plan::Truth(truth) => Some(yes_or_no(*truth).to_owned()),
    };
    match &field.shape {
        Shape::Truth => choices(["yes", "no"], planned.as_deref()),
        Shape::Word(words) if words.len() <= 4 => {
            choices(words.iter().map(|word| &**word), planned.as_deref())
        }
        _ => {
            let planned =
                planned.map_or_else(String::new, |planned| format!("<b>{}</b> ", escaped(&planned)));
            format!("{planned}{ROOM}")
        }
    }
}

fn signature(procedure: &Procedure, standards: &[String]) -> String {
    let references = if procedure.references.is_empty() {
        String::new()
    } else {
        format!("<p>Rests on: {}.</p>", escaped(&procedure.references.join("; ")))
    };
    let content = procedure.content.map(|content| format!("<p>Content hash (SHA-256): {content}</p>"));
    format!(
        "<section class=\"sign\"><div class=\"remarks\">Remarks</div>\n\
         <ul class=\"fields\">{}{}{}</ul></section>\n\
         <footer class=\"foot\">{references}<p>Procedure {}. Its record is judged by {}.</p>{}</footer>\n",
        line("wide", "Done and checked by", ROOM),
        line("", "on", ROOM),
        line("wide", "Released by", ROOM),
        escaped(&identity(procedure)),
        escaped(&standards.join(", ")),
        content.unwrap_or_default(),
    )
}
