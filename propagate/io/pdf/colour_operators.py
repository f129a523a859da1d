"""The operators that choose a colour (ISO 32000-1, 8.6.8)."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import pikepdf

from propagate.io.pdf.colours import Warn, colour_in, initial_colour
from propagate.io.pdf.state import Paint, State

__all__ = ["colour_operators"]

Operator = Callable[[Sequence[Any]], None]


def colour_operators(
    state: Callable[[], State], space_of: Callable[[str], Any], warn: Warn
) -> dict[str, Operator]:
    """Each operator by its name.

    Parameters
    ----------
    state : callable
        The state as it is now.
    space_of : callable
        The colour space that the resources call so; the name itself when they do not.
    warn : callable
        Takes the name of an ink whose colour is not computed.
    """

    def device(which: str, space: str) -> Operator:
        def put(values: Sequence[Any]) -> None:
            paint: Paint = getattr(state(), which)
            paint.space = space
            paint.colour = colour_in(space, [float(v) for v in values], warn)

        return put

    def choose(which: str) -> Operator:
        def put(values: Sequence[Any]) -> None:
            paint: Paint = getattr(state(), which)
            paint.space = space_of(str(values[0]))
            paint.colour = initial_colour(paint.space)

        return put

    def mix(which: str) -> Operator:
        def put(values: Sequence[Any]) -> None:
            paint: Paint = getattr(state(), which)
            numbers = [float(v) for v in values if not isinstance(v, pikepdf.Name)]
            paint.colour = colour_in(paint.space, numbers, warn)

        return put

    found: dict[str, Operator] = {}
    for which, case in (("stroke", str.upper), ("fill", str.lower)):
        for name, space in (("g", "Gray"), ("rg", "RGB"), ("k", "CMYK")):
            found[case(name)] = device(which, f"/Device{space}")
        found[case("cs")] = choose(which)
        found[case("sc")] = found[case("scn")] = mix(which)
    return found
