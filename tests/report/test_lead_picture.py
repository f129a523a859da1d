"""The lead picture: measured against the model, and against the room that it was given."""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET
from dataclasses import replace

import numpy as np
import pytest
import shapely

import propagate
from propagate.demo import demo_names
from propagate.engine.run import settle
from propagate.report.draw import lead_picture
from propagate.report.scene.items import Area, Line, Role, Scene, Text
from propagate.report.scene.lead import Lead, compose_lead
from propagate.report.units import INCHES, MILLIMETRES
from tests.report.label_check import collisions, drawn_in_scene
from tests.shared import demo, main_job

LEADS = demo_names()


def lead_of(name: str, **options: float) -> Lead:
    lead = compose_lead(main_job(name), **options)  # type: ignore[arg-type]
    assert lead is not None
    return lead


def drawn_lines(scene: Scene, role: Role) -> list[Line]:
    return [item for item in scene.of(role) if isinstance(item, Line)]


def faces(scene: Scene) -> list[shapely.Polygon]:
    return [shapely.Polygon(a.rings[0]) for a in scene.of(Role.FACE) if isinstance(a, Area)]


def texts(scene: Scene) -> list[str]:
    return [item.text for item in scene.of(Role.LABEL) if isinstance(item, Text)]


@pytest.mark.parametrize("name", LEADS)
@pytest.mark.parametrize(("width", "height"), [(180.0, 130.0), (240.0, 200.0)])
def test_it_fits_in_the_room_that_it_is_given(name: str, width: float, height: float) -> None:
    lead = lead_of(name, width=width, height=height)
    low, high = lead.scene.bounds()
    assert low.min() >= -1e-9
    assert high[0] <= width + 1e-9
    assert max(high[1], lead.height) <= height + 1e-9


@pytest.mark.parametrize("name", LEADS)
def test_seams_are_as_long_as_the_scale_says(name: str) -> None:
    """Those that no break line cuts; of every piece there is one."""
    lead, result = lead_of(name, height=400.0), main_job(name)
    drawn = {
        (seam.name, round(shapely.LineString(seam.points).length, 3))
        for seam in drawn_lines(lead.scene, Role.SEAM)
    }
    for piece in lead.pieces:
        edges = result.pattern.sized(piece, result.record.size).edges
        assert drawn & {(edge.name, round(edge.length / lead.scale, 3)) for edge in edges}, piece


def test_pieces_stand_with_their_grain_upwards_and_are_not_mirrored() -> None:
    lead, result = lead_of("slant_trouser"), main_job("slant_trouser")
    ends = {line.name: line.points for line in drawn_lines(lead.scene, Role.SEAM)}
    assert "waist" in ends
    for piece in lead.pieces:
        sized = result.pattern.sized(piece, result.record.size)
        for edge in sized.edges:
            way = complex(*(edge.points[-1] - edge.points[0]))
            up = way * 1j / complex(*sized.grain.direction) / lead.scale
            assert any(
                abs(complex(*(line.points[-1] - line.points[0])) - up) < 1e-6
                for line in drawn_lines(lead.scene, Role.SEAM)
                if line.name == edge.name
            ) or drawn_lines(lead.scene, Role.BREAK), (piece, edge.name)


@pytest.mark.parametrize("name", LEADS)
def test_pieces_do_not_lie_on_each_other(name: str) -> None:
    lead = lead_of(name)
    drawn = faces(lead.scene)
    assert drawn
    for i, one in enumerate(drawn):
        assert not any(one.intersects(other) for other in drawn[i + 1 :])


@pytest.mark.parametrize("name", LEADS)
def test_no_text_lies_on_anything(name: str) -> None:
    assert collisions(drawn_in_scene(lead_of(name).scene)) == []


def test_of_a_trouser_only_the_part_that_changed_is_drawn() -> None:
    """The leg below the hip of the lower size is as drawn: most of it is left out."""
    lead, result = lead_of("slant_trouser"), main_job("slant_trouser")
    front = result.pattern.sized("front", result.record.size)
    along = front.outline @ front.grain.direction
    tallest = max(face.bounds[3] - face.bounds[1] for face in faces(lead.scene))
    assert tallest * lead.scale < 0.6 * np.ptp(along)
    assert drawn_lines(lead.scene, Role.BREAK)
    assert "the piece goes on, not drawn" in texts(lead.scene)


def test_paper_to_tape_on_and_to_trim_is_all_drawn() -> None:
    """Areas of the record, at the scale; slivers of a line's width may be left out."""
    lead, result = lead_of("slant_trouser"), main_job("slant_trouser")
    for role, key in ((Role.TAPE_ON, "added_mm2"), (Role.TRIM, "trimmed_mm2")):
        rings = [a for a in lead.scene.of(role) if isinstance(a, Area)]
        samples = 9.0 * 2.7  # the legend's own
        found = sum(shapely.Polygon(a.rings[0], a.rings[1:]).area for a in rings) - samples
        wanted = sum(getattr(change, key) for change in result.record.pieces)
        assert math.isclose(found * lead.scale**2, wanted, rel_tol=0.02, abs_tol=40.0), role


def test_each_piece_has_its_title_and_its_largest_figures() -> None:
    lead, result = lead_of("slant_trouser"), main_job("slant_trouser")
    said = " ".join(texts(lead.scene))
    for piece in lead.pieces:
        assert result.pattern.info[piece].title in texts(lead.scene)
    # The waist of size 42 is shorter than that of size 48 by what the chart says.
    back = next(p for p in result.record.pieces if p.piece == "back")
    waist = next(edge for edge in back.edges if edge.edge == "waist")
    assert f"waist {round(waist.before_mm - waist.after_mm)} mm shorter" in said
    assert f"Size {result.record.size}, at 1:{lead.scale:g}, grain upwards" in said


def test_of_many_pieces_the_most_changed_are_drawn_and_the_rest_counted() -> None:
    lead, result = lead_of("lined_skirt", width=90.0, height=80.0), main_job("lined_skirt")
    changed = {p.piece: p.added_mm2 + p.trimmed_mm2 for p in result.record.pieces if p.before}
    assert 0 < lead.left_out == len(changed) - len(lead.pieces)
    least = min(changed[piece] for piece in lead.pieces)
    assert all(mm2 <= least for piece, mm2 in changed.items() if piece not in lead.pieces)
    assert f"and {lead.left_out} more changed" in " ".join(texts(lead.scene))


def test_one_piece_alone() -> None:
    result = main_job("slant_trouser")
    only = tuple(p for p in result.record.pieces if p.piece == "facing")
    lead = compose_lead(propagate.Result(result.pattern, replace(result.record, pieces=only)))
    assert lead is not None
    assert lead.pieces == ("facing",)
    assert len(faces(lead.scene)) == 1


def test_nothing_changed_is_no_picture() -> None:
    assert lead_picture(settle(demo("scoop_skirt")), MILLIMETRES) is None


def test_the_size_that_is_drawn_of_several_is_said() -> None:
    svg = lead_picture(main_job("scoop_skirt"), INCHES, sizes=7)
    assert svg is not None
    said = [text.text or "" for text in ET.fromstring(svg).iter("{http://www.w3.org/2000/svg}text")]
    assert any(text.startswith("Size S/L of 7 sizes that changed, at 1:") for text in said)
    assert any(" in shorter" in text or " in longer" in text for text in said)
