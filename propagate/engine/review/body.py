"""The chart of the body: its own rows, and the garment against it in every size."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from propagate.engine.levels import girth_length
from propagate.engine.review.finding import Finding
from propagate.engine.review.line import find_jumps, median, out_of_line
from propagate.engine.review.taken import pieces_of, silhouette_pieces
from propagate.engine.review.units import find_other_units, unit_of_ratio
from propagate.errors import InvalidSet, UnknownName
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Girth
from propagate.tolerances import (
    EASE_RUNS_AWAY_MM,
    EASE_RUNS_AWAY_SHARE,
    OUT_OF_LINE_EASE_MM,
    OUT_OF_LINE_MM,
    SHORTEST_BODY_MM,
    UNIT_RATIO,
    WALK_MM,
)

__all__ = ["find_chart_disorder", "review_chart", "review_girths"]

Array = npt.NDArray[np.float64]


def review_chart(pattern: PatternSet) -> Iterator[Finding]:
    """Find values of the chart in another unit or out of line."""
    measured = {girth.chart for girth in pattern.relations.girths.values()}
    for name in pattern.chart:
        row = _read_row(pattern, name)
        faulty = False
        for at, others, words in find_other_units(row):
            faulty = True
            yield Finding(
                "chart in another unit",
                f"chart, row '{name}', size '{pattern.sizes[at]}'",
                f"found {row[at]:.1f} mm where the other sizes have about {others:.0f} mm, "
                f"expected a value between its neighbours; most likely it was written {words}. "
                'Write it in the unit of its row, or with its unit, such as "31.5in"',
            )
        for at, expected in () if faulty else find_jumps(row, OUT_OF_LINE_MM):
            faulty = True
            yield Finding(
                "chart out of line",
                f"chart, row '{name}', size '{pattern.sizes[at]}'",
                f"found {row[at]:.1f} mm where the sizes beside it lead to about {expected:.1f} mm "
                f"({row[at] - expected:+.1f}), expected the row to grow evenly here; most likely "
                "two digits are exchanged or one is mistyped. Look it up in the chart it came from",
            )
        if not faulty and name not in measured and row.max() < SHORTEST_BODY_MM:
            yield Finding(
                "chart in another unit",
                f"chart, row '{name}'",
                f"found {row.min():.1f} to {row.max():.1f} mm, expected at least "
                f"{SHORTEST_BODY_MM:g} mm of a measure of the body; most likely the row was "
                "written in centimetres or inches. Write it in millimetres, or each value with "
                "its unit",
            )


def _read_row(pattern: PatternSet, name: str) -> Array:
    return np.array([pattern.chart[name][size] for size in pattern.sizes], dtype=np.float64)


def find_chart_disorder(pattern: PatternSet) -> Iterator[Finding]:
    """Find rows that go back and on again; one that falls in large sizes may be meant."""
    places: dict[str, list[str]] = {}
    for name in pattern.chart if len(pattern.sizes) > 2 else ():
        row = _read_row(pattern, name)
        steps = np.diff(row)
        away = np.flatnonzero(steps)
        signs = np.sign(steps[away])
        if (np.diff(signs) != 0).sum() < 2 or out_of_line(row[None], OUT_OF_LINE_MM).any():
            continue
        usual = np.sign(signs.sum()) or 1.0
        for at in away[signs != usual].tolist():
            pair = f"'{pattern.sizes[at]}' and '{pattern.sizes[at + 1]}'"
            places.setdefault(pair, []).append(f"'{name}' {row[at]:.1f} and then {row[at + 1]:.1f}")
    for pair, rows in places.items():
        yield Finding(
            "chart out of order",
            f"chart, sizes {pair}",
            f"found {', '.join(rows)} mm, expected every row to go in one direction from size to "
            "size; most likely two values are exchanged, or 'sizes' are not in the order of the "
            "chart. Look them up in the chart they came from",
        )


# ------------------------------------------------------------------ the garment on the body


def review_girths(pattern: PatternSet) -> Iterator[Finding]:
    """Compare every girth with its row of the chart, in every size."""
    for girth in pattern.relations.girths.values():
        if girth.chart is None or girth.chart not in pattern.chart:
            continue
        body = _read_row(pattern, girth.chart)
        try:
            garment = np.array([girth_length(pattern, girth, size) for size in pattern.sizes])
        except (InvalidSet, UnknownName):
            continue  # pieces that cannot be taped are told elsewhere
        sound = ~out_of_line(body[None], OUT_OF_LINE_MM)[0]  # those are told with the chart
        if body[sound].size:
            yield from _judge_girth(pattern, girth, body, garment, sound)


def _judge_girth(
    pattern: PatternSet, girth: Girth, body: Array, garment: Array, sound: npt.NDArray[np.bool_]
) -> Iterator[Finding]:
    where = f"girth '{girth.name}' and chart, row '{girth.chart}'"
    ratio = float(median(garment[sound] / body[sound]))
    ease = garment - body
    small = (ease < -WALK_MM) & sound
    apart, needed = abs(ease[-1] - ease[0]), abs(body[-1] - body[0])
    graded = len(ease) > 2 and sound.all()
    if not 1 / UNIT_RATIO < ratio < UNIT_RATIO:
        likely = unit_of_ratio(1.15 / ratio, 0.4)
        words = f"written {likely}" if likely else "written in another unit"
        yield Finding(
            "chart in another unit",
            where,
            f"found a body of {body[0]:.1f} to {body[-1]:.1f} mm and a garment of "
            f"{garment[0]:.1f} to {garment[-1]:.1f} mm, expected a garment a little larger than "
            f"the body; most likely the row was {words}. Write it in millimetres, or each value "
            "with its unit",
        )
    elif small.any():
        yield _tell_smaller(pattern, girth, body, garment, small)
    elif graded and apart > EASE_RUNS_AWAY_MM and apart > EASE_RUNS_AWAY_SHARE * needed:
        yield Finding(
            "graded unlike the chart",
            where,
            f"found a garment that grows by {garment[-1] - garment[0]:.0f} mm from "
            f"'{pattern.sizes[0]}' to '{pattern.sizes[-1]}' and a body that grows by "
            f"{body[-1] - body[0]:.0f} mm (ease {ease[0]:.0f} to {ease[-1]:.0f} mm), expected them "
            "to grow about alike; most likely the grade rules were read otherwise than they were "
            "meant (each from the sample size, or from size to size), a row belongs to other "
            "sizes, or mirrored pieces are counted once too often. Compare the largest size with "
            "the body",
            _list_pieces(pattern, girth),
        )
    elif graded and not out_of_line(garment[None], OUT_OF_LINE_MM).any():
        for at, expected in find_jumps(ease, OUT_OF_LINE_EASE_MM):
            yield Finding(
                "ease out of line",
                f"girth '{girth.name}', size '{pattern.sizes[at]}'",
                f"found {ease[at]:.1f} mm of ease over the body where the sizes beside it lead to "
                f"about {expected:.1f} mm, expected it in line with them; most likely the chart "
                f"({body[at]:.1f} mm) or a piece has a wrong measure in this size. Compare both "
                "with the sizes beside it",
                _list_pieces(pattern, girth),
            )


def _tell_smaller(
    pattern: PatternSet, girth: Girth, body: Array, garment: Array, small: npt.NDArray[np.bool_]
) -> Finding:
    at = int(np.argmin(np.where(small, garment - body, np.inf)))
    sizes = [size for size, here in zip(pattern.sizes, small, strict=True) if here]
    share = float(median(garment[small] / body[small]))
    likely = (
        "most likely a piece is missing from the girth, the chart is that of another "
        "size range, or ease was forgotten; it is right only for cloth that stretches"
    )
    if 0.4 < share < 0.62:
        likely = (
            f"most likely half of it was measured: mirrored pieces count twice ('times' is "
            f"{girth.times}), and every piece that goes round must be named"
        )
    which = "in every size" if small.all() and len(sizes) > 1 else f"in size {', '.join(sizes)}"
    return Finding(
        "garment smaller than the body",
        f"girth '{girth.name}' and chart, row '{girth.chart}'",
        f"found {garment[at]:.1f} mm on a body of {body[at]:.1f} mm in size "
        f"'{pattern.sizes[at]}' ({garment[at] - body[at]:+.1f}; smaller {which}), expected at "
        f"least the body and some ease; {likely}",
        _list_pieces(pattern, girth),
    )


def _list_pieces(pattern: PatternSet, girth: Girth) -> tuple[str, ...]:
    taped = [p for name in girth.silhouettes for p in silhouette_pieces(pattern, name)]
    return tuple(dict.fromkeys([*pieces_of(*girth.runs), *taped]))
