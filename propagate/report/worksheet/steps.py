"""The steps in the order of work, each derived from the relations and the record."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace

from propagate.pattern.titles import listed
from propagate.report.worksheet.band_steps import band_steps, fitted_bands
from propagate.report.worksheet.edge_words import AS_IT_IS, KEPT
from propagate.report.worksheet.edges import edge_work
from propagate.report.worksheet.lay_steps import lay_steps, take_step, tape_steps
from propagate.report.worksheet.lengths import angle
from propagate.report.worksheet.pocket_steps import cut_apart_steps, layer_steps, opening_steps
from propagate.report.worksheet.true_steps import corner_steps
from propagate.report.worksheet.value import EdgeWork, Sentence, Step, Taken
from propagate.report.worksheet.words import Source

__all__ = ["steps_of"]

_TRACING: tuple[Callable[[Source], Iterable[Step]], ...] = (
    tape_steps,
    lay_steps,
    corner_steps,
    opening_steps,
    layer_steps,
    cut_apart_steps,
)


def steps_of(source: Source, taken: tuple[Taken, ...]) -> tuple[Step, ...]:
    """Every step, numbered: by figures first, then what tracing does instead."""
    found = [take_step(taken), *_piece_steps(source), *band_steps(source), _last_step(source)]
    traced = {build: tuple(build(source)) for build in ((lay_steps,) if source.given else _TRACING)}
    # Corners alone are no other way: the checks have them.
    if any(steps for build, steps in traced.items() if build is not corner_steps):
        found += (replace(step, way="by tracing") for own in traced.values() for step in own)
    return tuple(replace(step, number=i + 1) for i, step in enumerate(found))


def _piece_steps(source: Source) -> Iterator[Step]:
    """One step for every re-cut piece, then those of which a pencil draws nothing anew."""
    bands = fitted_bands(source)
    left: list[EdgeWork] = []
    turned: list[Step] = []
    for piece in source.changed:
        if piece in bands:
            continue
        degrees = source.turned_deg(piece)
        instead = "" if degrees is None else f"{KEPT}."
        works = tuple(edge_work(source, piece, e, instead) for e in source.changed_edges(piece))
        if degrees is not None:
            title = f"Keep {source.title(piece)}"
            turned.append(Step(0, title, (piece,), (_turned(degrees),), works))
        elif any(work.drawn for work in works):
            yield Step(0, f"Change {source.title(piece)}", (piece,), (), works)
        else:
            left += works
    yield from turned
    if left:
        names = tuple(dict.fromkeys(work.piece for work in left))
        text = f"{listed([source.title(name) for name in names])}: {AS_IT_IS.lower()}"
        yield Step(0, "Leave as they are", names, (Sentence(text),), tuple(left))


def _turned(degrees: float) -> Sentence:
    text = "Leave the outline as it is: it lies elsewhere in the garment, that is all."
    if round(degrees, 1):
        way = "clockwise" if degrees > 0.0 else "anticlockwise"
        text += f" Draw the grain line anew, turned {angle(abs(degrees))} {way}."
    return Sentence(text, (("grain_turned_deg", -degrees),))


def _last_step(source: Source) -> Step:
    text = "Draw the cut line anew along every edge that changed, at its allowance, and cut."
    if len(source.changed) < len(source.result.pattern.info):
        text += " Cut all other pieces as drawn, in the size that step 1 gives."
    return Step(0, "Add the allowances and cut", tuple(source.changed), (Sentence(text),))
