"""Small changes of a set, to make a mistake in it on purpose."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Allowance, PieceInfo

Change = Callable[[PatternSet], PatternSet]


def in_turn(*changes: Change) -> Change:
    """Several changes one after the other."""

    def change(pattern: PatternSet) -> PatternSet:
        for one in changes:
            pattern = one(pattern)
        return pattern

    return change


# ------------------------------------------------------------------ what is said of pieces


def say(piece: str, **values: Any) -> Change:
    """Change what is said of a piece: title, cut, pair, fold ..."""
    return _said(piece, lambda info: replace(info, **values))


def allow(piece: str, **edges: float) -> Change:
    """Change allowances: of edges by name, or ``default``."""

    def changed(info: PieceInfo) -> PieceInfo:
        old = info.allowance
        named = {name: mm for name, mm in edges.items() if name != "default"}
        new = replace(old, default=edges.get("default", old.default), edges={**old.edges, **named})
        return replace(info, allowance=new)

    return _said(piece, changed)


def turn_up(piece: str, *edges: str) -> Change:
    """Say that these edges are folded up."""

    def changed(info: PieceInfo) -> PieceInfo:
        allowance: Allowance = replace(info.allowance, turned=frozenset(edges))
        return replace(info, allowance=allowance)

    return _said(piece, changed)


def _said(piece: str, changed: Callable[[PieceInfo], PieceInfo]) -> Change:
    def change(pattern: PatternSet) -> PatternSet:
        assert piece in pattern.info, piece
        return replace(
            pattern, info={n: changed(i) if n == piece else i for n, i in pattern.info.items()}
        )

    return change


# ------------------------------------------------------------------------------- relations


def relate(kind: str, name: str, **values: Any) -> Change:
    """Change fields of a relation; ``kind`` is the field of Relations that holds it."""

    def change(pattern: PatternSet) -> PatternSet:
        group = getattr(pattern.relations, kind)
        new = {**group, name: replace(group[name], **values)}
        return replace(pattern, relations=replace(pattern.relations, **{kind: new}))

    return change


def leave_out(kind: str, *names: str) -> Change:
    """Take relations out."""

    def change(pattern: PatternSet) -> PatternSet:
        group = getattr(pattern.relations, kind)
        assert set(names) <= set(group)
        new = {name: one for name, one in group.items() if name not in names}
        return replace(pattern, relations=replace(pattern.relations, **{kind: new}))

    return change


def add(kind: str, relation: Any) -> Change:
    """Put a relation in."""

    def change(pattern: PatternSet) -> PatternSet:
        name = getattr(relation, "name", None) or relation.piece
        new = {**getattr(pattern.relations, kind), name: relation}
        return replace(pattern, relations=replace(pattern.relations, **{kind: new}))

    return change


def layer(stack: str, piece: str, **values: Any) -> Change:
    """Change one layer of a stack; a value of None takes the layer out."""

    def change(pattern: PatternSet) -> PatternSet:
        layers = tuple(
            replace(one, **values) if one.piece == piece else one
            for one in pattern.relations.stacks[stack].layers
            if values or one.piece != piece
        )
        return relate("stacks", stack, layers=layers)(pattern)

    return change


def zone(band: str, name: str, **values: Any) -> Change:
    """Change one zone of a band."""

    def change(pattern: PatternSet) -> PatternSet:
        zones = tuple(
            replace(one, **values) if one.name == name else one
            for one in pattern.relations.bands[band].zones
        )
        return relate("bands", band, zones=zones)(pattern)

    return change


def plan(**values: Any) -> Change:
    """Change the plan of the blend."""

    def change(pattern: PatternSet) -> PatternSet:
        assert pattern.relations.blend is not None
        blend = replace(pattern.relations.blend, **values)
        return replace(pattern, relations=replace(pattern.relations, blend=blend))

    return change


def main(silhouette: str, **values: Any) -> Change:
    """Change one main of the blend."""

    def change(pattern: PatternSet) -> PatternSet:
        blend = pattern.relations.blend
        assert blend is not None
        mains = tuple(
            replace(one, **values) if one.silhouette == silhouette else one for one in blend.mains
        )
        return plan(mains=mains)(pattern)

    return change


# --------------------------------------------------------------------------- chart and sizes


def chart(row: str, value: Callable[[str, float], float]) -> Change:
    """Change the values of a row: `value` takes a size and its mm."""

    def change(pattern: PatternSet) -> PatternSet:
        new = {size: value(size, mm) for size, mm in pattern.chart[row].items()}
        return replace(pattern, chart={**pattern.chart, row: new})

    return change


def rows(**exchanged: str) -> Change:
    """Give rows of the chart the values of other rows."""

    def change(pattern: PatternSet) -> PatternSet:
        new: Mapping[str, Any] = {row: pattern.chart[other] for row, other in exchanged.items()}
        return replace(pattern, chart={**pattern.chart, **new})

    return change


def only_in(size: str, new: Callable[[float], float]) -> Callable[[str, float], float]:
    """A value of the chart changed in one size."""
    return lambda at, mm: new(mm) if at == size else mm


def order(*sizes: str) -> Change:
    """List the sizes in another order."""

    def change(pattern: PatternSet) -> PatternSet:
        assert sorted(sizes) == sorted(pattern.sizes)
        return replace(pattern, sizes=sizes)

    return change
