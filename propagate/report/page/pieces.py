"""Everything the page shows of one piece: its drawing, its edges, and why they changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field

import numpy as np
import numpy.typing as npt
from markupsafe import Markup

from propagate.engine.finish import CutLine, allowances, cut_line
from propagate.engine.record import PieceChange
from propagate.errors import PropagateError
from propagate.pattern.model import Edge, SizedPiece
from propagate.pattern.relations import PieceInfo
from propagate.pattern.titles import in_sentence, in_words, name_title, piece_title
from propagate.report.blend_text import paper_cells, size_taken
from propagate.report.page.drawn import View, view_of, write_item, write_scene
from propagate.report.page.subject import STATUS_WORDS, State, Subject
from propagate.report.page.words import PAGE_TEXTS, node_words
from propagate.report.scene.items import Dot, Item, Line, Role, Scene, Text, make_line, make_text
from propagate.report.scene.labels import Labels
from propagate.report.scene.looks import LOOKS
from propagate.report.scene.piece import compose_changed, compose_piece, grain_up, piece_before
from propagate.report.set_text import cut_words
from propagate.values import dataclass

__all__ = ["PieceView", "labels_of", "piece_view"]

Array = npt.NDArray[np.float64]

_SMALLEST_MM = 0.05
_BECAME = {"moved": "moved", "reshaped": "changed"}
_MARKS_MM = 350.0
"""Up to this extent of a piece its marks are as large as on a picture at true scale."""
_LARGEST_MARKS = 3.0
LETTER_PX = 12.0


@dataclass(frozen=True)
class EdgeView:
    """One edge: its lengths in words, and why it changed."""

    title: str
    label: str
    state: str
    mm: float
    before: str = ""
    now: str = ""
    change: str = ""
    added: str = ""
    trimmed: str = ""
    why: Sequence[tuple[str, str]] = ()


@dataclass(frozen=True)
class PieceView:
    """One piece as the page draws it.

    Attributes
    ----------
    state : "changed", "touched" or "untouched"
    status, cut : str
        Which size it was taken from and what became of it; how many to cut.
    figures : sequence of str
        What changed most.
    said : str
        What changed, for those who do not see the drawing.
    scene : Scene
        With its grain upwards, mm, y up.
    drawing : Markup
        Without its labels.
    """

    id: str
    name: str
    title: str
    state: State
    status: str
    cut: str
    figures: Sequence[str]
    said: str
    scene: Scene
    view: View
    drawing: Markup
    edges: Sequence[EdgeView]
    areas: str = ""
    why: Sequence[tuple[str, str]] = ()
    notices: Sequence[str] = field(default_factory=tuple)


def piece_view(subject: Subject, name: str, notices: Sequence[str]) -> PieceView:
    """Put together what the page shows of one piece."""
    piece, info = subject.sized(name), subject.pattern.info[name]
    change = subject.shown.get(name)
    scene, status = compose_change(subject, name), _say_status(subject, name)
    pairs = (("tape on", change.added_mm2), ("trim", change.trimmed_mm2)) if change else ()
    areas = ", ".join(f"{what} {subject.unit.area(mm2)}" for what, mm2 in pairs if mm2 > 1.0)
    figures: Sequence[str] = ()
    said = "The piece as it is drawn in the set, its grain upwards."
    if subject.result is not None:
        if change is not None:
            figures = subject.largest.get(name) or (_BECAME[change.status],)
        words = "; ".join(figures) or status
        more = f" Paper: {areas}." if areas else "" if figures else " Its grain is upwards."
        said = f"{words[:1].upper()}{words[1:]}.{more}"
    return PieceView(
        id=subject.ids[name],
        name=name,
        title=piece_title(subject.pattern, name),
        state=subject.state(name),
        status=status,
        cut=cut_words(info),
        figures=figures,
        said=said,
        scene=scene,
        view=view_of(scene),
        drawing=write_scene(scene, lambda item: _describe_item(subject, name, piece, item)),
        edges=[_view_edge(subject, name, edge, change) for edge in piece.edges],
        areas=areas,
        why=_explain_change(subject, f"{name}.*"),
        notices=notices,
    )


def compose_change(subject: Subject, name: str) -> Scene:
    """Return A piece with what it was before and both cut lines, its grain upwards."""
    piece, info = subject.sized(name), subject.pattern.info[name]
    change = subject.shown.get(name)
    extent = float(np.ptp(piece.outline, axis=0).max())
    marks = float(np.clip(extent / _MARKS_MM, 1.0, _LARGEST_MARKS))
    cut = _find_cut_line(piece, info, subject.size)
    if change is None:
        scene = compose_piece(piece, info, cut=cut, page_mm=marks)
    else:
        scene = compose_changed(piece, info, change, cut=cut, page_mm=marks)
        if (old_cut := _find_cut_line(piece_before(piece, change), info, "")) is not None:
            scene += Scene((make_line(Role.CUT_BEFORE, old_cut.points, closed=True),))
    return scene.placed(1.0, grain_up(piece).apply)


def _find_cut_line(piece: SizedPiece, info: PieceInfo, size: str) -> CutLine | None:
    """Return the cut line; None without allowances, or where none can be built."""
    try:
        return cut_line(piece, info, size=size) if any(allowances(piece, info).values()) else None
    except PropagateError:
        return None


# -------------------------------------------------------------------------------- words


def _say_status(subject: Subject, name: str) -> str:
    change = subject.changes.get(name)
    if subject.result is None:
        return f"size {subject.size}, as drawn"
    taken = size_taken(subject.result, name)
    if change is None or change.status == "same":
        return f"size {taken}, {STATUS_WORDS[subject.state(name)]}"
    also = "".join(f", with stretches of size {size}," for size in change.also)
    return f"taken from size {taken}{also} and {_BECAME[change.status]}"


def _describe_item(subject: Subject, name: str, piece: SizedPiece, item: Item) -> Mapping[str, str]:
    """Tell what the script and the reader are told of an item."""
    if isinstance(item, Line) and item.role in (Role.SEAM, Role.BEFORE):
        title = name_title(subject.pattern, item.name, name)
        if item.role is Role.BEFORE:
            return {"data-snap": f"{title} before"}
        at = piece.edge_names.index(item.name)
        length = f"{piece.edges[at].length:.6f}"
        return {"data-edge": str(at), "data-length": length, "data-snap": title}
    if item.role in (Role.CUT, Role.CUT_BEFORE, Role.DART, Role.INNER):
        return {"data-snap": LOOKS[item.role].legend}
    if isinstance(item, Line) and item.role is Role.LEVEL:
        return {"title": f"level {name_title(subject.pattern, item.name)}"}
    marked = (Role.NOTCH, Role.LANDMARK)
    if isinstance(item, (Line, Dot)) and item.name and item.role in marked:
        mark = piece.landmark(item.name)
        title = name_title(subject.pattern, mark.name, name)
        edge = in_sentence(name_title(subject.pattern, mark.edge, name))
        along = subject.unit.said(piece.distance(mark.edge, mark.name))
        return {"data-name": title, "title": f"{title}: {along} along {edge}"}
    return {}


def _view_edge(subject: Subject, piece: str, edge: Edge, change: PieceChange | None) -> EdgeView:
    unit, title = subject.unit, name_title(subject.pattern, edge.name, piece)
    now, edges = unit.length(edge.length), () if change is None else change.edges
    found = next((item for item in edges if item.edge == edge.name), None)
    if found is None:
        return EdgeView(title, f"{title} {now}", "same", edge.length, now=now)
    said = {"same": "as drawn", "moved": "moved"}.get(found.status)
    grown = unit.difference(found.before_mm, edge.length)
    added, trimmed = paper_cells(found, unit, _SMALLEST_MM)
    return EdgeView(
        title=title,
        label=f"{title} {now}" + ("" if said else f" ({grown})"),
        state=found.status,
        mm=edge.length,
        before=unit.length(found.before_mm),
        now=now,
        change=said or grown,
        added=added,
        trimmed=trimmed,
        why=_explain_change(subject, f"{piece}.{edge.name}"),
    )


def _explain_change(subject: Subject, node: str) -> list[tuple[str, str]]:
    """Return the chain of causes of one change: where, and what happened there."""
    if subject.record is None:
        return []
    pattern, chain = subject.pattern, reversed(subject.record.chain(node))
    return [(node_words(pattern, link.id), in_words(pattern, link.what)) for link in chain]


# ------------------------------------------------------------------------------- labels


def labels_of(view: PieceView, scale: float) -> Markup:
    """Return lengths on the drawing as it stands without scripts, at `scale` pixels for 1 mm.

    What has no room gets no place; the script finds another at every scale.
    """
    seams = [item for item in view.scene.of(Role.SEAM) if isinstance(item, Line)]
    labels = Labels(view.scene, PAGE_TEXTS.width)
    size, spots = LETTER_PX / scale, dict[int, Text]()
    for i in sorted(range(len(seams)), key=lambda i: -view.edges[i].mm):
        label = make_text((0.0, 0.0), view.edges[i].label, size)
        if labels.along(seams[i].points, label, within=True):
            spots[i] = labels.texts[-1]
    found = Markup("")
    for i, edge in enumerate(view.edges):
        item = spots.get(i, make_text((0.0, 0.0), edge.label, size))
        told = {"class": f"label {edge.state}", "data-edge": str(i)}
        found += write_item(item, told if i in spots else {**told, "style": "display:none"})
    return found
