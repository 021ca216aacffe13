"""The example for Spark against one machine: the same documents, byte for byte, also where a worker is killed. Run by
`tests/spark/run`, which says where the examples are and where there is room.
"""

from __future__ import annotations

import json
import os
import shutil
import signal
import sys
import threading
import time
import unittest
from collections import Counter
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

from pyspark.sql import SparkSession

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(ROOT / "examples" / "spark"))

import generate  # noqa: E402
import judge_archive  # noqa: E402

from witnessmark import Record, keys, lines  # noqa: E402

WORK = Path(sys.argv.pop(1) if len(sys.argv) > 1 else "/tmp/spark-tests").resolve()
DAY = "2026-06-30"
JOBS = int(os.environ.get("WITNESSMARK_JOBS", "300"))


def settings() -> Path:
    """The settings of the examples without their jobs, which are no history of the generated ones."""
    folder = WORK / "workshop"
    shutil.copytree(ROOT / "examples" / "grauwasser", folder, ignore=shutil.ignore_patterns("jobs", "drafts"))
    file = folder / "workshop.yaml"
    file.write_text(file.read_text().replace("  jobs: [jobs]\n", ""))
    return file


def archive() -> Iterator[tuple[str, str]]:
    """Generated jobs in no order, with some that have no vehicle, no text or several documents."""
    made = list(generate.jobs(JOBS))
    yield from made[::2]
    text = made[0][1]
    # A plate that goes from one vehicle to the other ties them: the second has no VIN, the third another plate.
    plate, vin = "  plate: GW 1 TIE", "  vin: AZ1LR48K4MG204117"
    for name, day, vehicle in [
        ("tie/1", "2026-04-01", vin), ("tie/2", "2026-04-02", plate), ("tie/3", "2026-04-03", f"{vin}\n{plate}"),
        ("tie/4", "2026-04-04", "  plate: GW 2 TIE\n" + vin), ("tie/5", "2026-04-05", "  plate: GW 2 TIE"),
    ]:
        tied = generate.changed(generate.changed(text, r"^  plate: .*\n", ""), r"^  vin: .*", vehicle)
        yield name, tied.replace(generate.FIRST_DAY.isoformat(), day).replace("K-10000", name)
    yield "odd/no vehicle", "form: job/1\njob: {number: 1}\n"
    yield "odd/nothing", ""
    yield "odd/no yaml", "form: [\n"
    yield "odd/two", made[1][1] + "---\n" + made[2][1]
    yield from made[1::2]


def of_one_machine(file: Path) -> tuple[list[str], dict[str, list[int]]]:
    """What one process says of the records, which are sorted first: each document as JSON, and the counts of the rules."""
    records = [Record(text, name) for name, text in archive()]
    # Vehicles are tied here without Spark: by putting names together one after the other.
    group: dict[str, set[str]] = {}
    told = list(keys(records, settings=file))
    for one in told:
        names = {name for job in one.jobs for name in job.vehicles}
        whole = names.union(*(group.get(name, set()) for name in names))
        group.update({name: whole for name in whole})

    def place(at: int) -> tuple[str, int, str, str]:
        jobs = told[at].jobs
        vehicles = [name for job in jobs for name in job.vehicles]
        first = min(((job.opened_ns or 0, job.order) for job in jobs), default=(0, ""))
        return (min(group[vehicles[0]]) if vehicles else "", *first, records[at].name or "")

    order = sorted(range(len(records)), key=place)
    documents, rules = [], {}
    for line in lines((records[at] for at in order), settings=file, as_of=date.fromisoformat(DAY)):
        if line["line"] == "document":
            documents.append(json.dumps(line["document"], ensure_ascii=False, separators=(",", ":")))
        elif line["line"] == "end":
            for rule in line["summary"]["rules"]:
                rules[rule["rule"]] = [rule[name] for name in ("met", "broken", "undecided", "not_concerned")]
    return sorted(documents), rules


def children(of: int) -> list[int]:
    """The processes below one, by what the system says of each."""
    parents = {}
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            parents[int(folder.name)] = int((folder / "stat").read_text().rpartition(")")[2].split()[1])
        except (OSError, IndexError):
            continue
    found, open_ = [], [of]
    while open_:
        of = open_.pop()
        below = [pid for pid, parent in parents.items() if parent == of]
        found += below
        open_ += below
    return found


def command(pid: int) -> str:
    try:
        return Path(f"/proc/{pid}/cmdline").read_bytes().replace(b"\0", b" ").decode(errors="replace")
    except OSError:
        return ""


