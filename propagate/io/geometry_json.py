"""A piece in all its sizes as JSON text, and back.

The writer is canonical: the same piece gives the same text.  Each edge, landmark
or mark takes one line; numbers are the shortest decimals that read back to the
same digits (Python's ``repr``); empty optional lists are left out.  An edge that
was authored as path data is written as that path data.
"""

from __future__ import annotations

import json
from itertools import chain
from typing import cast, get_args

import numpy as np

from propagate.errors import FormatError
from propagate.geometry.polyline import as_pair
from propagate.io.checks import (
    SIZE_RULE,
    Problems,
    Table,
    check_format,
    is_size,
    show_value,
)
from propagate.io.reading import (
    MOST_BYTES,
    MOST_EDGE_POINTS,
    MOST_POINTS,
    MOST_SIZES,
    UnreadableFile,
    parse_json,
)
from propagate.lengths import parse_length
from propagate.pattern.grain import Grain
from propagate.pattern.model import (
    Array,
    Dart,
    Edge,
    InternalLine,
    Label,
    Landmark,
    LandmarkKind,
    Mark,
    Piece,
    SizedPiece,
    frozen_points,
)
from propagate.tolerances import FARTHEST_MM

__all__ = ["FORMAT", "dump_piece", "load_piece"]

_LINE = ",\n"


def dump_piece(piece: Piece) -> str:
    """Return the canonical JSON text of a piece, with a newline at its end.

    Raises
    ------
    FormatError
        A number is not finite; JSON has no spelling for it.
    """
    sizes = []
    for size, sized in piece.nest.items():
        try:
            sizes.append(f"    {_spell_text(size)}: {_size_text(sized)}")
        except ValueError as error:
            raise FormatError(
                f"piece '{piece.name}', size '{size}': found a coordinate that is not finite, "
                "expected numbers; it cannot be written"
            ) from error
    return (
        f'{{\n  "format": {FORMAT},\n  "piece": {_spell_text(piece.name)},\n'
        f'  "sizes": {{\n{_LINE.join(sizes)}\n  }}\n}}\n'
    )


def _size_text(sized: SizedPiece) -> str:
    edges: list[dict[str, object]] = []
    for edge in sized.edges:
        if edge.path is not None:
            edges.append({"name": edge.name, "path": edge.path})
            continue
        turns = {"turns": [int(turn) for turn in edge.turns]} if edge.turns else {}
        edges.append({"name": edge.name, "points": edge.points.tolist(), **turns})
    lists: dict[str, list[dict[str, object]]] = {
        "edges": edges,
        "landmarks": [
            {
                "name": mark.name,
                "edge": mark.edge,
                "point": _spell_pair(mark.point),
                "kind": mark.kind,
            }
            for mark in sized.landmarks
        ],
        "darts": [
            {"name": d.name, "edge": d.edge, "legs": list(d.legs), "tip": _spell_pair(d.tip)}
            for d in sized.darts
        ],
        "lines": [{"name": line.name, "points": line.points.tolist()} for line in sized.lines],
        "drills": [{"name": mark.name, "point": _spell_pair(mark.point)} for mark in sized.drills],
    }
    parts = []
    for key, objects in lists.items():
        if objects or key == "edges":
            rows = _LINE.join(f"        {_spell_text(item)}" for item in objects)
            parts.append(f'"{key}": [\n{rows}\n      ]')
    parts.append(
        f'"grain": {_spell_text([_spell_pair(sized.grain.start), _spell_pair(sized.grain.end)])}'
    )
    if sized.levels:
        levels = {name: _spell_pair(point) for name, point in sized.levels.items()}
        parts.append(f'"levels": {_spell_text(levels)}')
    if sized.label is not None:
        label = {"point": _spell_pair(sized.label.point), "angle": float(sized.label.angle)}
        parts.append(f'"label": {_spell_text(label)}')
    return "{\n" + _LINE.join(f"      {part}" for part in parts) + "\n    }"


