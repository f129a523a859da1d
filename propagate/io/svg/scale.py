"""Transforms, lengths with units, view boxes, and how many millimetres one unit is.

The forms are those of the W3C recommendation *Scalable Vector Graphics (SVG) 1.1*,
sections 7.6 to 7.8 and 7.10, and of CSS for units: 96 px to the inch (from memory).
"""

from __future__ import annotations

import math
import re

from propagate.errors import FormatError
from propagate.geometry.affine import UNMOVED, Affine
from propagate.io.options import ReadOptions
from propagate.io.path_data import NUMBER
from propagate.io.report import ReportNotes
from propagate.io.svg.xml_tree import Node
from propagate.visible import quoted

__all__ = [
    "MM_PER_UNIT",
    "fit_view_box",
    "length_of",
    "read_numbers",
    "parse_transform",
    "root_scale",
    "view_box",
]

MM_PER_UNIT = {
    "mm": 1.0,
    "cm": 10.0,
    "q": 0.25,
    "in": 25.4,
    "pt": 25.4 / 72,
    "pc": 25.4 / 6,
}
"""Absolute units but px, which depends on the dots per inch."""

_NUMBER = re.compile(NUMBER)
_CALL = re.compile(r"\s*,?\s*([A-Za-z]+)\s*\(([^()]*)\)")
_COUNTS = {
    "matrix": (6,),
    "translate": (1, 2),
    "scale": (1, 2),
    "rotate": (1, 3),
    "skewX": (1,),
    "skewY": (1,),
}


MOST_TRANSFORMS = 1_000


def read_numbers(text: str) -> list[float]:
    """Read numbers parted by blanks or commas.

    Raises
    ------
    ValueError
        When something else stands there, or a number is not finite.
    """
    rest = _NUMBER.sub(" ", text)
    if rest.replace(",", " ").strip():
        raise ValueError(text)
    found = [float(word) for word in _NUMBER.findall(text)]
    if not all(map(math.isfinite, found)):
        raise ValueError(text)
    return found


def parse_transform(text: str) -> Affine:
    """Read a ``transform`` attribute.

    Raises
    ------
    FormatError
        Says what was found and what was expected.
    """
    whole, place = UNMOVED, 0
    body = text.rstrip(" \t\r\n\f,")
    if body.strip() == "none":
        return whole
    if body.count("(") > MOST_TRANSFORMS:
        raise FormatError(
            f"found more than {MOST_TRANSFORMS} transforms on one element; save as plain SVG"
        )
    while place < len(body):
        match = _CALL.match(body, place)
        if match is None:
            raise _wrong(text)
        try:
            values = read_numbers(match[2])
        except ValueError:
            raise _wrong(text) from None
        if len(values) not in _COUNTS.get(match[1], ()):
            raise _wrong(text)
        whole = whole @ _as_matrix(match[1], values)
        place = match.end()
    return whole


def _wrong(text: str) -> FormatError:
    return FormatError(
        f"found the transform {quoted(text[:60])}, expected matrix, translate, scale, rotate, "
        "skewX or skewY with their numbers"
    )


def _as_matrix(kind: str, v: list[float]) -> Affine:
    if kind == "matrix":
        return Affine(*v)
    if kind == "translate":
        return Affine(e=v[0], f=v[1] if len(v) > 1 else 0.0)
    if kind == "scale":
        return Affine(a=v[0], d=v[-1])
    if kind == "rotate":
        cos, sin = math.cos(math.radians(v[0])), math.sin(math.radians(v[0]))
        turn = Affine(cos, sin, -sin, cos)
        if len(v) == 1:
            return turn
        return Affine(e=v[1], f=v[2]) @ turn @ Affine(e=-v[1], f=-v[2])
    slope = math.tan(math.radians(v[0]))
    return Affine(c=slope) if kind == "skewX" else Affine(b=slope)


def fit_view_box(
    box: tuple[float, float, float, float], width: float, height: float, ratio: str | None
) -> Affine:
    """Map a view box on a viewport at the origin (``preserveAspectRatio``)."""
    x, y, w, h = box
    sx, sy = width / w, height / h
    words = (ratio or "xMidYMid meet").split()
    align = words[0] if words else "xMidYMid"
    if align == "none":
        return Affine(a=sx, d=sy, e=-x * sx, f=-y * sy)
    scale = max(sx, sy) if words[-1:] == ["slice"] else min(sx, sy)
    share = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}
    left = (width - w * scale) * share.get(align[1:4], 0.5)
    above = (height - h * scale) * share.get(align[5:8], 0.5)
    return Affine(a=scale, d=scale, e=left - x * scale, f=above - y * scale)


