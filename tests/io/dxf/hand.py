"""DXF text written by hand, independent of the writer under test."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

Xy = tuple[float, float]


def pairs(*items: object) -> str:
    return "".join(f"{item}\n" for item in items)


def polyline(
    layer: str, points: Sequence[Xy], *, closed: bool = True, bulges: Sequence[float] = ()
) -> str:
    text = pairs(0, "POLYLINE", 8, layer, 66, 1, 70, int(closed))
    for index, (x, y) in enumerate(points):
        bulge = pairs(42, bulges[index]) if bulges and bulges[index] else ""
        text += pairs(0, "VERTEX", 8, layer, 10, x, 20, y) + bulge
    return text + pairs(0, "SEQEND", 8, layer)


def light(layer: str, points: Sequence[Xy], *, closed: bool = True) -> str:
    text = pairs(0, "LWPOLYLINE", 100, "AcDbEntity", 8, layer, 100, "AcDbPolyline")
    text += pairs(90, len(points), 70, int(closed))
    return text + "".join(pairs(10, x, 20, y) for x, y in points)


def line(layer: str, a: Xy, b: Xy) -> str:
    return pairs(0, "LINE", 8, layer, 10, a[0], 20, a[1], 11, b[0], 21, b[1])


def point(layer: str, at: Xy) -> str:
    return pairs(0, "POINT", 8, layer, 10, at[0], 20, at[1])


def points(layer: str, ats: Iterable[Xy]) -> str:
    return "".join(point(layer, at) for at in ats)


def text(layer: str, at: Xy, words: str) -> str:
    return pairs(0, "TEXT", 8, layer, 10, at[0], 20, at[1], 40, 2.0, 1, words)


def block(name: str, *entities: str, base: Xy = (0, 0)) -> str:
    head = pairs(0, "BLOCK", 8, 0, 2, name, 70, 0, 10, base[0], 20, base[1])
    return head + "".join(entities) + pairs(0, "ENDBLK", 8, 0)


def insert(name: str, at: Xy = (0, 0), **codes: float) -> str:
    extra = "".join(pairs(code[1:], value) for code, value in codes.items())
    return pairs(0, "INSERT", 8, 1, 2, name, 10, at[0], 20, at[1]) + extra


def style(blocks: Sequence[str], *entities: str, header: str = "") -> str:
    return (
        pairs(0, "SECTION", 2, "HEADER")
        + header
        + pairs(0, "ENDSEC", 0, "SECTION", 2, "BLOCKS")
        + "".join(blocks)
        + pairs(0, "ENDSEC", 0, "SECTION", 2, "ENTITIES")
        + "".join(entities)
        + pairs(0, "ENDSEC", 0, "EOF")
    )


def words(*lines: str, at: Xy = (0, 0)) -> str:
    return "".join(text("1", at, words) for words in lines)


def save(path: Path, content: str) -> Path:
    path.write_bytes(content.encode("latin-1"))
    return path


SQUARE: tuple[Xy, ...] = ((0, 0), (300, 0), (300, 500), (0, 500))
METRIC = words("Units: METRIC", "Sample Size: 38")
GRAIN = line("7", (100, 100), (100, 300))


def piece(
    *entities: str, name: str = "front", size: str = "38", boundary: str | None = None
) -> str:
    """A block with a piece of 300 x 500 and what is added to it."""
    return block(
        f"{name}-{size}",
        words(f"Piece Name: {name}", f"Size: {size}", "Quantity: 1,0"),
        polyline("1", SQUARE) + points("2", SQUARE) if boundary is None else boundary,
        *(() if any("\n7\n" in entity for entity in entities) else (GRAIN,)),
        *entities,
    )
