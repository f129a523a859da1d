"""How many millimetres one unit of a drawing is."""

from __future__ import annotations

import re

from propagate.errors import FormatError
from propagate.io.report import ReportNotes
from propagate.io.svg.affine import MM_PER_UNIT, Affine, numbers
from propagate.io.svg.options import SvgOptions
from propagate.io.svg.xml_tree import Node
from propagate.io.words import quoted

__all__ = ["length_of", "root_scale"]

_LENGTH = re.compile(
    r"(?P<number>[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(?P<unit>[A-Za-z]+|%)?"
)
UNEVEN = 1e-4


def _unit_mm(unit: str, options: SvgOptions) -> float | None:
    if unit == "px":
        return 25.4 / options.dpi
    return MM_PER_UNIT.get(unit)


def length_of(text: str | None, default: float, options: SvgOptions) -> float:
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
    if match is None or mm is None:
        raise FormatError(
            f"found the length {quoted(text[:40])}, expected a number, or one with mm, cm, in, "
            "pt or px"
        )
    number = float(match["number"])
    return number * mm * options.dpi / 25.4 if match["unit"] else number


def _absolute(text: str | None, options: SvgOptions) -> tuple[float, bool] | None:
    """Width or height of the page in mm, and whether it stated a real unit."""
    match = None if text is None else _LENGTH.fullmatch(text)
    if match is None:
        return None
    unit = (match["unit"] or "px").lower()
    mm = _unit_mm(unit, options)
    number = float(match["number"])
    return (number * mm, unit != "px") if mm is not None and number > 0 else None


def root_scale(root: Node, file: str, options: SvgOptions, notes: ReportNotes) -> Affine:
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
    box = _box(root)
    width, height = (_absolute(root.get(key), options) for key in ("width", "height"))
    if box is None or (width is None and height is None):
        return _pixels(file, options, notes)
    factors = [
        (size[0] / extent, size[1])
        for size, extent in ((width, box[2]), (height, box[3]))
        if size is not None
    ]
    return _from_page(root, factors, file, options, notes)


def _box(root: Node) -> list[float] | None:
    text = root.get("viewBox")
    if text is None:
        return None
    try:
        box = numbers(text)
    except ValueError:
        box = []
    if len(box) != 4:
        raise FormatError(f"found the viewBox {quoted(text[:60])}, expected four numbers")
    return box if box[2] > 0 and box[3] > 0 else None


def _pixels(file: str, options: SvgOptions, notes: ReportNotes) -> Affine:
    mm = 25.4 / options.dpi
    notes.add(
        "assumed",
        f"the drawing states no size of its page: one unit is 1 px, {options.dpi:g} to the inch "
        f"({mm:.6g} mm)",
        option="--unit or --dpi",
        file=file,
    )
    return Affine(a=mm, d=mm)


def _from_page(
    root: Node,
    factors: list[tuple[float, bool]],
    file: str,
    options: SvgOptions,
    notes: ReportNotes,
) -> Affine:
    sx, sy = factors[0][0], factors[-1][0]
    stretched = (root.get("preserveAspectRatio") or "").startswith("none")
    if abs(sx - sy) > UNEVEN * max(sx, sy):
        if stretched:
            notes.add(
                "warning",
                f"the page is stretched: {sx:.6g} mm a unit across, {sy:.6g} mm along",
                file=file,
            )
        else:
            notes.add(
                "assumed",
                f"width and height give {sx:.6g} and {sy:.6g} mm a unit: the smaller is taken, as "
                "the drawing asks",
                option="--unit",
                file=file,
            )
            sx = sy = min(sx, sy)
    elif not stretched:
        sx = sy = min(sx, sy)
    text = f"one unit of the drawing is {sx:.6g} mm, from the size of its page"
    if all(real for _, real in factors):
        notes.add("found", text, file=file)
    else:
        notes.add(
            "assumed", f"{text} in px, {options.dpi:g} to the inch", option="--dpi", file=file
        )
    return Affine(a=sx, d=sy)
