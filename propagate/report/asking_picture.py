"""A picture of what is asked: the pieces side by side, what would be sewn marked on each.

Both sides of a seam have a mark at their middle, a filled dot where they begin and a ring where
they end, so that one sees which end meets which.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import shapely

from propagate.geometry.motion import Motion
from propagate.geometry.polyline import point_at
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Band, Run, Seam, Span
from propagate.pattern.spans import span_points
from propagate.pattern.titles import piece_title
from propagate.report.asking_text import LETTERS
from propagate.report.canvas import Canvas, text_width
from propagate.report.scene.items import Line, Role, Scene, Text, make_text
from propagate.report.scene.looks import LAYERS, paint_scene
from propagate.report.scene.piece import compose_piece, grain_up, moved_piece
from propagate.report.style import BLUE, ORANGE, Stroke, write_patterns
from propagate.suggesting import Proposal
from propagate.suggesting.asking import can_turn
from propagate.suggesting.blending import CROTCH, Blending
from propagate.suggesting.girths import FoundGirth, put_girths
from propagate.suggesting.tops import Leveling
from propagate.suggesting.tracing import Tracing
from propagate.values import dataclass

__all__ = [
    *("Drawn", "draw_blending", "draw_girths", "draw_levels", "draw_side", "draw_tracing"),
    *("drawn_question", "write_picture"),
]

Array = npt.NDArray[np.float64]
_LEFT_OUT = (Role.LEVEL, Role.LANDMARK)
_MARGIN = 0.5
_TITLE = 0.85
_COLOURS = (BLUE, ORANGE)


@dataclass(frozen=True, eq=False)
class Strand:
    """A stretch of an edge that would be sewn.

    Attributes
    ----------
    mark : str
        Of the side that it belongs to.
    side : int
        0 or 1; each has a line of its own.
    points : (n, 2) array, mm, along the run
    """

    mark: str
    side: int
    points: Array


@dataclass(frozen=True, eq=False)
class Drawn:
    """A picture, composed.

    Attributes
    ----------
    scene : Scene
        The pieces.
    strands : tuple of Strand
        Over them.
    ends : tuple of (Strand, Strand)
        First and last strand of each run of which it matters where it begins.
    labels : tuple of Text
        Titles of the pieces, and marks beside the strands.
    letter : float
        Size of a mark, mm.
    """

    scene: Scene
    strands: tuple[Strand, ...]
    ends: tuple[tuple[Strand, Strand], ...]
    labels: tuple[Text, ...]
    letter: float


def drawn_question(pattern: PatternSet, proposal: Proposal) -> Drawn:
    """Compose what is asked in the base size, grain upwards, all pieces at one scale."""
    marked, twin = list(_marked_runs(proposal)), proposal.kind == "mirror seam"
    drawn = _draw_marked(pattern, marked, ends=can_turn(proposal), times=2.0 if twin else 1.0)
    return _with_twin(drawn) if twin else drawn


def draw_blending(pattern: PatternSet, found: Blending) -> Drawn:
    """Compose what blending would go by: side, waist and centre of both mains, and the levels.

    Lines of the main that leads are whole, those of the other broken.
    """
    seam, held = pattern.relations.seams[found.plan.seam], pattern.relations.assemblies
    sides = (seam.follow, seam.lead) if found.turned else (seam.lead, seam.follow)
    marked: list[tuple[str, int, Run]] = []
    for number, main in enumerate(found.plan.mains):
        marked.append(("side", number, sides[number]))
        for word, edge in (("waist", main.across), ("centre", main.centre)):
            whole = (Span(main.silhouette, edge, "start", "end"),)
            taped = held.get(main.silhouette)
            marked.append((word, number, whole if taped is None else taped.edges[edge]))
    leg = found.plan.leg
    levels = (found.plan.lower, CROTCH, *(() if leg is None else (leg.level,)))
    return _draw_marked(found.put_on(pattern), marked, ends=False, levels=levels)


def draw_side(pattern: PatternSet, seam: Seam) -> Drawn:
    """Compose both sides of the side seam along which a level is measured."""
    marked = [("side", k, run) for k, run in enumerate((seam.lead, seam.follow))]
    return _draw_marked(pattern, marked, ends=False)


def draw_levels(pattern: PatternSet, found: Leveling) -> Drawn:
    """Compose all pieces that the levels cross, and the side seam that tells them."""
    seam = found.way.seam
    marked = [("side", k, run) for k, run in enumerate((seam.lead, seam.follow))]
    levels = [one.level for one in found.places]
    return _draw_marked(
        found.put_on(pattern), marked, ends=False, levels=levels, also=found.crossed
    )


def draw_girths(pattern: PatternSet, found: Sequence[FoundGirth]) -> Drawn:
    """Compose the pieces on which girths are measured: along edges, and on levels."""
    marked = [(one.girth.name, 0, run) for one in found for run in one.girth.runs]
    levels = [one.girth.level for one in found if one.girth.level is not None]
    across = [name for one in found for name in one.girth.silhouettes]
    leads = [pattern.relations.lead_of(name) for name in across]
    return _draw_marked(put_girths(pattern, found), marked, ends=False, levels=levels, also=leads)


def draw_tracing(pattern: PatternSet, found: Tracing) -> Drawn:
    """Compose a piece and the one that it may follow, with the edges of both that go together.

    Lines of the one that would be followed are whole, those of the piece broken.
    """
    derived, marked = found.derived, list[tuple[str, int, Run]]()
    for letter, one in zip(LETTERS, derived.edges, strict=False):
        for side, name, edge in ((0, derived.of, one.on), (1, derived.piece, one.edge)):
            marked.append((letter, side, (Span(name, edge, "start", "end"),)))
    return _draw_marked(pattern, marked, ends=False)


def _draw_marked(
    pattern: PatternSet,
    marked: Sequence[tuple[str, int, Run]],
    *,
    ends: bool,
    levels: Sequence[str] = (),
    also: Sequence[str] = (),
    times: float = 1.0,
) -> Drawn:
    """Compose pieces side by side with runs marked.

    Parameters
    ----------
    ends : bool
        It matters where a run begins.
    levels : sequence of str
        Those that are drawn.
    also : sequence of str
        Pieces that are drawn though nothing is marked on them.
    times : float
        So many times as wide the picture will be in the end.
    """
    names = list(dict.fromkeys([*(span.piece for _, _, run in marked for span in run), *also]))
    sizes = {name: pattern.sized(name, pattern.base) for name in names}
    pieces = {name: moved_piece(sized, grain_up(sized)) for name, sized in sizes.items()}
    spread = [np.ptp(piece.outline, axis=0) for piece in pieces.values()]
    wide, tall = times * sum(float(s[0]) for s in spread), max(float(s[1]) for s in spread)
    letter = max(wide / (24.0 - 3.0 * min(len(pieces), 4)), tall / 32.0)
    room = {name: text_width(piece_title(pattern, name), _TITLE * letter) for name in names}
    marks = max((text_width(mark, letter, bold=True) for mark, _, _ in marked), default=0.0)
    gap = max(3.0 * letter, 2.0 * marks + 1.4 * letter)  # two marks beside each other
    laid, shifts = _side_by_side(pieces, room, gap)
    scene = Scene()
    for name, piece in laid.items():
        own = compose_piece(piece, pattern.info[name], page_mm=letter / 7.0)
        scene += own.without(*_LEFT_OUT)
        drawn = (one for one in own.items if isinstance(one, Line) and one.role is Role.LEVEL)
        scene += Scene(tuple(line for line in drawn if line.name in levels))
    strands, run_ends = [], []
    for mark, side, run in marked:
        own_strands = [
            Strand(mark, side, span_points(pieces[span.piece], span) + shifts[span.piece])
            for span in run
        ]
        strands += own_strands
        if ends and own_strands:
            run_ends.append((own_strands[0], own_strands[-1]))
    faces = shapely.union_all(
        [shapely.make_valid(shapely.Polygon(piece.outline)) for piece in laid.values()]
    )
    labels = [_mark_strand(strand, faces, letter) for strand in _with_all_marks(strands)]
    for line in scene.items:
        if isinstance(line, Line) and line.role is Role.LEVEL:
            # Beside the middle, where the grain line is.
            at = 0.74 * line.points[0] + 0.26 * line.points[-1] + np.array([0.0, 0.55 * letter])
            labels.append(make_text(at, line.name, _TITLE * letter))
    under = any(float(one.at[1]) < 0.0 for one in labels)  # an edge at the foot is marked
    titles = []
    for name, piece in laid.items():
        low, high = piece.outline.min(axis=0), piece.outline.max(axis=0)
        at = ((low[0] + high[0]) / 2.0, low[1] - (2.4 if under else 1.4) * letter)
        titles.append(make_text(at, piece_title(pattern, name), _TITLE * letter))
    return Drawn(scene, tuple(strands), tuple(run_ends), (*titles, *labels), letter)


def _with_twin(drawn: Drawn) -> Drawn:
    """Draw a piece's mirrored twin beside it, on the side of the edge that is sewn to it."""
    low, high = drawn.scene.bounds()
    points = np.concatenate([strand.points for strand in drawn.strands])
    right = float(points[:, 0].mean()) > float(low[0] + high[0]) / 2.0
    title = replace(drawn.labels[0], text=f"{drawn.labels[0].text}, mirrored")
    edges = [float((high if right else low)[0])]
    for one in (title, *drawn.labels):
        half = text_width(one.text, one.size, bold=one.bold) / 2.0
        edges.append(float(one.at[0]) + (half if right else -half))
    axis = max(edges) + 0.3 * drawn.letter if right else min(edges) - 0.3 * drawn.letter

    def turn(points: Array) -> Array:
        return np.asarray(points * [-1.0, 1.0] + [2.0 * axis, 0.0], dtype=np.float64)

    twins = tuple(Strand(one.mark, 1, turn(one.points)) for one in drawn.strands)
    labels = [replace(one, at=turn(one.at)) for one in (title, *drawn.labels[1:])]
    return replace(
        drawn,
        scene=drawn.scene + drawn.scene.placed(1.0, turn),
        strands=(*drawn.strands, *twins),
        labels=(*drawn.labels, *labels),
    )


