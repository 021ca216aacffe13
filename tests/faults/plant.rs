//! Classes of faults that are planted wherever a job has what they spoil, of each class at one place of a job,
//! chosen by a seeded generator: the same faults in every run.

use fastrand::Rng;
use serde_yaml::Value;
use witnessmark::language::ast::Severity;

use super::catalogue::{Fault, Job, Surroundings};
use super::tree::{Change, resolve, shown};

/// A fault before it is known whose it is.
struct Seed {
    class: &'static str,
    change: Change,
    due: Severity,
    subject: &'static str,
    from: Surroundings,
    /// Where it must be pointed at; where it is made, if this is empty.
    at: Vec<String>,
}

impl Seed {
    fn seen(mut self, from: Surroundings) -> Seed {
        self.from = from;
        self
    }

    fn at(mut self, place: &str) -> Seed {
        self.at.push(place.to_owned());
        self
    }
}

fn hold(class: &'static str, subject: &'static str, change: Change) -> Seed {
    Seed { class, change, due: Severity::Hold, subject, from: Surroundings::Alone, at: Vec::new() }
}

fn advice(class: &'static str, subject: &'static str, change: Change) -> Seed {
    Seed { due: Severity::Advice, ..hold(class, subject, change) }
}

fn set(path: impl Into<String>, value: &str) -> Change {
    Change::Set(path.into(), serde_yaml::from_str(value).unwrap())
}

fn remove(path: impl Into<String>) -> Change {
    Change::Remove(path.into())
}

/// How many are planted in a job at most.
const MOST: usize = 10;

/// The faults that are planted in a job. They depend on nothing else, so that another job more changes none of them.
pub fn in_job(job: &Job) -> Vec<Fault> {
    let mut seeds = Vec::new();
    if job.record["job"]["state"] == "closed" {
        identity(job, &mut seeds);
        fastenings(job, &mut seeds);
        parts(job, &mut seeds);
        fluid(job, &mut seeds);
        level(job, &mut seeds);
        around_the_work(job, &mut seeds);
        match job.kind.as_str() {
            "brakes" => brakes(job, &mut seeds),
            "cooling" => cooling(job, &mut seeds),
            "wheels" => wheels(job, &mut seeds),
            _ => {}
        }
    }
    let mut rng = Rng::with_seed(job.name.bytes().fold(7, |seed, byte| seed * 256 + u64::from(byte)));
    rng.shuffle(&mut seeds);
    let mut classes: Vec<&str> = Vec::new();
    seeds.retain(|seed| {
        !classes.contains(&seed.class) && classes.len() < MOST && {
            classes.push(seed.class);
            true
        }
    });
    seeds.into_iter().map(|seed| fault(job, seed)).collect()
}

fn fault(job: &Job, seed: Seed) -> Fault {
    let Seed { class, change, due, subject, from, at } = seed;
    change.apply(&job.record).unwrap_or_else(|why| panic!("{}: {class}: {why}", job.name));
    let place = |path: &String| shown(&resolve(&job.record, path).unwrap());
    let at = if at.is_empty() { change.places(&job.record).unwrap() } else { at.iter().map(place).collect() };
    let (subject, why) = (subject.to_owned(), class.to_owned());
    Fault { job: job.name.clone(), change, due, subject, at, from, why, by_hand: false }
}

/// The entries of a list, each with its path for changes.
fn entries<'j>(job: &'j Job, list: &'static str) -> impl Iterator<Item = (String, &'j Value)> {
    let all = job.record.get(list).and_then(Value::as_sequence).into_iter().flatten();
    all.enumerate().map(move |(number, entry)| (format!("{list}/{number}"), entry))
}

fn is_automatic(job: &Job) -> bool {
    ["stepped automatic", "twin clutch", "continuously variable"].contains(&job.kind.as_str())
        && job.record["level_check"]["engine"] == "running"
}

