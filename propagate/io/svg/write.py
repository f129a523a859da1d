"""Write a set as vector drawings (SVG) at true scale that our own reader reads back.

Every edge is a path of its own with its name, curves stay curves.  The numbers of a piece
are those of its own frame with y turned down; its group is moved to a place on the page,
and says by how much, so that the frame comes back.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import field
from pathlib import Path
from xml.sax.saxutils import escape, quoteattr

import numpy as np
import numpy.typing as npt

from propagate.counts import say_count
from propagate.errors import OutputError
from propagate.geometry.polyline import between
from propagate.io.chain import Chain, number_text
from propagate.io.options import SvgWriting
from propagate.io.output import write_files
from propagate.io.report import ReportNotes, WritingReport
from propagate.io.svg.elements import parse_path
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Allowance, PieceInfo
from propagate.values import dataclass

__all__ = ["Part", "lost_relations", "piece_parts", "svg_texts", "write_drawings"]

GAP_MM = 30.0
ROW_MM = 1600.0
MOST_DECIMALS = 9


def write_drawings(
    pattern: PatternSet, path: str | Path, options: SvgWriting | None = None
) -> WritingReport:
    """Write a set as one SVG file, or as a folder with one file for each size.

    Parameters
    ----------
    path : str or Path
        The file, or the folder.

    Returns
    -------
    WritingReport
        Says what a drawing cannot carry.

    Raises
    ------
    OutputError
        A file exists and is not to be replaced, or cannot be written.
    """
    chosen = options or SvgWriting()
    if not 0 <= chosen.decimals <= MOST_DECIMALS:
        raise OutputError(
            f"found {chosen.decimals} decimals, expected 0 to {MOST_DECIMALS} of a millimetre"
        )
    target = Path(path)
    folder = target.parent if chosen.one_file else target
    texts = svg_texts(pattern, chosen, target.name)
    files = {name: text.encode() for name, text in texts.items()}
    write_files(folder, files, replace=chosen.replace, sources=chosen.sources)
    notes = ReportNotes()
    text = f"coordinates are written with {chosen.decimals} decimals of a millimetre"
    notes.add("found", text, option="--decimals")
    lost_relations(pattern, notes)
    for name, info in pattern.info.items():
        if info.allowance != Allowance():
            notes.add("lost", "allowances and corner treatments", piece=name)
        if info.anchors:
            notes.add("lost", "the anchors of landmarks", piece=name)
    for name, piece in pattern.pieces.items():
        sized = piece.at(pattern.base)
        legs = {leg for dart in sized.darts for leg in dart.legs}
        loose = [m.name for m in sized.landmarks if m.kind == "dart leg" and m.name not in legs]
        if loose:
            notes.add("lost", f"dart legs without a dart: {', '.join(loose)}", piece=name)
    notes.add("lost", f"which size is the base ('{pattern.base}')", option="--base")
    return WritingReport("SVG", tuple(str(folder / name) for name in files), notes.lines)


def svg_texts(pattern: PatternSet, options: SvgWriting, name: str) -> Mapping[str, str]:
    """The text of every file by its name.

    The pieces stand in rows, each with its sizes together; y is down on the page.
    """
    x = y = GAP_MM
    deepest = widest = 0.0
    places: dict[str, tuple[float, float]] = {}
    for piece in pattern.pieces.values():
        points = np.concatenate([sized.outline for sized in piece.nest.values()])
        low, high = points.min(axis=0), points.max(axis=0)
        width, height = (high - low).tolist()
        if x > GAP_MM and x + width > ROW_MM:
            x, y, deepest = GAP_MM, y + deepest + GAP_MM, 0.0
        places[piece.name] = (round(x - float(low[0]), 3), round(y + float(high[1]), 3))
        x += width + GAP_MM
        widest, deepest = max(widest, x), max(deepest, height)
    page = (math.ceil(widest), math.ceil(y + deepest + GAP_MM))
    if options.one_file:
        return {name: _write_document(pattern, pattern.sizes, places, page, options)}
    word = "".join(c if c.isalnum() or c in "-_" else "_" for c in pattern.name)
    return {
        f"{word}-{_word_of_size(size)}.svg": _write_document(
            pattern, (size,), places, page, options
        )
        for size in pattern.sizes
    }


def _write_document(
    pattern: PatternSet,
    sizes: Iterable[str],
    places: Mapping[str, tuple[float, float]],
    page: tuple[int, int],
    options: SvgWriting,
) -> str:
    width, height = page
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}" fill="none" stroke="#1a1a1a" stroke-width="0.5">',
        f"<title>{_escape_text(pattern.name)}</title>",
        "<desc>Seam lines at true scale: 1 unit is 1 mm. Each path is an edge.</desc>",
    ]
    for size in sizes:
        prefix = f"size-{_word_of_size(size)}"
        lines.append(f"<g id={_quote_id(prefix)} data-size={_quote_attribute(size)}>")
        for name in pattern.pieces:
            info = pattern.info.get(name, PieceInfo(name))
            x, y = (number_text(value) for value in places[name])
            data = {"piece": name, "title": info.title, "cut": str(info.cut)}
            data |= {"fabric": info.fabric, "pair": "true" if info.pair else ""}
            data["frame"] = f"{x} {y}"
            lines.append(
                f'<g id={_quote_id(f"{prefix}.{name}")} class="piece"{_write_data(data)} '
                f'transform="translate({x} {y})">'
            )
            for part in piece_parts(pattern.sized(name, size), info, options.decimals):
                words = f'id={_quote_id(f"{prefix}.{name}.{part.name}")} class="{part.kind}"'
                words += _write_data({"name": part.name, **part.data}) + f" {part.place}"
                if part.tag == "text":
                    text = _escape_text(f"{info.title} {size}")
                    lines.append(f"<text {words}>{text}</text>")
                else:
                    lines.append(f"<{part.tag} {words}/>")
            lines.append("</g>")
        lines.append("</g>")
    return "\n".join([*lines, "</svg>", ""])


def _quote_attribute(text: str) -> str:
    return quoteattr(_clean_text(text))


def _escape_text(text: str) -> str:
    return escape(_clean_text(text))


def _clean_text(text: str) -> str:
    """Characters that XML cannot hold become a mark."""
    mark = "\N{REPLACEMENT CHARACTER}"
    return "".join(c if c.isprintable() or c in "\t\n" else mark for c in text)


def _quote_id(text: str) -> str:
    """An id: XML allows few characters in it; the exact name is beside it."""
    return '"' + "".join(c if c.isalnum() or c in "-._" else "_" for c in text) + '"'


def _write_data(values: Mapping[str, str]) -> str:
    return "".join(
        f" data-{key}={_quote_attribute(value)}" for key, value in values.items() if value
    )


def _word_of_size(size: str) -> str:
    """A size in the name of a file or of an element: ``42-48`` for ``42/48``."""
    return size.replace("/", "-")


def lost_relations(pattern: PatternSet, notes: ReportNotes) -> None:
    """Note the relations and the chart, which bare geometry cannot carry."""
    relations = pattern.relations
    kinds = {
        "seam": relations.seams,
        "assembly": relations.assemblies,
        "opening": relations.openings,
        "stack": relations.stacks,
        "band": relations.bands,
        "place": relations.places,
        "girth": relations.girths,
    }
    counts = [say_count(len(found), kind) for kind, found in kinds.items() if found]
    if relations.blend is not None:
        counts.append("how sizes are blended")
    if counts:
        notes.add("lost", f"relations between pieces: {', '.join(counts)}")
    if pattern.chart:
        notes.add(
            "lost", f"the chart of body measurements ({say_count(len(pattern.chart), 'row')})"
        )


NOTCH_MM = 5.0
DOT_MM = 1.5


@dataclass(frozen=True)
class Part:
    """One element: what it is, its name, its attributes and its place."""

    kind: str
    name: str
    tag: str
    place: str
    data: Mapping[str, str] = field(default_factory=dict)


def piece_parts(sized: SizedPiece, info: PieceInfo, decimals: int) -> Iterator[Part]:
    """Everything of a piece in one size, edges first."""
    for number, edge in enumerate(sized.edges):
        data = {"length-mm": f"{edge.length:.3f}"}
        if edge.turns and edge.path is None:
            data["turns"] = " ".join(map(str, edge.turns))
        data |= {"first": "true"} if number == 0 else {}
        data |= {"fold": "true"} if info.fold == edge.name else {}
        place = _path_data(edge.points, decimals)
        if edge.path is not None:
            drawn = parse_path(edge.path)[0]
            chain = Chain(drawn.start, tuple(drawn.segments))
            place = f'd="{chain.text(decimals, flip=True)}"'
        yield Part("edge", edge.name, "path", place, data)
    for mark in sized.landmarks:
        if mark.kind == "notch":
            edge = sized.edge(mark.edge)
            at = sized.distance(mark.edge, mark.name)
            part = between(edge.points, max(at - 1.0, 0.0), min(at + 1.0, edge.length))
            x, y = part[-1] - part[0]
            out = np.array([y, -x]) / max(math.hypot(x, y), 1e-9)
            tip = np.asarray(mark.point) + NOTCH_MM * out
            place = _path_data(np.array([mark.point, tip]), decimals)
            yield Part("notch", mark.name, "path", place, {"edge": mark.edge})
        elif mark.kind == "mark":
            yield Part(
                "mark", mark.name, "circle", _draw_dot(mark.point, decimals), {"edge": mark.edge}
            )
    for dart in sized.darts:
        first, second = (sized.landmark(leg).point for leg in dart.legs)
        data = {"edge": dart.edge, "legs": " ".join(dart.legs)}
        yield Part("dart", dart.name, "path", _path_data([first, dart.tip, second], decimals), data)
    for line in sized.lines:
        yield Part("line", line.name, "path", _path_data(line.points, decimals))
    for drill in sized.drills:
        yield Part("drill", drill.name, "circle", _draw_dot(drill.point, decimals))
    across = sized.grain.direction[::-1] * (1.0, -1.0)
    for name, point in sized.levels.items():  # across the piece, its point in the middle of three
        middle = np.asarray(point)
        reach = (sized.outline - middle) @ across
        low, high = min(float(reach.min()), -1.0), max(float(reach.max()), 1.0)
        ends = [middle + low * across, middle, middle + high * across]
        yield Part("level", name, "path", _path_data(ends, decimals))
    ends = [np.asarray(end) for end in (sized.grain.start, sized.grain.end)]
    yield Part("grain", "grain", "path", _path_data(ends, decimals))
    if sized.label is not None:
        right, up = sized.label.point
        x, y = number_text(right, decimals), number_text(-up, decimals)
        turn = f' transform="rotate({number_text(-sized.label.angle)} {x} {y})"'
        place = f'x="{x}" y="{y}" font-size="12" fill="#1a1a1a" stroke="none"{turn}'
        data = {"angle": repr(float(sized.label.angle))}
        yield Part("label", "label", "text", place, data)


def _path_data(points: npt.ArrayLike, decimals: int) -> str:
    words = [
        f"{number_text(float(x), decimals)} {number_text(-float(y), decimals)}"
        for x, y in np.asarray(points, dtype=np.float64)
    ]
    return f'd="M {" L ".join(words)}"'


def _draw_dot(point: tuple[float, float], decimals: int) -> str:
    x, y = number_text(point[0], decimals), number_text(-point[1], decimals)
    return f'cx="{x}" cy="{y}" r="{DOT_MM:g}"'
