"""Drawings of cut lines alone are taken back to the drafts that they were made of."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
import shapely
from reportlab.lib.units import mm
from reportlab.pdfgen import canvas

from propagate.demo import demo_names
from propagate.engine.finish import allowances, cut_line
from propagate.errors import FormatError
from propagate.io.begin import read_style
from propagate.io.cut_boundary import allowances_wished, with_seam_lines
from propagate.io.dxf import WriteOptions, write
from propagate.io.options import ReadOptions
from propagate.io.report import ReportNotes
from propagate.pattern.model import Array
from propagate.pattern.patternset import PatternSet
from tests.examples import part_of
from tests.io.cut_drawings import own_cut_line, write_dxf, write_svg
from tests.shared import demo

ODD = {
    ("ferry_shirt", "yoke"): "its neck is a tighter hollow than its allowance is wide",
    ("quay_jeans", "back"): "its crotch is a tighter hollow than its allowance is wide",
}
"""Pieces whose cut lines do not tell their seam lines: the cut line alone is compared."""
HAIR = {("lined_skirt", "lining_front")}
"""Its centre ends with a ten-thousandth of a millimetre that the cut line runs on along."""


def off(a: Array, b: Array) -> float:
    """How far the points of a line are from a closed one, mm."""
    ring = shapely.LinearRing(b)
    places = shapely.get_coordinates(shapely.segmentize(shapely.LinearRing(a), 2.0))
    shapely.prepare(ring)
    return float(shapely.distance(shapely.points(places), ring).max())


def said_of(pattern: PatternSet, drawn: PatternSet) -> tuple[str, ...]:
    """The allowance of each edge of a drawing: of the draft's edge beside its middle."""
    found = []
    for name, piece in drawn.pieces.items():
        sized, size = piece.at(drawn.base), drawn.base
        own, cut = pattern.sized(name, size), own_cut_line(pattern, name, size)
        shift = sized.outline.min(axis=0) - cut.points.min(axis=0)
        widths = allowances(own, pattern.info[name])
        lines = {
            edge: shapely.MultiLineString([part + shift for part in parts])
            for edge, parts in cut.stretches.items()
            if parts
        }
        for edge in sized.edges:
            middle = shapely.LineString(edge.points).interpolate(0.5, normalized=True)
            beside = min(lines, key=lambda n: lines[n].distance(middle))
            found.append(f"{name}.{edge.name}={widths[beside]}mm")
    return tuple(found)


CASES = [(name, kind) for name in demo_names() for kind in ("svg", "dxf") if name != "market_bag"]


@pytest.mark.parametrize(("name", "kind"), part_of(CASES, 3))
def test_the_cut_lines_of_a_demo_set_lead_back_to_it(name: str, kind: str, tmp_path: Path) -> None:
    draft = demo(name)
    draw = {"svg": write_svg, "dxf": write_dxf}[kind]
    drawn, _ = read_style([draw(draft, tmp_path)])
    options = ReadOptions(boundary="cut", allowances=said_of(draft, drawn))
    said = allowances_wished(options)
    assert said is not None
    notes = ReportNotes()
    found = with_seam_lines(drawn, said, notes, along_legs=kind == "svg")
    if kind == "dxf":  # whose reader has to see for itself which line is drawn
        read, _ = read_style([tmp_path / "cut.dxf"], options)
        assert read.pieces == found.pieces
    for piece in draft.pieces:
        for size in draft.sizes:
            old, new = draft.sized(piece, size), found.sized(piece, size)
            cut = own_cut_line(draft, piece, size).points
            shift = drawn.sized(piece, size).outline.min(axis=0) - cut.min(axis=0)
            if (name, piece) not in ODD:
                lines = new.outline - shift, old.outline
                assert max(off(*lines), off(*lines[::-1])) <= 0.01, (piece, size)
                _same_notches(old, new, shift)
            if (name, piece) not in HAIR:
                again = cut_line(new, found.info[piece]).points - shift
                assert max(off(again, cut), off(cut, again)) <= 0.02, (piece, size)
    warned = {line.piece for line in notes.lines if line.kind == "warning"}
    assert warned == {piece for own, piece in {*ODD, *HAIR} if own == name}


def _same_notches(old: object, new: object, shift: Array) -> None:
    places = {mark.name: mark.point for mark in new.landmarks}  # type: ignore[attr-defined]
    for mark in old.landmarks:  # type: ignore[attr-defined]
        if mark.kind == "notch" and mark.name in places:
            assert np.hypot(*(places[mark.name] - shift - mark.point)) <= 0.02, mark.name