fn identity(job: &Job, seeds: &mut Vec<Seed>) {
    seeds.push(
        advice("closed before it was opened", "times", Change::Shift("job/closed".to_owned(), -30 * 24 * 60))
            .at("job"),
    );
    seeds.push(hold("nobody did it", "identity", remove("job/technician")));
    seeds.push(advice("no odometer", "identity", remove("vehicle/odometer")));
    if let Some(vin) = job.record["vehicle"]["vin"].as_str() {
        seeds.push(hold("a VIN with a character too few", "identity", set("vehicle/vin", &vin[..16])));
        let other = if &vin[8..9] == "3" { "4" } else { "3" };
        let wrong = format!("{}{other}{}", &vin[..8], &vin[9..]);
        if job.record["vehicle"]["market"] == "north america" {
            seeds.push(hold("a wrong check digit", "identity", set("vehicle/vin", &wrong)));
        }
    }
    if job.record["vehicle"].get("high_voltage_isolated_by").is_some() {
        seeds.push(hold(
            "high voltage not isolated",
            "high voltage",
            remove("vehicle/high_voltage_isolated_by"),
        ));
    }
}

/// A figure with its unit, multiplied.
fn times(text: &str, factor: f64) -> String {
    let (figure, unit) = text.split_once(' ').unwrap();
    let unit = unit.split(" ±").next().unwrap();
    format!("{:.1} {unit}", figure.parse::<f64>().unwrap() * factor)
}

fn fastenings(job: &Job, seeds: &mut Vec<Seed>) {
    for (path, fastening) in entries(job, "fastenings") {
        let Some(torque) = fastening["torque"].as_str() else { continue };
        // A pass before the last one only seats the joint.
        if fastening["pass"] == 1 {
            continue;
        }
        let at = |field: &str| format!("{path}/{field}");
        let workshop = Surroundings::Workshop;
        seeds.push(
            hold("half as tight again", "torque", set(at("torque"), &times(torque, 1.5))).seen(workshop),
        );
        seeds.push(hold("far too loose", "torque", set(at("torque"), &times(torque, 0.6))).seen(workshop));
        let other = if torque.contains("lbf") {
            torque.replace("lbf.ft", "Nm").replace("lbf.in", "Nm")
        } else {
            torque.replace("Nm", "lbf.ft")
        };
        if other != torque {
            seeds.push(
                hold("the figure with another unit", "torque", set(at("torque"), &other)).seen(workshop),
            );
        }
        if fastening.get("stages").is_none() {
            seeds.push(hold("torque left out", "torque", remove(at("torque"))));
            for none in ["unknown", "\"??\"", "\"--\""] {
                seeds.push(hold("a placeholder for a torque", "placeholder", set(at("torque"), none)));
            }
        }
        seeds.push(advice("no tool named", "tool", remove(at("tool"))));
        let wrong = if fastening["tool"] == "W-40" { "W-02" } else { "W-40" };
        for (class, tool) in [
            ("a tool that the register does not have", "W-99"),
            ("a tool past its calibration", "W-11"),
            ("a tool that failed its calibration", "W-12"),
            ("a tool that is locked away", "W-09"),
            ("a tool out of its range", wrong),
            ("a thermometer for a wrench", "H-01"),
        ] {
            seeds.push(hold(class, "tool", set(at("tool"), tool)).seen(workshop).at(&path));
        }
        let misspelt = hold("a misspelt role", "role", set(at("role"), "drian plug"));
        seeds.push(misspelt.at(&at("role")).at("fastenings"));
        if ["drain plug", "level plug", "fill plug", "filter cap"]
            .iter()
            .any(|role| fastening["role"] == *role)
        {
            seeds.push(hold(
                "a joint that was opened is not recorded",
                "missing joint",
                remove(path.clone()),
            ));
            seeds.push(
                advice("the same joint twice", "duplicate", Change::Insert(path.clone(), fastening.clone()))
                    .at("fastenings"),
            );
        }
    }
}

