"""Entities read as shapes, and what stands where a number belongs refused."""

from __future__ import annotations

from collections import Counter as Counts
from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from propagate.errors import FormatError
from propagate.io.dxf.conventions import (
    MAX_DRAWN_LINES,
    MAX_SHAPES,
    MAX_TEXTS,
    NOTCH_NAMES,
    RULE_NUMBER,
    Layer,
)
from propagate.io.dxf.frame import Entity, RawFile
from propagate.io.dxf.shapes import Insert, Line, Point, Shapes, Text
from propagate.pattern.model import Array
from propagate.tolerances import CHORD_ERROR_MM
from propagate.visible import quoted

__all__ = ["Counter", "parse_number", "read_shapes", "refuse_no_numbers"]

_FAR = 1e9
_CHORDS = 720  # in one arc at most
_TEXT_LINES = 1000  # of one text
_CHORD = CHORD_ERROR_MM / 25.4  # small enough in inches too


class Counter:
    """Refuses a file that holds more shapes than can be read."""

    def __init__(self, name: str) -> None:
        self.name, self.left = name, MAX_SHAPES
        self.texts, self.lines = MAX_TEXTS, MAX_DRAWN_LINES

    def take(self, count: int, texts: int = 0, lines: int = 0) -> None:
        """Count shapes, and how many of them are texts and lines."""
        self.left -= count
        self.texts -= texts
        self.lines -= lines
        if self.left < 0 or self.texts < 0 or self.lines < 0:
            raise FormatError(
                f"{self.name}: found more than {MAX_SHAPES} points, lines and texts, more than "
                f"{MAX_TEXTS} texts or more than {MAX_DRAWN_LINES} lines; split the style into "
                "several files"
            )


def read_shapes(file: RawFile, entities: list[Entity], counter: Counter) -> Shapes:
    """Read the entities of one block.

    Raises
    ------
    FormatError
        More shapes than can be read.
    """
    shapes = Shapes()
    kinds = Counts(entity.kind for entity in entities)
    counter.take(
        len(entities),
        kinds["TEXT"] + kinds["MTEXT"],
        kinds["LINE"] + kinds["POLYLINE"] + kinds["LWPOLYLINE"],
    )
    for entity in entities:
        try:
            known = _read_entity(file, entity, shapes)
        except (ValueError, LookupError, OverflowError):
            known = False
        if shapes.unrolled:
            counter.take(shapes.unrolled)
            shapes.unrolled = 0
        if not known:
            shapes.extras.append((_find_layer(file, entity), entity))
    return shapes


def _find_layer(file: RawFile, entity: Entity) -> str:
    for index in range(entity.begin, entity.end):
        if file.codes[index] == "8":
            return file.value(index).strip()
    return ""


def parse_number(text: str) -> float:
    """Read a number with decimal point or comma; raises ValueError when it is not finite."""
    try:
        value = float(text)
    except ValueError:
        value = float(text.replace(",", "."))
    if not -_FAR < value < _FAR:
        raise ValueError(f"{quoted(text)} is no coordinate")
    return value


_PLAIN = (["0", "8", "10", "20", "30"], ["0", "8", "10", "20"])


def _plain_point(file: RawFile, entity: Entity, shapes: Shapes) -> bool:
    """Read a point written in the shortest form; most points are, and there are many."""
    begin = entity.begin
    if file.codes[begin : entity.end] not in _PLAIN:
        return False
    at = parse_number(file.values[begin + 2]), parse_number(file.values[begin + 3])
    shapes.add(Point(file.value(begin + 1).strip(), at, entity))
    return True


