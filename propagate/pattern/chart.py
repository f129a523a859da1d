"""From body measurements to sizes by a set's chart.

For each level of the blend the size is chosen whose body that is: between two sizes of the
chart where it lies between them, so that nothing is left over.  On request it is the nearest
of the sizes that were drawn; then what is left over is told, since nobody's body is a size.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise

from propagate.errors import EditError, UnknownName
from propagate.lengths import LENGTH_FORMS, parse_length
from propagate.pattern.between import FARTHEST_STEPS, BetweenSize, size_at
from propagate.pattern.patternset import PatternSet
from propagate.values import dataclass

__all__ = ["ChosenSizes", "SizeChoice", "sizes_from_body"]

_WRONG_UNIT = 4.0
"""A measurement so many times off the chart was written in another unit."""

_UNITS = (("cm", 10.0), ("in", 25.4), ("m", 1000.0))


@dataclass(frozen=True)
class SizeChoice:
    """The size that one body measurement takes.

    Attributes
    ----------
    level : str
        Level of the blend that the size is for.
    measurement : str
        Row of the chart.
    body_mm, chart_mm : float
        What was measured, and what the chosen size is made for.
    size : str
    off_mm : float
        ``body_mm - chart_mm``: positive when the body is larger than the size.
    also : str or None
        Another size that is just as near; the larger one is chosen.
    warnings : tuple of str
    between : BetweenSize or None
        Where the size lies when it is none of those that were drawn.
    """

    level: str
    measurement: str
    body_mm: float
    chart_mm: float
    size: str
    off_mm: float
    also: str | None = None
    warnings: tuple[str, ...] = ()
    between: BetweenSize | None = None


@dataclass(frozen=True)
class ChosenSizes:
    """The size of each level, with how each was chosen."""

    choices: tuple[SizeChoice, ...]

    @property
    def sizes(self) -> dict[str, str]:
        """Level to size, as `Blend` takes it."""
        return {choice.level: choice.size for choice in self.choices}

    @property
    def warnings(self) -> tuple[str, ...]:
        """Every warning."""
        return tuple(text for choice in self.choices for text in choice.warnings)


def sizes_from_body(
    pattern: PatternSet, body: Mapping[str, float | str], *, nearest: bool = False
) -> ChosenSizes:
    """Choose the size for each body measurement, as a rule between two of the chart.

    Between two sizes the chart is read as a straight line; beyond its ends it goes on as over
    the last step, for one step at most.

    Parameters
    ----------
    pattern : PatternSet
    body : mapping of measurement to length
        A number of mm, or text such as ``"77cm"`` or ``"30 1/4in"``.  A measurement is a
        row of the chart that stands for a level of the blend: it has the level's name, or
        a girth at that level is compared with it.
    nearest : bool
        Choose the nearest of the sizes that were drawn; a tie goes to the larger one.

    Raises
    ------
    EditError
        The set has no chart or no blend; a value is no length, or in another unit by its
        magnitude; a row of the chart that no level of the blend takes its size from; a body
        more than a step beyond the chart, or a row that has it in several places.
    UnknownName
        For a measurement that is not in the chart.

    Examples
    --------
    >>> import propagate
    >>> trousers = propagate.load(propagate.demo_path("slant_trouser"))
    >>> propagate.sizes_from_body(trousers, {"waist": 794, "hip": "115.6cm"}).sizes
    {'waist': '42', 'hip': '48'}
    >>> propagate.sizes_from_body(trousers, {"waist": 785}).sizes
    {'waist': '41.55'}
    """
    where = f"set '{pattern.name}'"
    if not pattern.chart:
        raise EditError(
            f"{where} has no chart of body measurements; name a size for each level instead, "
            "or add a [chart] to set.toml"
        )
    levels = pattern.level_of_row
    choices = []
    for row, value in body.items():
        if row not in pattern.chart:
            raise UnknownName("body measurement", row, list(pattern.chart), f"the chart of {where}")
        if row not in levels:
            known = ", ".join(f"'{name}'" for name in levels) or "none"
            raise EditError(
                f"{where}: the body measurement '{row}' gives no size, since no level of the "
                f"blend goes by it; those that do: {known}"
            )
        mm = parse_length(value, bare="mm")
        if mm is None or mm <= 0.0:
            raise EditError(
                f"{where}: body measurement '{row}': found {value!r}, expected a length above 0 "
                f"such as {LENGTH_FORMS}"
            )
        values = [pattern.chart[row][size] for size in pattern.sizes]
        low, high = min(values), max(values)
        if not low / _WRONG_UNIT <= mm <= high * _WRONG_UNIT:
            unit = next((u for u, of in _UNITS if low / 1.5 <= mm * of <= high * 1.5), None)
            expected = f"expected something like {(low + high) / 2:.0f} mm"
            raise EditError(
                f"{where}: body measurement '{row}': found {mm:g} mm, but the chart goes from "
                f"{low:g} to {high:g} mm; {f'was it {mm:g} {unit}?' if unit else expected}"
            )
        choose = _choose_nearest if nearest or len(pattern.sizes) < 2 else _choose_between
        choices.append(choose(pattern, levels[row], row, mm))
    return ChosenSizes(tuple(choices))


def _choose_between(pattern: PatternSet, level: str, row: str, body: float) -> SizeChoice:
    """The size whose body that is: between two sizes where it lies between them."""
    sizes = list(pattern.sizes)
    values = [pattern.chart[row][size] for size in sizes]
    # Where the body is found in the row: 0 is the first size, each step counts 1.
    places: list[float] = [i for i, value in enumerate(values) if value == body]
    places += [
        i + (body - low) / (high - low)
        for i, (low, high) in enumerate(pairwise(values))
        if min(low, high) < body < max(low, high)
    ]
    if not places:
        places = [_go_beyond(pattern.name, row, body, values, sizes)]
    least, most = min(places), max(places)
    alike = values[math.floor(least) : math.ceil(most) + 1]
    if least != most and any(value != body for value in alike):
        raise EditError(
            f"set '{pattern.name}': body measurement '{row}': found {body:g} mm in several places "
            "of the chart, since that row goes up and down, expected one; name a size for the "
            "level instead"
        )
    found = size_at(sizes, most)
    if isinstance(found, str):
        also = sizes[int(least)] if least != most else None
        chart = pattern.chart[row][found]
        return SizeChoice(level, row, body, chart, found, body - chart, also)
    ends = pattern.chart[row][found.first], pattern.chart[row][found.second]
    chart = ends[0] + found.share * (ends[1] - ends[0])
    warnings = (f"{row} {body:.0f} mm lies {found.words}",) if found.beyond else ()
    return SizeChoice(
        level, row, body, chart, found.name, body - chart, warnings=warnings, between=found
    )


def _go_beyond(
    set_name: str, row: str, body: float, values: Sequence[float], sizes: Sequence[str]
) -> float:
    """Place beyond the end of the chart that is nearer to the body, as the last step goes on."""
    last = len(values) - 1
    at_end = abs(body - values[last]) < abs(body - values[0])
    near, far = (values[last], values[last - 1]) if at_end else (values[0], values[1])
    steps = (body - near) / (near - far) if near != far else -1.0
    end = sizes[last] if at_end else sizes[0]
    if steps < 0.0:
        raise EditError(
            f"set '{set_name}': body measurement '{row}': found {body:g} mm, beyond the chart, "
            f"which does not go on that way at size '{end}'; name a size for the level instead"
        )
    if steps > FARTHEST_STEPS + 1e-9:
        raise EditError(
            f"set '{set_name}': body measurement '{row}': found {body:g} mm, {steps:.3g} steps "
            f"beyond size '{end}' ({near:g} mm), expected at most {FARTHEST_STEPS:g} beyond what "
            f"is drawn; the nearest that can be is {near + FARTHEST_STEPS * (near - far):g} mm"
        )
    return last + steps if at_end else -steps


def _choose_nearest(pattern: PatternSet, level: str, row: str, body: float) -> SizeChoice:
    """The nearest of the sizes that were drawn."""
    sizes = list(pattern.sizes)
    values = [pattern.chart[row][size] for size in sizes]
    gaps = [abs(body - value) for value in values]
    least = min(gaps)
    alike = [i for i, gap in enumerate(gaps) if gap <= least + 1e-9]
    # Sizes run from small to large, but the larger garment is the one with the larger value.
    at = max(alike, key=lambda i: (values[i], i))
    others = [sizes[i] for i in alike if i != at]
    off = body - values[at]
    warnings = []
    if body > max(values) or body < min(values):
        end = "largest" if body > max(values) else "smallest"
        warnings.append(
            f"{row} {body:.0f} mm lies beyond the {end} size of the chart "
            f"('{sizes[at]}', {values[at]:.0f} mm) by {abs(off):.0f} mm"
        )
    # The step from the size towards the body; at an end, the last one.
    around = [at + 1, at - 1] if off > 0 else [at - 1, at + 1]
    next_to = [values[i] for i in around if 0 <= i < len(values)]
    step = abs(next_to[0] - values[at]) if next_to else math.inf
    if abs(off) > step / 2 + 1e-9:
        warnings.append(
            f"{row} is {abs(off):.0f} mm {'larger' if off > 0 else 'smaller'} than size "
            f"'{sizes[at]}', more than half of a step ({step:.0f} mm): the garment will not fit "
            "there as the size was meant to"
        )
    return SizeChoice(
        level=level,
        measurement=row,
        body_mm=body,
        chart_mm=values[at],
        size=sizes[at],
        off_mm=off,
        also=others[-1] if others else None,
        warnings=tuple(warnings),
    )
