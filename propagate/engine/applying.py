"""Do edits one after the other, in one size, in some or in the whole nest."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import product
from typing import Literal

from propagate.engine.compare import edge_moved_mm, edge_status
from propagate.engine.darts.changes import dart_changes
from propagate.engine.distortion.tell import retell_distortion
from propagate.engine.edits.size_between import record_with_made, with_sizes_asked
from propagate.engine.edits.sized import SizedEdit
from propagate.engine.record import ChangeKind, Notice, Record
from propagate.engine.relations.split_line import parts_to_cut
from propagate.engine.result import Result
from propagate.engine.revised import Revised, RevisedEdge, SizedDart, merged_sizes
from propagate.engine.run import run_job
from propagate.engine.summed import sum_records
from propagate.engine.truing import Corners, true_sizes
from propagate.errors import EditError, PropagateError
from propagate.pattern.amount import Grading
from propagate.pattern.patternset import PatternSet
from propagate.tolerances import SEAM_LENGTH_MM
from propagate.values import dataclass

__all__ = ["NamedEdit", "apply_edits"]

_BACK_MM = 0.05
"""An edge that lies within this of where it was before an edit is back there."""


@dataclass(frozen=True)
class NamedEdit:
    """An edit and what it is called in messages and in the record."""

    name: str
    edit: SizedEdit


def apply_edits(
    pattern: PatternSet,
    edits: Sequence[NamedEdit],
    *,
    sizes: Sequence[str] = (),
    graded: Grading = "same",
    follow: Literal["shape", "length"] = "length",
    corners: Corners = "trued",
) -> Revised:
    """Do edits in order, each carried to all companion pieces before the next.

    Parameters
    ----------
    pattern : PatternSet
    edits : sequence of NamedEdit
        With different names.
    sizes : sequence of str
        Every size of the nest when empty.  One that lies between two of the nest is drawn
        first, and stands in the set then.
    graded : "same" or "proportion"
        Amounts that are said once hold in every size, or in proportion to the length that
        they change.
    follow : "shape" or "length"
        A mate takes the shape that its lead got, or its length alone.
    corners : "trued" or "left"
        Where a line that ran on smoothly across a seam no longer does after the last edit, it is
        trued, or left.

    Returns
    -------
    Revised
        The set in all sizes, with a record of each size that was edited.

    Raises
    ------
    EditError, UnknownName
        When an edit cannot be done in one of the sizes; nothing is done then.
    Conflict
        When relations ask different things of the same edge.
    """
    pattern, called, made = with_sizes_asked(pattern, sizes)
    chosen = [size for size in pattern.sizes if not sizes or size in called.values()]
    edits = [replace(one, edit=one.edit.with_sizes(called, made)) for one in edits]
    current = pattern
    told: dict[str, list[tuple[str, Record]]] = {size: [] for size in chosen}
    kept: set[str] = set()
    disturbs = False
    for named in edits:
        results: dict[str, Result] = {}
        try:
            if named.edit.every_size and len(chosen) < len(pattern.sizes):
                raise EditError(
                    f"set '{pattern.name}': edit '{named.edit.word}' changes what holds for every "
                    f"size, found size {', '.join(chosen)} alone; do it without sizes, apart from "
                    "edits of some"
                )
            before, current = current, named.edit.on_set(current, chosen)
            for size in chosen:
                edit = named.edit.for_size(size, graded, follow)
                drawn, results[size] = run_job(edit, edit.job_on(current))
                kept |= drawn.kept
                disturbs |= drawn.trued
                record = results[size].record
                unmoved = all(piece.status == "same" for piece in record.pieces) and all(
                    change.kind is not ChangeKind.MARKED for change in record.changes
                )
                if current is before and (len(record.changes) <= 1 or unmoved):
                    idle = Notice(
                        named.name,
                        "changes nothing: the set is so already",
                        "leave it out if that is meant",
                    )
                    record = replace(record, warnings=(idle, *record.warnings))
                told[size].append((named.name, record))
        except PropagateError as error:
            error.add_note(f"this was edit '{named.name}'; nothing was done")
            raise
        current = merged_sizes(current, results)
    records = {
        size: record_with_made(
            _make_record(pattern, current, size, steps),
            [one for one in made if one.size.name == size],
        )
        for size, steps in told.items()
        if steps
    }
    if corners == "trued" and disturbs:
        current, records = true_sizes(
            pattern, current, records, kept=frozenset(kept), follow=follow
        )
    first = next(iter(told.values()))  # the sizes are told beside
    edges: list[RevisedEdge] = []
    darts: list[SizedDart] = []
    for name, size in product(_list_drawn(pattern, records), records):
        was, now = pattern.sized(name, size), current.sized(name, size)
        for old, new in zip(was.edges, now.edges, strict=True):
            status = edge_status(old, new)
            moved = 0.0 if status == "same" else edge_moved_mm(old, new)
            edges.append(RevisedEdge(name, size, new.name, status, "edited", moved))
        changes = dart_changes(was, now, SEAM_LENGTH_MM)
        darts += [SizedDart(name, size, "edited", change) for change in changes]
    return Revised(
        current,
        tuple(edges),
        records,
        darts=tuple(darts),
        edits=tuple(f"{name}: {record.changes[0].what}" for name, record in first),
    )


def _make_record(
    pattern: PatternSet, current: PatternSet, size: str, steps: Sequence[tuple[str, Record]]
) -> Record:
    if len(steps) == 1:
        return steps[0][1]
    words = f"{len(steps)} edits: {', '.join(name for name, _ in steps)}"
    record = sum_records(steps, pattern.sized, lambda name: current.sized(name, size), words)
    undone = _find_undone(pattern, current, size, steps)
    edited = {part for name in record.options.pieces for part in parts_to_cut(pattern, name)}
    column = replace(current, base=size)
    told = retell_distortion(record.warnings, pattern, column, record.pieces, edited)
    return replace(record, warnings=(*undone, *told))


def _find_undone(
    pattern: PatternSet, current: PatternSet, size: str, steps: Sequence[tuple[str, Record]]
) -> list[Notice]:
    """Edges that an edit drew and a later one brought back to where they were."""
    drawn: dict[str, list[str]] = {}
    for name, record in steps:
        for change in record.changes:
            if change.kind in (ChangeKind.DRAWN, ChangeKind.CUT_APART) and "." in change.id:
                drawn.setdefault(change.id, []).append(name)
    found = []
    for key, names in drawn.items():
        piece, _, edge = key.partition(".")
        was, now = (one.sized(piece, size).edge(edge) for one in (pattern, current))
        if len(names) > 1 and edge_moved_mm(was, now) <= _BACK_MM:
            if len(names) > 2:  # which of them undo each other is not known
                listed = ", ".join(f"'{name}'" for name in names)
                said = f"edits {listed} together leave edge '{edge}' where it was before them"
                found.append(Notice(piece, said, "leave them out if that is meant"))
                continue
            first, last, *_ = names
            said = f"edit '{last}' brings edge '{edge}' back to where it was before edit '{first}'"
            found.append(Notice(piece, said, "leave both out if that is meant"))
    return found


def _list_drawn(pattern: PatternSet, records: Mapping[str, Record]) -> list[str]:
    """The pieces that the edits themselves drew."""
    relations = pattern.relations
    layers = {layer.piece for stack in relations.stacks.values() for layer in stack.layers}
    names: set[str] = set()
    for record in records.values():
        for piece in record.options.pieces:
            assembly = relations.assemblies.get(piece)
            if assembly is None:
                names.add(piece)
            else:
                names |= set(assembly.pieces) - layers
    return sorted(names)