def _read_entity(file: RawFile, entity: Entity, shapes: Shapes) -> bool:
    kind = entity.kind
    if kind == "POINT" and _plain_point(file, entity, shapes):
        return True
    if kind == "POLYLINE":
        return _read_polyline(file, entity, shapes)
    if kind == "LWPOLYLINE":
        return _read_light_polyline(file, entity, shapes)
    span = slice(entity.begin, entity.end)
    groups: dict[str, str] = {}
    for code, value in zip(file.codes[span], file.values[span], strict=True):
        groups.setdefault(code, value)  # the first of a code counts
    layer = groups.get("8", "0").strip()
    flipped = parse_number(groups.get("230", "1")) < 0  # drawn seen from behind
    if kind == "POINT":
        place = parse_number(groups["10"]), parse_number(groups["20"])
        shapes.add(Point(layer, place, entity))
    elif kind == "LINE":
        ends = [
            [parse_number(groups[x]), parse_number(groups[y])]
            for x, y in (("10", "20"), ("11", "21"))
        ]
        shapes.lines.append(Line(layer, np.array(ends), False, entity))
    elif kind == "TEXT":
        at = np.array([parse_number(groups["10"]), parse_number(groups["20"])])
        angle = parse_number(groups.get("50", "0"))
        text = file.value(_find_group(file, entity, "1")).strip()
        shapes.texts.append(Text(layer, at, text, angle, entity))
    elif kind == "MTEXT":
        _long_text(file, entity, groups, shapes)
    elif kind == "INSERT":
        shapes.inserts.append(
            Insert(
                file.value(_find_group(file, entity, "2")).strip(),
                (parse_number(groups.get("10", "0")), parse_number(groups.get("20", "0"))),
                (parse_number(groups.get("41", "1")), parse_number(groups.get("42", "1"))),
                parse_number(groups.get("50", "0")),
                entity,
            )
        )
        return not flipped
    else:
        return False
    if flipped and kind != "LINE" and kind != "POINT":
        shapes.texts.pop()
        return False
    return True


def _find_group(file: RawFile, entity: Entity, code: str) -> int:
    for index in range(entity.begin, entity.end):
        if file.codes[index] == code:
            return index
    raise ValueError(code)


def _long_text(file: RawFile, entity: Entity, groups: dict[str, str], shapes: Shapes) -> None:
    parts = [
        file.value(index)
        for index in range(entity.begin, entity.end)
        if file.codes[index] in ("1", "3")
    ]
    at = np.array([parse_number(groups["10"]), parse_number(groups["20"])])
    whole = "".join(parts)
    if whole.count("\\P") > _TEXT_LINES:
        raise ValueError("a text of too many lines")
    shapes.unrolled += whole.count("\\P")
    for line in whole.split("\\P"):
        shapes.texts.append(Text(groups.get("8", "0").strip(), at, line.strip(), 0.0, entity))


def _read_polyline(file: RawFile, entity: Entity, shapes: Shapes) -> bool:
    """Read an old polyline; splines' frame points are left out, meshes are not lines."""
    codes, values = file.codes, file.values
    layer, flags, mirrored = "0", 0, False
    index = entity.begin + 1
    while index < entity.end and codes[index] != "0":
        if codes[index] == "8":
            layer = file.value(index).strip()
        elif codes[index] == "70":
            flags = int(values[index])
        elif codes[index] == "230":
            mirrored = parse_number(values[index]) < 0
        index += 1
    if flags & (16 | 64) or mirrored:
        return False
    xs: list[str] = []
    ys: list[str] = []
    bulges: list[float] = []
    frame = x = y = None
    bulge, inside = 0.0, False
    for code, value in zip(codes[index : entity.end], values[index : entity.end], strict=True):
        if code == "10":
            x = value
        elif code == "20":
            y = value
        elif code == "0":
            if inside and x is not None and y is not None and frame is None:
                xs.append(x)
                ys.append(y)
                bulges.append(bulge)
            inside = value.strip().upper() == "VERTEX"
            frame = x = y = None
            bulge = 0.0
        elif code == "42":
            bulge = parse_number(value)
        elif code == "70" and int(value) & 16:
            frame = value
    if inside and x is not None and y is not None and frame is None:
        xs.append(x)
        ys.append(y)
        bulges.append(bulge)
    return _add_line(shapes, entity, layer, bool(flags & 1), (xs, ys, bulges))


def _read_light_polyline(file: RawFile, entity: Entity, shapes: Shapes) -> bool:
    layer, flags, mirrored = "0", 0, False
    xs: list[str] = []
    ys: list[str] = []
    bulges: list[float] = []
    for index in range(entity.begin + 1, entity.end):
        code, value = file.codes[index], file.values[index]
        if code == "8":
            layer = file.value(index).strip()
        elif code == "70":
            flags = int(value)
        elif code == "10":
            xs.append(value)
            bulges.append(0.0)
        elif code == "20":
            ys.append(value)
        elif code == "42" and bulges:
            bulges[-1] = parse_number(value)
        elif code == "230":
            mirrored = parse_number(value) < 0
    if mirrored:
        return False
    return _add_line(shapes, entity, layer, bool(flags & 1), (xs, ys, bulges))


