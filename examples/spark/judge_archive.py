"""Judges an archive of jobs with Spark: as many machines as there are, and the same findings as one machine has.

    spark-submit judge_archive.py ARCHIVE OUT --settings workshop.yaml --as-of 2026-06-30

ARCHIVE is a folder of records, a file of JSON Lines or a Parquet table; the last two have the columns `name` and `text`. OUT gets
Parquet tables: `judged` (a row for each document, with what was found in it as a column and as JSON), `findings` (a row for each
finding) and `rules` (how often each rule was met, broken, undecided). The jobs of a vehicle stay together and are judged in the order of time, so that each knows those
before it. A task that dies is done again, from records that nobody has changed.

The program and its rules are in the package `witnessmark`, which each worker has; the settings and what they name lie at the same path on
each machine.
"""

from __future__ import annotations

import argparse
import json
from collections import deque
from collections.abc import Callable, Iterator
from datetime import date
from itertools import chain
from typing import Any

import pyarrow as pa
from pyspark import StorageLevel
from pyspark.sql import DataFrame, SparkSession
from pyspark.sql import functions as f

from witnessmark import Failed, Incomplete, Record, keys, lines

Batches = Iterator[pa.RecordBatch]

KEYED = pa.schema(
    [
        ("name", pa.string()),
        ("content", pa.binary()),
        ("vehicles", pa.list_(pa.string())),
        ("opened", pa.int64()),
        ("order", pa.string()),
    ]
)
FINDING = pa.struct(
    [(name, pa.string()) for name in ("rule", "severity", "outcome", "standing", "message", "path", "found", "required", "off_by")]
    + [("line", pa.int32())]
)
JUDGED = pa.schema(
    [
        ("kind", pa.string()),  # document, or sum: what a part of the archive came to
        ("name", pa.string()),
        ("headline", pa.string()),
        ("readable", pa.bool_()),
        ("errors", pa.int32()),
        ("findings", pa.list_(FINDING)),
        ("json", pa.string()),
    ]
)
KEYED_FOR_SPARK = "name string, content binary, vehicles array<string>, opened bigint, order string"
FINDING_FOR_SPARK = "struct<" + ", ".join(f"{field.name}: {'int' if field.name == 'line' else 'string'}" for field in FINDING) + ">"
JUDGED_FOR_SPARK = f"kind string, name string, headline string, readable boolean, errors int, findings array<{FINDING_FOR_SPARK}>, json string"
ROWS = 1_000


def read(spark: SparkSession, archive: str) -> DataFrame:
    """The records: the name of each, and its bytes."""
    if archive.endswith((".jsonl", ".json")):
        table = spark.read.schema("name string, text string").json(archive)
    elif archive.endswith(".parquet"):
        table = spark.read.parquet(archive)
    else:
        files = spark.read.format("binaryFile").option("pathGlobFilter", "*.{yaml,yml}")
        table = files.option("recursiveFileLookup", "true").load(archive)
        return table.select(f.col("path").alias("name"), "content")
    # A row without a text is a record that cannot be read, not one that is not there.
    content = f.coalesce(f.col("text").cast("binary"), f.lit(b""))
    unnamed = f.concat(f.lit("row "), f.sha2(content, 256).substr(1, 12))
    name = f.when(f.length("name") > 0, f.col("name")).otherwise(unnamed)
    return table.select(name.alias("name"), content.alias("content"))


def rows(batches: Batches) -> Iterator[tuple[str, bytes]]:
    for batch in batches:
        yield from zip(batch.column("name").to_pylist(), batch.column("content").to_pylist())


def record(name: str, content: bytes) -> Record:
    # A byte that is no text goes on as one, for the program to say so.
    return Record(content.decode(errors="surrogateescape"), name)


def batches_of(found: Iterator[dict[str, Any]], schema: pa.Schema) -> Batches:
    waiting: list[dict[str, Any]] = []
    for row in found:
        waiting.append(row)
        if len(waiting) == ROWS:
            yield pa.RecordBatch.from_pylist(waiting, schema)
            waiting = []
    if waiting:
        yield pa.RecordBatch.from_pylist(waiting, schema)


def key(settings: str) -> Callable[[Batches], Batches]:
    """Puts beside each record the names of its vehicle and when its first job was opened."""

    def found(batches: Batches) -> Iterator[dict[str, Any]]:
        sent: deque[tuple[str, bytes]] = deque()

        def records() -> Iterator[Record]:
            for name, content in rows(batches):
                sent.append((name, content))
                yield record(name, content)

        for told in keys(records(), settings=settings):
            name, content = sent.popleft()
            first = min((((job.opened_ns or 0), job.order) for job in told.jobs), default=(0, ""))
            vehicles = sorted({name for job in told.jobs for name in job.vehicles})
            yield {"name": name, "content": content, "vehicles": vehicles, "opened": first[0], "order": first[1]}

    return lambda batches: batches_of(found(batches), KEYED)