_LENGTH = re.compile(rf"(?P<number>{NUMBER})\s*(?P<unit>[A-Za-z]+|%)?")
UNEVEN = 1e-4


def _unit_mm(unit: str, options: ReadOptions) -> float | None:
    if unit == "px":
        return 25.4 / options.dpi
    return MM_PER_UNIT.get(unit)


def length_of(text: str | None, default: float, options: ReadOptions) -> float:
    """A length inside the drawing, in the drawing's own units (an absolute unit is px).

    Raises
    ------
    FormatError
        It cannot be read, or its unit depends on a font or on the viewport.
    """
    if text is None or text == "auto":
        return default
    match = _LENGTH.fullmatch(text)
    mm = None if match is None else _unit_mm((match["unit"] or "px").lower(), options)
    number = math.inf if match is None else float(match["number"])
    if match is None or mm is None or not math.isfinite(number):
        raise FormatError(
            f"found the length {quoted(text[:40])}, expected a number, or one with mm, cm, in, "
            "pt or px"
        )
    return number * mm * options.dpi / 25.4 if match["unit"] else number


def root_scale(root: Node, file: str, options: ReadOptions, notes: ReportNotes) -> Affine:
    """The scale from the drawing's units to millimetres; the origin stays where it is.

    Raises
    ------
    FormatError
        For a broken view box.
    """
    if options.unit is not None:
        mm = _unit_mm(options.unit, options)
        if mm is None:
            raise FormatError(
                f"found the unit '{options.unit}', expected one of "
                f"{', '.join([*sorted(MM_PER_UNIT), 'px'])}"
            )
        notes.add("found", f"one unit of the drawing is {mm:.6g} mm, as asked for", file=file)
        return Affine(a=mm, d=mm)
    box, in_px = view_box(root), False
    factors: list[float] = []  # mm a unit, from the width and the height of the page
    for key, extent in zip(("width", "height"), box[2:] if box else (), strict=False):
        match = _LENGTH.fullmatch(root.get(key) or "")
        unit = (match["unit"] or "px").lower() if match else ""
        mm = _unit_mm(unit, options)
        if match and mm is not None and float(match["number"]) > 0:
            factors.append(float(match["number"]) * mm / extent)
            in_px = in_px or unit == "px"
    if factors:
        return _scale_of_page(root, factors, in_px, file, options, notes)
    mm = 25.4 / options.dpi
    notes.add(
        "assumed",
        f"the drawing states no size of its page: one unit is 1 px, {options.dpi:g} to the inch "
        f"({mm:.6g} mm)",
        option="--unit or --dpi",
        file=file,
    )
    return Affine(a=mm, d=mm)


def _scale_of_page(
    root: Node,
    factors: list[float],
    in_px: bool,
    file: str,
    options: ReadOptions,
    notes: ReportNotes,
) -> Affine:
    """The scale of a page; where its sides disagree the smaller one, unless it is stretched."""
    sx, sy = factors[0], factors[-1]
    stretched = (root.get("preserveAspectRatio") or "").startswith("none")
    uneven = abs(sx - sy) > UNEVEN * max(sx, sy)
    if uneven and stretched:
        text = f"the page is stretched: {sx:.6g} mm a unit across, {sy:.6g} mm along"
        notes.add("warning", text, file=file)
    elif uneven:
        text = f"width and height give {sx:.6g} and {sy:.6g} mm a unit: the smaller is taken, as "
        notes.add("assumed", f"{text}the drawing asks", option="--unit", file=file)
    if not stretched:
        sx = sy = min(sx, sy)
    text = f"one unit of the drawing is {sx:.6g} mm, from the size of its page"
    if in_px:
        text += f" in px, {options.dpi:g} to the inch"
        notes.add("assumed", text, option="--dpi", file=file)
    else:
        notes.add("found", text, file=file)
    return Affine(a=sx, d=sy)


def view_box(node: Node) -> tuple[float, float, float, float] | None:
    """The view box of an element; None where it has none, or an empty one."""
    text = node.get("viewBox")
    if text is None:
        return None
    try:
        x, y, w, h = read_numbers(text)
    except ValueError:
        raise FormatError(f"found the viewBox {quoted(text[:60])}, expected four numbers") from None
    return (x, y, w, h) if w > 0 and h > 0 else None