fn parts(job: &Job, seeds: &mut Vec<Seed>) {
    for (path, seal) in entries(job, "seals").filter(|(_, seal)| seal["disturbed"] == "yes") {
        seeds.push(hold("a seal used again", "seal", set(format!("{path}/renewed"), "no")));
        seeds.push(hold(
            "whether the seal is new is not recorded",
            "seal",
            remove(format!("{path}/renewed")),
        ));
        // What else the record has of the joint says that it was opened.
        if ["drain plug", "level plug", "fill plug", "sump", "filter cap", "cover"]
            .iter()
            .any(|place| seal["place"] == *place)
        {
            seeds.push(hold("the seal of an opened joint is not recorded", "seal", remove(path.clone())));
        }
        if seal.get("lubricated").is_some() {
            seeds.push(hold("a ring fitted dry", "seal", set(format!("{path}/lubricated"), "no")));
        }
        if seal.get("faces_dry").is_some() {
            seeds.push(hold("oil on the sealing faces", "seal", set(format!("{path}/faces_dry"), "no")));
        }
    }
    for (path, filter) in entries(job, "filters") {
        seeds.push(hold("the filter used again", "filter", set(format!("{path}/renewed"), "no")));
        let other = if filter["media_fitted"] == "metal mesh" { "felt" } else { "metal mesh" };
        seeds.push(
            hold("a filter of another medium", "filter", set(format!("{path}/media_fitted"), other))
                .seen(Surroundings::Workshop),
        );
        if filter.get("locked").is_some() {
            seeds.push(hold("the lock of the cap is open", "filter", set(format!("{path}/locked"), "no")));
        }
        if filter.get("cap_fitted").is_some() {
            seeds.push(hold("a cap of another version", "filter", set(format!("{path}/cap_fitted"), "D")));
        }
    }
    for (path, magnet) in entries(job, "magnets") {
        if magnet.get("cleaned").is_some() {
            seeds.push(
                advice("a magnet not cleaned", "magnet", set(format!("{path}/cleaned"), "no")).at(&path),
            );
        }
        if magnet.get("debris").is_some() {
            seeds.push(hold("chips on a magnet", "debris", set(format!("{path}/debris"), "chips")));
        }
    }
    for (path, _) in entries(job, "connectors") {
        seeds.push(hold("a connector not seated", "connector", set(format!("{path}/seated"), "no")));
        seeds.push(hold("oil in a connector", "connector", set(format!("{path}/oil_inside"), "yes")));
    }
    for (path, _) in entries(job, "guide_tubes") {
        seeds.push(hold("a guide tube not seated", "guide tube", set(format!("{path}/seated"), "no")));
    }
}

fn fluid(job: &Job, seeds: &mut Vec<Seed>) {
    if ["wheels", "brakes"].contains(&job.kind.as_str()) {
        return;
    }
    let workshop = Surroundings::Workshop;
    seeds.push(hold("the specification left out", "specification", remove("fluid/specification")));
    seeds.push(
        hold("fluid of another specification", "specification", set("fluid/specification", "XF-0"))
            .seen(workshop),
    );
    seeds.push(hold("what was filled is not recorded", "filling", remove("fluid/fills")));
    if job.kind != "cooling" {
        seeds.push(advice("what was drained is not recorded", "draining", remove("fluid/drained")));
    }
    if job.record["fluid"].get("wear_debris").is_some() {
        seeds.push(hold("chips in the fluid", "debris", set("fluid/wear_debris", "chips")));
    }
    let fills = job.record["fluid"]["fills"].as_sequence().into_iter().flatten();
    for (number, fill) in fills.enumerate() {
        let path = format!("fluid/fills/{number}");
        if let (0, Some(volume)) = (number, fill["volume"].as_str()) {
            let both = |seed: Seed| seed.at("fluid/fills").at("fluid/fills/0/volume");
            seeds.push(
                both(hold(
                    "a half too much filled",
                    "volume",
                    set(format!("{path}/volume"), &times(volume, 1.5)),
                ))
                .seen(workshop),
            );
            seeds.push(
                both(hold(
                    "far too little filled",
                    "volume",
                    set(format!("{path}/volume"), &times(volume, 0.4)),
                ))
                .seen(workshop),
            );
            seeds.push(hold(
                "a volume with the unit of a weight",
                "unit",
                set(format!("{path}/volume"), "4 kg"),
            ));
        }
        if number == 0 && is_automatic(job) {
            seeds.push(hold(
                "started before the first stage was in",
                "filling",
                set(format!("{path}/engine"), "running"),
            ));
        }
    }
    if job.record["used_oil"].is_mapping() {
        seeds.push(hold("old oil not collected", "used oil", set("used_oil/collected", "no")));
        seeds.push(advice("nothing said of the old oil", "used oil", remove("used_oil")));
    }
}

