"""The same work as a good engineer would script it: PyYAML with its C loader, jsonschema with the
validator compiled once, and ten of the rules by hand.

Usage: baseline.py SCHEMA FOLDER [ROUNDS]
Prints one line for each round: seconds, records, findings. Exits with 3 when a package is missing.
"""

import json
import pathlib
import sys
import time

try:
    import jsonschema
    import yaml

    Loader = yaml.CSafeLoader
except (ImportError, AttributeError) as missing:
    print(missing, file=sys.stderr)
    sys.exit(3)


class RecordLoader(Loader):
    """The C loader without its guesses at times, which the schema wants as texts."""


RecordLoader.yaml_implicit_resolvers = {
    first: [(tag, pattern) for tag, pattern in resolvers if tag != "tag:yaml.org,2002:timestamp"]
    for first, resolvers in Loader.yaml_implicit_resolvers.items()
}

TORQUE = {"Nm": 1.0, "N·m": 1.0, "mN·m": 0.001, "lbf·ft": 1.3558179483314}
VOLUME = {"L": 1.0, "mL": 0.001}
DURATION = {"s": 1.0, "min": 60.0}


def amount(text, units):
    """A quantity in the base unit of `units`, or None where there is none."""
    if not isinstance(text, str):
        return None
    figure, _, unit = text.partition(" ")
    factor = units.get(unit)
    try:
        return None if factor is None else float(figure) * factor
    except ValueError:
        return None


def celsius(text):
    if not isinstance(text, str):
        return None
    figure, _, unit = text.partition(" ")
    try:
        value = float(figure)
    except ValueError:
        return None
    return value if unit == "°C" else (value - 32) / 1.8 if unit == "°F" else None


def outside(value, low, high):
    return value is None or not low <= value <= high


def rules(record):
    """Ten rules of the shipped standards, as found broken or undecided: (rule, place)."""
    found = []
    unit = record.get("unit", {}).get("kind")
    memory = record.get("fault_memory", {})
    if len(record.get("job", {}).get("technician", "")) < 2:
        found.append(("technician", "job.technician"))
    if unit != "wheels" and memory.get("after", {}).get("read") is not True:
        found.append(("fault_memory_after", "fault_memory.after"))
    before = memory.get("before", {}).get("codes", [])
    for number, code in enumerate(memory.get("after", {}).get("codes", [])):
        if code not in before:
            found.append(("no_new_faults", f"fault_memory.after.codes[{number}]"))
    if record.get("road_test", {}).get("done") is not True:
        found.append(("road_test", "road_test.done"))
    if unit not in ("stepped automatic", "twin clutch"):
        return found
    fluid = record.get("fluid", {})
    for number, joint in enumerate(record.get("fastenings", [])):
        torque = amount(joint.get("torque"), TORQUE)
        role = joint.get("role")
        if role in ("drain plug", "fill plug", "level plug") and outside(torque, 40.5, 49.5):
            found.append(("plug_torque", f"fastenings[{number}].torque"))
        elif role == "sump screw" and outside(torque, 9.0, 11.0):
            found.append(("sump_screw_torque", f"fastenings[{number}].torque"))
    for number, seal in enumerate(record.get("seals", [])):
        if seal.get("disturbed") is True and seal.get("renewed") is not True:
            found.append(("seals_renewed", f"seals[{number}].renewed"))
    level = record.get("level_check", {})
    if outside(celsius(level.get("temperature")), 30.0, 50.0):
        found.append(("level_temperature", "level_check.temperature"))
    for number, shift in enumerate(level.get("positions", [])):
        held = amount(shift.get("held"), DURATION)
        if held is None or held < 2.0:
            found.append(("positions_held", f"level_check.positions[{number}].held"))
    drained = amount(fluid.get("drained", {}).get("volume"), VOLUME)
    fills = [amount(fill.get("volume"), VOLUME) for fill in fluid.get("fills", [])]
    if drained is None or None in fills or outside(sum(fills), drained * 0.9, drained * 1.1):
        found.append(("refill_volume", "fluid.fills"))
    return found


def main():
    schema = json.loads(pathlib.Path(sys.argv[1]).read_text(encoding="utf-8"))
    files = sorted(pathlib.Path(sys.argv[2]).glob("*.yaml"))
    rounds = int(sys.argv[3]) if len(sys.argv) > 3 else 1
    validator = jsonschema.Draft202012Validator(schema)
    texts = [file.read_text(encoding="utf-8") for file in files]
    for _ in range(rounds):
        begun = time.perf_counter()
        findings = 0
        for text in texts:
            record = yaml.load(text, Loader=RecordLoader)
            errors = list(validator.iter_errors(record))
            findings += len(errors) + len(rules(record))
        print(time.perf_counter() - begun, len(texts), findings, flush=True)


main()
