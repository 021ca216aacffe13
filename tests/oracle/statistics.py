"""Writes statistics.json: questions to the methods of `src/base/statistics` with the answers of public libraries.

pip install scipy==1.17.1 statsmodels==0.15.0 pymannkendall==1.4.3, then python3 tests/oracle/statistics.py
"""

import json
import math
import random
from pathlib import Path

import numpy
import pymannkendall
import scipy
import statsmodels
from scipy import stats
from statsmodels.stats.contingency_tables import StratifiedTable
from statsmodels.stats.multitest import multipletests
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint

draw = random.Random(18)


def wilson():
    for of in [1, 2, 5, 10, 29, 263, 10000]:
        for count in sorted({0, 1, of // 3, of // 2, of - 1, of}):
            low, high = proportion_confint(count, of, 0.05, "wilson")
            yield {"count": count, "of": of, "low": float(low), "high": float(high)}


def newcombe():
    for _ in range(60):
        m, n = draw.choice([5, 12, 80, 900]), draw.choice([6, 20, 70, 1500])
        x, y = draw.randint(0, m), draw.randint(0, n)
        # The library gives the first less the second; ours is the second less the first.
        low, high = confint_proportions_2indep(y, n, x, m, method="newcomb", compare="diff")
        yield {"first": [x, m], "second": [y, n], "low": float(low), "high": float(high)}


def series(n, levels, slope):
    return [round(slope * at + draw.randint(0, levels) / 4, 4) for at in range(n)]


def trends():
    for n in [3, 4, 10, 24, 60]:
        for levels in [1, 6, 400]:
            for slope in [0.0, 0.05, -0.4]:
                values = series(n, levels, slope)
                if len(set(values)) == 1:
                    continue
                found = pymannkendall.original_test(values)
                times = sorted(draw.sample(range(3 * n), n))
                low = stats.theilslopes(values, times, 0.95)
                yield {
                    "values": values, "times": times, "s": float(found.s), "variance": float(found.var_s),
                    "z": float(found.z), "p": float(found.p), "slope": float(low.slope),
                    "low": float(low.low_slope), "high": float(low.high_slope),
                }


def ranks():
    for m in [1, 3, 8, 30]:
        for n in [2, 9, 40]:
            for levels in [3, 50]:
                own = [draw.randint(0, levels) for _ in range(m)]
                others = [draw.randint(0, levels) + draw.choice([0, 1]) for _ in range(n)]
                if len(set(own + others)) == 1:
                    continue
                found = stats.mannwhitneyu(own, others, use_continuity=False, method="asymptotic")
                differences = [a - b for a in own for b in others]
                yield {"own": own, "others": others, "p": float(found.pvalue), "shift": float(numpy.median(differences))}


def fisher():
    for _ in range(80):
        m, n = draw.choice([4, 9, 40, 300]), draw.choice([5, 22, 120])
        x, y = draw.randint(0, m), draw.randint(0, n)
        found = stats.fisher_exact([[x, m - x], [y, n - y]])
        yield {"first": [x, m], "second": [y, n], "p": float(found.pvalue)}


def digits():
    for _ in range(20):
        counts = [draw.randint(0, draw.choice([9, 30])) for _ in range(10)]
        if sum(counts) < 50:
            continue
        found = stats.chisquare(counts)
        yield {"counts": counts, "value": float(found.statistic), "p": float(found.pvalue)}


def strata():
    for _ in range(40):
        tables = []
        for _ in range(draw.choice([1, 2, 6])):
            m, n = draw.choice([4, 30, 200]), draw.choice([5, 60])
            x, y = draw.randint(0, m), draw.randint(0, n)
            tables.append([[x, m - x], [y, n - y]])
        found = StratifiedTable([numpy.array(table) for table in tables]).test_null_odds(correction=False)
        if math.isnan(found.pvalue):
            continue
        shares = [[[a, a + b], [c, c + d]] for (a, b), (c, d) in tables]
        yield {"strata": shares, "p": float(found.pvalue)}


def holm():
    for n in [1, 2, 7, 40]:
        given = [draw.choice([draw.random() ** 6, draw.random(), 0.01]) for _ in range(n)]
        yield {"given": given, "adjusted": [float(one) for one in multipletests(given, method="holm")[1]]}


def capability():
    for n in [5, 20, 100]:
        for _ in range(4):
            values = [round(10 + draw.gauss(0, 0.4), 2) for _ in range(n)]
            mean, s = numpy.mean(values), numpy.std(values, ddof=1)
            cp, cpk = 2 / (6 * s), min(11 - mean, mean - 9) / (3 * s)
            chi = [math.sqrt(stats.chi2.ppf(p, n - 1) / (n - 1)) for p in (0.025, 0.975)]
            half = stats.norm.ppf(0.975) * math.sqrt(1 / (9 * n) + cpk**2 / (2 * (n - 1)))
            yield {
                "values": values, "cp": float(cp), "cpk": float(cpk), "of_cp": [float(cp * end) for end in chi],
                "of_cpk": [float(cpk - half), float(cpk + half)],
            }


questions = [wilson, newcombe, trends, ranks, fisher, digits, holm, capability, strata]
answers = {
    "made_by": {
        "scipy": scipy.__version__, "statsmodels": statsmodels.__version__, "pymannkendall": pymannkendall.__version__,
    },
    **{question.__name__: list(question()) for question in questions},
}
lines = []
for name, found in answers.items():
    if isinstance(found, dict):
        lines.append(f'"{name}": {json.dumps(found)}')
    else:
        entries = ",\n".join(json.dumps(one) for one in found)
        lines.append(f'"{name}": [\n{entries}\n]')
Path(__file__).with_name("statistics.json").write_text("{\n" + ",\n".join(lines) + "\n}\n")