fn level(job: &Job, seeds: &mut Vec<Seed>) {
    let check = &job.record["level_check"];
    if !check.is_mapping() {
        return;
    }
    let by_eye = check.get("result").is_some();
    if by_eye {
        seeds.push(hold(
            "the vehicle stood on a slope",
            "level stance",
            set("level_check/vehicle_level", "no"),
        ));
        let low = if check["method"] == "dipstick" { "below minimum" } else { "low" };
        seeds.push(hold("the level is low", "level", set("level_check/result", low)));
        seeds.push(hold("the level was not checked", "level", remove("level_check")));
    }
    if check.get("closed_while").is_some() {
        seeds.push(hold(
            "closed while it still streamed",
            "level",
            set("level_check/closed_while", "streaming"),
        ));
    }
    if is_automatic(job) {
        seeds.push(hold("level with the engine off", "level engine", set("level_check/engine", "\"off\"")));
        if check["method"] == "overflow" {
            seeds.push(hold(
                "level far too warm",
                "level temperature",
                set("level_check/temperature", "78 °C"),
            ));
            seeds.push(hold(
                "level far too cold",
                "level temperature",
                set("level_check/temperature", "14 °C"),
            ));
        }
        seeds.push(hold(
            "temperature of the level check left out",
            "level temperature",
            remove("level_check/temperature"),
        ));
        for (number, position) in check["positions"].as_sequence().into_iter().flatten().enumerate() {
            if position["position"] != "P" {
                seeds.push(hold(
                    "a position not gone through",
                    "positions",
                    remove(format!("level_check/positions/{number}")),
                ));
            }
            seeds.push(hold(
                "a position hardly held",
                "positions",
                set(format!("level_check/positions/{number}/held"), "0.4 s"),
            ));
        }
    }
}

fn around_the_work(job: &Job, seeds: &mut Vec<Seed>) {
    seeds.push(hold("cautions not read", "cautions", set("cautions/acknowledged", "no")));
    seeds.push(hold("no cautions at all", "cautions", remove("cautions")));
    if job.record["cautions"].get("raised_vehicle_supported").is_some() {
        seeds.push(hold(
            "the raised vehicle was not secured",
            "raised vehicle",
            set("cautions/raised_vehicle_supported", "no"),
        ));
    }
    if job.record["fault_memory"].is_mapping() {
        seeds.push(hold(
            "fault memory not read afterwards",
            "fault memory",
            set("fault_memory/after/read", "no"),
        ));
        seeds.push(hold("fault memory only read before", "fault memory", remove("fault_memory/after")));
        seeds.push(advice(
            "fault memory only read afterwards",
            "fault memory",
            remove("fault_memory/before"),
        ));
        seeds.push(
            hold(
                "a new fault after the work",
                "fault memory",
                set("fault_memory/after/codes", "[{code: P0894, status: present}]"),
            )
            .at("fault_memory/after"),
        );
        seeds.push(
            advice("no such code", "fault memory", set("fault_memory/after/codes", "[P9Z]"))
                .at("fault_memory/after"),
        );
    }
    if job.record["road_test"].is_mapping() {
        seeds.push(hold("it drips after the drive", "leaks", set("road_test/leaks", "dripping")));
        if job.kind != "wheels" {
            seeds.push(hold("not driven", "road test", set("road_test/done", "no")));
            seeds.push(hold("no word of a drive", "road test", remove("road_test")));
            seeds.push(hold("not looked for leaks", "leaks", remove("road_test/leaks")));
        }
        if is_automatic(job) {
            seeds.push(advice("driven two hundred metres", "road test", set("road_test/distance", "0.2 km")));
        }
    }
}

