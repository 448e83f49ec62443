"""What pint and scipy say of the conversions and the probabilities that this project computes.

    python reference.py            print the figures as JSON
    python reference.py --check    compare them with expected.json beside this file

The tests compare expected.json with the program, so that they need no Python; this script proves that
expected.json is what the libraries say. Conversions: pint. Probabilities of bands: scipy.stats.norm.
Foresight and swings: numerical integration with scipy.integrate.quad, which shares no formula with
the program. Spectra of uneven samples: scipy.signal.lombscargle.
"""

import json
import math
import pathlib
import sys

import numpy
import pint
from scipy import integrate, signal, stats

# Ours -> pint's. Pint's own inch_Hg is the conventional one, defined from 13.5951 g/cm3.
UNITS = {
    "pressure": {
        "kPa": "kPa", "MPa": "MPa", "Pa": "Pa", "bar": "bar", "mbar": "mbar", "psi": "psi",
        "kgf/cm²": "kgf/cm**2", "inHg": "inch_Hg",
    },
    "speed": {"1/min": "revolution/minute", "1/s": "revolution/second", "rad/s": "radian/second"},
    "temperature": {"°C": "degC", "°F": "degF", "K": "kelvin"},
    "temperature-difference": {"K": "delta_degC", "°F": "delta_degF"},
    "time": {"s": "second", "ms": "millisecond", "min": "minute"},
    "voltage": {"V": "volt", "mV": "millivolt"},
    "current": {"A": "ampere", "mA": "milliampere"},
    "resistance": {"Ω": "ohm", "kΩ": "kiloohm", "MΩ": "megaohm", "mΩ": "milliohm"},
    "angle": {"°": "degree", "rad": "radian"},
    "length": {"mm": "mm", "m": "m", "cm": "cm", "in": "inch"},
    "torque": {"N·m": "N*m", "lbf·ft": "lbf*ft", "lbf·in": "lbf*inch", "kgf·m": "kgf*m"},
    "percent": {"%": "percent"},
    "ratio": {"1": "dimensionless"},
    "volume": {"mL": "mL", "L": "L", "US qt": "US_liquid_quart"},
    "road-speed": {"km/h": "km/hour", "mile/h": "mile/hour", "m/s": "m/s"},
}
VALUES = [-40.0, 1.0, 75.0, 5200.0]

# Outcomes, each a list of bands [from, to]; null is no end.
OUTCOMES = {
    "low, normal, high": [[[None, 4.0]], [[4.0, 5.0]], [[5.0, None]]],
    "two open": [[[None, 4.0]], [[4.0, None]]],
    "off on both sides": [[[None, 4.0], [5.0, None]], [[4.0, 5.0]]],
    "five bands": [[[None, 3.0]], [[3.0, 3.4]], [[3.4, 5.0]], [[5.0, 6.0]], [[6.0, None]]],
}
READINGS = [(x, u) for x in (3.0, 3.95, 4.0, 4.1, 4.5, 5.2, 7.0) for u in (0.02, 0.0923760431, 0.5, 4.0)]
SWINGS = [(a, b, u) for a, b in ((3.8, 4.3), (4.2, 4.8), (3.0, 6.0)) for u in (0.05, 0.0923760431, 0.5)]
BLURS = [0.05, 0.0923760431, 0.5, 2.0]


def ends(band):
    low, high = band
    return (-math.inf if low is None else low, math.inf if high is None else high)


def chance(outcome, x, u):
    """The probability that a normal about x with u lies in any band of the outcome."""
    total = 0.0
    for band in outcome:
        low, high = ends(band)
        # The tail that is the smaller number loses no digits.
        if low > x:
            total += stats.norm.sf(low, x, u) - stats.norm.sf(high, x, u)
        else:
            total += stats.norm.cdf(high, x, u) - stats.norm.cdf(low, x, u)
    return total


def averaged(outcome, low, high, u):
    """That probability, averaged over true values from low to high."""
    kinks = [end for band in outcome for end in band if end is not None]
    near = sorted({min(max(k + step * u, low), high) for k in kinks for step in (-8, -2, 0, 2, 8)})
    cuts = [low, *near, high]
    total = 0.0
    for start, end in zip(cuts, cuts[1:]):
        if end > start:
            part, _ = integrate.quad(lambda x: chance(outcome, x, u), start, end, epsabs=1e-14, epsrel=1e-13)
            total += part
    return total / (high - low)


def conversions():
    registry = pint.UnitRegistry()
    found = []
    for dimension, names in UNITS.items():
        for ours, theirs in names.items():
            for to, to_theirs in names.items():
                for value in VALUES:
                    result = registry.Quantity(value, theirs).to(to_theirs).magnitude
                    found.append({"dimension": dimension, "value": value, "from": ours, "to": to, "result": float(result)})
    return found