def _spell_text(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _spell_pair(point: tuple[float, float]) -> list[float]:
    return [float(point[0]), float(point[1])]


FORMAT = 1
_KINDS: tuple[str, ...] = get_args(LandmarkKind)
_NUMBERS = {int, float}  # not bool
_NOWHERE = (0.0, 0.0)  # stand-in for a point that could not be read; never leaves the reader


def load_piece(text: str, source: str) -> Piece:
    """Read a piece from JSON text; `source` is the name of its file, for messages.

    Raises
    ------
    FormatError
        Broken syntax (with line and column), a newer format, an unknown key, a
        wrong type; all problems of the file at once.
    """
    if len(text) > MOST_BYTES:
        raise UnreadableFile(
            f"{source}: found {len(text) / 1e6:.0f} million letters, expected a piece in at "
            f"most {MOST_BYTES // 10**6} million; write fewer points or decimals"
        )
    problems = Problems(source)
    table = Table(parse_json(text, source), "", problems)
    check_format(table, FORMAT)
    name = table.name("piece")
    sizes = table.table("sizes", "")
    table.raw("sizes", required=True)
    nest: dict[str, SizedPiece] = {}
    if len(sizes.values) > MOST_SIZES:
        problems.add("sizes", f"found {len(sizes.values)} sizes, expected at most {MOST_SIZES}")
        problems.stop_if_any()
    for size in sizes:
        if not is_size(size):
            problems.add("sizes", f"found {show_value(size)}, expected a size: {SIZE_RULE}")
        nest[size] = _read_size(Table(sizes.values[size], f"size '{size}'", problems))
    if "sizes" in table and not nest:
        problems.add("sizes", "found no size, expected at least one")
    table.finish()
    problems.stop_if_any()
    return Piece(name, nest)


def _read_size(table: Table) -> SizedPiece:
    table.raw("edges", required=True)
    table.raw("grain", required=True)
    edges = tuple(_read_edge(item) for item in table.tables("edges", "edge"))
    if "edges" in table and not edges:
        table.wrong("edges", "at least one edge")
    grain = _read_points(table, "grain") if "grain" in table else np.zeros((2, 2))
    if len(grain) != 2:
        table.wrong("grain", "two points")
    start, end = map(as_pair, grain[:2])
    landmarks, darts, lines, drills = [], [], [], []
    for row in table.tables("landmarks", "landmark"):
        place = row.name("name"), row.text("edge"), _read_point(row, "point")
        kind = cast(LandmarkKind, row.choice("kind", _KINDS, "mark"))
        landmarks.append(Landmark(*place, kind))
        row.finish()
    for row in table.tables("darts", "dart"):
        legs = row.texts("legs", required=True)
        if "legs" in row and len(legs) != 2:
            row.wrong("legs", "the names of two landmarks")
        pair = (legs[0], legs[1]) if len(legs) == 2 else ("", "")
        darts.append(Dart(row.name("name"), row.text("edge"), pair, _read_point(row, "tip")))
        row.finish()
    for row in table.tables("lines", "line"):
        lines.append(InternalLine(row.name("name"), _read_points(row, "points")))
        row.finish()
    for row in table.tables("drills", "drill"):
        drills.append(Mark(row.name("name"), _read_point(row, "point")))
        row.finish()
    levels, label = table.table("levels"), table.table("label")
    sized = SizedPiece(
        edges=edges,
        grain=Grain(start, end),
        landmarks=tuple(landmarks),
        darts=tuple(darts),
        lines=tuple(lines),
        drills=tuple(drills),
        levels={name: _read_point(levels, name) for name in levels},
        label=_read_label(label) if "label" in table else None,
    )
    table.finish()
    return sized


def _read_edge(table: Table) -> Edge:
    name = table.name("name")
    path = table.optional_text("path", MOST_BYTES)
    if path is None:
        points = _read_points(table, "points")
        turns = table.items("turns", most=MOST_POINTS)
        whole = [turn for turn in turns if type(turn) is int and 0 < turn < len(points) - 1]
        if whole != turns or whole != sorted(set(whole)):
            table.wrong("turns", f"rising numbers of inner vertices, from 1 to {len(points) - 2}")
        table.finish()
        return Edge(name, points, tuple(whole))
    from propagate.io.path_data import flatten_path

    if "points" in table or "turns" in table:
        table.note("found 'path' beside 'points' or 'turns', expected one or the other")
    table.raw("points")
    table.raw("turns")
    table.finish()
    try:
        points, bends = flatten_path(path)
    except FormatError as error:
        table.note(str(error), "path")
        return Edge(name, frozen_points([_NOWHERE, _NOWHERE]))
    _count_points(table, "path", len(points))
    return Edge(name, points, bends, path)


def _count_points(table: Table, key: str, count: int) -> None:
    """Refuse an edge, and a piece in all its sizes, of more points than any has."""
    table.problems.points += count
    if count > MOST_EDGE_POINTS:
        table.note(
            f"found a line of {count} points, expected at most {MOST_EDGE_POINTS}; are its "
            "numbers mm?",
            key,
        )
    if table.problems.points > MOST_POINTS:
        table.note(f"found more than {MOST_POINTS} points in all; are its numbers mm?", key)
        table.problems.stop_if_any()


def _read_points(table: Table, key: str) -> Array:
    """Read a list of two points or more; numbers only, since numpy would take "1" for 1."""
    table.raw(key, required=True)
    rows = table.items(key, most=MOST_POINTS)
    _count_points(table, key, len(rows))
    stand_in = frozen_points([_NOWHERE] * 2)
    if len(rows) < 2:
        if isinstance(table.values.get(key), list):
            table.wrong(key, "at least 2 points")
        return stand_in
    pairs = cast("list[list[object]]", rows)
    if not ({list}.issuperset(map(type, pairs)) and {2}.issuperset(map(len, pairs))):
        index = next(i for i, row in enumerate(rows) if not isinstance(row, list) or len(row) != 2)
        found = f"found {show_value(rows[index])}, expected a point [x, y]"
        table.problems.add(f"{table.at(key)}[{index}]", found)
        return stand_in
    if not _NUMBERS.issuperset(map(type, chain.from_iterable(pairs))):
        index = next(i for i, row in enumerate(pairs) if not _NUMBERS.issuperset(map(type, row)))
        found = f"found {show_value(pairs[index])}, expected two numbers in mm"
        table.problems.add(f"{table.at(key)}[{index}]", found)
        return stand_in
    try:
        points = np.array(pairs, dtype=np.float64)
    except OverflowError:
        points = np.array([[np.inf, np.inf]])
    if (np.abs(points) > FARTHEST_MM).any():
        found = f"found a number beyond {FARTHEST_MM:.0f}, expected millimetres"
        table.note(found, key)
        return stand_in
    return frozen_points(points)


def _read_point(table: Table, key: str) -> tuple[float, float]:
    value = table.raw(key, required=True)
    if key not in table:
        return _NOWHERE
    good = isinstance(value, list) and len(value) == 2 and _NUMBERS.issuperset(map(type, value))
    try:
        if good:
            x, y = map(float, cast("list[float]", value))
            if not max(abs(x), abs(y)) > FARTHEST_MM:
                return x, y
    except OverflowError:
        pass
    table.wrong(key, "a point [x, y] in mm")
    return _NOWHERE


def _read_label(table: Table) -> Label:
    angle = parse_length(table.raw("angle")) if "angle" in table else 0.0
    if angle is None or isinstance(table.raw("angle"), str):
        table.wrong("angle", "a number of degrees")
    label = Label(_read_point(table, "point"), 0.0 if angle is None else angle)
    table.finish()
    return label
