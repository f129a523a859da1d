"""What helps to read a print: bookmarks, notches to the cut line, double notches, letters."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import numpy as np
import pikepdf
import pytest
import shapely

import propagate
from propagate.engine.review.run import review
from propagate.io.set_toml import render_set
from propagate.pattern.validate import find_problems
from propagate.report.scene.items import Line, Role, Scene
from propagate.report.scene.piece import compose_piece
from tests.print.conftest import printed
from tests.print.test_tiles import labels
from tests.shared import demo


def notches_of(scene: Scene, name: str) -> list[Line]:
    found = [item for item in scene.of(Role.NOTCH) if isinstance(item, Line)]
    return [item for item in found if item.name == name]


def composed(pattern: propagate.PatternSet, piece: str) -> tuple[Scene, shapely.LinearRing]:
    sized, info = pattern.sized(piece, pattern.base), pattern.info[piece]
    cut = propagate.cut_line(sized, info)
    return compose_piece(sized, info, cut=cut), shapely.LinearRing(cut.points)


def doubled(pattern: propagate.PatternSet, **marks: tuple[str, ...]) -> propagate.PatternSet:
    info = {
        name: replace(item, double_notches=marks.get(name, ()))
        for name, item in pattern.info.items()
    }
    return replace(pattern, info=info)


@pytest.mark.parametrize("name", ["slant_trouser", "scoop_skirt"])
def test_notches_run_from_the_seam_line_to_the_cut_line(name: str) -> None:
    pattern = demo(name)
    for piece in pattern.pieces:
        scene, ring = composed(pattern, piece)
        sized, widths = pattern.sized(piece, pattern.base), pattern.info[piece].allowance
        for mark in sized.landmarks:
            if mark.kind != "notch" or not widths.of(mark.edge):
                continue
            (tick,) = notches_of(scene, mark.name)
            assert np.allclose(tick.points[0], mark.point, atol=1e-9)
            assert shapely.Point(tick.points[1]).distance(ring) < 1e-6


def test_a_double_notch_is_two_ticks_a_quarter_inch_apart() -> None:
    """Common practice, no source: a back notch is double, its two ticks about 6 mm apart."""
    scene, ring = composed(doubled(demo("slant_trouser"), back=("hip_notch",)), "back")
    first, second = notches_of(scene, "hip_notch")
    assert abs(np.hypot(*(first.points[0] - second.points[0])) - 6.0) < 1e-9
    for tick in (first, second):
        assert shapely.Point(tick.points[1]).distance(ring) < 1e-6
    mark = demo("slant_trouser").sized("back", "42").landmark("hip_notch")
    assert np.allclose((first.points[0] + second.points[0]) / 2, mark.point, atol=1e-9)


def test_a_double_notch_is_kept_in_the_file_and_asks_for_its_mate() -> None:
    pattern = doubled(demo("slant_trouser"), back=("hip_notch",))
    assert 'double_notches = ["hip_notch"]' in render_set(pattern, geometry="geometry")
    found = [item.text for item in review(pattern) if item.rule == "double and single notch"]
    assert len(found) == 1 and "'front.hip_notch'" in found[0]
    both = doubled(pattern, back=("hip_notch",), front=("hip_notch",))
    assert not [item for item in review(both) if item.rule == "double and single notch"]


def test_a_double_notch_that_is_not_there_is_refused_by_name() -> None:
    (told,) = find_problems(doubled(demo("slant_trouser"), back=("hip_notsch",)))
    assert "piece 'back', double_notches" in told and "hip_notch" in told


def test_bookmarks_lead_to_the_pages_of_the_pieces() -> None:
    pattern = demo("scoop_skirt")
    data, _ = printed("scoop_skirt", "a4")
    with pikepdf.open(BytesIO(data)) as document:
        assert str(document.Root.Lang) == "en"
        names, pages = labels(document), [page.objgen for page in document.pages]
        with document.open_outline() as outline:
            items = {item.title: item.destination[0].objgen for item in outline.root}
    assert items.pop("Cover") == pages[0]
    assert len(items) == len(pattern.pieces)
    for title, page in items.items():
        assert title.split(", from page ")[1] == names[pages.index(page)]


def test_no_letter_is_smaller_than_six_points() -> None:
    for data in (printed("slant_trouser", "36in-roll")[0], printed("scoop_skirt", "a4")[0]):
        with pikepdf.open(BytesIO(data)) as document:
            forms = [item for item in document.objects if isinstance(item, pikepdf.Stream)]
            forms = [item for item in forms if item.get("/Subtype") == "/Form"]
            sizes = [
                float(operands[1])
                for stream in (*document.pages, *forms)
                for operands, operator in pikepdf.parse_content_stream(stream)
                if str(operator) == "Tf"
            ]
        assert sizes and min(sizes) > 6.0 - 1e-3
