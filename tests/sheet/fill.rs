//! Fills a blank record in by nothing but its own comments, as somebody would who knows no more.

use std::collections::BTreeMap;

/// What no comment can say: who, when, which vehicle.
const OWN: [(&str, &str); 21] = [
    ("number", "K-3001"),
    ("opened", "2026-03-02T08:15"),
    ("closed", "2026-03-02T11:15"),
    ("technician", "Lene Brandt"),
    ("by", "Lene Brandt"),
    // A vehicle that was not in the workshop before.
    ("vin", "1M8GDM9AXKP042788"),
    ("plate", "GW 3001"),
    ("market", "europe"),
    ("odometer", ""),
    ("high_voltage", "no"),
    ("high_voltage_isolated_by", ""),
    ("serial", "0061"),
    ("remarks", ""),
    ("lot", "L-1"),
    ("tool", "T-07"),
    ("cap_removed", "B"),
    ("cap_fitted", "B"),
    ("pass", ""),
    ("angle", ""),
    ("codes", "[]"),
    // Where there is no magnet in the pan, the one on the plug is meant.
    ("place", "drain plug"),
];

/// The same record with every blank filled in, and closed.
pub fn filled(sheet: &str) -> String {
    let together =
        sheet.lines().find_map(|line| line.split_once("# together ")).map(|(_, text)| middle(text));
    let medium = sheet.lines().find_map(|line| line.trim().strip_prefix("media_fitted:").map(first));
    let mut filled = Vec::new();
    let mut legend: BTreeMap<String, String> = BTreeMap::new();
    let mut left = together;
    let mut section = "";
    for line in sheet.lines() {
        if !line.starts_with(' ') {
            section = line.split(':').next().unwrap();
        }
        let bare = line.trim_start();
        if let Some((name, comment)) = bare.strip_prefix("# ").and_then(|line| line.split_once(": ")) {
            legend.insert(name.to_owned(), value(name.rsplit(' ').next().unwrap(), comment));
        }
        let Some((key, comment)) = line.split_once(':') else {
            filled.push(line.to_owned());
            continue;
        };
        let name = key.trim_start_matches([' ', '-']);
        let comment = comment.trim();
        if bare.starts_with("- {") {
            filled.push(row(line, &legend, sheet));
        } else if !comment.starts_with('#')
            || comment.starts_with("# together")
            || comment.starts_with("# take out")
        {
            filled.push(line.replace("state: in work", "state: closed"));
        } else {
            let comment = comment.trim_start_matches(['#', ' ']);
            let value = match name {
                "tool" if section == "level_check" => "T-21".to_owned(),
                // No comment can say when it was, and of one plug there is no order.
                "at" | "started" | "ended" | "order" => String::new(),
                // How the level is seen, the procedure does not say.
                "method" => if section == "fluid" { "drained" } else { "" }.to_owned(),
                "tool" if after_a_small_torque(&filled) => "T-03".to_owned(),
                "odometer" if section == "vehicle" => "84210 km".to_owned(),
                "required_after" => "50 km".to_owned(),
                // A pan without screws stayed where it is.
                "removed" => if sheet.contains("role: sump screw") { "yes" } else { "no" }.to_owned(),
                "media_removed" => medium.clone().unwrap(),
                "volume" if line.starts_with("      ") && left.is_some() => {
                    let rest: f64 = left.unwrap();
                    let now = if comment.starts_with("at least") { figure(comment) } else { rest / 2.0 };
                    let now = if rest < together.unwrap() { rest } else { now };
                    left = Some(rest - now);
                    format!("{} L", (now * 1000.0).round() / 1000.0)
                }
                "volume" if comment.contains("..") => format!("{} L", middle(comment)),
                "volume" => format!("{} L", together.unwrap_or(1.2)),
                "temperature" if !comment.contains("..") => "38 °C".to_owned(),
                _ => value(name, comment),
            };
            filled.push(format!("{key}: {value}"));
        }
    }
    filled.join("\n") + "\n"
}

