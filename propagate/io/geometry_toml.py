"""Where a set's geometry is, how a DXF is read, and levels through landmarks: from TOML."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace

from propagate.errors import UnknownName
from propagate.io.checks import NAME_RULE, Table, as_number, is_name, show_value
from propagate.io.options import allowance_said, dxf_words
from propagate.pattern.model import Piece
from propagate.pattern.patternset import PatternSet

__all__ = [
    "DEFAULT_GEOMETRY",
    "DXF_UNITS",
    "DxfSaid",
    "LevelPlace",
    "LevelsThrough",
    "choices_of",
    "draw_levels",
    "first_level",
    "is_drawing",
    "is_drawing_name",
    "read_dxf_choices",
    "read_geometry",
    "read_levels",
    "tell_levels",
    "with_levels",
    "without_levels",
]

DEFAULT_GEOMETRY = "geometry"
DXF_UNITS = ("mm", "cm", "in")
CORNER_DEGREES = (1.0, 120.0)
_NOT_IN_FILES = re.compile(r'[\x00-\x1f\x7f/\\:*?"<>|]')

DxfSaid = Mapping[str, str | float | Mapping[str, float]]
"""What ``[dxf]`` says, by its keys."""
LevelPlace = str | Mapping[str, tuple[float, float]]
"""A landmark, or a point in each size, mm."""
LevelsThrough = Mapping[str, Mapping[str, LevelPlace]]
"""Level name to the place that it goes through on each piece."""


def is_drawing(geometry: str) -> bool:
    """Tell whether the geometry is a DXF and not a folder."""
    return geometry.lower().endswith(".dxf")


def is_drawing_name(name: str) -> bool:
    """Tell whether a file name can stand in ``set.toml`` as that of the DXF."""
    return is_drawing(name) and not _NOT_IN_FILES.search(name) and name[0] not in ". "


def read_geometry(table: Table) -> str:
    """Return the name of the folder, or of the DXF, beside the file.

    Beside it and not elsewhere, so that a set can be moved as one folder.
    """
    name = table.text("geometry", DEFAULT_GEOMETRY)
    if not is_drawing_name(name) and not is_name(name):
        table.wrong(
            "geometry",
            f"the name of a folder beside this file ({NAME_RULE}), or of a DXF beside it "
            '("style.dxf")',
        )
    return name


def read_dxf_choices(top: Table, geometry: str) -> DxfSaid:
    """Return what ``[dxf]`` says of reading the DXF."""
    if "dxf" not in top:
        return {}
    table = top.table("dxf")
    if not is_drawing(geometry):
        top.problems.add(
            "dxf",
            f"found this table beside the geometry '{geometry}', expected it only where the "
            'geometry is a DXF; take it out, or write geometry = "NAME.dxf"',
        )
    found: dict[str, str | float | Mapping[str, float]] = {}
    for key, words in {"unit": DXF_UNITS, **dxf_words()}.items():
        if key in table:
            found[key] = table.choice(key, words)
        else:
            table.raw(key)
    for key in ("allowance", "allowances", "corner_angle"):
        table.raw(key)
    if "allowance" in table:
        found["allowance"] = table.length("allowance", 0.0)
    if "allowances" in table:
        found["allowances"] = _read_allowances(table.table("allowances"))
    if "corner_angle" in table:
        angle, (low, high) = as_number(table.values["corner_angle"]), CORNER_DEGREES
        if angle is None or not low <= angle <= high:
            table.wrong("corner_angle", f"{low:g} to {high:g} degrees")
            angle = low
        found["corner_angle"] = float(angle)
    table.finish()
    return found


def _read_allowances(table: Table) -> Mapping[str, float]:
    """Allowances of edges of a cut line: ``EDGE = LENGTH`` or ``"PIECE.EDGE" = LENGTH``."""
    for key in table:
        if key.count(".") > 1 or not all(is_name(part) for part in key.split(".")):
            table.problems.add(
                table.where, f"found {show_value(key)}, expected EDGE or PIECE.EDGE: {NAME_RULE}"
            )
    return {key: table.length(key, 0.0) for key in table}


def read_levels(top: Table) -> LevelsThrough:
    """Return what ``[levels.NAME]`` tables say: ``PIECE = "LANDMARK"``, or a point in each size."""
    tables = top.table("levels")
    found: dict[str, Mapping[str, LevelPlace]] = {}
    for level in tables:
        if not is_name(level):
            top.problems.add(
                "levels", f"found {show_value(level)}, expected a level name: {NAME_RULE}"
            )
        places = tables.table(level, f"level '{level}'")
        for piece in places:
            if not is_name(piece):
                top.problems.add(
                    f"level '{level}'",
                    f"found {show_value(piece)}, expected a piece name: {NAME_RULE}",
                )
        found[level] = {piece: _read_place(places, piece) for piece in places}
        if not found[level] and isinstance(tables.values[level], Mapping):
            top.problems.add(
                f"level '{level}'", 'found no piece, expected PIECE = "LANDMARK", once a piece'
            )
    return found


def _read_place(places: Table, piece: str) -> LevelPlace:
    """A landmark by its name, or a table of points by size."""
    if not isinstance(places.values[piece], Mapping):
        return places.text(piece)
    points: dict[str, tuple[float, float]] = {}
    table = places.table(piece)
    for size in table:
        pair = [as_number(value) for value in table.items(size)]
        if len(pair) == 2 and pair[0] is not None and pair[1] is not None:
            points[size] = float(pair[0]), float(pair[1])
        else:
            table.wrong(size, "a point, [x, y] in mm")
    return points


def choices_of(options: Mapping[str, str]) -> DxfSaid:
    """Return options of the command line (``KEY=VALUE``) as a set file has them.

    Raises
    ------
    FormatError
        A length that is none.
    """
    found: dict[str, str | float | Mapping[str, float]] = dict(options)
    if "allowance" in options:
        found["allowance"] = allowance_said(options["allowance"])
    return found


def with_levels(
    pieces: Mapping[str, Piece], levels: LevelsThrough
) -> tuple[dict[str, Piece], list[str]]:
    """Put levels through landmarks on pieces, and tell what is wrong.

    Parameters
    ----------
    pieces : mapping of name to Piece
    levels : mapping of level name to a mapping of piece to landmark or points

    Returns
    -------
    pieces : mapping of name to Piece
        All of them.
    problems : list of str
        Pieces, landmarks and sizes that are not there, and levels that are drawn already.
    """
    found, problems = dict(pieces), list[str]()
    wanted = ((level, *place) for level, places in levels.items() for place in places.items())
    for level, name, through in wanted:
        where = f"level '{level}'"
        if name not in pieces:
            problems.append(f"{where}: {UnknownName('piece', name, list(pieces))}")
            continue
        where += f", piece '{name}'"
        drawn = [size for size, sized in found[name].nest.items() if level in sized.levels]
        if drawn:
            problems.append(
                f"{where}: found it drawn already in size '{drawn[0]}', expected it only where "
                f"the geometry names no such level; take it out of [levels.{level}], or give "
                "it another name"
            )
            continue
        if not isinstance(through, str) and through.keys() != found[name].nest.keys():
            sizes = ", ".join(found[name].nest)
            problems.append(f"{where}: found {', '.join(through)}, expected a point for {sizes}")
            continue
        try:
            found[name] = _add_level(found[name], level, through)
        except UnknownName as error:
            problems.append(f"{where}: {error}")
    return found, problems


def _add_level(piece: Piece, level: str, through: LevelPlace) -> Piece:
    """A piece with a level through a landmark or through points, in every size."""
    nest = {}
    for size, sized in piece.nest.items():
        point = sized.landmark(through).point if isinstance(through, str) else through[size]
        nest[size] = replace(sized, levels={**sized.levels, level: point})
    return Piece(piece.name, nest)


def tell_levels(
    levels: LevelsThrough, pieces: Mapping[str, Piece], read: Mapping[str, Piece]
) -> LevelsThrough:
    """What ``[levels]`` says of pieces whose own file has no place for levels.

    Parameters
    ----------
    levels : mapping of level name to a mapping of piece to landmark or points
        As it was said: what goes through a landmark stays so, points are those of the pieces now.
    pieces, read : mapping of name to Piece
        As they are, and as they were read; a level that is new is told by its points.
    """
    found: dict[str, dict[str, LevelPlace]] = {}
    for level, places in levels.items():
        for piece, through in places.items():
            now = through if isinstance(through, str) else _list_points(pieces.get(piece), level)
            if now is not None:
                found.setdefault(level, {})[piece] = now
    for name, own in pieces.items():
        first = next(iter(own.nest.values()))
        known = next(iter(read[name].nest.values())).levels if name in read else first.levels
        for level in first.levels.keys() - known.keys():
            now = _list_points(own, level)
            if now is not None:
                found.setdefault(level, {})[name] = now
    return found


def _list_points(piece: Piece | None, level: str) -> Mapping[str, tuple[float, float]] | None:
    """The points of a level in every size of a piece; None where it lacks one."""
    if piece is None or any(level not in sized.levels for sized in piece.nest.values()):
        return None
    return {size: sized.levels[level] for size, sized in piece.nest.items()}


def draw_levels(pattern: PatternSet, levels: LevelsThrough) -> PatternSet:
    """Add levels through landmarks, in every size; they replace those of the same name."""
    pieces = dict(pattern.pieces)
    for name, places in levels.items():
        for piece, mark in places.items():
            pattern.piece(piece)
            pieces[piece] = _add_level(pieces[piece], name, mark)
    known = {level for piece in pieces.values() for level in piece.at(pattern.base).levels}
    lay_on = pattern.lay_on if pattern.lay_on in known or not levels else next(iter(levels))
    return replace(pattern, pieces=pieces, lay_on=lay_on)


def without_levels(piece: Piece, levels: LevelsThrough) -> Piece:
    """Return a piece without the levels that the relations file gives it."""
    own = {level for level, places in levels.items() if piece.name in places}
    if not own:
        return piece
    return Piece(
        piece.name,
        {
            size: replace(sized, levels={k: at for k, at in sized.levels.items() if k not in own})
            for size, sized in piece.nest.items()
        },
    )


def first_level(pieces: Iterable[Piece], base: str) -> str:
    """The level that sizes are laid on: the first that is drawn, else a name to be filled."""
    return next((level for piece in pieces for level in piece.at(base).levels), "hip")
