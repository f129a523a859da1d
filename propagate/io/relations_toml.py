"""The relations of a set, read from the parsed tables of its TOML.

One function per kind of relation; each asks for every key it knows and then refuses
the rest.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Literal, TypeVar, cast

from propagate.errors import FormatError
from propagate.io.checks import Table
from propagate.io.limits import MOST_ITEMS
from propagate.pattern.patternset import Relations
from propagate.pattern.relations import (
    Assembly,
    AssemblyPart,
    Band,
    BlendMain,
    BlendPlan,
    Girth,
    LegPlan,
    Opening,
    Place,
    Run,
    Seam,
    Span,
    Stack,
    StackLayer,
    Zone,
    parse_span,
)

__all__ = ["read_relations"]

_Kind = TypeVar("_Kind")
_End = Literal["start", "end"]


def read_relations(table: Table) -> Relations:
    """Return the relations in the top table of a set; problems are noted in the table."""
    return Relations(
        assemblies=_by_name(table, "assembly", "name", _assembly),
        seams=_by_name(table, "seam", "name", _seam),
        openings=_by_name(table, "opening", "name", _opening),
        stacks=_by_name(table, "stack", "name", _stack),
        bands=_by_name(table, "band", "name", _band),
        places=_by_name(table, "place", "piece", _place),
        girths=_by_name(table, "girth", "name", _girth),
        blend=_blend(table.table("blend")) if "blend" in table else None,
    )


def _by_name(
    top: Table, key: str, naming: str, read: Callable[[Table], _Kind]
) -> Mapping[str, _Kind]:
    found: dict[str, _Kind] = {}
    for table in top.tables(key, naming=naming):
        value = read(table)
        table.finish()
        name = str(table.values.get(naming, ""))
        if name in found:
            table.problems.add(table.where, f"found a second {key} '{name}', expected one")
        found[name] = value
    return found


# -------------------------------------------------------------------- runs and landmarks


def _run(table: Table, key: str, *, required: bool = True) -> Run:
    """Read one span or a list of spans."""
    value = table.raw(key, required=required)
    return _spans(table, key, value) if key in table else ()


def _spans(table: Table, key: str, value: object) -> Run:
    texts = [value] if isinstance(value, str) else value
    if not isinstance(texts, list) or not all(isinstance(text, str) for text in texts):
        table.wrong(key, 'a span such as "front.side", or a list of spans')
        return ()
    if len(texts) > MOST_ITEMS:
        table.problems.add(
            table.at(key), f"found a list of {len(texts)} items, expected at most {MOST_ITEMS}"
        )
        return ()
    spans: list[Span] = []
    for text in texts:
        try:
            spans.append(parse_span(text))
        except FormatError as error:
            table.problems.add(table.at(key), str(error))
    return tuple(spans)


def _pair(value: object) -> tuple[str, str] | None:
    if isinstance(value, list) and len(value) == 2 and all(isinstance(v, str) for v in value):
        return value[0], value[1]
    return None


def _pairs(table: Table, key: str, what: str, *, at_least: int = 0) -> tuple[tuple[str, str], ...]:
    items = table.items(key, required=at_least > 0)
    pairs = [_pair(item) for item in items]
    if key in table and (None in pairs or len(pairs) < at_least):
        least = f"at least {at_least} " if at_least else ""
        table.wrong(key, f"a list of {least}pairs [{what}]")
        return ()
    return tuple(pair for pair in pairs if pair is not None)


def _names(table: Table) -> dict[str, str]:
    """Read a table of name = "name"."""
    found = {key: table.text(key) for key in table}
    table.finish()
    return found


def _put(table: Table) -> tuple[tuple[str, str], ...]:
    return _pairs(table, "put", "landmark of this piece, landmark of the main piece", at_least=2)


# ------------------------------------------------------------------------------ relations


def _assembly(table: Table) -> Assembly:
    table.raw("parts", required=True)
    table.raw("edges", required=True)
    parts = []
    for part in table.tables("parts", "part", naming="piece"):
        piece, put = part.name("piece"), _put(part)
        parts.append(AssemblyPart(piece, put, part.flag("face_down")))
        part.finish()
    edges = table.table("edges")
    return Assembly(
        table.name("name"), table.name("lead"), tuple(parts), {e: _run(edges, e) for e in edges}
    )


def _seam(table: Table) -> Seam:
    mirror = table.flag("mirror")
    if mirror and "follow" in table:
        table.wrong("follow", "no follower: the seam is sewn to its own mirrored twin")
    crossing_table = table.table("crossing")
    crossing: dict[str, tuple[str, str]] = {}
    for end in ("start", "end"):
        pair = _pair(crossing_table.raw(end))
        if pair is not None:
            crossing[end] = pair
        elif end in crossing_table:
            crossing_table.wrong(end, "a pair of edges [lead's, follower's], each PIECE.EDGE")
    crossing_table.finish()
    return Seam(
        name=table.name("name"),
        lead=_run(table, "lead"),
        follow=_run(table, "follow", required=not mirror),
        ease=table.length("ease", 0.0, negative=True),
        tolerance=table.length("tolerance", 1.5),
        notches=_pairs(table, "notches", "landmark of the lead, landmark of the follower"),
        crossing=crossing,
        hold=table.optional_text("hold"),
        fixed=table.flag("fixed"),
        check=table.flag("check"),
        mirror=mirror,
        lead_wins=table.flag("lead_wins"),
    )


def _end(table: Table, key: str) -> _End:
    return cast(_End, table.choice(key, ("start", "end")))


def _opening(table: Table) -> Opening:
    return Opening(
        name=table.name("name"),
        silhouette=table.text("silhouette"),
        piece=table.text("piece"),
        edge=table.text("edge"),
        across_end=_end(table, "across_end"),
        side_end=_end(table, "side_end"),
        across=table.text("across"),
        side=table.text("side"),
        slide=table.length("slide", 0.0),
        tolerance=table.length("tolerance", 3.0),
    )


def _stack(table: Table) -> Stack:
    table.raw("layer", required=True)
    layers = []
    for layer in table.tables("layer", naming="piece"):
        layers.append(
            StackLayer(
                piece=layer.text("piece"),
                put=_put(layer),
                ride=_names(layer.table("ride")),
                mouth=layer.optional_text("mouth"),
                face_down=layer.flag("face_down"),
                shows=layer.flag("shows"),
                bag=layer.flag("bag"),
            )
        )
        layer.finish()
    return Stack(table.name("name"), table.text("opening"), tuple(layers), table.texts("clear_of"))


def _band(table: Table) -> Band:
    table.raw("zones", required=True)
    zones = []
    for zone in table.tables("zones", "zone"):
        zones.append(
            Zone(
                name=zone.name("name"),
                begin=zone.text("begin"),
                end=zone.text("end"),
                run=_run(zone, "run", required=False),
                ease=zone.length("ease", 0.0, negative=True),
            )
        )
        zone.finish()
    return Band(
        name=table.name("name"),
        piece=table.text("piece"),
        sewn=table.text("sewn"),
        far=table.text("far"),
        zones=tuple(zones),
        tolerance=table.length("tolerance", 1.5),
    )


def _place(table: Table) -> Place:
    return Place(table.text("piece"), table.text("level"))


def _girth(table: Table) -> Girth:
    runs = tuple(_spans(table, "runs", run) for run in table.items("runs"))
    level = table.optional_text("level")
    silhouettes = table.texts("silhouettes")
    if bool(runs) == (level is not None) or (level is None) != (not silhouettes):
        table.problems.add(
            table.where, "expected either 'runs', or 'level' with 'silhouettes' (one or the other)"
        )
    return Girth(
        name=table.name("name"),
        runs=runs,
        level=level,
        silhouettes=silhouettes,
        times=table.count("times", 2),
        chart=table.optional_text("chart"),
    )


def _blend(table: Table) -> BlendPlan:
    table.raw("mains", required=True)
    mains = []
    for main in table.tables("mains", "main", naming="silhouette"):
        mains.append(
            BlendMain(
                silhouette=main.text("silhouette"),
                across=main.text("across"),
                centre=main.text("centre"),
                side=main.text("side"),
                centre_hold=main.text("centre_hold"),
                side_hold=main.text("side_hold"),
                across_hold=main.optional_text("across_hold"),
            )
        )
        main.finish()
    leg = _leg(table.table("leg")) if "leg" in table else None
    plan = BlendPlan(
        upper=table.text("upper"),
        lower=table.text("lower"),
        mains=tuple(mains),
        seam=table.text("seam"),
        leg=leg,
    )
    table.table("leg")
    table.finish()
    return plan


def _leg(table: Table) -> LegPlan:
    plan = LegPlan(table.text("level"), table.text("hold"), table.texts("edges", required=True))
    table.finish()
    return plan