/// A row in braces, filled in by the legend above it.
fn row(line: &str, legend: &BTreeMap<String, String>, sheet: &str) -> String {
    let mut line = with_its_wheel(line);
    for (name, value) in legend {
        match name.split_once(", ") {
            // The stages in their order: the first that is still blank.
            Some((_, inner)) => {
                line = line.replacen(&format!("{{{inner}: }}"), &format!("{{{inner}: {value}}}"), 1).replacen(
                    &format!("{{{inner}: ,"),
                    &format!("{{{inner}: {value},"),
                    1,
                )
            }
            None => {
                line = line
                    .replace(&format!(" {name}: ,"), &format!(" {name}: {value},"))
                    .replace(&format!(" {name}: }}"), &format!(" {name}: {value}}}"))
            }
        }
    }
    let place = line.split_once("place: ").and_then(|(_, rest)| rest.split(',').next());
    let (group, number) = place.and_then(|place| place.rsplit_once(' ')).unwrap_or(("", "1"));
    let turn = crosswise(number.parse().unwrap_or(1), sheet.matches(&format!("place: {group} ")).count());
    let line = if is_small_torque(&line) { line.replace("tool: T-07", "tool: T-03") } else { line };
    line.replace(" order: a whole number", &format!(" order: {turn}"))
}

/// The wheel that the place of a nut names.
fn with_its_wheel(line: &str) -> String {
    let wheel = line.split_once("place: ").and_then(|(_, rest)| rest.split(',').next()?.rsplit_once(' '));
    line.replace("wheel: ,", &format!("wheel: {},", wheel.map_or("", |(wheel, _)| wheel)))
}

/// The place in the order of the screw with this number, of so many round a rim: opposite pairs, or a star
/// where their number is odd.
fn crosswise(number: usize, count: usize) -> usize {
    match count {
        0..=3 => number,
        _ if count % 2 == 1 => {
            (0..count).position(|turn| turn * (count / 2) % count + 1 == number).unwrap() + 1
        }
        _ if number <= count / 2 => 2 * number - 1,
        _ => 2 * (number - count / 2),
    }
}

/// Whether a line has a torque that wants the small wrench of the register.
fn is_small_torque(line: &str) -> bool {
    line.split_once("torque: ").is_some_and(|(_, torque)| figure(torque) <= 20.0)
}

/// Whether the last torque among these lines is a small one.
fn after_a_small_torque(lines: &[String]) -> bool {
    lines.iter().rev().find(|line| line.contains("torque: ")).is_some_and(|line| is_small_torque(line))
}

/// The value that a comment asks for.
fn value(name: &str, comment: &str) -> String {
    if let Some((_, own)) = OWN.iter().find(|(own, _)| *own == name) {
        return (*own).to_owned();
    }
    match (name, comment) {
        // The nuts were not yet tightened again, the customer was told to come.
        ("done", "yes | no") => "no".to_owned(),
        (_, "yes | no") => "yes".to_owned(),
        _ if comment.starts_with("not ") => first(comment.rsplit_once("; ").unwrap().1),
        _ if comment.contains(" .. ") => {
            let unit = comment.split_once(" .. ").unwrap().1.split([' ', ';']).nth(1).unwrap();
            format!("{} {unit}", middle(comment))
        }
        _ if comment.starts_with("at least ") => first(comment).replace("at least ", ""),
        _ => first(comment),
    }
}

/// What a comment names first: before the names of who asks, or before the next word of a list.
fn first(comment: &str) -> String {
    let comment = comment.trim().trim_start_matches(['#', ' ']);
    let end = [" (", " or ", " | ", ";"].iter().filter_map(|sign| comment.find(sign)).min();
    comment[..end.unwrap_or(comment.len())].to_owned()
}

/// The middle of the first `a unit .. b unit`.
fn middle(text: &str) -> f64 {
    let (low, high) = text.split_once(" .. ").unwrap();
    let low = low.rsplit(": ").next().unwrap();
    (figure(low) + figure(high)) / 2.0
}

/// The first number of a text.
fn figure(text: &str) -> f64 {
    let start = text.find(|c: char| c.is_ascii_digit()).unwrap();
    let number: String = text[start..].chars().take_while(|c| c.is_ascii_digit() || *c == '.').collect();
    number.trim_end_matches('.').parse().unwrap()
}