def _add_line(
    shapes: Shapes,
    entity: Entity,
    layer: str,
    closed: bool,
    found: tuple[list[str], list[str], list[float]],
) -> bool:
    xs, ys, bulges = found
    if len(xs) < 2 or len(xs) != len(ys):
        return False
    try:
        points = np.array([xs, ys], dtype=np.float64).T
    except ValueError:
        points = np.array([[parse_number(x) for x in xs], [parse_number(y) for y in ys]]).T
    if not (np.abs(points) < _FAR).all():
        return False
    if any(bulges):
        if sum(map(bool, bulges)) * _CHORDS > MAX_SHAPES:
            return False
        points = np.concatenate(list(_unroll_arcs(points, bulges, closed)))
        shapes.unrolled += len(points) - len(xs)
    shapes.lines.append(Line(layer, points, closed, entity))
    return True


def _unroll_arcs(points: Array, bulges: list[float], closed: bool) -> Iterator[Array]:
    """Replace arcs by chords: a bulge is the tangent of a quarter of the arc's angle."""
    count = len(points)
    for index, start in enumerate(points):
        yield start[None]
        bulge = bulges[index]
        if not bulge or (index == count - 1 and not closed):
            continue
        end = points[(index + 1) % count]
        z0, z1 = complex(*start), complex(*end)
        angle = 4.0 * np.arctan(bulge)
        if z0 == z1 or abs(angle) < 1e-9:
            continue
        centre = (z0 + z1) / 2 + 1j * (z1 - z0) / 2 * (1 - bulge**2) / (2 * bulge)
        radius = abs(z0 - centre)
        step = 2.0 * np.arccos(max(1.0 - _CHORD / max(radius, _CHORD), 0.0))
        count_of = min(int(abs(angle) / step) + 1, _CHORDS)
        shares = np.arange(1, count_of) / count_of
        z = centre + (z0 - centre) * np.exp(1j * angle * shares)
        yield np.column_stack([z.real, z.imag])


# ------------------------------------------------------------------------------ what is no number

_NAMES = {
    Layer.BOUNDARY: "the boundary",
    Layer.SEW: "the seam line",
    Layer.TURN: "a turn point",
    Layer.CURVE: "a curve point",
    Layer.GRADE_LINE: "the grade reference line",
    Layer.MIRROR: "the mirror line",
    Layer.GRAIN: "the grain line",
    Layer.INTERNAL: "an internal line",
    Layer.CUT_OUT: "a cut-out",
    Layer.DRILL: "a drill mark",
    **{layer: f"a {word.replace('_', ' ')}" for layer, word in NOTCH_NAMES.items()},
}
_AXES = {"10": "x", "20": "y", "11": "x", "21": "y", "42": "bulge"}
_OF_A_PIECE = ("POLYLINE", "LWPOLYLINE", "LINE", "POINT", "TEXT")


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
        found = (
            next(_no_numbers(file, entity), None) if _makes_a_piece(file, layer, entity) else None
        )
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


def _makes_a_piece(file: RawFile, layer: str, entity: Entity) -> bool:
    """Tell whether a piece is made of it, or graded by it."""
    if entity.kind == "TEXT":
        return any(
            code == "1" and RULE_NUMBER.fullmatch(value) is not None
            for code, value in _walk_inside(file, entity)
        )
    return entity.kind in _OF_A_PIECE and layer in _NAMES


def _walk_inside(file: RawFile, entity: Entity) -> Iterator[tuple[str, str]]:
    inside = slice(entity.begin, entity.end)
    return zip(file.codes[inside], file.values[inside], strict=True)


def _no_numbers(file: RawFile, entity: Entity) -> Iterator[tuple[int, str, str]]:
    """Coordinates that are no numbers: vertex, counted from 1 (0: a single place), axis, value."""
    vertex = 0
    many = entity.kind in ("POLYLINE", "LWPOLYLINE", "LINE")
    for code, value in _walk_inside(file, entity):
        if entity.kind == "POLYLINE":
            vertex += code == "0" and value.strip().upper() == "VERTEX"
        elif many:
            vertex += code in ("10", "11")
        if code not in _AXES or (entity.kind == "POLYLINE" and not vertex):
            continue
        if code == "42" and "POLYLINE" not in entity.kind:
            continue
        try:
            parse_number(value)
        except ValueError:
            yield vertex, _AXES[code], value.strip()