def test_a_dart_whose_mouth_is_shaped_comes_back_from_its_cut_line(tmp_path: Path) -> None:
    """Its notches stand square across from its legs, beside the corners of the cut line."""
    draft = demo("scoop_skirt")
    file = write_dxf(draft, tmp_path)
    drawn, _ = read_style([file])
    found, _ = read_style([file], ReadOptions(boundary="cut", allowances=said_of(draft, drawn)))
    for size in draft.sizes:
        old, new = draft.sized("skirt_back", size), found.sized("skirt_back", size)
        cut = own_cut_line(draft, "skirt_back", size).points
        shift = drawn.sized("skirt_back", size).outline.min(axis=0) - cut.min(axis=0)
        (wanted,), (dart,) = old.darts, new.darts
        assert len(new.edges) == len(old.edges)
        assert np.hypot(*(np.array(dart.tip) - shift - wanted.tip)) <= 0.002
        for leg, own in zip(dart.legs, wanted.legs, strict=True):
            place = np.array(new.landmark(leg).point) - shift
            # It turns by few degrees there: what the digits come to is many times as much along.
            assert np.hypot(*(place - old.landmark(own).point)) <= 0.05


@pytest.mark.parametrize("name", part_of(["scoop_skirt", "puddle_pinafore", "concert_dress"], 2))
def test_where_both_lines_are_drawn_the_allowances_are_measured(name: str, tmp_path: Path) -> None:
    draft = demo(name)
    found, report = read_style([write_svg(draft, tmp_path, seam=True)], ReadOptions(boundary="cut"))
    assert not report.of("warning")
    for piece in draft.pieces:
        for size in draft.sizes:
            old, new = draft.sized(piece, size), found.sized(piece, size)
            shift = new.outline.min(axis=0) - old.outline.min(axis=0)
            lines = new.outline - shift, old.outline
            assert max(off(*lines), off(*lines[::-1])) <= 2e-6  # as drawn
            cut = own_cut_line(draft, piece, size).points
            again = cut_line(new, found.info[piece]).points - shift
            assert max(off(again, cut), off(cut, again)) <= 0.02
        wanted = allowances(old, draft.info[piece])
        assert set(allowances(new, found.info[piece]).values()) == set(wanted.values())


def test_a_dxf_of_both_lines_tells_how_its_corners_are_finished(tmp_path: Path) -> None:
    draft = demo("scoop_skirt")
    write(draft, tmp_path / "both.dxf", WriteOptions(kind="nested"))
    found, _ = read_style([tmp_path / "both.dxf"], ReadOptions(boundary="cut"))
    for piece in draft.pieces:
        stated, wanted = found.info[piece].allowance, draft.info[piece].allowance
        assert dict(stated.corners).items() >= dict(wanted.corners).items()
        for size in draft.sizes:
            old = own_cut_line(draft, piece, size).points
            new = cut_line(found.sized(piece, size), found.info[piece]).points
            assert max(off(old, new), off(new, old)) <= 0.03


@pytest.mark.parametrize("both", [False, True])
def test_a_print_of_a_cut_line_is_taken_back(both: bool, tmp_path: Path) -> None:
    """A bib with a turned hem of 40 mm, by reportlab, with a dashed seam line or without."""
    seam = [(40, 60), (220, 60), (200, 300), (60, 300)]
    slope = 20 / 240  # of the sides; 10 mm square to them are this wide across
    out = 10 * np.hypot(1.0, slope)
    cut = [
        (40 - out + 40 * slope, 20), (220 + out - 40 * slope, 20), (220 + out, 60),
        (220 + out - 250 * slope, 310), (40 - out + 250 * slope, 310), (40 - out, 60),
    ]  # fmt: skip
    page = canvas.Canvas(str(tmp_path / "bib.pdf"), pagesize=(300 * mm, 420 * mm))
    for points in (cut, seam) if both else (cut,):
        path = page.beginPath()
        path.moveTo(*(np.array(points[0]) * mm))
        for point in points[1:]:
            path.lineTo(*(np.array(point) * mm))
        path.close()
        page.drawPath(path)
        page.setDash(4 * mm, 2 * mm)
    page.save()
    allowances = () if both else ("10mm", "hem=40mm")
    options = ReadOptions(boundary="cut", allowances=allowances, scale=1.0)
    pattern, _ = read_style([tmp_path / "bib.pdf"], options)
    (piece,) = pattern.pieces
    stated = pattern.info[piece].allowance
    assert (stated.default, dict(stated.edges)) == (10.0, {"hem": 40.0})
    assert stated.turned == {"hem"}
    assert off(pattern.sized(piece, pattern.base).outline, np.array(seam, dtype=float)) <= 0.01