fn brakes(job: &Job, seeds: &mut Vec<Seed>) {
    seeds.push(hold("silicone fluid", "brake fluid", set("brake_fluid/class", "DOT 5")));
    seeds.push(hold("boils too early", "brake fluid", set("brake_fluid/boiling_point_after", "176 °C")));
    seeds.push(hold("a container that stood open", "brake fluid", set("brake_fluid/container_sealed", "no")));
    seeds.push(hold("a spongy pedal", "pedal", set("brake_fluid/pedal", "spongy")));
    seeds.push(hold("the pedal was not tried", "pedal", remove("brake_fluid/pedal")));
    let bleeding = job.record["brake_fluid"]["bleeding"].as_sequence().unwrap();
    for (number, _) in bleeding.iter().enumerate() {
        let path = format!("brake_fluid/bleeding/{number}");
        seeds.push(hold("bubbles to the end", "bleeding", set(format!("{path}/clear"), "no")));
        seeds.push(advice("a dust cap left off", "bleeding", set(format!("{path}/cap_fitted"), "no")));
        if number < 4 {
            seeds.push(hold("a wheel not bled", "bleeding", remove(path)));
        }
    }
}

fn cooling(_: &Job, seeds: &mut Vec<Seed>) {
    seeds.push(advice("too much concentrate", "coolant", set("coolant/share", "80 %")));
    seeds.push(hold("freezes at minus nine", "coolant", set("coolant/freezing_point", "-9 °C")));
    seeds.push(hold("not bled", "coolant", set("coolant/bled", "no")));
    seeds.push(hold("a cap that does not close", "coolant", set("coolant/cap_sound", "no")));
    seeds.push(hold("old coolant not collected", "used oil", set("coolant/old_collected", "no")));
    seeds.push(
        hold("the pressure falls", "pressure test", set("pressure_hold/end", "0.4 bar")).at("pressure_hold"),
    );
    seeds.push(hold("no pressure test", "pressure test", remove("pressure_hold")));
}

fn wheels(job: &Job, seeds: &mut Vec<Seed>) {
    let workshop = Surroundings::Workshop;
    for (path, wheel) in entries(job, "wheels") {
        seeds.push(hold("a dirty seat", "wheel seat", set(format!("{path}/seat_clean"), "no")));
        seeds.push(hold("hardly any air", "tyre pressure", set(format!("{path}/pressure"), "0.9 bar")));
        seeds.push(
            hold("far too much air", "tyre pressure", set(format!("{path}/pressure"), "14 bar"))
                .seen(workshop),
        );
        seeds.push(hold(
            "against its direction",
            "tyre direction",
            set(format!("{path}/direction"), "against the mark"),
        ));
        let one_more = format!("{}", wheel["fasteners"].as_u64().unwrap() + 1);
        seeds.push(
            hold("a nut too few", "wheel nuts", set(format!("{path}/fasteners"), &one_more))
                .at("fastenings")
                .at("wheels"),
        );
    }
    for (path, fastening) in entries(job, "fastenings").filter(|(_, fastening)| fastening["pass"] != 1) {
        if fastening.get("count").is_some() {
            seeds.push(
                hold("the nuts of a wheel left out", "wheel nuts", remove(path))
                    .at("wheels")
                    .at("fastenings"),
            );
        }
    }
    seeds.push(
        advice("the customer was not told to come back", "retightening", set("retightening/advised", "no"))
            .at("retightening"),
    );
    seeds.push(advice("no word of retightening", "retightening", remove("retightening")));
}
