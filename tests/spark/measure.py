"""What a record costs in Spark, against `witnessmark inspect` on the same records in files: the seconds of all processors together.

    measure.py FOLDER [FEWER MORE]

Runs each on FEWER and on MORE generated records; the difference is what a record costs without the start. Needs the packages of
`tests/spark/run`, with an optimized program in the environment that runs it.
"""

from __future__ import annotations

import ctypes
import json
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from types import MappingProxyType

from witnessmark import Record, find_program, keys

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(ROOT / "examples" / "spark"))

import generate  # noqa: E402

DAY = "2026-06-30"
SUBREAPER = 36
TICKS = os.sysconf("SC_CLK_TCK")


def below(of: int) -> dict[int, float]:
    """The seconds of processors that each process below one has taken so far."""
    told: dict[int, tuple[int, float]] = {}
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            fields = (folder / "stat").read_text().rpartition(")")[2].split()
        except OSError:
            continue
        told[int(folder.name)] = int(fields[1]), (int(fields[11]) + int(fields[12])) / TICKS
    found: dict[int, float] = {}
    parents = [of]
    while parents:
        parent = parents.pop()
        ours = {pid: took for pid, (own, took) in told.items() if own == parent}
        found.update(ours)
        parents += ours
    return found


def seconds(words: list[str], source: Path | None = None, environment: Mapping[str, str] = MappingProxyType({})) -> tuple[float, float]:
    """How long a command takes, and how long all processors do for it and for all that it starts, looked at five times a second:
    not all of them are waited for by those who have started them.
    """
    taken: dict[int, float] = {}
    others = below(os.getpid())
    begun = time.monotonic()
    with open(os.devnull if source is None else source, "rb") as given, open(os.devnull, "wb") as nothing:
        process = subprocess.Popen(words, stdin=given, stdout=nothing, stderr=nothing, env={**os.environ, **environment})
        while process.poll() is None:
            taken.update((pid, took) for pid, took in below(os.getpid()).items() if pid not in others)
            time.sleep(0.2)
    assert process.returncode in (0, 1, 2), (words, process.returncode)
    return time.monotonic() - begun, sum(taken.values())


def main() -> None:
    # What loses its parent is ours.
    ctypes.CDLL(None).prctl(SUBREAPER, 1, 0, 0, 0)
    work = Path(sys.argv[1]).resolve()
    numbers = [int(word) for word in sys.argv[2:4]] or [2_000, 22_000]
    shutil.rmtree(work, ignore_errors=True)
    work.mkdir(parents=True)
    workshop = work / "workshop"
    shutil.copytree(ROOT / "examples" / "grauwasser", workshop, ignore=shutil.ignore_patterns("jobs", "drafts"))
    settings = workshop / "workshop.yaml"
    text = settings.read_text().replace("  jobs: [jobs]\n", "")
    # A stream has no logbooks, so the folder is judged without them, too.
    settings.write_text(text.replace("  - logbooks\n", "").replace("  - several_jobs.standard\n", ""))
    program = str(find_program())
    common = [f"--settings={settings}", f"--as-of={DAY}"]
    found: dict[str, list[tuple[float, float]]] = {}
    for number in numbers:
        records = [Record(text, name) for name, text in generate.jobs(number)]
        folder = work / f"files-{number}"
        (folder / "jobs").mkdir(parents=True)
        for record in records:
            (folder / str(record.name)).write_text(record.text)
        told = list(keys(records, settings=settings))

        def order(at: int) -> tuple[str, int, str]:
            job = next(iter(told[at].jobs), None)
            return ("", 0, "") if job is None else (min(job.vehicles), job.opened_ns or 0, job.order)

        table, stream = work / f"{number}.jsonl", work / f"{number}.sorted.jsonl"
        lines = [json.dumps({"form": "text/1", "name": one.name, "text": one.text}) + "\n" for one in records]
        table.write_text("".join(lines))
        stream.write_text("".join(lines[at] for at in sorted(range(number), key=order)))
        out = work / f"out-{number}"
        job = [sys.executable, str(ROOT / "examples" / "spark" / "judge_archive.py"), str(table), str(out), "--parts", "8", *common]
        conf = "--master local[2] --driver-memory 2g --conf spark.ui.enabled=false --conf spark.sql.shuffle.partitions=4 pyspark-shell"
        local = {"SPARK_LOCAL_IP": "127.0.0.1", "PYSPARK_PYTHON": sys.executable, "PYSPARK_SUBMIT_ARGS": conf}
        measurements: dict[str, Callable[[], tuple[float, float]]] = {
            "inspect FOLDER": lambda: seconds([program, "inspect", str(folder), "--threads", "2", *common]),
            "inspect - --format lines": lambda: seconds([program, "inspect", "-", "--format", "lines", "--threads", "2", *common], stream),
            "keys -": lambda: seconds([program, "keys", "-", common[0]], table),
            "Spark": lambda: seconds(job, environment=local),
        }
        for name, measured in measurements.items():
            found.setdefault(name, []).append(measured())
            print(f"{number} records, {name}: {found[name][-1][0]:.1f} s, of all processors {found[name][-1][1]:.1f} s", flush=True)
        assert (out / "rules" / "_SUCCESS").exists(), "the job has failed"
    fewer, more = numbers
    plain = 0.0
    for name, ((_, first), (_, second)) in found.items():
        each = (second - first) / (more - fewer) * 1_000
        plain = plain or each
        print(f"{name}: {each:.3f} ms for each record, {each / plain:.2f} times that of `inspect FOLDER`")


if __name__ == "__main__":
    main()
