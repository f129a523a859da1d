"""The relations file of a set: TOML text to typed values.

Reading is strict: an unknown key is an error with the nearest known ones, a value of a
wrong type is named with its place, and all problems of the file are reported at once.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import field
from typing import cast, get_args

from propagate.io.checks import (
    NAME_RULE,
    SIZE_RULE,
    Problems,
    Table,
    check_format,
    is_name,
    is_size,
    parse_length,
    show_value,
)
from propagate.io.geometry_toml import (
    DEFAULT_GEOMETRY,
    LevelsThrough,
    is_drawing,
    read_dxf_choices,
    read_geometry,
    read_levels,
)
from propagate.io.limits import MOST_PIECES, MOST_SIZES, check_plain, check_toml_text
from propagate.io.reading import UnreadableFile
from propagate.io.relations_toml import read_relations
from propagate.io.render_toml import render_set
from propagate.pattern.patternset import Relations
from propagate.pattern.relations import Allowance, CornerStyle, PieceInfo
from propagate.values import dataclass

__all__ = ["DEFAULT_GEOMETRY", "FORMAT", "SetHead", "parse_set", "parse_toml", "render_set"]

FORMAT = 1
_CORNERS: tuple[str, ...] = get_args(CornerStyle)
_AT_LINE = re.compile(r"(?P<what>.*) \(at line (?P<line>\d+), column (?P<column>\d+)\)", re.DOTALL)


@dataclass(frozen=True)
class SetHead:
    """Everything of a set but its geometry, as its TOML says it.

    Attributes
    ----------
    geometry : str
        Name of the folder, or of the DXF, beside the file that holds the geometry.
    dxf : mapping of option to value
        How an ambiguous DXF is read: ``unit``, ``corner_angle``, ``allowance`` and the
        choices of `propagate.io.begin_dxf`.
    levels : mapping of level name to a mapping of piece to landmark
        Levels through landmarks, for geometry that names none.
    name, sizes, base, lay_on, info, relations, chart
        As in `PatternSet`.
    """

    name: str
    sizes: tuple[str, ...]
    base: str
    lay_on: str
    geometry: str
    info: Mapping[str, PieceInfo]
    relations: Relations
    chart: Mapping[str, Mapping[str, float]]
    dxf: Mapping[str, str | float] = field(default_factory=dict)
    levels: LevelsThrough = field(default_factory=dict)

    @property
    def drawn(self) -> bool:
        """Whether the geometry is a DXF."""
        return is_drawing(self.geometry)

    def rendered(self) -> str:
        """Return all of it as canonical TOML text."""
        geometry = "" if self.geometry == DEFAULT_GEOMETRY else self.geometry
        return render_set(self, geometry=geometry, dxf=self.dxf, levels=self.levels)


def parse_set(text: str, source: str) -> SetHead:
    """Read the TOML text of a set.

    Parameters
    ----------
    text : str
    source : str
        Name of the file, for messages.

    Raises
    ------
    FormatError
        Broken syntax (with line and column), a newer format, unknown keys, wrong types;
        all problems of the file at once.
    """
    problems = Problems(source)
    table = Table(parse_toml(text, source), "", problems)
    check_format(table, FORMAT)
    sizes = _read_sizes(table)
    base = _read_size(table.raw("base", required=True))
    if "base" in table and base is None:
        table.wrong("base", "a size")
    elif sizes and base is not None and base not in sizes:
        table.wrong("base", f"one of the sizes: {', '.join(sizes)}")
    geometry = read_geometry(table)
    head = SetHead(
        name=table.text("name"),
        sizes=sizes,
        base=base or "",
        lay_on=table.name("lay_on"),
        geometry=geometry,
        info=_read_pieces(table),
        relations=read_relations(table),
        chart=_read_chart(table.table("chart"), sizes),
        dxf=read_dxf_choices(table, geometry),
        levels=read_levels(table),
    )
    table.finish()
    problems.stop_if_any()
    return head


def parse_toml(text: str, source: str) -> dict[str, object]:
    """Parse TOML text; raises FormatError with line and column."""
    check_toml_text(text, source)
    try:
        found = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        match = _AT_LINE.fullmatch(str(error))
        if match:
            line, column, what = match["line"], match["column"], match["what"]
        else:
            lines = text.split("\n")
            line, column, what = str(len(lines)), str(len(lines[-1]) + 1), str(error)
        raise UnreadableFile(
            [f"{source}: line {line}, column {column}: not readable as TOML ({what})"]
        ) from error
    except RecursionError as error:
        raise UnreadableFile([f"{source}: not readable as TOML (nested too deeply)"]) from error
    except ValueError as error:  # a number of thousands of digits
        why = str(error).partition(";")[0]
        raise UnreadableFile([f"{source}: not readable as TOML ({why})"]) from error
    check_plain(found, source)
    return found


def _read_size(value: object) -> str | None:
    """Return a size as text: text as it stands, a whole number as its digits."""
    if isinstance(value, int) and not isinstance(value, bool) and value >= 0:
        return str(value)
    return value if isinstance(value, str) and is_size(value) else None


def _read_sizes(table: Table) -> tuple[str, ...]:
    found: list[str] = []
    met: set[str] = set()
    for value in table.items("sizes", required=True, most=MOST_SIZES):
        size = _read_size(value)
        if size is None:
            cure = f'; write it as text, "{value:g}"' if isinstance(value, float) else ""
            table.problems.add(
                "sizes",
                f"found {show_value(value)}, expected whole numbers or {SIZE_RULE}{cure}",
            )
        elif size in met:
            table.problems.add("sizes", f"found size '{size}' twice, expected each size once")
        else:
            found.append(size)
            met.add(size)
    if "sizes" in table and not table.values["sizes"]:
        table.wrong("sizes", "at least one size")
    return tuple(found)


def _read_chart(table: Table, sizes: tuple[str, ...]) -> Mapping[str, Mapping[str, float]]:
    chart: dict[str, Mapping[str, float]] = {}
    for row in table:
        values = table.items(row)
        lengths = [parse_length(value) for value in values]
        if isinstance(table.values[row], list):
            if len(lengths) != len(sizes):
                expected = f"{len(sizes)}: one for each size ({', '.join(sizes)})"
                table.problems.add(
                    table.at(row), f"found {len(lengths)} values, expected {expected}"
                )
            for value, length in zip(values, lengths, strict=True):
                if length is None or length <= 0.0:
                    table.problems.add(
                        table.at(row),
                        f"found {show_value(value)}, expected a length above 0: mm, or text with "
                        "a unit",
                    )
        chart[row] = {
            size: length for size, length in zip(sizes, lengths, strict=False) if length is not None
        }
    table.finish()
    return chart


def _read_pieces(top: Table) -> Mapping[str, PieceInfo]:
    top.raw("pieces", required=True)
    tables = top.table("pieces")
    info: dict[str, PieceInfo] = {}
    if len(tables.values) > MOST_PIECES:
        top.problems.add(
            "pieces", f"found {len(tables.values)} pieces, expected at most {MOST_PIECES}"
        )
        top.problems.stop_if_any()
    for name in tables:
        if not is_name(name):
            top.problems.add(
                "pieces", f"found {show_value(name)}, expected a piece name: {NAME_RULE}"
            )
        info[name] = _piece_info(name, tables.table(name, f"piece '{name}'"))
    return info


def _piece_info(name: str, table: Table) -> PieceInfo:
    strip, allowance = table.texts("strip"), table.table("allowance")
    edges, corners = allowance.table("edges"), allowance.table("corners")
    info = PieceInfo(
        title=table.text("title", name),
        cut=table.count("cut", 1),
        pair=table.flag("pair"),
        fabric=table.text("fabric", ""),
        allowance=Allowance(
            default=allowance.length("default", 0.0),
            edges={edge: edges.length(edge, 0.0) for edge in edges},
            turned=frozenset(allowance.texts("turned")),
            corners={
                corner: cast(CornerStyle, corners.choice(corner, _CORNERS, "mitre"))
                for corner in corners
            },
        ),
        fold=table.optional_text("fold"),
        strip=strip if "strip" in table else None,
        double_notches=table.texts("double_notches"),
        anchors=table.table("anchors").all_texts(),
    )
    allowance.finish()
    table.finish()
    return info