class Killer(threading.Thread):
    """Kills one worker of this process, its own descendant, as soon as records are judged."""

    def __init__(self) -> None:
        super().__init__(daemon=True)
        self.killed: str | None = None
        self.wanted = True

    def run(self) -> None:
        while self.wanted and self.killed is None:
            below = {pid: command(pid) for pid in children(os.getpid())}
            workers = [pid for pid, words in below.items() if "CoarseGrainedExecutorBackend" in words]
            for worker in workers:
                if any("witnessmark inspect" in below.get(pid, "") for pid in children(worker)):
                    time.sleep(0.5)
                    os.kill(worker, signal.SIGKILL)
                    self.killed = below[worker]
                    break
            time.sleep(0.1)


class Job(unittest.TestCase):
    spark: SparkSession
    file: Path
    documents: list[str]
    rules: dict[str, list[int]]

    @classmethod
    def setUpClass(cls) -> None:
        shutil.rmtree(WORK, ignore_errors=True)
        WORK.mkdir(parents=True)
        # All of it talks to this machine alone.
        os.environ.update(PYSPARK_PYTHON=sys.executable, SPARK_LOCAL_IP="127.0.0.1")
        cls.file = settings()
        builder = SparkSession.builder.master("local-cluster[2,1,1024]").appName("tests")
        for name, value in {
            "spark.log.level": "ERROR",
            "spark.ui.showConsoleProgress": "false",
            "spark.ui.enabled": "false",
            "spark.driver.bindAddress": "127.0.0.1",
            "spark.driver.host": "127.0.0.1",
            "spark.sql.shuffle.partitions": "2",
            "spark.local.dir": str(WORK / "local"),
            "spark.executorEnv.PYTHONPATH": str(ROOT / "examples" / "spark"),
            "spark.executorEnv.PYTHONDONTWRITEBYTECODE": "1",
        }.items():
            builder = builder.config(name, value)
        cls.spark = builder.getOrCreate()
        cls.documents, cls.rules = of_one_machine(cls.file)

    @classmethod
    def tearDownClass(cls) -> None:
        cls.spark.stop()

    def judged(self, source: Path, out: str) -> Any:
        judge_archive.run(self.spark, str(source), str(WORK / out), str(self.file), DAY, 6)
        return self.spark.read.parquet(str(WORK / out / "judged"))

    def test_two_workers_of_which_one_is_killed_find_what_one_machine_finds(self) -> None:
        source = WORK / "archive.jsonl"
        with source.open("w") as out:
            for name, text in archive():
                out.write(json.dumps({"form": "text/1", "name": name, "text": text}) + "\n")
        killer = Killer()
        killer.start()
        judged = self.judged(source, "killed")
        killer.wanted = False
        self.assertIsNotNone(killer.killed, "nothing was killed, so that this test shows nothing")
        found = [row.json for row in judged.where("kind = 'document'").collect()]
        different = [(one, other) for one, other in zip(sorted(found), self.documents) if one != other]
        self.assertEqual(different[:1], [])
        self.assertEqual(len(found), JOBS + 5 + 3 + 2)
        rules = {row.rule: [row.met, row.broken, row.undecided, row.not_concerned] for row in self.spark.read.parquet(str(WORK / "killed" / "rules")).collect()}
        merged = {rule: counts for rule, counts in rules.items() if any(counts)}
        self.assertEqual(merged, {rule: counts for rule, counts in self.rules.items() if any(counts)})
        findings = Counter(row.rule for row in self.spark.read.parquet(str(WORK / "killed" / "findings")).select("rule").collect())
        wanted = Counter(one["rule"] for document in self.documents for one in json.loads(document)["findings"])
        self.assertEqual(findings, wanted)
        self.assertTrue(any("vehicle_history" in rule for rule in wanted), wanted)

    def test_a_folder_is_an_archive_too(self) -> None:
        folder = WORK / "folder"
        folder.mkdir()
        for name, text in generate.jobs(20):
            (folder / Path(name).name).write_text(text)
        (folder / "no text.yaml").write_bytes(b"form: job/1\nx: \xff\n")
        judged = self.judged(folder, "of_folder").where("kind = 'document'").collect()
        self.assertEqual(len(judged), 21)
        unread = [row for row in judged if row.name.endswith("no%20text.yaml") or row.name.endswith("no text.yaml")]
        self.assertEqual([(row.readable, row.errors) for row in unread], [(False, 1)])

    def test_errors_of_the_settings_fail_the_job(self) -> None:
        source = WORK / "few.jsonl"
        source.write_text(json.dumps({"form": "text/1", "name": "a", "text": "form: job/1\n"}) + "\n")
        broken = WORK / "broken.yaml"
        broken.write_text("form: workshop/1\nworkshop: [\n")
        with self.assertRaisesRegex(Exception, "Failed"):
            judge_archive.run(self.spark, str(source), str(WORK / "failed"), str(broken), DAY, 2)
        self.assertFalse((WORK / "failed" / "judged" / "_SUCCESS").exists())


if __name__ == "__main__":
    unittest.main(verbosity=1)
