"""Looks of lines: told apart, in words, and by the size that a legend names for them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence

import shapely

from propagate.io.chain import Chain
from propagate.io.drawn_lines import DrawnLine, DrawnText, Look
from propagate.io.svg.sorting import size_named
from propagate.values import dataclass

__all__ = [
    "LookKey",
    "key_of",
    "size_said",
    "sizes_at_lines",
    "sizes_in_legend",
    "sizes_that_share",
    "tell_look",
]

LookKey = tuple[tuple[float, ...], tuple[float, ...], float, bool]
"""What is seen of a look: dash, colour, width, filled, as coarse as an eye sees them."""

SHORTEST_SAMPLE_MM = 4.0
LONGEST_SAMPLE_MM = 120.0
WIDEST_GAP_MM = 30.0
"""Between the sample of a legend and its text."""
FAR_FROM_LINE = 2.0
"""A size written at a line is nearer to it than this many heights of its letters."""


def key_of(look: Look) -> LookKey:
    """A look without what no eye tells apart."""
    dash = tuple(round(part * 5) / 5 for part in look.dash)
    colour = tuple(round(part * 20) / 20 for part in look.colour)
    return dash, colour, round(look.width * 20) / 20, look.filled


def tell_look(key: LookKey) -> str:
    """A look as it is told: ``dashes 6-2, red 1 green 0 blue 0, 0.35 mm``."""
    dash, colour, width, filled = key
    if filled:
        line = "filled"
    else:
        line = f"dashes {'-'.join(f'{d:g}' for d in dash)}" if dash else "whole line"
    red, green, blue = colour
    shade = "black" if max(colour) == 0.0 else f"red {red:g} green {green:g} blue {blue:g}"
    return f"{line}, {shade}, {width:g} mm wide"


def size_said(text: str) -> str | None:
    """The size that a text is the name of: ``38``, ``Size 38``, ``XL``; else None."""
    return size_named(text.strip().strip(".:=-"))


@dataclass(frozen=True, eq=False)
class _Sample:
    line: DrawnLine
    low: tuple[float, float]
    high: tuple[float, float]


def sizes_in_legend(
    lines: Sequence[DrawnLine], texts: Sequence[DrawnText], wanted: Iterable[str] = ()
) -> Mapping[str, LookKey]:
    """Look of each size as the legend shows it: a short line beside the size's name.

    Parameters
    ----------
    lines, texts : what is drawn
    wanted : iterable of str
        Sizes that were asked for; any that looks like one when empty.

    Returns
    -------
    mapping of size to look
        Empty unless at least two sizes have looks of their own.
    """
    found = _read_legend(lines, texts, wanted)
    return found if len(found) > 1 and len(set(found.values())) == len(found) else {}


def sizes_that_share(lines: Sequence[DrawnLine], texts: Sequence[DrawnText]) -> list[str]:
    """Sizes that the legend shows in the look of another one."""
    found = _read_legend(lines, texts, ())
    looks = list(found.values())
    return [size for size, look in found.items() if looks.count(look) > 1]


def _read_legend(
    lines: Sequence[DrawnLine], texts: Sequence[DrawnText], wanted: Iterable[str]
) -> dict[str, LookKey]:
    """Look of each size; empty when one size has two."""
    asked = set(wanted)
    samples = [s for line in lines if (s := _find_sample(line)) is not None]
    found: dict[str, LookKey] = {}
    for text, size in _said_sizes(texts, asked):
        beside = [
            (gap, i)
            for i, s in enumerate(samples)
            if (gap := _measure_sample_gap(text, s)) is not None
        ]
        if not beside:
            continue
        key = key_of(samples[min(beside)[1]].line.look)
        if found.setdefault(size, key) != key:
            return {}
    return found


def _said_sizes(texts: Sequence[DrawnText], asked: set[str]) -> list[tuple[DrawnText, str]]:
    found = []
    for text in texts:
        size = text.text.strip() if text.text.strip() in asked else size_said(text.text)
        if size is not None and (not asked or size in asked):
            found.append((text, size))
    return found


def _find_sample(line: DrawnLine) -> _Sample | None:
    """A straight line as long as that of a legend."""
    chain = line.chain
    dashes = LONGEST_SAMPLE_MM if line.look.dash else 0  # each may have come as a stroke of its own
    if line.look.filled or chain.closed or len(chain.segments) > 3 + dashes:
        return None
    chord = math.dist(chain.start, chain.end)
    if not SHORTEST_SAMPLE_MM <= chord <= LONGEST_SAMPLE_MM or chain.length > chord * 1.001:
        return None
    (x, y), (a, b) = chain.start, chain.end
    return _Sample(line, (min(x, a), min(y, b)), (max(x, a), max(y, b)))


def _measure_sample_gap(text: DrawnText, sample: _Sample) -> float | None:
    """How far a sample is from the text along its base line; None when it is not beside it."""
    turn = math.radians(text.angle)
    along, up = (math.cos(turn), math.sin(turn)), (-math.sin(turn), math.cos(turn))
    places = [
        ((x - text.at[0]) * d[0] + (y - text.at[1]) * d[1])
        for d in (along, up)
        for x, y in (sample.line.chain.start, sample.line.chain.end)
    ]
    (left, right), heights = sorted(places[:2]), places[2:]
    if max(heights) - min(heights) > 0.1 or not -0.5 <= heights[0] / text.height <= 1.2:
        return None
    width = text.width or 0.6 * text.height * len(text.text)
    gap = max(-right, left - width)
    return gap if -0.5 <= gap <= WIDEST_GAP_MM else None


def sizes_at_lines(
    chains: Mapping[LookKey, Sequence[Chain]], texts: Sequence[DrawnText], wanted: Iterable[str]
) -> Mapping[str, LookKey]:
    """Look of each size where the sizes are written at the lines themselves.

    Every text that names a size speaks for the look of the line that it is nearest to.
    """
    asked = set(wanted)
    votes: dict[str, dict[LookKey, int]] = {}
    figures = {
        key: shapely.MultiLineString([c.points for c in found]) for key, found in chains.items()
    }
    for text, size in _said_sizes(texts, asked):
        turn = math.radians(text.angle)
        width = text.width or 0.6 * text.height * len(text.text)
        x, y = text.at
        middle = shapely.Point(x + width / 2 * math.cos(turn), y + width / 2 * math.sin(turn))
        gaps = {key: round(float(figure.distance(middle)), 6) for key, figure in figures.items()}
        nearest = min(gaps, key=lambda key: (gaps[key], key), default=None)
        if nearest is not None and gaps[nearest] <= FAR_FROM_LINE * text.height + width / 2:
            votes.setdefault(size, {}).setdefault(nearest, 0)
            votes[size][nearest] += 1
    found = {
        size: max(for_it, key=lambda key: (for_it[key], key)) for size, for_it in votes.items()
    }
    return found if len(found) > 1 and len(set(found.values())) == len(found) else {}
