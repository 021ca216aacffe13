"""Makes an archive of jobs of an invented workshop: always the same for a seed, as many as are wanted.

    python generate.py 1000000 archive.jsonl             # a text with its name on each line
    python generate.py 20000 jobs --files                # a file for each job

Each job is one of a few records of the examples on another vehicle and another day, in the order of time. Four in five have
no fault but that their numbers have more digits than the order book of the examples allows; the others have a fault of a kind that is found, and one in five hundred cannot be read.
"""

from __future__ import annotations

import argparse
import json
import random
import re
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from pathlib import Path

JOBS = Path(__file__).resolve().parent.parent / "grauwasser" / "jobs"
GEARBOXES = ["K-2041-six-speed", "K-2044-twin-clutch"]
OTHERS = ["K-2042-engine-oil", "K-2043-summer-wheels"]
FIRST_DAY = date(2026, 3, 9)
LETTERS = "ABCDEFGHJKLMNPRSTUVWXYZ"

# The check digit of a VIN, after 49 CFR 565.15: what each letter is worth, and each place.
WORTH = {**{str(digit): digit for digit in range(10)}, **dict(zip("ABCDEFGHJKLMNPRSTUVWXYZ", [*range(1, 9), *range(1, 6), 7, 9, *range(2, 10)]))}
WEIGHTS = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2]


def vin(number: int) -> str:
    """The VIN of a vehicle, with its check digit. No maker has this beginning."""
    bare = f"AZ1LR48K0MG{number % 1_000_000:06}"
    rest = sum(WORTH[letter] * weight for letter, weight in zip(bare, WEIGHTS)) % 11
    return bare[:8] + ("X" if rest == 10 else str(rest)) + bare[9:]


def plate(number: int) -> str:
    return f"GW {100 + number % 900} {LETTERS[number // 900 % 23]}{LETTERS[number // 20_700 % 23]}"


def changed(text: str, pattern: str, to: str) -> str:
    """A text in which the first match is another; what does not match stays."""
    return re.sub(pattern, to, text, count=1, flags=re.MULTILINE)


FAULTS: list[Callable[[str], str]] = [
    lambda text: changed(text, r"torque: 10 Nm", "torque: 12 Nm"),
    lambda text: changed(text, r"torque: 45 Nm", "torque: 60 Nm"),
    lambda text: changed(text, r"renewed: yes", "renewed: no"),
    lambda text: changed(text, r"^  (used_oil|road_test):.*\n", ""),
    lambda text: changed(text, r"read: yes", "read: no"),
    lambda text: changed(text, r"acknowledged: yes", "acknowledged: no"),
    lambda text: changed(text, r"odometer: \d+ km", "odometer: 17 km"),
]


def jobs(number: int, seed: int = 1) -> Iterator[tuple[str, str]]:
    """So many jobs: the name of each, and its text."""
    chance = random.Random(seed)
    gearboxes, others = ([(JOBS / f"{name}.yaml").read_text() for name in names] for names in (GEARBOXES, OTHERS))
    vehicles = max(1, number // 5)
    for job in range(number):
        vehicle = chance.randrange(vehicles)
        text = chance.choice([gearboxes[vehicle % 2], *others])
        day = FIRST_DAY + timedelta(days=job * 100 // number)
        was = re.search(r"opened: \"?(\d{4}-\d\d-\d\d)", text)
        assert was is not None
        # All that was done is moved to the day of the job, in the time zone of the workshop.
        text = text.replace(was[1], day.isoformat())
        text = re.sub(r"(T\d\d:\d\d:\d\d)[+]0[12]:00", r"\1", text)
        name = f"K-{job + 10_000}"
        text = changed(text, r"^  number: .*", f"  number: {name}")
        text = changed(text, r"^  vin: .*", f"  vin: {vin(vehicle)}")
        text = changed(text, r"^  plate: .*", f"  plate: {plate(vehicle)}")
        odometer = 20_000 + vehicle % 1_000 * 50 + (day - FIRST_DAY).days * (20 + vehicle % 60)
        text = changed(text, r"odometer: .*", f"odometer: {odometer} km")
        if chance.random() < 0.2:
            text = chance.choice(FAULTS)(text)
        if chance.random() < 0.002:
            text = text[: len(text) // 2].rsplit("\n", 1)[0] + "\n  - [\n"
        yield f"jobs/{name}.yaml", text


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("number", type=int)
    words.add_argument("to", type=Path)
    words.add_argument("--files", action="store_true", help="a file for each job, in this folder")
    words.add_argument("--seed", type=int, default=1)
    given = words.parse_args()
    if given.files:
        given.to.mkdir(parents=True, exist_ok=True)
        for name, text in jobs(given.number, given.seed):
            (given.to / Path(name).name).write_text(text)
        return
    with given.to.open("w") as out:
        for name, text in jobs(given.number, given.seed):
            out.write(json.dumps({"form": "text/1", "name": name, "text": text}) + "\n")


if __name__ == "__main__":
    main()
