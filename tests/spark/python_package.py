"""The Python package as its users have it: an installed wheel and nothing else. Run by `tests/spark/run`."""

from __future__ import annotations

import json
import os
import pickle
import subprocess
import sys
import unittest
import unittest.mock
from collections.abc import Iterator, Mapping
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

import witnessmark
from witnessmark import Failed, Incomplete, Record, Verdict, judge, keys, lines, records_in

EXAMPLES = Path(sys.argv.pop(1) if len(sys.argv) > 1 else "examples").resolve() / "grauwasser"
SETTINGS = EXAMPLES / "workshop.yaml"
DAY = date(2026, 6, 30)

CLOSED = """form: job/1
job: {number: K-1, opened: "2026-03-02T08:15:00+01:00", state: closed}
vehicle: {}
unit: {kind: engine}
"""
PLUGS = """standard plugs edition 1 "Plugs"
judges job
rule torque "Plugs are tightened"
  concerns  each f in fastenings where f.role is "drain plug", at least 1
  demands   f.torque within 45 Nm ± 10 %
  otherwise hold "Plug: {f.torque} recorded."
  basis     "common practice"
"""


def job(torque: int, number: str = "K-1") -> str:
    return CLOSED.replace("K-1", number) + f"fastenings:\n  - {{role: drain plug, place: A, torque: {torque} Nm}}\n"


