"""Carry changes through the relation graph, and put the result together.

Every relation that can be reached from a changed edge is visited in topological order; a
relation none of whose inputs changed is skipped (early cut-off).  See `propagate.engine.visits`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields, replace
from typing import get_args

from propagate.engine.column import column_of
from propagate.engine.compare import compare_pieces, refuse_crossing
from propagate.engine.distortion.level_marks import tell_level_marks
from propagate.engine.distortion.levels import tell_widths
from propagate.engine.distortion.tell import tell_distortion
from propagate.engine.given import GivenPieces, take_given, warn_of_followers
from propagate.engine.graph import RelationNode, order_of_work
from propagate.engine.inside.follow import follow_inside
from propagate.engine.job import Drawn, Job, Measures
from propagate.engine.kinds import relation_of, work_of
from propagate.engine.leading import led_by_change
from propagate.engine.levels import girth_length
from propagate.engine.looks import warn_of_looks
from propagate.engine.record import EDIT, Notice, PieceChange, Record
from propagate.engine.relations.passed_marks import follow_passed
from propagate.engine.relations.seam import walk_redrawn
from propagate.engine.relations.split_line import parts_to_cut
from propagate.engine.result import Result
from propagate.engine.rows import BandRow, GirthRow, LayerRow
from propagate.engine.state import State, start_state
from propagate.engine.steps import Step, steps_of_work
from propagate.engine.visits import Visits, judged_by
from propagate.engine.walk import Kind, walk
from propagate.pattern.patternset import PatternSet
from propagate.tolerances import GIRTH_MM

__all__ = ["carry_all"]

_FINISHES = 3
"""A notch that ends a span changes what is matched there; once more is enough, as a rule."""


def carry_all(job: Job, drawn: Drawn) -> Result:
    """Visit relations in order and put the result together."""
    said = job.pattern.relations
    job = replace(job, pattern=led_by_change(job, drawn))
    state = start_state(job, drawn)
    nodes = [change.id for change in drawn.changes]
    given = take_given(state, nodes) if drawn.given.pieces else GivenPieces()
    nodes += [*given.nodes, *drawn.visit]
    order = order_of_work(state.pattern, nodes)
    wide = order_of_work(state.pattern, nodes, wide=True)
    steps = steps_of_work(state.pattern, nodes)
    for one in order:
        work_of(one[0]).take(state, relation_of(state.pattern, one))
    walk_redrawn(state, order)
    _fold_anew(state)
    visits = Visits(state, _carry_step)
    visits.once(steps, order, always=bool(drawn.visit))
    visits.settle(steps)
    for _ in range(_FINISHES if drawn.given.pieces else 0):
        late = [node for node in visits.done if node not in order]
        touched = given.finish(state, [*order, *late])
        if not touched:
            break
        visits.touch(touched)
        visits.settle(steps)
    visits.touch(follow_passed(state))
    derived = state.pattern.relations.derived.values()
    if any(edge.line for one in derived for edge in one.edges):
        from propagate.engine.relations.derived import draw_on_lines  # few sets have any

        draw_on_lines(state)
    follow_inside(state)
    for name, piece in sorted(state.pieces.items()):
        refuse_crossing(name, state.size_of(name), piece)
    also = [*given.also, *order_of_work(state.pattern, drawn.walked)]
    walked = _list_walked(state, [*order, *also], wide, visits.stirred())
    place = {node: i for i, node in enumerate(wide)}
    done = sorted(visits.done, key=lambda node: place.get(node, len(place)))
    column = column_of(state, said)
    alone = {name for _, name in given.alone}

    def told() -> Record:
        record = _make_record(state, drawn, column, walked, done)
        record = warn_of_followers(record, alone, drawn.given.agree_mm)
        return warn_of_looks(record, state.pattern, state.job.size)

    return Result(column, told)


def _list_walked(
    state: State,
    reached: Sequence[RelationNode],
    wide: Sequence[RelationNode],
    stirred: Sequence[str],
) -> list[RelationNode]:
    """What was reached, and whatever is judged by an edge that changed.

    An opening that was laid has its own row: it is walked when a seam moved its ends.
    """
    walked = dict.fromkeys(node for node in reached if node[0] != "opening")
    judged = judged_by(state, stirred)
    laid = {row.opening for row in state.opening_rows}
    judged += [
        node
        for node in judged_by(state, list(state.changes))
        if node[0] != "opening" or node[1] not in laid
    ]
    walked.update(dict.fromkeys(node for node in wide if node in judged))
    walked.update(dict.fromkeys(judged))
    return list(walked)


def _carry_step(state: State, step: Step, causes: Mapping[RelationNode, str]) -> None:
    work = work_of(step[0][0])
    if work.carry is not None:
        relations = [relation_of(state.pattern, node) for node in step]
        work.carry(state, relations, {one: cause for (_, one), cause in causes.items()})
    _fold_anew(state)


def _fold_anew(state: State) -> None:
    """Pleats lie on their edges as they should before anything measures those."""
    if state.pattern.relations.pleats:
        from propagate.engine.relations.pleats import fold_anew  # few sets have any

        fold_anew(state)


def _make_record(
    state: State,
    drawn: Drawn,
    column: PatternSet,
    order: list[RelationNode],
    done: list[RelationNode],
) -> Record:
    only: dict[str, list[str]] = {}
    for kind, name in order:
        only.setdefault(kind, []).append(name)
    walked = walk(column, only=only, cut_lines=False)
    girths = tuple(_compare_girth(state, drawn, column, name) for name in only.get("girth", []))
    measures = drawn.measure(state, girths) if drawn.measure is not None else Measures()
    pieces = _compare_reached(state, done)
    before = _measure_zones(state, only.get("band", []))
    bands = [
        BandRow(
            **{item.name: getattr(check, item.name) for item in fields(check)},
            before_mm=before[check.name],
        )
        for check in walked.of("band")
    ]
    # of openings those that no longer meet their layers, because an end followed a corner
    mouths = tuple(check for check in walked.of("opening") if check.verdict == "does not sew")
    plugged = tuple(check for check in walked.checks if check.kind not in get_args(Kind))
    return Record(
        edit=drawn.words,
        set_name=state.pattern.name,
        size=state.job.name,
        changes=tuple(state.changes.values()),
        pieces=pieces,
        seams=walked.of("seam") + walked.of("notches") + mouths + plugged,
        openings=tuple(state.opening_rows),
        stacks=tuple(_add_paper(layer.row, pieces) for layer in state.layers),
        bands=tuple(bands),
        girths=girths,
        corners=walked.of("corner") + measures.corners,
        fairness=measures.fairness,
        match=measures.match or state.match,
        warnings=(
            *tell_level_marks(
                state.pattern, column, pieces, state.remarked, by_level=bool(state.job.levels)
            ),
            *state.first,
            *_tell_distortion(state, drawn, column, pieces),
            *state.told_notices(),
        ),
    )


def _tell_distortion(
    state: State, drawn: Drawn, column: PatternSet, pieces: Sequence[PieceChange]
) -> tuple[Notice, ...]:
    """What changed in shape though nobody edited it, and widths that no girth measures."""
    edited = set(drawn.given.pieces)
    for name, silhouette in drawn.edited.items():
        if silhouette.changed:
            edited.update(parts_to_cut(state.pattern, name))
    relations = state.pattern.relations
    recut = {layer.piece for stack in relations.stacks.values() for layer in stack.layers}
    recut |= {band.piece for band in relations.bands.values()} | state.traced
    recut |= set(relations.derived)
    recut |= {part.piece for one in relations.welt_openings.values() for part in one.parts}
    told = tell_distortion(state.pattern, column, pieces, edited, recut)
    by_level = any(size != state.job.size for size in state.job.levels.values())
    if by_level or not drawn.widths:
        return told
    return (*told, *tell_widths(state.pattern, column, pieces))


def _compare_girth(state: State, drawn: Drawn, column: PatternSet, name: str) -> GirthRow:
    """A girth of the result against that of the size which gives it."""
    girth = state.pattern.relations.girths[name]
    size = drawn.girth_sizes.get(name, state.job.at(girth.level))
    found = girth_length(column, girth, state.job.name)
    wanted = girth_length(state.pattern, girth, size)
    body = state.pattern.chart.get(girth.chart or "", {}).get(size)
    return GirthRow(
        girth=name,
        size=size,
        wanted_mm=wanted,
        found_mm=found,
        difference_mm=found - wanted,
        body_mm=body,
        ease_mm=None if body is None else found - body,
        ok=abs(found - wanted) <= GIRTH_MM,
    )


def _add_paper(row: LayerRow, pieces: tuple[PieceChange, ...]) -> LayerRow:
    """A layer's row with the paper added and trimmed along its riding edges."""
    change = next(change for change in pieces if change.piece == row.piece)
    edges = {edge.edge: edge for edge in change.edges}
    rides = tuple(
        replace(ride, added_mm=edges[ride.edge].added_mm, trimmed_mm=edges[ride.edge].trimmed_mm)
        for ride in row.rides
    )
    return replace(row, rides=rides)


