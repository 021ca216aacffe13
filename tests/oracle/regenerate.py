"""Writes `answers.txt`: what two public libraries answer to seeded questions about seeded signals.

Usage: pip install rtamt==0.4.10 mstlo-python==0.2.2 && python3 tests/oracle/regenerate.py

Traces and questions are made from whole numbers by the generator below, which `mod.rs` has a second time, so
only the answers are kept. Nothing lies on an edge, where the libraries differ from each other: samples stand at
multiples of four seconds, a window begins one second behind such a multiple and ends three behind one, so no end of a
window falls on a sample. Values are multiples of three up to 24 and limits are not, so no margin is zero at a sample;
the time between two samples is a power of two, so no straight line meets a limit at an end of a window. Where a line
meets one is a fraction whose denominator holds the factor five once at most; a duration ends in a hundredth of
a second, so no stretch lasts exactly the duration.

How a question reads as a formula of the libraries, over a window from `a` to `b`, asked at the instant `a`:

    throughout P          always[0, b - a] P
    at some moment P      eventually[0, b - a] P
    held for d, P         eventually[0, b - a - d] always[0, d] P
    P until Q             P until[0, b - a] Q      (P up to the instant of Q, itself included)

For each trace a line: the margins by rtamt (BSD-3), which holds the previous value, of the four questions, then by
mstlo (ICAPL or GPL-3; nothing of it is kept here but its answers) the truths of the same four on straight
lines. The script stops where mstlo, holding values, answers another margin than rtamt. Left out, because the libraries
cannot express them or mean something else: margins on straight lines (neither interpolates them), windows that
reach past the samples (rtamt cuts them short), gaps, rates, margins in time, and everything on an edge.
"""

import importlib.metadata
import pathlib

import mstlo_python
import rtamt

SEED = 20261128
TRACES = 4000
LAST = 128
MASK = (1 << 64) - 1


class Generator:
    """splitmix64 (Steele, Lea and Flood 2014; the constants from memory)."""

    def __init__(self, seed):
        self.state = seed

    def below(self, limit):
        self.state = (self.state + 0x9E3779B97F4A7C15) & MASK
        z = self.state
        z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & MASK
        z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & MASK
        return (z ^ (z >> 31)) % limit

    def trace(self, first_step):
        """Samples as (second, value)."""
        samples = [(0, self.value())]
        step = first_step
        while samples[-1][0] < LAST:
            samples.append((samples[-1][0] + step, self.value()))
            step = 8 << self.below(3)
        return samples

    def value(self):
        return 3 * (self.below(17) - 8)

    def formula(self, depth):
        """A comparison ("x", ">=", limit), or ("not", P), or ("and" | "or", P, Q)."""
        kind = self.below(10)
        if depth == 0 or kind < 3:
            signal = ("x", "y")[self.below(2)]
            relation = (">=", ">", "<=", "<")[self.below(4)]
            return signal, relation, 3 * (self.below(15) - 7) + 1
        if kind == 3:
            return "not", self.formula(depth - 1)
        operator = "and" if kind < 7 else "or"
        first = self.formula(depth - 1)
        return operator, first, self.formula(depth - 1)


def written(formula, words):
    """The formula as a library reads it; `words` are its `not`, `and` and `or`."""
    if formula[0] in ("x", "y"):
        return "(%s %s %d)" % formula
    if formula[0] == "not":
        return "(%s%s)" % (words["not"], written(formula[1], words))
    return "(%s %s %s)" % (written(formula[1], words), words[formula[0]], written(formula[2], words))


def by_rtamt(formula, x, y, a):
    specification = rtamt.StlDenseTimeSpecification()
    specification.declare_var("x", "float")
    specification.declare_var("y", "float")
    specification.spec = formula
    specification.parse()
    steps = specification.evaluate(["x", [list(s) for s in x]], ["y", [list(s) for s in y]])
    # The answer is a function of time that keeps its value from one of its instants to the next.
    margin = [value for time, value in steps if time <= a][-1]
    assert margin == int(margin) != 0, margin
    return int(margin)


def by_mstlo(formula, x, y, a, semantics, interpolation):
    parsed = mstlo_python.parse_formula("G[%d, %d](%s)" % (a, a, formula))
    monitor = mstlo_python.Monitor(parsed, semantics=semantics, signal_interpolation=interpolation)
    steps = sorted([(t, "x", v) for t, v in x] + [(t, "y", v) for t, v in y])
    output = monitor.update_batch([(name, float(v), float(t)) for t, name, v in steps])
    return dict(output.verdicts())[0.0]


def case(generator):
    x, y = generator.trace(8), generator.trace(4)
    first, second = generator.formula(2), generator.formula(2)
    a = 4 * generator.below(16) + 1
    width = 4 * generator.below(16) + 6
    hundredths = 400 * generator.below((width - 2) // 4) + 201
    held, rest = "%.2f" % (hundredths / 100), "%.2f" % (width - hundredths / 100)
    words = {"not": "not ", "and": "and", "or": "or"}
    p, q = written(first, words), written(second, words)
    margins = [
        by_rtamt(text, x, y, a)
        for text in (
            "always[0,%d]%s" % (width, p),
            "eventually[0,%d]%s" % (width, p),
            "eventually[0,%s](always[0,%s]%s)" % (rest, held, p),
            "%s until[0,%d] %s" % (p, width, q),
        )
    ]
    words = {"not": "!", "and": "&&", "or": "||"}
    p, q = written(first, words), written(second, words)
    texts = (
        "G[0,%d](%s)" % (width, p),
        "F[0,%d](%s)" % (width, p),
        "F[0,%s](G[0,%s](%s))" % (rest, held, p),
        "%s U[0,%d] %s" % (p, width, q),
    )
    second_opinion = [by_mstlo(text, x, y, a, "DelayedQuantitative", "ZeroOrderHold") for text in texts]
    if second_opinion != margins:
        raise SystemExit("rtamt: %s, mstlo: %s\n%s\n%s\n%s" % (margins, second_opinion, texts, x, y))
    truths = [by_mstlo(text, x, y, a, "DelayedQualitative", "Linear") for text in texts]
    return margins, truths


def main():
    versions = ["%s %s" % (name, importlib.metadata.version(name)) for name in ("rtamt", "mstlo-python")]
    lines = [
        "# Written by tests/oracle/regenerate.py, which says what it means. " + ", ".join(versions) + ".",
        "seed %d traces %d" % (SEED, TRACES),
    ]
    generator = Generator(SEED)
    for _ in range(TRACES):
        margins, truths = case(generator)
        lines.append(" ".join(map(str, margins)) + " " + "".join("ny"[truth] for truth in truths))
    path = pathlib.Path(__file__).with_name("answers.txt")
    path.write_text("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