class Package(unittest.TestCase):
    def setUp(self) -> None:
        folder = TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = Path(folder.name)
        self.rules = self.folder / "plugs.standard"
        self.rules.write_text(PLUGS)

    def judged(self, *records: Record | str | Mapping[str, object]) -> list[witnessmark.Result]:
        return list(judge(records, standards=[str(self.rules)], as_of=DAY))

    def test_the_program_is_that_of_the_wheel(self) -> None:
        self.assertEqual(witnessmark.find_program().parent, Path(sys.executable).parent)
        self.assertIn("site-packages", witnessmark.__file__ or "")

    def test_the_examples_come_to_what_inspect_says_of_them(self) -> None:
        results = list(judge(records_in(EXAMPLES / "jobs"), settings=SETTINGS, as_of=DAY))
        program = os.fspath(witnessmark.find_program())
        words = ["inspect", "jobs", "--settings", "workshop.yaml", "--as-of", DAY.isoformat(), "--format", "json"]
        ran = subprocess.run([program, *words], cwd=EXAMPLES, capture_output=True, check=False)
        # A stream has no logbooks.
        documents = {document["name"]: document for document in json.loads(ran.stdout)["documents"] if not document["name"].startswith("logbook of ")}
        self.assertGreater(len(results), 30)
        self.assertEqual(len(results), len(documents))
        for result in results:
            name = "jobs/" + result.name.rsplit("/", 1)[1]
            if "logged" not in name:  # A log in a file of its own is not read in a stream.
                found = [(one["rule"], one["message"]) for one in documents[name]["findings"]]
                self.assertEqual([(one.rule, one.message) for one in result.findings], found, name)
        tight = next(result for result in results if "sump-screw-too-tight" in result.name)
        finding = next(one for one in tight.findings if one.rule == "fastenings.torque_reached")
        self.assertEqual((tight.verdict, finding.found, str(finding.margin), finding.unit), (Verdict.HOLD, "12 Nm", "-1", "Nm"))
        self.assertEqual(finding.at and finding.at.line, 58)

    def test_texts_and_mappings_are_records(self) -> None:
        good = {"form": "job/1", "job": {"number": "K-1", "opened": "2026-03-02T08:15:00+01:00", "state": "closed"},
                "vehicle": {}, "unit": {"kind": "engine"}, "fastenings": [{"role": "drain plug", "torque": "45 Nm"}]}
        results = self.judged(good, job(60), Record(job(45) + "---\n" + job(60, "K-2"), "two"))
        self.assertEqual([one.number for one in results], [1, 2, 3, 3])
        wanted = [Verdict.CLEAR, Verdict.HOLD, Verdict.CLEAR, Verdict.HOLD]
        self.assertEqual([one.verdict for one in results], wanted)
        self.assertEqual(results[3].name, "two (document 2)")
        self.assertEqual(results[0].counts["plugs.torque"].met, 1)
        self.assertEqual(pickle.loads(pickle.dumps(results[1])), results[1])

    def test_what_cannot_be_read_is_never_clear(self) -> None:
        (self.folder / "a.yaml").write_bytes(b"form: job/1\nx: \xff\n")
        (self.folder / "b.yml").write_text("form: job/1\njob: [\n")
        (self.folder / "c.yaml").write_text("")
        (self.folder / "d.yaml").write_text("form: tools/1\n")
        results = self.judged(*records_in(self.folder), Record("x: 1\n---\n---\n"))
        self.assertEqual([Path(one.name).name for one in results[:4]], ["a.yaml", "b.yml", "c.yaml", "d.yaml"])
        self.assertTrue(all(one.verdict is Verdict.UNKNOWN for one in results), results)
        self.assertGreater(len(results), 4)

    def test_links_and_pipes_in_a_folder_are_refused(self) -> None:
        outside = self.folder / "outside"
        outside.mkdir()
        (outside / "secret.yaml").write_text("password: x\n")
        for name, make in (
            ("K.yaml", lambda path: path.symlink_to(outside / "secret.yaml")),
            ("K.yml", lambda path: path.symlink_to("/nowhere")),
            ("more", lambda path: path.symlink_to(outside)),
            ("P.yaml", os.mkfifo),
        ):
            jobs = self.folder / f"jobs-{name}"
            jobs.mkdir()
            make(jobs / name)
            with self.assertRaisesRegex(Failed, name):
                list(records_in(jobs))

    def test_results_come_while_records_are_sent(self) -> None:
        heard: list[int] = []

        def records() -> Iterator[str]:
            for number in range(1, 2_000):
                # The pipes and the program hold a bounded number of records.
                if number > 1_500:
                    self.assertGreater(len(heard), 1)
                yield job(45) + "# so long\n" * 500

        for result in judge(records(), standards=[str(self.rules)], as_of=DAY, window=0):
            heard.append(result.number)
        self.assertEqual(heard, list(range(1, 2_000)))

    def test_what_records_raise_is_raised(self) -> None:
        def records() -> Iterator[str]:
            yield job(45)
            raise KeyError("no such table")

        with self.assertRaisesRegex(KeyError, "no such table"):
            list(judge(records(), standards=[str(self.rules)]))
        with self.assertRaises(ValueError):
            self.judged({"form": "job/1", "job": float("nan")})

    def test_errors_of_rules_and_settings_are_raised(self) -> None:
        with self.assertRaisesRegex(Failed, "no standard `none`"):
            list(judge([job(45)], standards=["none"]))
        with self.assertRaisesRegex(Failed, "nowhere.yaml"):
            list(judge([job(45)], settings=self.folder / "nowhere.yaml"))
        with self.assertRaisesRegex(Failed, "window"):
            list(judge([job(45)], window=-1))

    def test_keys_tell_vehicles_and_times(self) -> None:
        text = CLOSED.replace("vehicle: {}", "vehicle: {plate: GW 1, vin: ABC}")
        told = list(keys([Record(text, "a"), "form: [\n", Record(text + "---\n" + text, "b")]))
        self.assertEqual([len(one.jobs) for one in told], [1, 0, 2])
        job = told[0].jobs[0]
        self.assertEqual((told[0].name, job.vehicles, job.opened), ("a", ("vin ABC", "plate GW1"), "2026-03-02T07:15:00Z"))
        self.assertEqual(job.opened_ns, 1_772_435_700_000_000_000)

    def test_nothing_is_nothing_and_whoever_has_enough_can_stop(self) -> None:
        self.assertEqual(self.judged(), [])
        results = judge((job(45) for _ in range(10_000)), standards=[str(self.rules)])
        self.assertEqual(next(results).number, 1)
        results.close()  # type: ignore[attr-defined]

    def test_a_program_that_is_ended_is_no_result(self) -> None:
        program = self.folder / "witnessmark"
        begin = '{"form":"lines/1","line":"begin","diagnostics":[]}'
        for body, error in [
            (f"echo '{begin}'; cat >/dev/null", "without saying what it all came to"),
            (f"echo '{begin}'; cat >/dev/null; kill -9 $$", "exit code -9"),
            ("echo '{\"form\":\"lines/2\"}'; cat >/dev/null", "writes the form lines/2"),
            (f"echo '{begin}'; cat >/dev/null; echo '{{\"form\":\"lines/1\",\"line\":\"end\",\"summary\":{{\"documents\":0,\"rule_errors\":0}}}}'",
             "1 records were sent"),
        ]:
            program.write_text(f"#!/bin/sh\n{body}\n")
            program.chmod(0o755)
            with self.subTest(error), unittest.mock.patch("witnessmark._program.find_program", lambda: program):
                with self.assertRaisesRegex(Incomplete, error):
                    list(lines([job(45)]))


if __name__ == "__main__":
    unittest.main(verbosity=1)