def test_an_allowance_that_is_drawn_otherwise_is_told(tmp_path: Path) -> None:
    file = apron(tmp_path)
    seam = '<path id="seam" stroke-dasharray="4 2" d="M 20 20 H 220 V 320 H 20 Z"/></svg>'
    file.write_text(file.read_text().replace("</svg>", seam))
    options = ReadOptions(boundary="cut", allowances=("bib.hem=20mm",))
    pattern, report = read_style([file], options)
    stated = pattern.info["bib"].allowance
    assert (stated.default, dict(stated.edges)) == (10.0, {"hem": 40.0})
    assert not pattern.sized("bib", "M").lines
    (line,) = report.of("warning")
    assert "20 mm was said, 40 mm is drawn" in line.text
    assert line.edge == "hem"


def apron(folder: Path) -> Path:
    """A bib, 200 x 300 mm, cut 10 mm outside and 40 at its hem."""
    file = folder / "bib_M.svg"
    file.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="400mm" '
        'viewBox="0 0 300 400"><path id="bib" d="M 10 10 L 230 10 L 230 360 L 10 360 Z"/></svg>'
    )
    return file


def test_one_allowance_for_all_edges_and_one_of_its_own(tmp_path: Path) -> None:
    options = ReadOptions(boundary="cut", allowances=("10mm", "hem=40mm", "bib.left=1in"))
    pattern, report = read_style([apron(tmp_path)], options)
    sized = pattern.sized("bib", "M")
    low, high = sized.outline.min(axis=0), sized.outline.max(axis=0)
    assert (high - low).tolist() == pytest.approx([220 - 10 - 25.4, 300])
    stated = pattern.info["bib"].allowance
    assert (stated.default, dict(stated.edges)) == (10.0, {"hem": 40.0, "left": 25.4})
    assert any("taken as cut lines" in line.text for line in report.lines)
    drawn, _ = read_style([apron(tmp_path)])
    again = cut_line(sized, pattern.info["bib"]).points
    assert off(again, drawn.sized("bib", "M").outline) <= 1e-6


@pytest.mark.parametrize(
    ("allowances", "words"),
    [
        (("hemm=40mm", "10mm"), r"no edge 'hemm' on any piece; did you mean 'hem'"),
        (("bob.hem=40mm", "10mm"), r"no piece 'bob'; did you mean 'bib'"),
        (("bib.sid=40mm", "10mm"), r"no edge 'sid' on piece 'bib'"),
        (("-3mm",), r"found the allowance '-3mm', expected a length of 0 or more"),
        (("hem=nan",), r"found the allowance 'nan', expected a length of 0 or more"),
        (("hem=inf",), r"found the allowance 'inf', expected a length"),
        (("10 bananas",), r"found the allowance '10 bananas'"),
        (("=10mm",), r"found --allowance =10mm, expected a length, EDGE=LENGTH"),
        (("10mm", "12mm"), r"found --allowance 12mm, expected one for all edges, once"),
        (("hem=1mm", "hem=2mm"), r"found --allowance hem=... twice"),
        (("hem=40mm",), r"piece 'bib', edge '.*': found no allowance"),
        (("200mm",), r"piece 'bib', size 'M', .*allowance.*200 mm"),
        (("110mm",), r"piece 'bib', size 'M', edge '.*': found an allowance of 110 mm"),
    ],
)
def test_what_cannot_be_is_refused(allowances: tuple[str, ...], words: str, tmp_path: Path) -> None:
    options = ReadOptions(boundary="cut", allowances=allowances)
    with pytest.raises(FormatError) as error:
        read_style([apron(tmp_path)], options)
    assert re.search(words, str(error.value)), str(error.value)


def test_an_allowance_is_said_of_cut_lines(tmp_path: Path) -> None:
    with pytest.raises(FormatError, match="beside --boundary cut"):
        read_style([apron(tmp_path)], ReadOptions(allowances=("10mm",)))