def write_picture(drawn: Drawn, title: str, words: str) -> str:
    """Write what is asked as SVG."""
    canvas, letter = Canvas(), drawn.letter
    paint_scene(drawn.scene, canvas, thin=letter / 8.0)
    dashes = (letter, letter / 1.6)
    strokes = (Stroke(_COLOURS[0], letter / 3.5), Stroke(_COLOURS[1], letter / 3.5, dashes))
    for strand in drawn.strands:
        canvas.line("strand", strand.points, strokes[strand.side])
    for first, last in drawn.ends:
        colour = _COLOURS[first.side]
        rim = Stroke(colour, letter / 8.0)
        canvas.circle("strand", first.points[0], 0.38 * letter, rim, colour)
        canvas.circle("strand", last.points[-1], 0.38 * letter, rim, "#ffffff")
    paint_scene(Scene(drawn.labels), canvas)
    return canvas.svg(
        title=title,
        text=words,
        definitions=write_patterns(letter / 3.0),
        order=(*LAYERS[:-2], "strand", Role.LABEL.value),
        margin=_MARGIN * letter,
    )


# -------------------------------------------------------------------------------- marking


def _marked_runs(proposal: Proposal) -> Iterator[tuple[str, int, Run]]:
    """Yield the runs of a proposal, each with its mark; of a band the zones, on both sides."""
    band = next((one for one in proposal.relations if isinstance(one, Band)), None)
    if band is None:
        for k, (letter, run) in enumerate(zip(LETTERS, proposal.runs, strict=False)):
            yield letter, min(k, 1), run
        return
    for number, zone in enumerate(band.zones, start=1):
        yield str(number), 0, (Span(band.piece, band.sewn, zone.begin, zone.end),)
        if zone.run:
            yield str(number), 1, zone.run


