"""The page of one re-cut piece: old and new outline, areas, measures, details, tables."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import shapely

from propagate.pattern.titles import shortened
from propagate.report.canvas import Stroke
from propagate.report.style import ADDED, INK, ORANGE, PALE, TRIMMED
from propagate.report.worksheet.flow import BODY, SMALL, Flow, Head
from propagate.report.worksheet.lengths import said
from propagate.report.worksheet.piece_lines import Lines, Measured, lines_of
from propagate.report.worksheet.value import PieceWork
from propagate.report.worksheet.view import View, fitting_scale
from propagate.report.worksheet.words import Source

__all__ = ["piece_page"]

Array = npt.NDArray[np.float64]

OLD = Stroke(ORANGE, 0.25, (1.6, 1.0))
NEW = Stroke(INK, 0.6)
_BEYOND = Stroke(PALE, 0.25, (0.6, 0.8))
_THIN = Stroke(INK, 0.2)
_STROKES = {"old": OLD, "new": NEW, "beyond": _BEYOND, "grain": _THIN}
_DIMENSION = Stroke(INK, 0.25)
_FRAME = Stroke(PALE, 0.15)
_HEAD = 5.4
_BAND_MM = 142.0
_LOWEST_MM = 84.0
_TALL_MM = 5000.0
_AROUND_MM = 34.0
"""Room that labels take around what a detail shows."""
_LABELS_MM = 15.0
"""Room around a piece for its labels."""
_SEEN_MM = 0.4
"""A detail is drawn when what changed is as wide as this on the page: a little more than a line."""
_WORTH = 1.6
"""A detail is drawn when it is this much larger than the whole piece."""


def piece_page(flow: Flow, source: Source, work: PieceWork) -> None:
    """Draw one piece and write its tables; they go on to the next page when they must."""
    flow.page()
    _title(flow, work.title, f", from size {work.size}")
    flow.paragraph(work.words)
    lines = lines_of(source, work)
    _legend(flow, lines)
    _pictures(flow, source, lines, _band_height(flow, source, work))
    _tables(flow, source, work)


def _title(flow: Flow, title: str, tail: str) -> None:
    """The title in two lines at most; a long one is cut before its size."""
    told, most = title, len(title)
    while len(flow.lines(told + tail, _HEAD, flow.width, bold=True)) > 2 and most > 1:
        most = int(most * 0.9)
        told = shortened(title, most)
    flow.heading(told + tail, _HEAD, most=2)


def _band_height(flow: Flow, source: Source, work: PieceWork) -> float:
    """Height of the pictures: smaller where that keeps the tables on the same page."""
    probe = Flow(flow.fonts, replace(flow.paper, height=_TALL_MM), widths=flow.widths)
    start = probe.y
    _tables(probe, source, work)
    left = flow.y - flow.bottom - (start - probe.y) - 4.0
    return min(left, _BAND_MM) if left >= _LOWEST_MM else _BAND_MM


# --------------------------------------------------------------------------- pictures


def _pictures(flow: Flow, source: Source, lines: Lines, height: float) -> None:
    """The whole piece, and what changed larger beside it."""
    top, bottom = flow.y - 1.0, flow.y - height
    low, high = lines.bounds()
    size, half = high - low, 0.5 * flow.width
    room = (flow.width - 2 * _LABELS_MM, height - 2 * _LABELS_MM)
    scale = fitting_scale(size, (half - 2 * _LABELS_MM, room[1]), 2.0)
    details = _details(lines, scale, (half - 26.0, height))
    if not details:
        scale = fitting_scale(size, room, 2.0)
    right = flow.left + (half if details else flow.width)
    shown, head = [], top
    for i, (window, detail) in enumerate(details):
        centre = np.array([window.centroid.x, window.centroid.y])
        tall = (window.bounds[3] - window.bounds[1]) / detail + _AROUND_MM
        foot = head - min(tall, (top - bottom) / len(details) - 5.0)
        frame = (right + 3.0, foot, flow.left + flow.width, head)
        reach = (np.array([frame[2] - frame[0], head - foot]) / 2 - 1.0) * detail
        view = shapely.box(*(centre - reach), *(centre + reach))
        shown.append(view)
        _view(
            View(flow.canvas, frame, detail, centre, view),
            source,
            lines,
            lines.measured,
            set(lines.new),
        )
        ring = np.asarray(shapely.box(*frame).exterior.coords)[:-1]
        flow.canvas.line("sheet", ring, _FRAME, closed=True)
        ratio = f"1:{detail:g}" if detail >= 1 else f"{1 / detail:g}:1"
        _scale_words(flow, frame, f"detail{f' {i + 1}' if len(details) > 1 else ''}, {ratio}")
        head = foot - 6.0
    box = (flow.left, bottom + 5.0, right, top)
    rest = lines.outside(shown)
    seen = shapely.union_all(shown) if shown else shapely.Polygon()
    names = {name for name in lines.new if not seen.covers(shapely.LineString(lines.new[name]))}
    _view(View(flow.canvas, box, scale, (low + high) / 2), source, lines, rest, names)
    _scale_words(flow, box, f"whole piece, 1:{scale:g}")
    flow.y = bottom - 2.0


def _details(
    lines: Lines, scale: float, room: tuple[float, float]
) -> list[tuple[shapely.Polygon, float]]:
    """Windows on what changed, each with its scale, where that shows more."""
    windows, found = lines.windows() if lines.measured.dimensions else [], []
    for window in windows:
        size = np.array(window.bounds[2:]) - np.array(window.bounds[:2])
        detail = fitting_scale(size, (room[0], room[1] / len(windows) - _AROUND_MM), 0.5)
        if detail * _WORTH <= scale and lines.widest_in(window) / detail >= _SEEN_MM:
            found.append((window, detail))
    return found


def _scale_words(flow: Flow, box: tuple[float, float, float, float], text: str) -> None:
    at = (box[0] + 1.0, box[1] - 2.4)
    flow.canvas.text("sheet", at, text, SMALL, anchor="start", colour=PALE)


def _view(view: View, source: Source, lines: Lines, measured: Measured, names: set[str]) -> None:
    """Everything of a piece in one window: lines first, then labels around them."""
    view.area(lines.added, ADDED)
    view.area(lines.trimmed, TRIMMED)
    for points in lines.beyond.values():
        view.line("before", points, _BEYOND)
    for points in lines.old.values():
        view.line("before", points, OLD)
    for line in lines.inner:
        view.line("inner", line, _THIN)
    for dart in lines.darts:
        view.dart(dart)
    for points in lines.new.values():
        view.line("seam", points, NEW)
    _grain(view, lines.grain)
    for notch in lines.notches:
        view.line("marks", notch, _THIN)
    spreads = [s for s in measured.dimensions if view.shows(s.first) and view.shows(s.second)]
    for spread in spreads:
        _dimension(view, spread.first, spread.second)
    for spread in spreads:
        word = f"{'add' if spread.added else 'cut'} {said(spread.mm, source.unit)}"
        view.label((spread.first + spread.second) / 2, word, bold=True)
    for text, point in measured.marks:
        if view.shows(point):
            view.label(point, text, 2.3)
    for text, points in measured.along:
        _name(view, points, text, bold=False)
    for name, points in lines.new.items():
        if name in names:
            _name(view, points, name, bold=name in lines.changed)


def _name(view: View, points: Array, text: str, *, bold: bool) -> None:
    """Write a text at the longest part of a line that shows, close by where there is room."""
    parts = [p for p in view.parts(points) if len(p) > 1]
    if not parts:
        return
    line = max((shapely.LineString(p) for p in parts), key=lambda item: item.length)
    if line.length / view.scale < 3.0:
        return
    for farthest in (3.0, 50.0):
        for share in (0.5, 0.35, 0.65, 0.2, 0.8):
            point = line.interpolate(share, normalized=True)
            if view.label((point.x, point.y), text, bold=bold, farthest=farthest):
                return


def _grain(view: View, grain: Array) -> None:
    for part in view.parts(grain):
        ends = view.at(part)
        size = float(np.hypot(*(ends[-1] - ends[0])))
        if size < 8.0:
            continue
        view.line("inner", part, _THIN)
        along = (ends[-1] - ends[0]) / size
        aside = np.array([-along[1], along[0]])
        for tip, way in ((ends[0], along), (ends[-1], -along)):
            view.canvas.line(
                "inner", [tip + way * 2.2 + aside * 0.8, tip, tip + way * 2.2 - aside * 0.8], _THIN
            )


def _dimension(view: View, first: Array, second: Array) -> None:
    """A line with a tick across each end."""
    a, b = view.at(first), view.at(second)
    size = float(np.hypot(*(b - a)))
    if size < 0.05:
        return
    aside = np.array([-(b - a)[1], (b - a)[0]]) / size * 1.3
    for ends in ((a, b), (a - aside, a + aside), (b - aside, b + aside)):
        view.canvas.line("marks", list(ends), _DIMENSION)


def _legend(flow: Flow, lines: Lines) -> None:
    """What the lines and areas mean, in one row."""
    entries = [("old", "old outline"), ("new", "new outline")]
    entries += [("added", "tape on")] if not lines.added.is_empty else []
    entries += [("trimmed", "trim")] if not lines.trimmed.is_empty else []
    entries.append(("grain", "grain"))
    entries += [("beyond", "beyond the opening")] if lines.beyond else []
    x, y, canvas = flow.left, flow.y - 2.0, flow.canvas
    for kind, text in entries:
        wide = 10.5 + flow.fonts.width(text, SMALL)
        if x + wide > flow.left + flow.width:
            x, y = flow.left, y - 4.5
            flow.skip(4.5)
        if kind in ("added", "trimmed"):
            ring = [(x, y - 1.6), (x + 9.0, y - 1.6), (x + 9.0, y + 1.6), (x, y + 1.6)]
            canvas.shape("areas", [ring], ADDED if kind == "added" else TRIMMED)
        else:
            canvas.line("sheet", [(x, y), (x + 9.0, y)], _STROKES[kind])
        canvas.text("sheet", (x + 10.5, y), text, SMALL, anchor="start")
        x += wide + 5.5
    flow.skip(5.5)


# ----------------------------------------------------------------------------- tables


def _tables(flow: Flow, source: Source, work: PieceWork) -> None:
    unit = source.unit
    rows = []
    for edge in work.edges:
        cells = [edge.edge, said(edge.before_mm, unit), said(edge.after_mm, unit)]
        for widest in (edge.trimmed, edge.added):
            cells += [said(widest.mm, unit), widest.place] if widest else ["", ""]
        rows.append((*cells, said(edge.allowance_mm, unit)))
    mouths = ", with mouths" if any(edge.mouth_mm for edge in work.edges) else ""
    flow.table(
        (
            Head("edge", 2.1, bold=True),
            Head(f"before{mouths}", 1.9, right=True),
            Head(f"now{mouths}", 1.9, right=True),
            Head("trim at most", 1.8, right=True),
            Head("where, on the old line", 4),
            Head("tape on at most", 1.8, right=True),
            Head("where, on the old line", 4),
            Head("allowance", 1.9, right=True),
        ),
        rows,
    )
    if work.corners:
        flow.heading("Corners in their new place", BODY, room=8.0)
        flow.table(
            (Head("corner", 4), Head("measure", 9)),
            [(corner.name.edges, corner.text) for corner in work.corners],
        )
    if work.marks:
        flow.heading("Notches and landmarks on the new lines", BODY, room=8.0)
        flow.table(
            (Head("mark", 3), Head("on edge", 2), Head("distance", 2, right=True), Head("from", 6)),
            [(m.name, m.edge, said(m.along_mm, unit), m.origin) for m in work.marks],
        )
    if work.inside:
        flow.heading("Inside the piece, straight from two points", BODY, room=8.0)
        flow.table(
            (
                Head("point", 4),
                Head("distance", 2, right=True),
                Head("from", 4),
                Head("distance", 2, right=True),
                Head("from", 4),
            ),
            [
                (p.name, said(p.first_mm, unit), p.first, said(p.second_mm, unit), p.second)
                for p in work.inside
            ],
        )
