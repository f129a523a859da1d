"""Which part of a derived piece turns when darts of its main piece are closed in it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from propagate.engine.derived.lines import Closed, close_darts, darts_on, inner_line, refuse_derived
from propagate.engine.tape import Silhouette
from propagate.geometry.crossing import crossings
from propagate.geometry.motion import IDENTITY, Motion
from propagate.geometry.polyline import point_at
from propagate.pattern.derived import DerivedEdge
from propagate.values import dataclass

__all__ = ["Folds", "fold_rows"]

Rows = Sequence[DerivedEdge | None]


@dataclass(frozen=True, eq=False)
class Folds:
    """What closing darts does to the lines of a main piece.

    Attributes
    ----------
    closed : mapping of edge to Closed
        The edges on which darts are closed, where they come to lie.
    motions : tuple of Motion
        For each edge of the derived piece how its line turns, unless darts are closed on it.
    """

    closed: dict[str, Closed]
    motions: tuple[Motion, ...]


def fold_rows(where: str, taped: Silhouette, rows: Rows, closed: Sequence[str]) -> Folds:
    """Close the darts on one edge or more, one after the other along the outline.

    The outline is opened between two of these edges, where no edges of the derived piece lead
    from the one to the other; of several such places on the longest stretch.

    Raises
    ------
    EditError
        When there is no such place: the piece would tear.
    """
    still = (IDENTITY,) * len(rows)
    if not closed:
        return Folds({}, still)
    _refuse_crossed(where, taped, rows, closed)
    order, arcs = _order_open(where, taped, rows, closed)
    found, after = {}, [IDENTITY]
    for edge in order:
        one = close_darts(taped, edge)
        base, beyond = after[-1].apply(one.base), after[-1].after(one.beyond)
        found[edge] = replace(one, base=base, beyond=beyond)
        after.append(beyond)
    turned = {edge: k + 1 for k, arc in enumerate(arcs[:-1]) for edge in arc}
    motions = list(still)
    for chain in _find_chains(rows, closed):
        on = {row.on or row.line for i in chain if (row := rows[i]) is not None}
        turns = {turned[edge] for edge in on if edge in turned}
        turns |= {len(order)} if arcs[-1][:1] and arcs[-1][0] in on else set()
        turns |= {0} if arcs[-1][-1:] and arcs[-1][-1] in on else set()
        if len(turns) != 1:
            raise _refuse_torn(where, closed, on)
        for i in chain:
            motions[i] = after[min(turns)]
    return Folds(found, tuple(motions))


def _order_open(
    where: str, taped: Silhouette, rows: Rows, closed: Sequence[str]
) -> tuple[list[str], list[list[str]]]:
    """Order the edges with closed darts along the outline, and what follows each of them.

    The last stretch is the one where the outline is opened.
    """
    outline = [edge.name for edge in taped.edges]
    order = sorted(set(closed), key=outline.index)
    arcs = []
    for k, edge in enumerate(order):
        first = outline.index(edge) + 1
        count = (outline.index(order[(k + 1) % len(order)]) - first) % len(outline)
        arcs.append([outline[(first + i) % len(outline)] for i in range(count)])
    chains = [
        {row.on for i in c if (row := rows[i]) is not None} for c in _find_chains(rows, closed)
    ]
    free = [
        k
        for k, arc in enumerate(arcs)
        if arc and not any({arc[0], arc[-1]} <= chain for chain in chains)
    ]
    if not free:
        raise _refuse_torn(where, closed, set().union(*chains))
    far = {k: sum(taped.edge(edge).length for edge in arcs[k]) for k in free}
    last = max(free, key=lambda k: (far[k], arcs[k]))
    turn = last + 1
    return order[turn:] + order[:turn], arcs[turn:] + arcs[:turn]


def _refuse_crossed(where: str, taped: Silhouette, rows: Rows, closed: Sequence[str]) -> None:
    """Refuse a line that crosses a dart: it is not one line any more when that is closed."""
    for row in rows:
        for edge in closed if row is not None and row.line else ():
            for low, high, tip in darts_on(taped, edge):
                assert row is not None and tip is not None
                legs = [point_at(taped.edge(edge).points, at) for at in (low, high)]
                line = inner_line(taped, row.line, 0.0, IDENTITY)
                if len(crossings(line.base, np.array([legs[0], tip, legs[1]]))):
                    raise refuse_derived(
                        where,
                        f"line '{row.line}' crosses a dart that is closed on '{edge}', expected "
                        "it beside the dart; draw it beyond the tip, or leave 'closed' out",
                    )


def _refuse_torn(where: str, closed: Sequence[str], on: set[str]) -> Exception:
    said = " and ".join(f"'{edge}'" for edge in dict.fromkeys(closed))
    return refuse_derived(
        where,
        f"closing the darts on {said} would tear {' and '.join(sorted(on))}, expected a free edge "
        f"or one that lies inside of {said} between its two sides; give it one, or leave 'closed' "
        "out",
    )


def _find_chains(rows: Rows, closed: Sequence[str]) -> list[list[int]]:
    """Find edges that follow each other between free edges and those with closed darts."""

    def ends(row: DerivedEdge | None) -> bool:
        return row is None or row.on in closed

    count = len(rows)
    apart = [i for i in range(count) if ends(rows[i])]
    chains: list[list[int]] = [[]]
    for step in range(1 if apart else 0, count):
        i = (apart[0] + step) % count if apart else step
        if ends(rows[i]):
            chains.append([])
        else:
            chains[-1].append(i)
    return [chain for chain in chains if chain]
