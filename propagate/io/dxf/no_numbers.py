"""Refuse a piece that has something else where a coordinate belongs.

Left out, such a line would let the size it belongs to take another line in its place.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from propagate.errors import FormatError
from propagate.io.dxf.conventions import (
    BOUNDARY,
    CURVE,
    CUT_OUT,
    DRILL,
    GRADE_LINE,
    GRAIN,
    INTERNAL,
    MIRROR,
    NOTCH_NAMES,
    RULE_NUMBER,
    SEW,
    TURN,
)
from propagate.io.dxf.shapes import number
from propagate.io.dxf.tags import Entity, RawFile

__all__ = ["refuse_no_numbers"]

_NAMES = {
    BOUNDARY: "the boundary", SEW: "the seam line", TURN: "a turn point", CURVE: "a curve point",
    GRADE_LINE: "the grade reference line", MIRROR: "the mirror line", GRAIN: "the grain line",
    INTERNAL: "an internal line", CUT_OUT: "a cut-out", DRILL: "a drill mark",
    **{layer: f"a {word.replace('_', ' ')}" for layer, word in NOTCH_NAMES.items()},
}  # fmt: skip
_AXES = {"10": "x", "20": "y", "11": "x", "21": "y", "42": "bulge"}
_KINDS = ("POLYLINE", "LWPOLYLINE", "LINE", "POINT", "TEXT")


def refuse_no_numbers(
    file: RawFile,
    extras: Sequence[tuple[str, Entity]],
    block: str,
    words: Mapping[str, str],
    style_words: Mapping[str, str],
) -> None:
    """Refuse a block in which a line or point of the piece has no number for a coordinate.

    Parameters
    ----------
    file : RawFile
    extras : sequence of (layer, entity)
        What could not be read of the block.
    block : str
        Its name.
    words, style_words : mapping of keyword to value
        System text of the block and of the style.

    Raises
    ------
    FormatError
        Names the piece, the size, the line and the vertex.
    """
    for layer, entity in extras:
        found = next(_wrong(file, entity), None) if _counts(file, layer, entity) else None
        if found is None:
            continue
        vertex, axis, value = found
        piece = words.get("piece name", "").strip()
        size = words.get("size", "").strip() or style_words.get("sample size", "").strip()
        what = "a rule number" if entity.kind == "TEXT" else _NAMES[layer]
        raise FormatError(
            f"{file.name}, "
            + (f"piece '{piece}'" if piece else f"block '{block}'")
            + (f", size {size}" if size else "")
            + f": {what} on layer {layer}"
            + (f", vertex {vertex}" if vertex else "")
            + f": found '{value}' for its {axis}, expected a number; correct the file or export "
            "it again"
        )


def _counts(file: RawFile, layer: str, entity: Entity) -> bool:
    """Tell whether a piece is made of it, or graded by it."""
    if entity.kind == "TEXT":
        return any(
            code == "1" and RULE_NUMBER.fullmatch(value) is not None
            for code, value in _pairs(file, entity)
        )
    return entity.kind in _KINDS and layer in _NAMES


def _pairs(file: RawFile, entity: Entity) -> Iterator[tuple[str, str]]:
    inside = slice(entity.begin, entity.end)
    return zip(file.codes[inside], file.values[inside], strict=True)


def _wrong(file: RawFile, entity: Entity) -> Iterator[tuple[int, str, str]]:
    """Coordinates that are no numbers: vertex, counted from 1 (0: a single place), axis, value."""
    vertex = 0
    many = entity.kind in ("POLYLINE", "LWPOLYLINE", "LINE")
    for code, value in _pairs(file, entity):
        if entity.kind == "POLYLINE":
            vertex += code == "0" and value.strip().upper() == "VERTEX"
        elif many:
            vertex += code in ("10", "11")
        if code not in _AXES or (entity.kind == "POLYLINE" and not vertex):
            continue
        if code == "42" and "POLYLINE" not in entity.kind:
            continue
        try:
            number(value)
        except ValueError:
            yield vertex, _AXES[code], value.strip()
