//! Records as plain trees: finding a place, changing one thing, writing the tree out again.

use std::ops::Range;

use serde_yaml::Value;

/// One step of a path.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Key {
    Field(String),
    Entry(usize),
}

/// One change in a record. Paths are written with slashes; an entry of a list goes by its number or by what
/// stands in it: `fastenings/drain plug/torque`, `fastenings/sump screw+A2/order`.
#[derive(Clone, Debug)]
pub enum Change {
    Set(String, Value),
    Remove(String),
    /// Puts a new entry into a list, before the one that has this number.
    Insert(String, Value),
    Swap(String, String),
    Move(String, usize),
    /// Moves a time by so many minutes.
    Shift(String, i64),
}

/// The keys of a path; the last of them may name what is not there yet.
pub fn resolve(root: &Value, path: &str) -> Result<Vec<Key>, String> {
    let mut at = Some(root);
    let mut keys = Vec::new();
    for part in path.split('/').filter(|part| !part.is_empty()) {
        let key = match at {
            Some(Value::Sequence(list)) => {
                Key::Entry(entry(list, part).map_err(|why| format!("{path}: {why}"))?)
            }
            _ => Key::Field(part.to_owned()),
        };
        at = at.and_then(|at| step(at, &key));
        keys.push(key);
    }
    Ok(keys)
}

/// The number of the one entry that is meant.
fn entry(list: &[Value], part: &str) -> Result<usize, String> {
    if let Ok(number) = part.parse() {
        return if number <= list.len() { Ok(number) } else { Err(format!("there is no entry {number}")) };
    }
    let has = |entry: &Value, word: &str| {
        entry.as_mapping().is_some_and(|fields| fields.values().any(|value| value.as_str() == Some(word)))
    };
    let meant = |entry: &Value| part.split('+').all(|word| has(entry, word));
    let found: Vec<usize> = (0..list.len()).filter(|number| meant(&list[*number])).collect();
    match found.as_slice() {
        [one] => Ok(*one),
        _ => Err(format!("`{part}` is {} entries", found.len())),
    }
}

fn step<'v>(at: &'v Value, key: &Key) -> Option<&'v Value> {
    match key {
        Key::Field(name) => at.get(name.as_str()),
        Key::Entry(number) => at.get(*number),
    }
}

pub fn get<'v>(root: &'v Value, keys: &[Key]) -> Option<&'v Value> {
    keys.iter().try_fold(root, step)
}

fn get_mut<'v>(root: &'v mut Value, keys: &[Key]) -> Option<&'v mut Value> {
    keys.iter().try_fold(root, |at, key| match key {
        Key::Field(name) => at.get_mut(name.as_str()),
        Key::Entry(number) => at.get_mut(*number),
    })
}

/// A path as reports write it: `fastenings[2].torque`.
pub fn shown(keys: &[Key]) -> String {
    let mut text = String::new();
    for key in keys {
        match key {
            Key::Field(name) if text.is_empty() => text.push_str(name),
            Key::Field(name) => text.extend([".", name]),
            Key::Entry(number) => text.push_str(&format!("[{number}]")),
        }
    }
    text
}

impl Change {
    /// The record with this change, which must change something.
    pub fn apply(&self, good: &Value) -> Result<Value, String> {
        let mut bad = good.clone();
        match self {
            Change::Set(path, value) => set(&mut bad, &resolve(good, path)?, value.clone())?,
            Change::Remove(path) => drop(take(&mut bad, &resolve(good, path)?)?),
            Change::Insert(path, value) => insert(&mut bad, &resolve(good, path)?, value.clone())?,
            Change::Move(path, to) => {
                let keys = resolve(good, path)?;
                let taken = take(&mut bad, &keys)?;
                let mut there = keys[..keys.len() - 1].to_vec();
                there.push(Key::Entry(*to));
                insert(&mut bad, &there, taken)?;
            }
            Change::Swap(one, other) => {
                let (one, other) = (resolve(good, one)?, resolve(good, other)?);
                let missing = |keys: &[Key]| format!("nothing at {}", shown(keys));
                let first = get(good, &one).ok_or_else(|| missing(&one))?.clone();
                let second = get(good, &other).ok_or_else(|| missing(&other))?.clone();
                set(&mut bad, &one, second)?;
                set(&mut bad, &other, first)?;
            }
            Change::Shift(path, minutes) => {
                let keys = resolve(good, path)?;
                let time = get(good, &keys).and_then(Value::as_str).ok_or(format!("no time at {path}"))?;
                let later = shifted(time, *minutes)?;
                set(&mut bad, &keys, Value::String(later))?;
            }
        }
        if bad == *good { Err(format!("{self:?} changes nothing")) } else { Ok(bad) }
    }

