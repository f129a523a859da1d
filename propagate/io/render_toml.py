"""The relations file of a set as canonical TOML text.

The standard library reads TOML but does not write it; the few forms that a set needs
are written here.  Values that equal their default are left out, so the text is as small
as a person would write it, and reading it gives the same values.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping

from propagate.errors import FormatError
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import (
    Allowance,
    Assembly,
    Band,
    BlendPlan,
    Girth,
    Opening,
    PieceInfo,
    Run,
    Seam,
    Stack,
    Zone,
)

__all__ = ["geometry_blocks", "render"]

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_WHOLE_BELOW = 1e15  # whole numbers below are written without a decimal point
_Value = str | bool | float | list["_Value"] | dict[str, "_Value"]
_Lines = Iterator[str]


def render(
    pattern: PatternSet,
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
    pattern : PatternSet
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
    head: dict[str, _Value] = {
        "format": 1,
        "name": pattern.name,
        "sizes": list(pattern.sizes),
        "base": pattern.base,
        "lay_on": pattern.lay_on,
    }
    if geometry:
        head["geometry"] = geometry
    relations = pattern.relations
    blocks: list[Iterable[str]] = [_pairs(head)]
    blocks += geometry_blocks(dxf or {}, levels or {})
    if pattern.chart:
        blocks.append(["[chart]", *_pairs(_chart(pattern))])
    blocks += [_piece(name, info) for name, info in pattern.info.items()]
    blocks += [_assembly(assembly) for assembly in relations.assemblies.values()]
    blocks += [_seam(seam) for seam in relations.seams.values()]
    blocks += [_opening(opening) for opening in relations.openings.values()]
    blocks += [_stack(stack) for stack in relations.stacks.values()]
    blocks += [_band(band) for band in relations.bands.values()]
    blocks += [
        ["[[place]]", *_pairs({"piece": place.piece, "level": place.level})]
        for place in relations.places.values()
    ]
    blocks += [_girth(girth) for girth in relations.girths.values()]
    if relations.blend is not None:
        blocks.append(_blend(relations.blend))
    return "\n\n".join("\n".join(block) for block in blocks) + "\n"


def geometry_blocks(
    dxf: Mapping[str, str | float], levels: Mapping[str, Mapping[str, str]]
) -> list[list[str]]:
    """Return the lines of ``[dxf]`` and of each ``[levels.NAME]``; none where there is none."""
    blocks = [["[dxf]", *_pairs(dict(dxf))]] if dxf else []
    return blocks + [
        [f"[levels.{_key(name)}]", *_pairs(dict(places))] for name, places in levels.items()
    ]


# --------------------------------------------------------------------------- TOML forms


def _quoted(text: str) -> str:
    # JSON's escapes are those of a TOML basic string; TOML also escapes DEL.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _key(name: str) -> str:
    return name if _BARE_KEY.fullmatch(name) else _quoted(name)


def _number(value: float) -> str:
    number = float(value)
    whole = number.is_integer() and abs(number) < _WHOLE_BELOW and repr(number) != "-0.0"
    return str(int(number)) if whole else repr(number)


def _value(value: _Value) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return _quoted(value)
    if isinstance(value, list):
        return f"[{', '.join(_value(item) for item in value)}]"
    if isinstance(value, dict):
        inner = ", ".join(f"{_key(key)} = {_value(item)}" for key, item in value.items())
        return f"{{ {inner} }}" if inner else "{}"
    return _number(value)


def _pairs(values: Mapping[str, _Value]) -> list[str]:
    return [f"{_key(key)} = {_value(value)}" for key, value in values.items()]


def _tables(key: str, tables: Iterable[dict[str, _Value]]) -> _Lines:
    """Write a list of small tables, one a line."""
    yield f"{key} = ["
    for table in tables:
        yield f"  {_value(table)},"
    yield "]"


def _but_defaults(values: dict[str, _Value], **defaults: _Value) -> dict[str, _Value]:
    """Leave out what equals its default."""
    return {k: v for k, v in values.items() if k not in defaults or v != defaults[k]}


def _run(run: Run) -> _Value:
    return [str(span) for span in run]


def _names(values: Iterable[str]) -> list[_Value]:
    return list(values)


def _put(pairs: Iterable[tuple[str, str]]) -> _Value:
    return [[a, b] for a, b in pairs]


# -------------------------------------------------------------------------------- blocks


def _chart(pattern: PatternSet) -> dict[str, _Value]:
    rows: dict[str, _Value] = {}
    for row, values in pattern.chart.items():
        missing = [size for size in pattern.sizes if size not in values]
        if missing:
            raise FormatError(
                f"set '{pattern.name}', chart '{row}': found no value for size '{missing[0]}', "
                "expected one for each size; it cannot be written"
            )
        rows[row] = [values[size] for size in pattern.sizes]
    return rows


def _piece(name: str, info: PieceInfo) -> _Lines:
    yield f"[pieces.{_key(name)}]"
    values: dict[str, _Value] = {"title": info.title, "cut": info.cut, "pair": info.pair}
    values |= {"fabric": info.fabric, "fold": info.fold or ""}
    yield from _pairs(_but_defaults(values, pair=False, fabric="", fold=""))
    if info.allowance != Allowance():
        yield f"[pieces.{_key(name)}.allowance]"
        yield from _pairs(_allowance(info.allowance))
    if info.anchors:
        yield f"[pieces.{_key(name)}.anchors]"
        yield from _pairs(dict(info.anchors))


def _allowance(allowance: Allowance) -> dict[str, _Value]:
    values: dict[str, _Value] = {
        "default": allowance.default,
        "edges": dict(allowance.edges),
        "turned": _names(sorted(allowance.turned)),
        "corners": dict(allowance.corners),
    }
    return _but_defaults(values, edges={}, turned=[], corners={})


def _assembly(assembly: Assembly) -> _Lines:
    yield "[[assembly]]"
    yield from _pairs({"name": assembly.name, "lead": assembly.lead})
    yield from _tables(
        "parts",
        (
            _but_defaults(
                {"piece": part.piece, "put": _put(part.put), "face_down": part.face_down},
                face_down=False,
            )
            for part in assembly.parts
        ),
    )
    yield "[assembly.edges]"
    yield from _pairs({edge: _run(run) for edge, run in assembly.edges.items()})


def _seam(seam: Seam) -> _Lines:
    yield "[[seam]]"
    values: dict[str, _Value] = {
        "name": seam.name,
        "lead": _run(seam.lead),
        "follow": _run(seam.follow),
        "ease": seam.ease,
        "tolerance": seam.tolerance,
        "hold": seam.hold or "",
        "notches": _put(seam.notches),
        "fixed": seam.fixed,
        "check": seam.check,
        "mirror": seam.mirror,
        "lead_wins": seam.lead_wins,
    }
    follow: _Value = [] if seam.mirror else "never"
    yield from _pairs(
        _but_defaults(
            values,
            follow=follow,
            ease=0.0,
            tolerance=1.5,
            hold="",
            notches=[],
            fixed=False,
            check=False,
            mirror=False,
            lead_wins=False,
        )
    )
    if seam.crossing:
        yield "[seam.crossing]"
        yield from _pairs({end: _names(pair) for end, pair in seam.crossing.items()})


def _opening(opening: Opening) -> _Lines:
    yield "[[opening]]"
    values: dict[str, _Value] = {
        "name": opening.name,
        "silhouette": opening.silhouette,
        "piece": opening.piece,
        "edge": opening.edge,
        "across_end": opening.across_end,
        "side_end": opening.side_end,
        "across": opening.across,
        "side": opening.side,
        "slide": opening.slide,
        "tolerance": opening.tolerance,
    }
    yield from _pairs(_but_defaults(values, slide=0.0, tolerance=3.0))


def _stack(stack: Stack) -> _Lines:
    yield "[[stack]]"
    values: dict[str, _Value] = {
        "name": stack.name,
        "opening": stack.opening,
        "clear_of": _names(stack.clear_of),
    }
    yield from _pairs(_but_defaults(values, clear_of=[]))
    if not stack.layers:
        yield "layer = []"
    for layer in stack.layers:
        yield "[[stack.layer]]"
        values = {
            "piece": layer.piece,
            "put": _put(layer.put),
            "ride": dict(layer.ride),
            "mouth": layer.mouth or "",
            "face_down": layer.face_down,
            "shows": layer.shows,
            "bag": layer.bag,
        }
        yield from _pairs(
            _but_defaults(values, ride={}, mouth="", face_down=False, shows=False, bag=False)
        )


def _zone(zone: Zone) -> dict[str, _Value]:
    values: dict[str, _Value] = {"name": zone.name, "begin": zone.begin, "end": zone.end}
    values |= {"run": _run(zone.run), "ease": zone.ease}
    return _but_defaults(values, run=[], ease=0.0)


def _band(band: Band) -> _Lines:
    yield "[[band]]"
    values: dict[str, _Value] = {"name": band.name, "piece": band.piece}
    values |= {"sewn": band.sewn, "far": band.far, "tolerance": band.tolerance}
    yield from _pairs(_but_defaults(values, tolerance=1.5))
    yield from _tables("zones", (_zone(zone) for zone in band.zones))


def _girth(girth: Girth) -> _Lines:
    yield "[[girth]]"
    values: dict[str, _Value] = {
        "name": girth.name,
        "runs": [_run(run) for run in girth.runs],
        "level": girth.level or "",
        "silhouettes": _names(girth.silhouettes),
        "times": girth.times,
        "chart": girth.chart or "",
    }
    yield from _pairs(_but_defaults(values, runs=[], level="", silhouettes=[], chart=""))


def _blend(plan: BlendPlan) -> _Lines:
    yield "[blend]"
    yield from _pairs({"upper": plan.upper, "lower": plan.lower, "seam": plan.seam})
    mains: list[dict[str, _Value]] = [
        {
            "silhouette": main.silhouette,
            "across": main.across,
            "centre": main.centre,
            "side": main.side,
            "centre_hold": main.centre_hold,
            "side_hold": main.side_hold,
            "across_hold": main.across_hold or "",
        }
        for main in plan.mains
    ]
    yield from _tables("mains", (_but_defaults(main, across_hold="") for main in mains))
    if plan.leg is not None:
        yield "[blend.leg]"
        leg = plan.leg
        yield from _pairs({"level": leg.level, "hold": leg.hold, "edges": _names(leg.edges)})
