"""The steps in the order of work, each derived from the relations and the record."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

from propagate.report.worksheet import pocket_steps, true_steps
from propagate.report.worksheet.band_steps import band_steps, bands_of
from propagate.report.worksheet.corners import new_corners
from propagate.report.worksheet.edges import edge_work
from propagate.report.worksheet.lay_steps import lay_steps, take_step, tape_steps
from propagate.report.worksheet.mark_steps import mark_steps
from propagate.report.worksheet.value import EdgeWork, NewCorner, Sentence, Step, Taken
from propagate.report.worksheet.words import Source

__all__ = ["steps_of"]


def steps_of(source: Source, taken: tuple[Taken, ...]) -> tuple[Step, ...]:
    """Every step, numbered."""
    builders: tuple[Callable[[Source], Iterable[Step]], ...] = (
        tape_steps,
        lay_steps,
        _redraw_steps,
        true_steps.corner_steps,
        pocket_steps.opening_steps,
        pocket_steps.layer_steps,
        pocket_steps.cut_apart_steps,
        band_steps,
        mark_steps,
        _last_steps,
    )
    found = [take_step(taken)]
    for build in builders:
        found += build(source)
    return tuple(replace(step, number=i + 1) for i, step in enumerate(found))


def _redraw_steps(source: Source) -> Iterable[Step]:
    """Mains, revised pieces and what is matched to them: every changed edge but an opening."""
    layers = pocket_steps.layers_of(source)
    bands = bands_of(source)
    for piece in source.changed:
        if piece in layers or piece in bands:
            continue
        edges = [e for e in source.changed_edges(piece) if (piece, e) not in source.openings]
        if not edges:
            continue
        works = tuple(edge_work(source, piece, edge, table=True) for edge in edges)
        sentences = [_how_to_draw(source, piece)]
        sentences += _how_to_read(works)
        if any(dart.edge in edges for dart in source.sized(piece).darts):
            sentences.append(
                Sentence(
                    "At a dart the line breaks: draw it to one new leg, close the dart, and go on "
                    "from the other leg."
                )
            )
        sentences += [_corner_words(corner) for corner in new_corners(source, piece)]
        sentences += true_steps.beyond_opening(source, piece)
        yield Step(0, f"Redraw {source.title(piece)}", (piece,), tuple(sentences), works)


def _how_to_draw(source: Source, piece: str) -> Sentence:
    return Sentence(
        f"Work on the seam line of {source.title(piece)}, size {source.taken(piece)}. "
        "Distances are measured on the old line; mark the points of each table square "
        "to it, then draw one smooth line through them. ‘At most’ is how far the lines are "
        "apart; a table measures square to the old line, which can be a little more."
    )


def _how_to_read(works: tuple[EdgeWork, ...]) -> list[Sentence]:
    """How to find rows beyond the end of an old line, where a table has them."""
    for work in works:
        places = [row.along_mm for row in work.offsets]
        if places and (min(places) < 0.0 or max(places) > work.before_mm + 0.05):
            return [
                Sentence(
                    "A new corner can lie beyond the end of the old line: with − before its place, "
                    "or with a place farther on than the old line is long. Run the old line "
                    "straight on there and measure on that."
                )
            ]
    return []


def _corner_words(corner: NewCorner) -> Sentence:
    text = f"New {corner.name.bare}: {corner.text}."
    return Sentence(text, (("first_mm", corner.first_mm), ("second_mm", corner.second_mm)))


def _last_steps(source: Source) -> Iterable[Step]:
    """Allowances, and the pieces that are not re-cut."""
    pieces = tuple(source.changed)
    yield Step(
        0,
        "Add the allowances and cut",
        pieces,
        (
            Sentence(
                "Draw the cut line anew along every edge that changed, at the allowance that the "
                "page of the piece gives."
            ),
            Sentence(
                "Cut all other pieces as drawn, each in the size that the cut list on the first "
                "page gives."
            ),
        ),
    )