    /// Where the fault is to be pointed at, unless the catalogue says otherwise.
    pub fn places(&self, good: &Value) -> Result<Vec<String>, String> {
        let place = |path: &str| resolve(good, path).map(|keys| shown(&keys));
        Ok(match self {
            Change::Set(path, _) | Change::Insert(path, _) | Change::Shift(path, _) => vec![place(path)?],
            Change::Remove(path) | Change::Move(path, _) => {
                let keys = resolve(good, path)?;
                match keys.split_last() {
                    Some((Key::Entry(_), list)) => vec![shown(list)],
                    _ => vec![shown(&keys)],
                }
            }
            Change::Swap(one, other) => vec![place(one)?, place(other)?],
        })
    }
}

fn set(root: &mut Value, keys: &[Key], value: Value) -> Result<(), String> {
    let (last, above) = keys.split_last().ok_or("the whole record cannot be set")?;
    let holder = get_mut(root, above).ok_or_else(|| format!("nothing at {}", shown(above)))?;
    match (last, holder) {
        (Key::Field(name), Value::Mapping(fields)) => drop(fields.insert(name.as_str().into(), value)),
        (Key::Entry(number), Value::Sequence(list)) if *number < list.len() => list[*number] = value,
        _ => return Err(format!("{} cannot be set", shown(keys))),
    }
    Ok(())
}

fn take(root: &mut Value, keys: &[Key]) -> Result<Value, String> {
    let nothing = || format!("nothing at {}", shown(keys));
    let (last, above) = keys.split_last().ok_or_else(nothing)?;
    match (last, get_mut(root, above).ok_or_else(nothing)?) {
        (Key::Field(name), Value::Mapping(fields)) => fields.shift_remove(name.as_str()).ok_or_else(nothing),
        (Key::Entry(number), Value::Sequence(list)) if *number < list.len() => Ok(list.remove(*number)),
        _ => Err(nothing()),
    }
}

fn insert(root: &mut Value, keys: &[Key], value: Value) -> Result<(), String> {
    let (last, above) = keys.split_last().ok_or("the whole record is no list")?;
    match (last, get_mut(root, above)) {
        (Key::Entry(number), Some(Value::Sequence(list))) if *number <= list.len() => {
            list.insert(*number, value);
            Ok(())
        }
        _ => Err(format!("{} is no place in a list", shown(keys))),
    }
}

/// A time so many minutes later, with the offset that it has.
fn shifted(time: &str, minutes: i64) -> Result<String, String> {
    let (clock, offset) =
        time.split_at_checked("2026-03-02T08:15".len()).ok_or(format!("{time} is no time"))?;
    let clock: jiff::civil::DateTime = clock.parse().map_err(|error| format!("{time}: {error}"))?;
    let later = clock + jiff::SignedDuration::from_mins(minutes);
    Ok(format!("{}{offset}", later.strftime("%Y-%m-%dT%H:%M")))
}

/// A record as it was written out, with what stands where.
pub struct Written {
    pub text: String,
    places: Vec<(Range<usize>, String)>,
}

impl Written {
    /// A record as a text: the groups one below the other, entries of lists on lines of their own.
    pub fn of(record: &Value) -> Written {
        let mut written = Written { text: String::new(), places: Vec::new() };
        for (name, value) in record.as_mapping().into_iter().flatten() {
            let name = name.as_str().unwrap_or_default();
            let start = written.text.len();
            written.text.extend([name, ":"]);
            let keys = vec![Key::Field(name.to_owned())];
            match value {
                Value::Sequence(list) if !list.is_empty() => written.lines(list, &keys),
                Value::Null => {}
                _ => {
                    written.text.push(' ');
                    written.flow(value, &keys);
                }
            }
            written.note(start, &keys);
            written.text.push('\n');
        }
        written
    }

    /// The path of the innermost thing that holds a byte of the text; empty for the whole record.
    pub fn at(&self, byte: usize) -> &str {
        let holding = self.places.iter().filter(|(range, _)| range.contains(&byte));
        holding.min_by_key(|(range, _)| range.len()).map_or("", |(_, path)| path)
    }

    fn lines(&mut self, list: &[Value], keys: &[Key]) {
        for (number, value) in list.iter().enumerate() {
            self.text.push_str("\n  - ");
            let keys = [keys, &[Key::Entry(number)]].concat();
            let start = self.text.len();
            self.flow(value, &keys);
            self.note(start, &keys);
        }
    }

    fn flow(&mut self, value: &Value, keys: &[Key]) {
        match value {
            Value::Mapping(fields) => {
                self.text.push('{');
                for (number, (name, value)) in fields.iter().enumerate() {
                    self.text.push_str(if number == 0 { "" } else { ", " });
                    let name = name.as_str().unwrap_or_default();
                    let keys = [keys, &[Key::Field(name.to_owned())]].concat();
                    let start = self.text.len();
                    self.text.extend([name, ": "]);
                    self.flow(value, &keys);
                    self.note(start, &keys);
                }
                self.text.push('}');
            }
            Value::Sequence(list) => {
                self.text.push('[');
                for (number, value) in list.iter().enumerate() {
                    self.text.push_str(if number == 0 { "" } else { ", " });
                    let keys = [keys, &[Key::Entry(number)]].concat();
                    let start = self.text.len();
                    self.flow(value, &keys);
                    self.note(start, &keys);
                }
                self.text.push(']');
            }
            Value::String(text) => self.text.push_str(&scalar(text)),
            Value::Number(number) => self.text.push_str(&number.to_string()),
            Value::Bool(truth) => self.text.push_str(if *truth { "true" } else { "false" }),
            Value::Null | Value::Tagged(_) => {}
        }
    }