def _side_by_side(
    pieces: dict[str, SizedPiece], room: dict[str, float], gap: float
) -> tuple[dict[str, SizedPiece], dict[str, Array]]:
    """Lay pieces from left to right on one line; tell too how far each was moved."""
    laid, shifts, at = {}, {}, 0.0
    for name, piece in pieces.items():
        low, high = piece.outline.min(axis=0), piece.outline.max(axis=0)
        wide = float(high[0] - low[0])
        column = max(wide, room[name])
        shifts[name] = np.array([at + (column - wide) / 2.0 - low[0], -low[1]])
        laid[name] = moved_piece(piece, Motion(1.0 + 0.0j, complex(*shifts[name])))
        at += column + gap
    return laid, shifts


def _with_all_marks(strands: Sequence[Strand]) -> list[Strand]:
    """Join strands of one stretch, with the marks of all that lie on it."""
    found: dict[bytes, Strand] = {}
    for one in strands:
        ends = sorted((one.points[0].tolist(), one.points[-1].tolist()))
        key = np.round(ends, 3).tobytes()
        other = found.get(key)
        mark = one.mark if other is None or other.mark == one.mark else f"{other.mark}, {one.mark}"
        found[key] = replace(one, mark=mark)
    return list(found.values())


def _spare_room(mark: str, letter: float) -> float:
    """How much more room a mark takes beside a line that goes up than a letter does."""
    return max(0.0, text_width(mark, letter, bold=True) / 2.0 - 0.5 * letter)


def _mark_strand(strand: Strand, faces: shapely.Geometry, letter: float) -> Text:
    """Return the mark at the middle of a strand, outside of the piece where it can be."""
    steps = np.hypot(*np.diff(strand.points, axis=0).T)
    middle = float(steps.sum()) / 2.0
    at = point_at(strand.points, middle)
    a, b = (point_at(strand.points, middle + d) for d in (-0.5, 0.5))
    along = (b - a) / max(float(np.hypot(*(b - a))), 1e-9)
    out = np.array([along[1], -along[0]])
    aside = out * (letter + _spare_room(strand.mark, letter) * abs(float(out[0])))
    # Judged close by the line: a narrow piece ends before the mark does.
    inside = faces.contains(shapely.Point(at + 0.02 * letter * out))
    return make_text(at - aside if inside else at + aside, strand.mark, letter, bold=True)
