"""Whether a set is drawn in millimetres: its pieces, and its girths beside the chart, tell."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import product

import numpy as np

from propagate.pattern.outline_checks import Drawn
from propagate.pattern.patternset import PatternSet

__all__ = ["unit_problems"]

SMALLEST_SET_MM = 20.0  # the largest piece of a set in millimetres is larger ...
LARGEST_SET_MM = 5000.0  # ... and smaller than this
USUAL_PIECE_MM = 600.0  # about what the largest piece of a garment measures
GIRTH_RATIO = 4.0  # the silhouettes at a girth measure this many times more or less: a unit
# mm in one unit; the fractions are what programs write that count in whole numbers
UNITS: Mapping[str, float] = {
    "inches": 25.4,
    "centimetres": 10.0,
    "metres": 1000.0,
    "tenths of a millimetre": 0.1,
    "hundredths of a millimetre": 0.01,
    "thousandths of a millimetre": 0.001,
}


def unit_problems(pattern: PatternSet, drawn: Sequence[Drawn]) -> Iterator[str]:
    """Find a set that is drawn in another unit, or whose chart is said in one."""
    sound = [item for item in drawn if item.sound]
    if not sound:
        return
    largest = max(sound, key=lambda item: float(np.max(item.high - item.low)))
    extent = float(np.max(largest.high - largest.low))
    if not SMALLEST_SET_MM <= extent <= LARGEST_SET_MM:
        unit = _likely_unit(extent / USUAL_PIECE_MM)
        yield (
            f"set '{pattern.name}': found that the largest piece ('{largest.piece}', size "
            f"'{largest.size}') measures {extent:.4g}, expected {SMALLEST_SET_MM:g} to "
            f"{LARGEST_SET_MM:g} mm; it looks like {unit}: "
            f"multiply the geometry by {UNITS[unit]:g}"
        )
        return
    of_size = {(item.piece, item.size): item for item in sound}
    base_first = sorted(pattern.sizes, key=lambda size: size != pattern.base)
    for girth, size in product(pattern.relations.girths.values(), base_first):
        leads = [pattern.relations.lead_of(name) for name in girth.silhouettes]
        widths = [
            _rough_width(item, girth.level)
            for lead in leads
            if (item := of_size.get((lead, size))) is not None
        ]
        measured = sum(widths) * girth.times if len(widths) == len(leads) else 0.0
        body = pattern.chart.get(girth.chart or "", {}).get(size, 0.0)
        if measured <= 0.0 or body <= 0.0:
            continue
        ratio = min(max(measured / body, 1e-300), 1e300)  # what has a logarithm
        if not 1 / GIRTH_RATIO <= ratio <= GIRTH_RATIO:
            where = "" if size == pattern.base else f", size '{size}'"
            row = f"chart row '{girth.chart}'{f' in size {size!r}' if where else ''}"
            unit = _likely_unit(ratio)
            coarse = {name: abs(math.log(mm / ratio)) for name, mm in UNITS.items() if mm > 1.0}
            of_chart = min(coarse, key=coarse.__getitem__)  # nobody measures a body in tenths
            likely = f"the geometry (or the chart) looks like {unit}"
            if coarse[of_chart] < abs(math.log(ratio * UNITS[unit])):
                likely = (
                    f"the {row} looks like {of_chart}: write it in millimetres, or with its unit"
                )
            yield (
                f"set '{pattern.name}', girth '{girth.name}'{where}: found silhouettes of about "
                f"{measured:.4g} in all for a body of {body:.4g} mm, expected the same order; "
                f"{likely}"
            )
            return


def _likely_unit(ratio: float) -> str:
    """Return the unit that explains that lengths come out `ratio` times what they should."""
    return min(UNITS, key=lambda unit: abs(math.log(max(ratio, 1e-300) * UNITS[unit])))


def _rough_width(item: Drawn, level: str | None) -> float:
    """Width of a piece on a level; the shorter side of its box where it has no such level.

    The box of a trouser is half as wide again as its hip: of the crotch's extension.
    """
    grain = np.subtract(item.sized.grain.end, item.sized.grain.start)
    size = float(np.hypot(*grain))
    if level is not None and level in item.sized.levels and size > 0.0:
        outline = (item.sized.outline - np.asarray(item.sized.levels[level])) / size
        along, across = outline @ grain, outline @ np.array([grain[1], -grain[0]])
        steps = np.roll(along, -1) - along
        crossed = (along > 0.0) != (np.roll(along, -1) > 0.0)
        if crossed.any():
            shares = -along[crossed] / steps[crossed]
            found = across[crossed] + shares * (np.roll(across, -1) - across)[crossed]
            return float(np.ptp(found))
    return float(np.min(item.high - item.low))