def _measure_zones(state: State, bands: Sequence[str]) -> dict[str, float]:
    """Length of every zone of some bands in the size that the band was taken from, mm."""
    found = {}
    for name in bands:
        strip = state.pattern.relations.bands[name]
        old = state.pattern.sized(strip.piece, state.size_of(strip.piece))
        for zone in strip.zones:
            begin, end = (old.distance(strip.sewn, mark) for mark in (zone.begin, zone.end))
            found[f"{name} {zone.name}"] = abs(end - begin)
    return found


def _compare_reached(state: State, done: list[RelationNode]) -> tuple[PieceChange, ...]:
    """Every piece that was reached, in the order of work."""
    names = sorted(state.given.pieces)
    for step in done:
        names += work_of(step[0]).pieces(state, relation_of(state.pattern, step))
    names += sorted(state.pieces)  # a notch that followed changes a piece as well
    reasons: dict[str, str] = {}
    for node in state.changes:
        reasons.setdefault(node.partition(".")[0], node)
    changes = []
    for name in dict.fromkeys(names):
        size = state.size_of(name)
        old = state.pattern.sized(name, size)
        why = reasons.get(name, EDIT)
        change = compare_pieces(name, size, old, state.lookup(name), why)
        also = state.stretches.get(name, set()) - {size}
        changes.append(replace(change, also=tuple(s for s in state.pattern.sizes if s in also)))
    return tuple(changes)