    fn note(&mut self, start: usize, keys: &[Key]) {
        self.places.push((start..self.text.len(), shown(keys)));
    }
}

/// A text as YAML has it, in quotes where it needs them.
fn scalar(text: &str) -> String {
    const SPECIAL: [char; 16] =
        [',', '[', ']', '{', '}', '#', '*', '!', '|', '>', '"', '@', '`', '?', '~', '\n'];
    const WORDS: [&str; 6] = ["off", "on", "true", "false", "null", ""];
    // A dash begins a figure, or an entry of a list.
    let figure = text.strip_prefix('-').is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_digit()));
    let plain = text.trim() == text
        && !WORDS.contains(&text)
        && !text.contains(SPECIAL)
        && !text.contains(": ")
        && !text.ends_with(':')
        && (figure || !text.starts_with(['-', '%', '&', '\'', ':', '=']))
        && text.parse::<f64>().is_err();
    if plain { text.to_owned() } else { format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\"")) }
}

#[cfg(test)]
mod tests {
    use super::{Change, Written, resolve, shown};
    use serde_yaml::Value;

    const JOB: &str = "
job: {number: \"12\", remarks: \"a, b: c # d\", closed: 2026-03-02T23:50:00+01:00}
seals: []
fastenings:
  - {role: screw, place: A, order: 1, tool: \"-\", torque: -4 Nm}
  - {role: screw, place: B, order: 2, torque: 5 Nm, stages: [{torque: 2 Nm}, {torque: 5 Nm}]}
  - {role: plug, place: A, torque: \"??\"}
";

    fn job() -> Value {
        serde_yaml::from_str(JOB).unwrap()
    }

    fn value(text: &str) -> Value {
        serde_yaml::from_str(text).unwrap()
    }

    #[test]
    fn an_entry_goes_by_its_number_or_by_what_is_in_it_and_must_be_the_only_one() {
        let at = |path: &str| resolve(&job(), path).map(|keys| shown(&keys));
        assert_eq!(at("fastenings/plug/torque").unwrap(), "fastenings[2].torque");
        assert_eq!(at("fastenings/screw+B/stages/1/torque").unwrap(), "fastenings[1].stages[1].torque");
        assert_eq!(at("fastenings/3").unwrap(), "fastenings[3]", "where a new one can be put");
        for wrong in ["fastenings/screw/torque", "fastenings/nut/torque", "fastenings/4"] {
            assert!(at(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn each_change_changes_what_it_says_and_nothing_else() {
        let changed = |change: Change, path: &str| {
            let bad = change.apply(&job()).unwrap();
            let keys = resolve(&bad, path).unwrap();
            super::get(&bad, &keys).cloned().unwrap_or(Value::Null)
        };
        let at = |path: &str| path.to_owned();
        assert_eq!(
            changed(Change::Set(at("fastenings/plug/torque"), value("6 Nm")), "fastenings/2/torque"),
            "6 Nm"
        );
        assert_eq!(changed(Change::Set(at("job/state"), value("closed")), "job/state"), "closed");
        assert_eq!(changed(Change::Remove(at("fastenings/0")), "fastenings/0/place"), "B");
        assert_eq!(changed(Change::Remove(at("job/number")), "job/number"), Value::Null);
        assert_eq!(changed(Change::Insert(at("seals/0"), value("{place: A}")), "seals/0/place"), "A");
        assert_eq!(
            changed(Change::Swap(at("fastenings/0/order"), at("fastenings/1/order")), "fastenings/1/order"),
            1
        );
        assert_eq!(changed(Change::Move(at("fastenings/plug"), 0), "fastenings/0/role"), "plug");
        assert_eq!(changed(Change::Shift(at("job/closed"), 20), "job/closed"), "2026-03-03T00:10:00+01:00");
        for nothing in [
            Change::Set(at("job/number"), value("\"12\"")),
            Change::Set(at("wheels/0/position"), value("A")),
            Change::Remove(at("job/opened")),
            Change::Insert(at("seals/1"), value("{}")),
            Change::Shift(at("job/number"), 5),
        ] {
            assert!(nothing.apply(&job()).is_err(), "{nothing:?}");
        }
    }

    #[test]
    fn a_record_written_out_is_the_same_record_and_knows_its_places() {
        let written = Written::of(&job());
        assert_eq!(value(&written.text), job(), "{}", written.text);
        let at = |text: &str| written.at(written.text.find(text).unwrap());
        assert_eq!(at("-4 Nm"), "fastenings[0].torque");
        assert_eq!(at("{role: plug"), "fastenings[2]");
        assert_eq!(at("{torque: 5"), "fastenings[1].stages[1]");
        assert_eq!(at("- {role: plug"), "fastenings");
        assert_eq!(at("seals"), "seals");
    }
}
