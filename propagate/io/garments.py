"""Read the kinds of garment that come with the package."""

from __future__ import annotations

from functools import cache
from importlib.resources import files

from propagate.io.checks import Problems, Table
from propagate.io.reading import parse_toml
from propagate.pattern.garments import EdgeEnd, EdgeShape, GarmentKind, GirthKnown, Join, Role
from propagate.pattern.relations import parse_run

__all__ = ["known_kinds", "read_kind"]

_LEANS = {"grain": (0.0, 6.0), "along": (0.0, 42.0), "across": (45.0, 90.0)}
_BOWS = {"in": (-10.0, -0.012), "out": (0.012, 10.0), "straight": (-0.03, 0.03)}


@cache
def known_kinds() -> tuple[GarmentKind, ...]:
    """All kinds of garment, by the names of their files."""
    folder = files("propagate").joinpath("garments")
    found = sorted((one for one in folder.iterdir() if one.name.endswith(".toml")), key=str)
    return tuple(read_kind(one.read_text(encoding="utf-8"), one.name) for one in found)


def read_kind(text: str, source: str) -> GarmentKind:
    """Read the text of one kind of garment; raises FormatError with all that is wrong in it."""
    problems = Problems(source)
    table = Table(parse_toml(text, source), "", problems)
    name = table.text("name")
    roles = tuple(_read_role(one) for one in table.tables("piece", naming="role"))
    joins = []
    for row in table.tables("seam"):
        ease, share, gathers = (_read_range(row, key) for key in ("ease", "share", "gathers"))
        join = Join(
            row.text("name"),
            parse_run(list(row.texts("lead", required=True))),
            parse_run(list(row.texts("follow"))),
            ease or (0.0, 0.0),
            row.flag("mirror"),
            row.flag("must"),
            row.flag("check"),
            share,
            row.flag("perhaps"),
            row.flag("fold"),
            gathers,
            row.flag("asked"),
        )
        joins.append(join)
        row.finish()
    longer = []
    for row in table.tables("longer", naming="edge"):
        longer.append((parse_run(row.text("edge")), parse_run(row.text("than"))))
        row.finish()
    girths = tuple(_read_girth(row) for row in table.tables("girth"))
    table.finish()
    known = {(role.name, edge) for role in roles for line in role.outlines for edge in line}
    for role in roles:
        for edge in [*role.edges, *role.fold, *role.free, *role.opening]:
            if (role.name, edge) not in known:
                problems.add(f"piece '{role.name}'", f"found no edge '{edge}' in its outlines")
    for join in joins:
        for span in (*join.lead, *join.follow):
            if (span.piece, span.edge) not in known:
                problems.add(f"seam '{join.name}'", f"found no edge '{span.key}'")
    for girth in girths:
        named = [(span.piece, span.edge) for span in girth.runs]
        named += [(role, end[0]) for role, end in girth.across.items() if end is not None]
        for piece, edge in (*named, *girth.between):
            if (piece, edge) not in known:
                problems.add(f"girth '{girth.name}'", f"found no edge '{piece}.{edge}'")
        for name in {*girth.across, *girth.unless} - {role.name for role in roles}:
            problems.add(f"girth '{girth.name}'", f"found no piece '{name}'")
    problems.stop_if_any()
    return GarmentKind(name, roles, tuple(joins), tuple(longer), girths)


def _read_girth(row: Table) -> GirthKnown:
    across: dict[str, EdgeEnd | None] = {}
    for text in row.texts("across"):
        role, *end = text.split(".")
        across[role] = (end[0], "start" if end[1:] == ["start"] else "end") if end else None
    between = []
    for text in row.texts("between"):
        role, _, edge = text.partition(".")
        between.append((role, edge))
    times = row.choice("times", ("1", "2", "cut"), "2")
    found = GirthKnown(
        row.text("name"),
        tuple(row.texts("called")),
        parse_run(list(row.texts("runs"))),
        across,
        row.length("below", 0.0),
        row.text("place", ""),
        tuple(between),
        tuple(row.texts("unless")),
        None if times == "cut" else int(times),
    )
    row.finish()
    return found


def _read_range(row: Table, key: str) -> tuple[float, float] | None:
    found = [float(str(value)) for value in row.items(key)]
    return (found[0], found[1]) if len(found) == 2 else None


def _read_role(table: Table) -> Role:
    shapes = table.table("edges")
    edges = {}
    for name in list(shapes):
        shape = shapes.table(name)
        run = shape.choice("run", (*_LEANS, "any"), "any")
        bow = shape.choice("bow", (*_BOWS, "any"), "any")
        share = shape.lengths("share")
        shape.finish()
        part = (share[0], share[1]) if len(share) == 2 else None
        edges[name] = EdgeShape(_LEANS.get(run), part, _BOWS.get(bow))
    found = Role(
        table.text("role"),
        tuple(tuple(text.split()) for text in table.texts("outlines", required=True)),
        edges,
        table.flag("optional"),
        frozenset(table.texts("fold")),
        table.text("again", "") or None,
        frozenset(table.texts("free")),
        frozenset(table.texts("opening")),
    )
    table.finish()
    return found
