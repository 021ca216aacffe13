"""Judges service records with the program ``witnessmark``, which this package carries.

    from witnessmark import judge, records_in

    for result in judge(records_in("jobs"), settings="workshop.yaml"):
        print(result.name, result.verdict)

Records go to the program one by one and results come back in the same order, so neither end needs the memory of all of them.
"""

from ._program import Failed, Incomplete, find_program
from ._stream import Record, judge, keys, lines, records_in
from ._result import Count, Diagnostic, Finding, JobKey, Key, Place, Result, Verdict

__all__ = [
    "Count",
    "Diagnostic",
    "Failed",
    "Finding",
    "Incomplete",
    "JobKey",
    "Key",
    "Place",
    "Record",
    "Result",
    "Verdict",
    "find_program",
    "judge",
    "keys",
    "lines",
    "records_in",
]
