"""What each piece is called, and what the texts on it say of cutting."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence

import numpy as np
import shapely

from propagate.io.chain import Chain, Point
from propagate.io.drawn_lines import DrawnText
from propagate.io.report import ReportNotes
from propagate.io.sheet.nest import place_said
from propagate.io.sheet.texts import Said, middle_of, said_by, texts_on
from propagate.io.svg.drawing import Shape
from propagate.io.svg.elements import clean_name
from propagate.io.svg.sorting import DrawnPiece
from propagate.pattern.model import Array

__all__ = ["name_pieces"]

AT_EDGE_MM = 40.0
"""A text that names a fold is at an edge no farther from it than this."""
ALONG_DEG = 6.0
MOST_TOLD = 3
_NOT_IN_WORDS = re.compile(r"[^\w-]+")


def name_pieces(
    drawn: Sequence[Mapping[str, DrawnPiece]],
    texts: Sequence[DrawnText],
    sizes: Sequence[str],
    base: str,
    notes: ReportNotes,
    source: str,
) -> None:
    """Name the pieces by the texts on them, and put down what these say of cutting."""
    areas = {
        index: shapely.union_all([piece[size].ring.polygon for size in sizes])
        for index, piece in enumerate(drawn)
    }
    on = texts_on(texts, areas)
    used: set[str] = set()
    for index, piece in enumerate(drawn):
        said = said_by(on[index])
        plain = _NOT_IN_WORDS.sub(" ", said.title).strip()
        name = _free(clean_name(plain).lower() or f"piece_{index + 1}", used)
        if not said.title:
            place = place_said(piece[base].ring)
            notes.add(
                "assumed",
                f"no text on the piece at {place} names it; pieces are numbered from the top left",
                option=f"--piece NEW={name}",
                file=source,
                piece=name,
            )
        data = _data(said)
        for size in sizes:
            piece[size].name = name
            piece[size].data = dict(data)
        _tell(said, name, notes, source)
        if said.fold:
            _mark_fold(piece, said, sizes, name, notes, source)


def _free(name: str, used: set[str]) -> str:
    found, number = name, 2
    while found in used:
        found, number = f"{name}_{number}", number + 1
    used.add(found)
    return found


def _data(said: Said) -> dict[str, str]:
    data = {"title": said.title} if said.title else {}
    data |= {"cut": str(said.cut)} if said.cut else {}
    data |= {"pair": "true"} if said.pair else {}
    data |= {"fabric": said.fabric} if said.fabric else {}
    return data


def _tell(said: Said, name: str, notes: ReportNotes, source: str) -> None:
    if said.cut is None:
        notes.add("assumed", "no text says how often it is cut, so once", file=source, piece=name)
    if said.notes:
        longest = sorted(set(said.notes), key=lambda words: (-len(words), words))
        some = ", ".join(f"\u201c{words[:40]}\u201d" for words in longest[:MOST_TOLD])
        notes.add(
            "ignored",
            f"texts that say nothing of how it is cut, such as {some}",
            file=source,
            piece=name,
            count=len(said.notes),
        )


# ------------------------------------------------------------------------------------- fold


def _mark_fold(
    piece: Mapping[str, DrawnPiece],
    said: Said,
    sizes: Sequence[str],
    name: str,
    notes: ReportNotes,
    source: str,
) -> None:
    """Draw the fold on the straight edge that a text names it at, in every size."""
    for text in said.at_fold:
        lines = {size: _edge_at(piece[size].ring.points, text) for size in sizes}
        if all(line is not None for line in lines.values()):
            for size, line in lines.items():
                assert line is not None
                chain = Chain(line[0], ((line[1],),))
                piece[size].shapes.append(Shape(chain, None, frozenset({"fold"}), {}, "path"))
            notes.add(
                "assumed",
                f"the edge that \u201c{text.text.strip()}\u201d stands at lies on the fold",
                file=source,
                piece=name,
            )
            return


def _edge_at(points: Array, text: DrawnText) -> tuple[Point, Point] | None:
    """The straight line of an outline along which a text runs, the nearest if several."""
    turn = math.radians(text.angle)
    along = np.array([math.cos(turn), math.sin(turn)])
    middle = np.array(middle_of(text))
    best: tuple[float, Point, Point] | None = None
    ends = np.roll(points, -1, axis=0)
    for a, b in zip(points, ends, strict=True):
        length = float(np.hypot(*(b - a)))
        if length < 2 * text.height:
            continue
        unit = (b - a) / length
        off = abs(float(unit[0] * along[1] - unit[1] * along[0]))
        if math.degrees(math.asin(min(1.0, off))) > ALONG_DEG:
            continue
        reach = float((middle - a) @ unit)
        gap = abs(float(unit[0] * (middle - a)[1] - unit[1] * (middle - a)[0]))
        if 0.0 <= reach <= length and gap <= AT_EDGE_MM and (best is None or gap < best[0]):
            best = (gap, (float(a[0]), float(a[1])), (float(b[0]), float(b[1])))
    return None if best is None else best[1:]