def foresight(outcomes, u, open_width=None):
    widths = [high - low for outcome in outcomes for low, high in map(ends, outcome) if math.isfinite(high - low)]
    # Where no band is bounded, an open one is as wide as is stated, else a fifth of its limit.
    width = lambda limit: min(widths) if widths else open_width or abs(limit) / 5
    rows = []
    for truth in outcomes:
        row = [0.0] * len(outcomes)
        for band in truth:
            low, high = ends(band)
            if math.isinf(low):
                low = high - width(high)
            if math.isinf(high):
                high = low + width(low)
            for place, read in enumerate(outcomes):
                row[place] += averaged(read, low, high, u) / len(truth)
        rows.append(row)
    return rows


def series(frequency, count, lasts, seed):
    """Uneven times, and a swing with noise whose mean is taken out; rounded, so that both read the same numbers."""
    chance = numpy.random.default_rng(seed)
    times = numpy.round(numpy.sort(chance.uniform(0, lasts, count)), 4)
    values = 30 * numpy.sin(2 * math.pi * frequency * times + 0.7) + chance.normal(0, 8, count)
    values = numpy.round(values, 3)
    return times, numpy.round(values - values.mean(), 6)


def spectra():
    """The Lomb-Scargle power by scipy at some frequencies, and the frequency of its highest peak."""
    items = []
    for place, (frequency, count, lasts) in enumerate([(3.3, 60, 6.0), (7.1, 80, 4.0), (12.4, 200, 4.0)]):
        times, values = series(frequency, count, lasts, place)
        variance = values.var(ddof=1)
        power = lambda at: signal.lombscargle(times, values, 2 * math.pi * numpy.asarray(at)) / variance
        fine = numpy.arange(2.0, 20.0, 0.0005)
        some = [2.5, 3.3, 5.0, 7.1, 11.0, 12.4]
        items.append({
            "times": times.tolist(), "values": values.tolist(), "frequencies": some,
            "powers": [float(value) for value in power(some)],
            "peak": round(float(fine[numpy.argmax(power(fine))]), 4),
        })
    return items


def figures():
    return {
        "outcomes": OUTCOMES,
        "conversions": conversions(),
        "readings": [
            {"outcomes": name, "value": x, "u": u, "weights": [float(chance(o, x, u)) for o in outcomes]}
            for name, outcomes in OUTCOMES.items() for x, u in READINGS
        ],
        "swings": [
            {"outcomes": name, "from": a, "to": b, "u": u, "weights": [averaged(o, a, b, u) for o in outcomes]}
            for name, outcomes in OUTCOMES.items() for a, b, u in SWINGS
        ],
        "foresight": [
            {"outcomes": name, "u": u, "rows": foresight(outcomes, u)}
            for name, outcomes in OUTCOMES.items() for u in BLURS
        ],
        "spectra": spectra(),
    }


def differences(kept, found, where="expected"):
    """Every place where two structures differ; numbers by more than 1e-9 of themselves or 1e-12."""
    if isinstance(kept, dict) and isinstance(found, dict) and kept.keys() == found.keys():
        for key in kept:
            yield from differences(kept[key], found[key], f"{where}.{key}")
    elif isinstance(kept, list) and isinstance(found, list) and len(kept) == len(found):
        for place, pair in enumerate(zip(kept, found)):
            yield from differences(*pair, f"{where}[{place}]")
    elif isinstance(kept, float) and isinstance(found, float):
        if not math.isclose(kept, found, rel_tol=1e-9, abs_tol=1e-12):
            yield f"{where}: {kept} is kept, {found} was found"
    elif kept != found:
        yield f"{where}: {kept!r} is kept, {found!r} was found"


def main():
    found = figures()
    if sys.argv[1:] == ["--check"]:
        kept = json.loads(pathlib.Path(__file__).with_name("expected.json").read_text(encoding="utf-8"))
        wrong = list(differences(kept, found))
        print("\n".join(wrong) if wrong else "expected.json is what pint and scipy say")
        sys.exit(1 if wrong else 0)
    # A line a figure: readable in a difference of versions.
    print("{")
    groups = []
    for key, items in found.items():
        if isinstance(items, list):
            lines = ",\n".join("  " + json.dumps(item, ensure_ascii=False) for item in items)
            groups.append(f' "{key}": [\n{lines}\n ]')
        else:
            groups.append(f' "{key}": {json.dumps(items, ensure_ascii=False)}')
    print(",\n".join(groups))
    print("}")


if __name__ == "__main__":
    main()
