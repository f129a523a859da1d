"""What a person at the table could misread: words judged by the pieces they speak of."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
import shapely
import shapely.ops

import propagate
from propagate import Amount
from propagate.demo import demo_names
from propagate.engine.revise import revise
from propagate.engine.run import Result
from propagate.pattern.model import Edge, Piece
from propagate.pattern.titles import piece_title
from propagate.report.revise_text import revised_lines, revised_plain
from propagate.report.units import INCHES, MILLIMETRES
from propagate.report.worksheet.value import Step, WorkSheet
from tests.shared import blended, demo, main_job
from tests.worksheet.conftest import on_blends, outlines_of, sheet_of


def step(sheet: WorkSheet, title: str) -> Step:
    return next(s for s in sheet.steps if s.title.startswith(title))


def wider(by: float, dip: float) -> Result:
    """The skirt's front in the base size, wider at the flank and deeper at the foot."""
    found = wider_revised(by, dip)
    return Result(found.pattern, found.records[found.pattern.base])


def wider_revised(by: float, dip: float) -> propagate.Revised:
    skirt = demo("scoop_skirt")
    front = skirt.sized("skirt_front", skirt.base)
    flank, foot = front.edge("flank"), front.edge("foot")
    share = flank.arc / flank.length
    way = np.gradient(flank.points, axis=0)
    out = np.stack([way[:, 1], -way[:, 0]], axis=1)
    out /= np.linalg.norm(out, axis=1)[:, None]
    bowed = flank.points + by * (np.sin(np.pi * share) ** 2)[:, None] * out
    up = np.array(front.grain.direction)
    up = up * np.sign((front.outline.mean(axis=0) - foot.points[0]) @ up)
    sunk = foot.points - np.outer(np.sin(np.pi * foot.arc / foot.length), up) * dip
    new = {"flank": bowed, "foot": sunk}
    edges = tuple(Edge(e.name, new.get(e.name, e.points)) for e in front.edges)
    sent = Piece("skirt_front", {skirt.base: replace(front, edges=edges)})
    return revise(skirt, {"skirt_front": sent}, follow="shape")


def test_checks_that_cannot_agree_are_told_apart() -> None:
    """Girth and foot corner of a revised skirt, against the set before it by shapely and angles."""
    result = wider(6.0, 10.0)
    checks = sheet_of(result).checks
    noted = {(c.kind, c.name): c for c in checks if c.note}
    assert noted, [c for c in checks if c.kind == "girth"]
    for check in checks:
        off = abs(check.first + check.ease * (check.kind != "corner") - check.second)
        assert bool(check.note) == (off > (3.0 if check.kind == "corner" else 1.0)), check
    corner = noted["corner", "flank_seam"]
    assert corner.note == f"changed by the revision: {corner.first - 180.0:+.1f}°"
    girth = next(c for c in checks if c.kind == "girth" and c.name == "seat")
    if girth.note:
        assert girth.note == f"changed by the revision: {girth.first - girth.second:+.1f} mm"


def test_a_traced_top_is_expected_as_it_is_traced() -> None:
    result = blended("slant_trouser", "50", "44", top="traced")
    checks = [c for c in sheet_of(result).checks if c.kind == "corner"]
    top = next(c for c in checks if "waist" in c.first_what and c.name == "side_seam")
    assert top.first == top.second and not top.note and "traced" in top.second_what
    assert abs(top.first - 180.0) > 10.0
    hem = next(c for c in checks if "hem" in c.first_what)
    assert hem.second == 180.0


@pytest.mark.parametrize("name", demo_names())
def test_every_check_says_what_is_measured(name: str) -> None:
    """Also those of pieces drawn from others, of buttons and of what is set on a piece."""
    result = main_job(name)
    titles = {piece_title(result.pattern, piece) for piece in result.pattern.pieces}
    for check in sheet_of(result).checks:
        assert check.first_what, check
        assert not re.search(r"\b(start|end) of ", check.first_what), check  # corners have letters
        if check.kind in ("derived", "alike"):
            assert {check.first_what, check.second_what} <= titles
        elif check.kind != "buttons":
            assert check.second_what, check


