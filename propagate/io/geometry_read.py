"""A piece in all its sizes, read strictly from JSON text."""

from __future__ import annotations

from itertools import chain
from typing import cast, get_args

import numpy as np

from propagate.errors import FormatError
from propagate.io.checks import (
    SIZE_RULE,
    Problems,
    Table,
    check_format,
    is_size,
    parse_length,
    show_value,
)
from propagate.io.limits import MOST_BYTES, MOST_EDGE_POINTS, MOST_POINTS, MOST_SIZES
from propagate.io.reading import UnreadableFile, parse_json
from propagate.pattern.model import (
    Array,
    Dart,
    Edge,
    Grain,
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

__all__ = ["FORMAT", "load_piece"]

FORMAT = 1
_KINDS: tuple[str, ...] = get_args(LandmarkKind)
_NOWHERE = (0.0, 0.0)  # stand-in for a point that could not be read; never leaves the reader


def load_piece(text: str, source: str) -> Piece:
    """Read a piece from JSON text.

    Parameters
    ----------
    text : str
    source : str
        Name of the file, for messages.

    Raises
    ------
    FormatError
        Broken syntax (with line and column), a newer format, an unknown key, a
        wrong type; all problems of the file at once.
    """
    if len(text) > MOST_BYTES:
        raise UnreadableFile(
            [
                f"{source}: found {len(text) / 1e6:.0f} million letters, expected a piece in at "
                f"most {MOST_BYTES // 10**6} million; write fewer points or decimals"
            ]
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
    levels = table.table("levels")
    sized = SizedPiece(
        edges=edges,
        grain=_read_grain(table),
        landmarks=tuple(_read_landmark(item) for item in table.tables("landmarks", "landmark")),
        darts=tuple(_read_dart(item) for item in table.tables("darts", "dart")),
        lines=tuple(_line(item) for item in table.tables("lines", "line")),
        drills=tuple(_drill(item) for item in table.tables("drills", "drill")),
        levels={name: _read_point(levels, name) for name in levels},
        label=_read_label(table.table("label")) if "label" in table else None,
    )
    table.table("label")
    table.finish()
    return sized


def _read_edge(table: Table) -> Edge:
    name = table.name("name")
    path = table.optional_text("path", MOST_BYTES)
    if path is not None:
        if "points" in table or "turns" in table:
            table.problems.add(
                table.where, "found 'path' beside 'points' or 'turns', expected one or the other"
            )
        table.raw("points")
        table.raw("turns")
        table.finish()
        return _path_edge(table, name, path)
    points = _read_points(table, "points", at_least=2)
    turns = _read_turns(table, len(points))
    table.finish()
    return Edge(name, points, turns)


def _path_edge(table: Table, name: str, path: str) -> Edge:
    from propagate.io.path_data import flatten_path

    try:
        points, turns = flatten_path(path)
    except FormatError as error:
        table.problems.add(table.at("path"), str(error))
        return Edge(name, frozen_points([_NOWHERE, _NOWHERE]))
    _count_points(table, "path", len(points))
    return Edge(name, points, turns, path)


def _count_points(table: Table, key: str, count: int) -> None:
    """Refuse an edge, and a piece in all its sizes, of more points than any has."""
    table.problems.points += count
    if count > MOST_EDGE_POINTS:
        table.problems.add(
            table.at(key),
            f"found a line of {count} points, expected at most {MOST_EDGE_POINTS}; are its "
            "numbers mm?",
        )
    if table.problems.points > MOST_POINTS:
        table.problems.add(
            table.at(key), f"found more than {MOST_POINTS} points in all; are its numbers mm?"
        )
        table.problems.stop_if_any()


def _read_turns(table: Table, count: int) -> tuple[int, ...]:
    turns = table.items("turns", most=MOST_POINTS)
    whole = all(isinstance(turn, int) and not isinstance(turn, bool) for turn in turns)
    numbers = [turn for turn in turns if isinstance(turn, int)] if whole else []
    inner = all(0 < turn < count - 1 for turn in numbers)
    if not whole or not inner or numbers != sorted(set(numbers)):
        table.wrong("turns", f"rising numbers of inner vertices, from 1 to {count - 2}")
        return ()
    return tuple(numbers)


def _read_points(table: Table, key: str, *, at_least: int) -> Array:
    """Read a list of points; numbers only, since numpy would take "1" for 1."""
    table.raw(key, required=True)
    rows = table.items(key, most=MOST_POINTS)
    _count_points(table, key, len(rows))
    stand_in = frozen_points([_NOWHERE] * 2)
    if key in table and isinstance(table.values[key], list) and len(rows) < at_least:
        table.wrong(key, f"at least {at_least} points")
        return stand_in
    pairs = cast("list[list[object]]", rows)
    if not ({list}.issuperset(map(type, pairs)) and {2}.issuperset(map(len, pairs))):
        index = next(i for i, row in enumerate(rows) if not isinstance(row, list) or len(row) != 2)
        table.problems.add(
            f"{table.at(key)}[{index}]", f"found {show_value(rows[index])}, expected a point [x, y]"
        )
        return stand_in
    if not {int, float}.issuperset(map(type, chain.from_iterable(pairs))):
        index = next(
            i for i, row in enumerate(pairs) if not {int, float}.issuperset(map(type, row))
        )
        table.problems.add(
            f"{table.at(key)}[{index}]",
            f"found {show_value(pairs[index])}, expected two numbers in mm",
        )
        return stand_in
    try:
        points = np.array(pairs, dtype=np.float64)
    except OverflowError:
        points = np.array([[np.inf, np.inf]])
    if pairs and (np.abs(points) > FARTHEST_MM).any():
        table.problems.add(
            table.at(key), f"found a number beyond {FARTHEST_MM:.0f}, expected millimetres"
        )
        return stand_in
    return frozen_points(points) if pairs else stand_in


def _read_point(table: Table, key: str) -> tuple[float, float]:
    value = table.raw(key, required=True)
    if key not in table:
        return _NOWHERE
    good = (
        isinstance(value, list)
        and len(value) == 2
        and {int, float}.issuperset(type(item) for item in value)
    )
    try:
        if good:
            x, y = map(float, cast("list[float]", value))
            if not max(abs(x), abs(y)) > FARTHEST_MM:
                return x, y
    except OverflowError:
        pass
    table.wrong(key, "a point [x, y] in mm")
    return _NOWHERE


def _read_grain(table: Table) -> Grain:
    found = _read_points(table, "grain", at_least=2) if "grain" in table else None
    if found is None:
        return Grain(_NOWHERE, _NOWHERE)
    if len(found) != 2:
        table.wrong("grain", "two points")
    (x0, y0), (x1, y1) = found[:2].tolist()
    return Grain((x0, y0), (x1, y1))


def _read_landmark(table: Table) -> Landmark:
    mark = Landmark(
        table.name("name"),
        table.text("edge"),
        _read_point(table, "point"),
        cast(LandmarkKind, table.choice("kind", _KINDS, "mark")),
    )
    table.finish()
    return mark


def _read_dart(table: Table) -> Dart:
    legs = table.texts("legs", required=True)
    if "legs" in table and len(legs) != 2:
        table.wrong("legs", "the names of two landmarks")
    pair = (legs[0], legs[1]) if len(legs) == 2 else ("", "")
    dart = Dart(table.name("name"), table.text("edge"), pair, _read_point(table, "tip"))
    table.finish()
    return dart


def _line(table: Table) -> InternalLine:
    line = InternalLine(table.name("name"), _read_points(table, "points", at_least=2))
    table.finish()
    return line


def _drill(table: Table) -> Mark:
    mark = Mark(table.name("name"), _read_point(table, "point"))
    table.finish()
    return mark


def _read_label(table: Table) -> Label:
    angle = parse_length(table.raw("angle")) if "angle" in table else 0.0
    if angle is None or isinstance(table.raw("angle"), str):
        table.wrong("angle", "a number of degrees")
    label = Label(_read_point(table, "point"), 0.0 if angle is None else angle)
    table.finish()
    return label
