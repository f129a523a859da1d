"""The relations file of a set as canonical TOML text.

Values that equal their default are left out, so the text is as small as a person would
write it, and reading it gives the same values.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING

from propagate.errors import FormatError
from propagate.pattern.kinds import KINDS, relations_of
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Allowance, PieceInfo
from propagate.pattern.toml_text import Value, key_text, lines_of_relation, pair_lines

if TYPE_CHECKING:
    from propagate.io.set_toml import SetHead

__all__ = ["render_set"]


def render_set(
    pattern: PatternSet | SetHead,
    *,
    geometry: str = "",
    dxf: Mapping[str, str | float] | None = None,
    levels: Mapping[str, Mapping[str, str]] | None = None,
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
    levels : mapping of level name to a mapping of piece to landmark
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
        blocks.append(["[dxf]", *pair_lines(dict(dxf))])
    for name, places in (levels or {}).items():
        blocks.append([f"[levels.{key_text(name)}]", *pair_lines(dict(places))])
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
