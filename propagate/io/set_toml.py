"""The relations file of a set: TOML text to typed values.

Reading is strict: an unknown key is an error with the nearest known ones, a value of a
wrong type is named with its place, and all problems of the file are reported at once.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import field
from typing import cast, get_args

from propagate.errors import FormatError
from propagate.io.checks import (
    NAME_RULE,
    SIZE_RULE,
    Problems,
    Table,
    check_format,
    is_name,
    is_size,
    show_value,
)
from propagate.io.geometry_toml import (
    DEFAULT_GEOMETRY,
    DxfSaid,
    LevelPlace,
    LevelsThrough,
    is_drawing,
    read_dxf_choices,
    read_geometry,
    read_levels,
)
from propagate.io.reading import (
    MOST_PIECES,
    MOST_SIZES,
    parse_toml,
)
from propagate.io.relations_toml import read_relations
from propagate.lengths import parse_length
from propagate.pattern.kinds import KINDS, relations_of
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import Allowance, CornerStyle, PieceInfo
from propagate.pattern.toml_text import Value, key_text, lines_of_relation, pair_lines
from propagate.values import dataclass

__all__ = ["DEFAULT_GEOMETRY", "FORMAT", "SetHead", "parse_set", "render_set"]

FORMAT = 1
_CORNERS: tuple[str, ...] = get_args(CornerStyle)


@dataclass(frozen=True)
class SetHead:
    """Everything of a set but its geometry, as its TOML says it.

    Attributes
    ----------
    geometry : str
        Name of the folder, or of the DXF, beside the file that holds the geometry.
    dxf : mapping of option to value
        How an ambiguous DXF is read: ``unit``, ``corner_angle``, ``allowance`` and the
        choices of `propagate.io.begin`.
    levels : mapping of level name to a mapping of piece to landmark or points
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
    dxf: DxfSaid = field(default_factory=dict)
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
    """Read the TOML text of a set; `source` is the name of its file, for messages.

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
                table.note(f"found {len(lengths)} values, expected {expected}", row)
            for value, length in zip(values, lengths, strict=True):
                if length is None or length <= 0.0:
                    table.note(
                        f"found {show_value(value)}, expected a length above 0: mm, or text with "
                        "a unit",
                        row,
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
        top.note(f"found {len(tables.values)} pieces, expected at most {MOST_PIECES}", "pieces")
        top.problems.stop_if_any()
    for name in tables:
        if not is_name(name):
            top.note(f"found {show_value(name)}, expected a piece name: {NAME_RULE}", "pieces")
        table = tables.table(name, f"piece '{name}'")
        strip, own = table.texts("strip"), table.table("allowance")
        edges, corners = own.table("edges"), own.table("corners")
        allowance = Allowance(
            default=own.length("default", 0.0),
            edges={edge: edges.length(edge, 0.0) for edge in edges},
            turned=frozenset(own.texts("turned")),
            corners={
                corner: cast(CornerStyle, corners.choice(corner, _CORNERS, "mitre"))
                for corner in corners
            },
        )
        own.finish()
        info[name] = PieceInfo(
            title=table.text("title", name),
            cut=table.count("cut", 1),
            pair=table.flag("pair"),
            fabric=table.text("fabric", ""),
            allowance=allowance,
            fold=table.optional_text("fold"),
            strip=strip if "strip" in table else None,
            double_notches=table.texts("double_notches"),
            anchors=table.table("anchors").all_texts(),
        )
        table.finish()
    return info


def _write_place(place: LevelPlace) -> Value:
    if isinstance(place, str):
        return place
    return {size: list(point) for size, point in place.items()}


def render_set(
    pattern: PatternSet | SetHead,
    *,
    geometry: str = "",
    dxf: DxfSaid | None = None,
    levels: LevelsThrough | None = None,
) -> str:
    """Return the full TOML text of a set's relations, chart and piece information.

    Reading the text gives the same name, sizes, base, level, chart, information and
    relations.

    Parameters
    ----------
    pattern : PatternSet or SetHead
    geometry : str
        Where the geometry is; empty: in the default folder.
    dxf : mapping of option to value
        How the DXF is read that holds the geometry.
    levels : mapping of level name to a mapping of piece to landmark or points
        Levels that the geometry itself does not name.

    Raises
    ------
    FormatError
        A row of the chart lacks a size.
    """
    head: dict[str, Value] = {
        "format": 1,
        "name": pattern.name,
        "sizes": list(pattern.sizes),
        "base": pattern.base,
        "lay_on": pattern.lay_on,
    }
    if geometry:
        head["geometry"] = geometry
    relations = pattern.relations
    blocks: list[Iterable[str]] = [pair_lines(head)]
    if dxf:
        said: dict[str, Value] = {
            key: dict(value) if isinstance(value, Mapping) else value for key, value in dxf.items()
        }
        blocks.append(["[dxf]", *pair_lines(said)])
    for name, places in (levels or {}).items():
        told = {piece: _write_place(place) for piece, place in places.items()}
        blocks.append([f"[levels.{key_text(name)}]", *pair_lines(told)])
    rows: dict[str, Value] = {}
    for row, values in pattern.chart.items():
        missing = [size for size in pattern.sizes if size not in values]
        if missing:
            raise FormatError(
                f"set '{pattern.name}', chart '{row}': found no value for size '{missing[0]}', "
                "expected one for each size; it cannot be written"
            )
        rows[row] = [values[size] for size in pattern.sizes]
    if rows:
        blocks.append(["[chart]", *pair_lines(rows)])
    if relations.titles:
        blocks.append(["[titles]", *pair_lines(dict(relations.titles))])
    blocks += [_piece_block(name, info) for name, info in pattern.info.items()]
    for key in KINDS:
        blocks += [lines_of_relation(one) for one in relations_of(relations, key).values()]
    if relations.blend is not None:
        blocks.append(lines_of_relation(relations.blend))
    return "\n\n".join("\n".join(block) for block in blocks) + "\n"


def _piece_block(name: str, info: PieceInfo) -> Iterator[str]:
    yield f"[pieces.{key_text(name)}]"
    values: dict[str, Value] = {"title": info.title, "cut": info.cut, "pair": info.pair}
    values |= {"fabric": info.fabric, "fold": info.fold or ""}
    if info.strip is not None:
        values["strip"] = [*info.strip]
    if info.double_notches:
        values["double_notches"] = [*info.double_notches]
    yield from pair_lines(_but_defaults(values, pair=False, fabric="", fold=""))
    if info.allowance != Allowance():
        yield f"[pieces.{key_text(name)}.allowance]"
        own = info.allowance
        values = {"default": own.default, "edges": {**own.edges}}
        values |= {"turned": [*sorted(own.turned)], "corners": {**own.corners}}
        yield from pair_lines(_but_defaults(values, edges={}, turned=[], corners={}))
    if info.anchors:
        yield f"[pieces.{key_text(name)}.anchors]"
        yield from pair_lines(dict(info.anchors))


def _but_defaults(values: dict[str, Value], **defaults: Value) -> dict[str, Value]:
    """Leave out what equals its default."""
    return {k: v for k, v in values.items() if k not in defaults or v != defaults[k]}
