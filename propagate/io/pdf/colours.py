"""Colours of page descriptions as red, green and blue (ISO 32000-1, 8.6).

They are near enough to tell lines apart; nothing is painted with them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from propagate.io.pdf.functions import evaluate_function
from propagate.io.pdf.state import BLACK, Colour
from propagate.io.pdf.words import is_stream

__all__ = ["colour_in", "initial_colour", "is_white"]

DEEPEST = 4
_WHITE = 0.985
_PLAIN = {
    "/DeviceGray": 1,
    "/G": 1,
    "/CalGray": 1,
    "/DeviceRGB": 3,
    "/RGB": 3,
    "/CalRGB": 3,
    "/DeviceCMYK": 4,
    "/CMYK": 4,
}
Warn = Callable[[str], None]


def is_white(colour: Colour) -> bool:
    """Whether nobody sees a line of this colour on paper."""
    return min(colour) >= _WHITE


def initial_colour(space: Any) -> Colour:
    """The colour that a space begins with: black, and all inks in full."""
    kind = _find_family(space)
    if kind not in ("/Separation", "/DeviceN"):
        return BLACK
    inks = 1 if kind == "/Separation" else len(space[1])
    return colour_in(space, [1.0] * inks, _tell_nobody)


def colour_in(space: Any, values: Sequence[float], warn: Warn, depth: int = 0) -> Colour:
    """The colour that some numbers give in a colour space; grey where it cannot be told.

    `warn` is called with the name of an ink whose colour is not computed.
    """
    kind = _find_family(space)
    count = _PLAIN.get(kind, 0)
    if kind == "/ICCBased" and depth < DEEPEST:
        count = int(space[1].get("/N", 3))
    if count:
        return _of_numbers([*values, *[0.0] * 4][:count])
    if depth >= DEEPEST or kind in ("/Pattern", ""):
        return (0.5, 0.5, 0.5)
    if kind == "/Lab":
        return _of_lab(values)
    if kind == "/Indexed":
        return _of_table(space, int(values[0]), warn, depth)
    if kind in ("/Separation", "/DeviceN"):
        return _of_ink(space, values, warn, depth)
    return (0.5, 0.5, 0.5)


def _tell_nobody(_: str) -> None:
    """Tell nobody."""


def _find_family(space: Any) -> str:
    """The family of a colour space; a plain one is its name."""
    if space is None:
        return "/DeviceGray"
    if isinstance(space, str):
        return space
    try:
        return str(space[0])
    except (TypeError, ValueError, IndexError, KeyError):
        return str(space)


def _of_numbers(values: Sequence[float]) -> Colour:
    v = [min(max(float(value), 0.0), 1.0) for value in values]
    if len(v) == 1:
        return (v[0], v[0], v[0])
    if len(v) == 4:  # ISO 32000-1, 10.3.5, with multiplied black as printers mix it
        return tuple((1 - ink) * (1 - v[3]) for ink in v[:3])  # type: ignore[return-value]
    return v[0], v[1], v[2]


def _of_lab(values: Sequence[float]) -> Colour:
    """CIE L*a*b* in sRGB (IEC 61966-2-1, from memory), white point D50 taken as it is."""
    middle = (values[0] + 16) / 116
    steps = (middle + values[1] / 500, middle, middle - values[2] / 200)
    x, y, z = (t**3 if t > 6 / 29 else (t - 4 / 29) * 108 / 841 for t in steps)
    linear = (
        3.134 * 0.9642 * x - 1.617 * y - 0.491 * 0.8249 * z,
        -0.979 * 0.9642 * x + 1.916 * y + 0.033 * 0.8249 * z,
        0.072 * 0.9642 * x - 0.229 * y + 1.405 * 0.8249 * z,
    )
    return _of_numbers(
        [12.92 * v if v < 0.0031308 else 1.055 * v ** (1 / 2.4) - 0.055 for v in linear]
    )


def _of_table(space: Any, index: int, warn: Warn, depth: int) -> Colour:
    base, table = space[1], space[3]
    data = table.read_bytes() if is_stream(table) else bytes(table)
    parts = _PLAIN.get(_find_family(base), 0) or (
        int(base[1].get("/N", 3)) if _find_family(base) == "/ICCBased" else 3
    )
    entry = data[index * parts : (index + 1) * parts]
    return colour_in(base, [byte / 255 for byte in entry] or [0.0], warn, depth + 1)


def _of_ink(space: Any, values: Sequence[float], warn: Warn, depth: int) -> Colour:
    inks = space[1]
    name = str(inks) if _find_family(space) == "/Separation" else " ".join(str(ink) for ink in inks)
    if name == "/None":
        return (1.0, 1.0, 1.0)
    if name == "/All":
        return _of_numbers([1.0 - values[0]])
    mixed = evaluate_function(space[3], values)
    if mixed is None:
        warn(name.lstrip("/"))
        return _from_name(name, values[0])
    return colour_in(space[2], mixed, warn, depth + 1)


def _from_name(name: str, tint: float) -> Colour:
    """A colour of its own for each ink, so that lines of two inks are still told apart."""
    code = sum((i + 1) * byte for i, byte in enumerate(name.encode()))
    full = [(code * step % 97) / 160 for step in (1, 7, 31)]
    return _of_numbers([1.0 - tint * (1.0 - part) for part in full])
