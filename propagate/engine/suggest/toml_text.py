"""Relations as TOML text in the set's own form.

The engine touches no files and knows no file layer; the few forms that a proposal needs are
spelled here.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping, Sequence

from propagate.engine.suggest.proposal import Relation
from propagate.pattern.relations import Assembly, Band, Opening, Run, Seam, Stack

__all__ = ["lines_of"]

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_Value = object


def lines_of(relation: Relation) -> list[str]:
    """Return the lines of one relation; what equals its default is left out."""
    if isinstance(relation, Seam):
        return list(_seam(relation))
    if isinstance(relation, Assembly):
        return list(_assembly(relation))
    if isinstance(relation, Opening):
        return list(_opening(relation))
    if isinstance(relation, Stack):
        return list(_stack(relation))
    return list(_band(relation))


def _seam(seam: Seam) -> Iterator[str]:
    yield "[[seam]]"
    yield from _pairs({"name": seam.name, "lead": _run(seam.lead)})
    if seam.mirror:
        yield "mirror = true"
    else:
        yield from _pairs({"follow": _run(seam.follow)})
    if seam.ease:
        yield from _pairs({"ease": seam.ease})
    if seam.notches:
        yield from _pairs({"notches": seam.notches})
    if seam.check:
        yield "check = true"
    if seam.crossing:
        yield "[seam.crossing]"
        yield from _pairs(seam.crossing)


def _assembly(assembly: Assembly) -> Iterator[str]:
    yield "[[assembly]]"
    yield from _pairs({"name": assembly.name, "lead": assembly.lead})
    yield "parts = ["
    for part in assembly.parts:
        values: dict[str, _Value] = {"piece": part.piece, "put": part.put}
        if part.face_down:
            values["face_down"] = True
        yield f"  {_value(values)},"
    yield "]"
    yield "[assembly.edges]"
    yield from _pairs({edge: _run(run) for edge, run in assembly.edges.items()})


def _opening(opening: Opening) -> Iterator[str]:
    yield "[[opening]]"
    yield from _pairs(
        {
            "name": opening.name,
            "silhouette": opening.silhouette,
            "piece": opening.piece,
            "edge": opening.edge,
            "across_end": opening.across_end,
            "side_end": opening.side_end,
            "across": opening.across,
            "side": opening.side,
        }
    )


def _stack(stack: Stack) -> Iterator[str]:
    yield "[[stack]]"
    yield from _pairs({"name": stack.name, "opening": stack.opening})
    for layer in stack.layers:
        yield "[[stack.layer]]"
        values: dict[str, _Value] = {"piece": layer.piece, "put": layer.put}
        if layer.ride:
            values["ride"] = dict(layer.ride)
        if layer.mouth is not None:
            values["mouth"] = layer.mouth
        for flag in ("face_down", "shows", "bag"):
            if getattr(layer, flag):
                values[flag] = True
        yield from _pairs(values)


def _band(band: Band) -> Iterator[str]:
    yield "[[band]]"
    yield from _pairs({"name": band.name, "piece": band.piece, "sewn": band.sewn, "far": band.far})
    yield "zones = ["
    for zone in band.zones:
        values: dict[str, _Value] = {"name": zone.name, "begin": zone.begin, "end": zone.end}
        if zone.run:
            values["run"] = _run(zone.run)
        if zone.ease:
            values["ease"] = zone.ease
        yield f"  {_value(values)},"
    yield "]"


def _run(run: Run) -> list[str]:
    return [str(span) for span in run]


def _pairs(values: Mapping[str, _Value]) -> Iterator[str]:
    for key, value in values.items():
        yield f"{_key(key)} = {_value(value)}"


def _key(name: str) -> str:
    return name if _BARE_KEY.fullmatch(name) else _quoted(name)


def _quoted(text: str) -> str:
    # JSON's escapes are those of a TOML basic string; TOML also escapes DEL.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _value(value: _Value) -> str:
    if isinstance(value, str):
        return _quoted(value)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{_key(k)} = {_value(v)}" for k, v in value.items()) + " }"
    if isinstance(value, Sequence):
        return "[" + ", ".join(_value(item) for item in value) + "]"
    return repr(value)