def judge(settings: str, as_of: str) -> Callable[[Batches], Batches]:
    """Judges the records of a part in their order."""

    def document(found: dict[str, Any]) -> dict[str, Any]:
        findings = [
            {**{name: one[name] for name in FINDING.names if name != "line"}, "line": (one["at"] or {"start": {"line": None}})["start"]["line"]}
            for one in found["findings"]
        ]
        return {
            "kind": "document",
            "name": found["name"],
            "headline": found["headline"],
            "readable": found["readable"],
            "errors": sum(one["level"] == "error" for one in found["diagnostics"]),
            "findings": findings,
            "json": json.dumps(found, ensure_ascii=False, separators=(",", ":")),
        }

    def found(batches: Batches) -> Iterator[dict[str, Any]]:
        sent = rows(batches)
        first = next(sent, None)
        if first is None:
            return
        records = (record(name, content) for name, content in chain([first], sent))
        day = date.fromisoformat(as_of)
        # A core each: Spark has as many parts as there are cores.
        for line in lines(records, settings=settings, as_of=day, options=["--threads", "1"]):
            if line["line"] == "begin":
                errors = [said["message"] for said in line["diagnostics"] if said["level"] == "error"]
                if errors:
                    raise Failed("; ".join(errors))
            elif line["line"] == "document":
                yield document(line["document"])
            else:
                yield {"kind": "sum", "findings": [], "json": json.dumps(line["summary"]["rules"])}

    return lambda batches: batches_of(found(batches), JUDGED)


def vehicles(keyed: DataFrame) -> DataFrame:
    """For each name of a vehicle that others are tied to by a record, the least of all names that it is tied to.

    Each round every name takes the least name of those beside it, and then the name that this one has taken.
    """
    tied = keyed.where(f.size("vehicles") > 1).select(f.col("vehicles")[0].alias("a"), f.explode("vehicles").alias("b"))
    ties = tied.select("a", "b").union(tied.select(f.col("b").alias("a"), f.col("a").alias("b"))).distinct().persist()
    names = ties.groupBy("a").agg(f.min("b").alias("to")).select(f.col("a").alias("name"), f.least("a", "to").alias("to")).persist()
    while True:
        beside = ties.join(names.select(f.col("name").alias("b"), "to"), "b").groupBy("a").agg(f.min("to").alias("beside"))
        nearer = names.join(beside.withColumnRenamed("a", "name"), "name").select("name", "to", f.least("to", "beside").alias("nearer"))
        further = names.select(f.col("name").alias("nearer"), f.col("to").alias("further"))
        after = nearer.join(further, "nearer").select("name", "to", f.least("nearer", "further").alias("next")).persist()
        is_settled = after.where("to <> next").isEmpty()
        names = after.select("name", f.col("next").alias("to"))
        if is_settled:
            return names


def run(spark: SparkSession, archive: str, out: str, settings: str, as_of: str, parts: int | None) -> None:
    """Judges an archive, and writes what was found."""
    parts = parts or spark.sparkContext.defaultParallelism * 4
    records = read(spark, archive)
    keyed = records.mapInArrow(key(settings), KEYED_FOR_SPARK).persist(StorageLevel.DISK_ONLY)
    tied = vehicles(keyed).select(f.col("name").alias("first"), f.col("to").alias("vehicle"))
    first = f.get("vehicles", f.lit(0))
    # A record without a vehicle has no history, and can be judged anywhere.
    alone = f.concat(f.lit("record "), f.col("name"))
    whose = keyed.withColumn("first", first).join(tied, "first", "left").withColumn("vehicle", f.coalesce("vehicle", "first", alone))
    parted = whose.repartition(parts, "vehicle").sortWithinPartitions("vehicle", "opened", "order", "name")
    judged = parted.select("name", "content").mapInArrow(judge(settings, as_of), JUDGED_FOR_SPARK)
    judged.write.partitionBy("kind").parquet(f"{out}/judged")

    written = spark.read.schema(JUDGED_FOR_SPARK).parquet(f"{out}/judged")
    documents = written.where("kind = 'document'")
    documents.select("name", f.explode("findings").alias("finding")).select("name", "finding.*").write.parquet(f"{out}/findings")
    rule = "array<struct<rule: string, met: bigint, broken: bigint, undecided: bigint, not_concerned: bigint>>"
    rules = written.where("kind = 'sum'").select(f.explode(f.from_json("json", rule)).alias("rule")).select("rule.*")
    rules.groupBy("rule").sum().toDF("rule", "met", "broken", "undecided", "not_concerned").write.parquet(f"{out}/rules")


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("archive", help="a folder of records, a file .jsonl or a table .parquet")
    words.add_argument("out", help="a folder that is not there yet")
    words.add_argument("--settings", required=True, help="the workshop's settings")
    words.add_argument("--as-of", required=True, type=date.fromisoformat, help="the day of the run")
    words.add_argument("--parts", type=int, help="how many parts the archive is judged in; without it, four for each core")
    given = words.parse_args()
    spark = SparkSession.builder.appName("witnessmark").getOrCreate()
    try:
        run(spark, given.archive, given.out, given.settings, given.as_of.isoformat(), given.parts)
    finally:
        spark.stop()


if __name__ == "__main__":
    main()