@on_blends
def test_dart_mouths_are_told_where_they_count(result: propagate.Result) -> None:
    """The mouth by shapely; what is left is what the girth of the checks counts."""
    for work in sheet_of(result).edges:
        now = result.pattern.sized(work.piece, result.record.size)
        line = shapely.LineString(now.edge(work.edge).points)
        mouths = []
        for dart in (d for d in now.darts if d.edge == work.edge):
            legs = [line.project(shapely.Point(now.landmark(leg).point)) for leg in dart.legs]
            mouths.append(abs(legs[1] - legs[0]))
        assert abs(work.mouth_mm - sum(mouths)) < 0.02
        assert ("of it dart mouth" in work.text) == bool(mouths)


@on_blends
def test_a_kept_line_that_ends_is_as_long_as_the_edge(result: propagate.Result) -> None:
    """What is kept and how long the edge is now are the same figure."""
    for unit in (MILLIMETRES, INCHES):
        for work in sheet_of(result, unit).edges:
            if "it ends there now" in work.text and "dart" not in work.text:
                kept = re.search(r"Keep the old line for ([\d./ ]+) (?:mm|in) from", work.text)
                assert kept is not None
                told = re.search(r"(?:now|Length) ([\d./ ]+) (?:mm|in)(?:\.|, as)", work.text)
                assert told is not None and told[1] == kept[1], work.text


@pytest.mark.parametrize("rise", ["lower", 250.0])
def test_what_is_slid_has_a_name(rise: str | float) -> None:
    laid = step(
        sheet_of(blended("slant_trouser", "38", "44", leg="40", rise=rise)),
        "Lay the other size over",
    )
    slid = next(s.text for s in laid.sentences if "slide" in s.text)
    for name in ("the taped ‘full front’ of size 38", "Back of size 38"):
        assert name in slid
    assert "size 40" not in slid  # the leg stays where it is laid


def test_the_taped_corner_is_not_called_the_facing_s_before_it_is_cut() -> None:
    for name, facing in (("slant_trouser", "Pocket facing"), ("scoop_skirt", "Pocket facing")):
        sheet = sheet_of(main_job(name))
        true = step(sheet, "True the corners")
        assert all(facing not in s.text for s in true.sentences)
        assert any("the taped ‘full front’" in s.text for s in true.sentences)
        apart = step(sheet, "Cut apart").sentences[0].text
        assert f"{facing} is cut already" in apart and "belongs to" not in apart


def test_two_ways_to_work() -> None:
    """Who works by the figures has every edge in them, and none of what tracing needs."""
    for name in ("slant_trouser", "scoop_skirt", "lined_skirt"):
        sheet = sheet_of(main_job(name))
        traced = [s for s in sheet.steps if s.way == "by tracing"]
        assert traced == list(sheet.steps[-len(traced) :]) and not any(s.edges for s in traced)
        for word in ("Lay the other size over", "Tape Front", "Swing the opening", "Re-seat"):
            assert all(s in traced for s in sheet.steps if s.title.startswith(word))
        by_figures = " ".join(
            [said.text for s in sheet.steps if not s.way for said in s.sentences]
            + [edge.text for edge in sheet.edges]
        )
        assert not re.search(r"\b(pin|swing|tape|lay over)\b", by_figures, re.IGNORECASE)


def test_a_corner_made_on_purpose_is_not_smoothed_away() -> None:
    """The revised foot turns at the flank seam: told among the checks, asked of nobody."""
    sheet = sheet_of(wider(6.0, 10.0))
    assert any(c.kind == "corner" and c.note for c in sheet.checks)
    said = " ".join(said.text for s in sheet.steps for said in s.sentences)
    assert "smoothly" not in said and "dips" not in said


