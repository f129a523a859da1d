"""A set that keeps the DXF it is begun from as its geometry."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from propagate.errors import FormatError
from propagate.io import set_toml
from propagate.io.begin import kind_of, read_dxf, relations_source
from propagate.io.begin_toml import commented_toml
from propagate.io.cut_boundary import allowances_wished
from propagate.io.drawn_set import read_drawing, rules_beside
from propagate.io.folder import build_set
from propagate.io.geometry_toml import (
    DxfSaid,
    LevelsThrough,
    choices_of,
    is_drawing_name,
    with_levels,
)
from propagate.io.options import ReadOptions, dxf_choices
from propagate.io.origin import Origin
from propagate.io.reading import list_files
from propagate.io.report import ReadingReport
from propagate.io.toml_in_place import changed_in_place
from propagate.pattern.patternset import PatternSet

__all__ = ["begin_drawn"]

_PLAIN = "style.dxf"


def begin_drawn(
    paths: list[Path],
    wishes: ReadOptions,
    levels: LevelsThrough,
    relations: Path | None = None,
) -> tuple[PatternSet, ReadingReport]:
    """Begin a set of which a DXF is the geometry.

    Parameters
    ----------
    paths : list of Path
        One DXF and, where it has one, its rule file; or the folder of both.
    wishes : ReadOptions
        How it is read; what was said here is written into the set.
    levels : mapping of level name to a mapping of piece to landmark
    relations : Path or None
        A relations file to take; else one is written with blocks to fill in.

    Returns
    -------
    pattern : PatternSet
        Saving it writes the DXF and the rule file byte for byte.
    report : ReadingReport

    Raises
    ------
    FormatError
        The files are not one DXF, or cannot be read; InvalidSet for a set that breaks
        rules of the model.
    """
    file, rules = _find_drawing(paths, wishes)
    geometry = file.name if is_drawing_name(file.name) else _PLAIN
    if relations is None:
        said = "the new set.toml"
        begun, _ = read_dxf([file], replace(wishes, rules=rules))
        drawn, wrong = with_levels(begun.pieces, levels)
        if wrong:
            raise FormatError("; ".join(wrong))
        own = {level for one in drawn.values() for s in one.nest.values() for level in s.levels}
        lay_on = begun.lay_on if begun.lay_on in own or not levels else next(iter(levels))
        begun = replace(begun, pieces=drawn, lay_on=lay_on)
        text = commented_toml(begun, geometry=geometry, dxf=_choices(wishes), levels=levels)
    else:
        text = _taken_text(relations, geometry, _choices(wishes), levels)
        said = str(relations)
    source = text.encode()
    head = set_toml.parse_set(text.removeprefix("\ufeff"), said)
    pieces, drawing = read_drawing(file, head, said, rules)
    pattern = build_set(
        head, pieces, Origin(text=source, sources=(drawing.source,), drawing=drawing)
    )
    return pattern, drawing.reading


def _find_drawing(paths: list[Path], wishes: ReadOptions) -> tuple[Path, Path | None]:
    """The one DXF and its rule file."""
    if kind_of(paths) != "dxf":
        raise FormatError(
            f"found no DXF in {', '.join(map(str, paths[:4]))}, expected one to keep as the "
            "geometry of the set"
        )
    files = list_files(paths, ".dxf", ".rul")
    drawings = [file for file in files if file.suffix.lower() == ".dxf"]
    if len(drawings) != 1:
        raise FormatError(
            f"found {len(drawings)} DXF files, expected one to keep as the geometry of the set; "
            "leave --keep-dxf out to read several as one style"
        )
    listed = [file for file in files if file.suffix.lower() == ".rul"]
    found = wishes.rules or (listed[0] if listed else rules_beside(drawings[0]))
    return drawings[0], found


def _choices(wishes: ReadOptions) -> DxfSaid:
    """What was said about reading the file, as ``[dxf]`` has it."""
    found: dict[str, str | float | Mapping[str, float]] = {}
    if wishes.unit is not None:
        found["unit"] = wishes.unit
    if wishes.corner_angle is not None:
        found["corner_angle"] = wishes.corner_angle
    if wishes.boundary != "auto":
        found["boundary"] = wishes.boundary
    said = allowances_wished(replace(wishes, boundary=dxf_choices(wishes).boundary))
    if said is not None and said.default is not None:
        found["allowance"] = said.default
    if said is not None and said.edges:
        found["allowances"] = {
            key if isinstance(key, str) else ".".join(key): width
            for key, width in said.edges.items()
        }
    return {**found, **choices_of(wishes.dxf)}


def _taken_text(file: Path, geometry: str, choices: DxfSaid, levels: LevelsThrough) -> str:
    """A relations file that says where the geometry is and how it is read."""
    text = relations_source(file).decode()
    said = set_toml.parse_set(text.removeprefix("\ufeff"), str(file))
    for what, own, asked in (("[dxf]", said.dxf, choices), ("[levels]", said.levels, levels)):
        if own and asked:
            raise FormatError(
                f"{file}: found {what} in it and options that say the same; write what you want "
                f"in {what} and leave the options out"
            )
    asked_for = replace(
        said, geometry=geometry, dxf=choices or said.dxf, levels=levels or said.levels
    )
    return changed_in_place(text, said.rendered(), asked_for.rendered())
