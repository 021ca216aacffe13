"""What the program found, as values. They mirror ``grammar/lines.schema.json``; members that are not known are left out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from enum import Enum
from typing import Any


class Verdict(Enum):
    """What a document comes to. Only ``CLEAR`` says that nothing was found and everything could be judged."""

    CLEAR = "clear"
    """Nothing counts against it."""
    NOTED = "noted"
    """No hold; an advice or a note, or an advice on the document itself."""
    STILL_TO_DO = "still to do"
    """No hold so far, and work on it is open."""
    HOLD = "hold"
    """Do not release the vehicle."""
    UNKNOWN = "unknown"
    """It could not be read, or something in it could not be used."""


@dataclass(frozen=True, slots=True)
class Place:
    """A stretch of a text. Lines and columns begin at 1."""

    source: str
    line: int
    column: int
    end_line: int
    end_column: int

    def __str__(self) -> str:
        return f"{self.source}:{self.line}:{self.column}"


@dataclass(frozen=True, slots=True)
class Diagnostic:
    """Something that is wrong with the document itself."""

    code: str
    level: str
    message: str
    help: str | None
    at: Place | None


@dataclass(frozen=True, slots=True)
class Finding:
    """A demand that the document breaks, or that cannot be decided on it."""

    rule: str
    title: str
    outcome: str
    severity: str
    standing: str
    message: str
    path: str
    at: Place | None
    found: str | None
    required: str | None
    off_by: str | None
    margin: Decimal | None
    unit: str | None
    missing: tuple[str, ...]
    remedy: str | None
    because: str | None
    basis: str | None

    @property
    def counts(self) -> bool:
        """Whether it counts: it is neither conceded nor known, nor still to do."""
        return self.standing == "counts"


@dataclass(frozen=True, slots=True)
class Count:
    """How often a rule came to each outcome in a document."""

    met: int
    broken: int
    undecided: int
    not_concerned: int


@dataclass(frozen=True, slots=True)
class Result:
    """One document, judged."""

    number: int
    """The number of its record among those that were sent, from 1. A text of several documents has a result for each."""
    name: str
    headline: str
    readable: bool
    standards: tuple[str, ...]
    findings: tuple[Finding, ...]
    diagnostics: tuple[Diagnostic, ...]
    counts: Mapping[str, Count]
    """For each rule that concerns something in the document."""
    document: Mapping[str, Any]
    """All of it, as the program wrote it."""

    @property
    def verdict(self) -> Verdict:
        """What it comes to, with errors before all else: what could not be used may be what would hold the vehicle."""
        if not self.readable or not self.counts or any(one.level == "error" for one in self.diagnostics):
            return Verdict.UNKNOWN
        counted = {finding.severity for finding in self.findings if finding.counts}
        if "hold" in counted:
            return Verdict.HOLD
        if any(finding.standing == "still_to_do" for finding in self.findings):
            return Verdict.STILL_TO_DO
        if counted or any(one.level == "advice" for one in self.diagnostics):
            return Verdict.NOTED
        return Verdict.CLEAR


@dataclass(frozen=True, slots=True)
class JobKey:
    """What tells of a job which others are on its vehicle, and which of them come before it."""

    number: str
    vehicles: tuple[str, ...]
    opened: str | None
    """In UTC; nothing where it cannot be read."""
    order: str

    @property
    def opened_ns(self) -> int | None:
        """The same in nanoseconds since 1970, to sort by."""
        if self.opened is None:
            return None
        whole, _, part = self.opened.removesuffix("Z").partition(".")
        seconds = (datetime.fromisoformat(whole) - datetime(1970, 1, 1)) // timedelta(seconds=1)
        return seconds * 1_000_000_000 + int(part.ljust(9, "0") or 0)


@dataclass(frozen=True, slots=True)
class Key:
    """Whose jobs a record holds."""

    number: int
    name: str
    jobs: tuple[JobKey, ...]
    unread: str | None
    """Why it cannot be read; nothing where it can."""


def key(number: int, line: Any) -> Key:
    """The key that a line holds."""
    jobs = (JobKey(job["number"], tuple(job["vehicles"]), job["opened"], job["order"]) for job in line["jobs"])
    return Key(number, line["name"], tuple(jobs), line["unread"])


def place(at: Any) -> Place | None:
    """A place; nothing where there is none."""
    if at is None:
        return None
    start, end = at["start"], at["end"]
    return Place(at["source"], start["line"], start["column"], end["line"], end["column"])


def _diagnostic(said: Any) -> Diagnostic:
    labels = said["labels"]
    at = place(labels[0]["at"]) if labels else None
    return Diagnostic(said["code"], said["level"], said["message"], said["help"], at)


def _finding(found: Any) -> Finding:
    margin = found["margin"]
    return Finding(
        rule=found["rule"],
        title=found["title"],
        outcome=found["outcome"],
        severity=found["severity"],
        standing=found["standing"],
        message=found["message"],
        path=found["path"],
        at=place(found["at"]),
        found=found["found"],
        required=found["required"],
        off_by=found["off_by"],
        margin=None if margin is None else Decimal(margin["value"]),
        unit=None if margin is None else margin["unit"],
        missing=tuple(found["missing"]),
        remedy=found["remedy"],
        because=found["because"],
        basis=found["basis"],
    )


def result(number: int, document: Any) -> Result:
    """The result that a line holds."""
    counts = {
        one["rule"]: Count(one["met"], one["broken"], one["undecided"], one["not_concerned"])
        for one in document["tallies"]
    }
    return Result(
        number=number,
        name=document["name"],
        headline=document["headline"],
        readable=document["readable"],
        standards=tuple(document["standards"]),
        findings=tuple(_finding(found) for found in document["findings"]),
        diagnostics=tuple(_diagnostic(said) for said in document["diagnostics"]),
        counts=counts,
        document=document,
    )