def test_a_corner_that_a_revision_made_is_told_in_the_terminal_and_as_json() -> None:
    """Angles between straight lines that begin the edges, the back's foot being square."""
    found = wider_revised(6.0, 10.0)
    text = " ".join(" ".join(revised_lines(found)).split())
    told = {row["size"]: row["degrees"] for row in revised_plain(found)["corners"]}
    assert set(told) == set(found.records)
    for size, degrees in told.items():
        front, back = (found.pattern.sized(n, size) for n in ("skirt_front", "skirt_back"))
        sums = sum(inner_angle(piece, "flank", "foot") for piece in (front, back))
        assert degrees == pytest.approx(sums, abs=1.5)
    assert f"= {told[found.pattern.base]:.1f}°, straight would be 180.0°" in text
    assert "as well in every other size" in text


def inner_angle(piece: propagate.SizedPiece, first: str, second: str) -> float:
    """The angle of a corner between the first two millimetres of two edges, degrees."""
    lines = [shapely.LineString(piece.edge(name).points) for name in (first, second)]
    meet = min((one.distance(shapely.Point(two.coords[i])), i, two.coords[i])
               for one, two in (lines, lines[::-1]) for i in (0, -1))[2]  # fmt: skip
    ways = []
    for line in lines:
        line = line if line.coords[0] == meet else line.reverse()
        end = line.interpolate(2.0)
        ways.append(complex(end.x - meet[0], end.y - meet[1]))
    return float(abs(np.degrees(np.angle(ways[0] / ways[1]))))


def test_a_piece_that_only_lies_turned_keeps_its_outline() -> None:
    """A pocket bag that follows its seam, as the front of a skirt is taken in at the waist."""
    skirt = demo("lined_skirt")
    edit = propagate.TakeIn(
        edge="front.side", by=Amount(mm=3.0), at="waist", to=("hip",), both=True
    )
    result = propagate.run(skirt, edit)
    sheet = sheet_of(result)
    kept = step(sheet, "Keep Back pocket bag")
    assert not any(edge.offsets for edge in kept.edges)
    turned = dict(kept.sentences[0].measures)["grain_turned_deg"]
    now = result.pattern.sized("bag_back", result.record.size)
    before = skirt.sized("bag_back", result.record.size)
    ways = [
        complex(*(piece.edge("mouth").points[-1] - piece.edge("mouth").points[0]))
        / complex(*piece.grain.direction)
        for piece in (before, now)
    ]
    assert turned == pytest.approx(-np.degrees(np.angle(ways[1] / ways[0])), abs=0.1)


def test_a_band_is_fitted_in_one_way() -> None:
    """Where only marks move the outline stays; where a zone grows nothing else is added."""
    moved = step(sheet_of(blended("slant_trouser", "38", "44", pocket="lower")), "Fit Waistband")
    assert "do not cut it" in moved.sentences[0].text
    marks = [s for s in moved.sentences if abs(dict(s.measures).get("mark_moved_mm", 0.0)) >= 0.05]
    assert marks
    for said in marks:
        facts = dict(said.measures)
        way = "away from" if facts["mark_moved_mm"] > 0 else "towards"
        assert f"moves {abs(facts['mark_moved_mm']):.1f} mm {way} the start" in said.text
    for work in moved.edges:
        assert "too small to draw" not in work.text and "Tape paper" not in work.text


def test_stretches_that_stay_between_corners_are_said() -> None:
    """The curve of a bag that is trimmed at one end and run on at the other."""
    result = main_job("slant_trouser")
    for work in sheet_of(result).edges:
        if work.edge != "bag":
            continue
        outlines = outlines_of(result, work.piece)
        assert "The old line stays between" in work.text and "new " in work.text
        ((begin, end),) = work.kept_between_mm
        assert end - begin > 300.0
        part = shapely.ops.substring(outlines.old["bag"], begin, end)
        assert shapely.hausdorff_distance(part, outlines.new["bag"]) > 0.05  # it runs on
        places = shapely.points(shapely.get_coordinates(shapely.segmentize(part, 0.5)))
        assert shapely.distance(places, outlines.new["bag"]).max() <= 0.1001
