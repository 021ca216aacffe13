"""Records into the program, results out of it, one by one."""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from ._program import Failed, Incomplete, run
from ._result import Key, Result, key, result

FORM = "lines/1"
ENDINGS = (".yaml", ".yml")


@dataclass(frozen=True, slots=True)
class Record:
    """The text of a record, as it is in a file, and the name that its result is to have."""

    text: str
    name: str | None = None


def records_in(folder: str | os.PathLike[str]) -> Iterator[Record]:
    """The records in the files of a folder and those below it, in the order of their names.

    A byte that is no text goes to the program as such, which says so in the result. Who sent a folder can put anything into it:
    links are not followed, and where there is one, or a pipe, that could be a record, ``Failed`` is raised.
    """
    for path in sorted(Path(folder).rglob("*")):
        is_named_so = path.suffix.lower() in ENDINGS
        if path.is_symlink() and (is_named_so or path.is_dir()):
            raise Failed(f"`{path}` is a link, which is not followed; take it away, or name what it leads to")
        if not is_named_so or path.is_dir():
            continue
        if not path.is_file():
            raise Failed(f"`{path}` is no ordinary file; take it away")
        yield Record(path.read_bytes().decode(errors="surrogateescape"), path.as_posix())


def _sent(record: Record | str | Mapping[str, Any]) -> bytes:
    """A record as a line of the stream. A mapping is a record with its fields, a text is read as a file is."""
    if isinstance(record, str):
        record = Record(record)
    if isinstance(record, Record):
        packed: dict[str, str] = {"form": "text/1", "text": record.text}
        if record.name is not None:
            packed["name"] = record.name
        record = packed
    # Without letters outside ASCII a byte that is no text stays one.
    return json.dumps(record, ensure_ascii=True, allow_nan=False).encode() + b"\n"


def _arguments(
    settings: str | os.PathLike[str] | None,
    standards: Sequence[str],
    as_of: date | None,
    window: int | None,
    options: Sequence[str],
) -> list[str]:
    arguments = ["inspect", "-", "--format", "lines"]
    if settings is not None:
        arguments.append(f"--settings={os.fspath(settings)}")
    for standard in standards:
        arguments.append(f"--standard={standard}")
    if as_of is not None:
        arguments.append(f"--as-of={as_of.isoformat()}")
    if window is not None:
        arguments.append(f"--window={window}")
    return [*arguments, *options]


class _Sent:
    """Counts the records that are sent."""

    def __init__(self, records: Iterable[Record | str | Mapping[str, Any]]) -> None:
        self.records = records
        self.number = 0

    def __iter__(self) -> Iterator[bytes]:
        for record in self.records:
            self.number += 1
            yield _sent(record)


def lines(
    records: Iterable[Record | str | Mapping[str, Any]],
    *,
    settings: str | os.PathLike[str] | None = None,
    standards: Sequence[str] = (),
    as_of: date | None = None,
    window: int | None = None,
    options: Sequence[str] = (),
) -> Iterator[dict[str, Any]]:
    """Every line that the program writes, as it is described by ``grammar/lines.schema.json``: the first says by what is judged,
    the last what it all came to. The arguments are those of :func:`judge`.
    """
    sent = _Sent(records)
    arguments = _arguments(settings, standards, as_of, window, options)
    last: dict[str, Any] = {}
    number = 0
    for text in run(arguments, sent):
        last = json.loads(text)
        if last.get("form") != FORM:
            raise Incomplete(f"the program writes the form {last.get('form')}, and this package reads {FORM}")
        if last["line"] == "document":
            at = last["stream"]["number"]
            if at not in (number, number + 1):
                raise Incomplete(f"the result of record {at} came after that of record {number}")
            number = at
        yield last
    if last.get("line") != "end":
        raise Incomplete(f"the program ended after record {number} without saying what it all came to")
    if number != sent.number and not _judged_nothing(last):
        raise Incomplete(f"{sent.number} records were sent, and the last result is that of record {number}")


def _judged_nothing(end: Mapping[str, Any]) -> bool:
    """Whether rules or settings have errors, so that no record was read."""
    return bool(end["summary"]["documents"] == 0 and end["summary"]["rule_errors"] > 0)


def keys(
    records: Iterable[Record | str | Mapping[str, Any]], *, settings: str | os.PathLike[str] | None = None
) -> Iterator[Key]:
    """For each record whose jobs it holds, in the order of the records; nothing is judged.

    Records whose jobs have a name of a vehicle in common belong in one stream, in the order of ``opened``, then of ``order``:
    :func:`judge` then knows the earlier jobs of each.
    """
    sent = _Sent(records)
    number = 0
    where = ["--without-settings"] if settings is None else [f"--settings={os.fspath(settings)}"]
    for text in run(["keys", "-", *where], sent):
        line = json.loads(text)
        if line.get("form") != FORM or line["line"] != "key" or line["stream"]["number"] != number + 1:
            raise Incomplete(f"after the key of record {number} comes another line than that of the next record")
        number += 1
        yield key(number, line)
    if number != sent.number:
        raise Incomplete(f"{sent.number} records were sent, and the last key is that of record {number}")


def judge(
    records: Iterable[Record | str | Mapping[str, Any]],
    *,
    settings: str | os.PathLike[str] | None = None,
    standards: Sequence[str] = (),
    as_of: date | None = None,
    window: int | None = None,
    options: Sequence[str] = (),
) -> Iterator[Result]:
    """A result for each document, in the order of the records, each as soon as it is judged.

    ``records`` are texts as they are in files, with or without a name (:class:`Record`), or mappings with the fields of a
    record. They are taken while results are read, in another thread. ``settings`` is the workshop's settings, by which alone
    is judged then; ``standards`` names standards or rule files in their place, ``as_of`` the day of the run, ``window`` how
    many jobs before a record count as earlier ones on its vehicle, and ``options`` any others of ``witnessmark inspect``.

    Raises :class:`Failed` where settings or rules have errors, :class:`Incomplete` where results are missing, and whatever the
    records raise. A record that cannot be read is no reason to stop: its result says so.
    """
    options = [*options, *(["--without-settings"] if settings is None and "--without-settings" not in options else [])]
    for line in lines(
        records, settings=settings, standards=standards, as_of=as_of, window=window, options=options
    ):
        if line["line"] == "begin":
            errors = [said["message"] for said in line["diagnostics"] if said["level"] == "error"]
            if errors:
                raise Failed("; ".join(errors))
        elif line["line"] == "document":
            yield result(line["stream"]["number"], line["document"])
