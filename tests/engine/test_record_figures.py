"""Figures of the record that are not lengths of seams, against measuring every point."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from propagate.engine.compare import compare_pieces
from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, SizedPiece, frozen_points
from tests.engine import measure
from tests.examples import examples
from tests.shared import blended, demo


def strip(top: np.ndarray) -> SizedPiece:
    """A strip 300 mm long whose upper edge runs from right to left through `top`."""
    edges = {
        "low": [(0.0, 0.0), (300.0, 0.0)],
        "right": [(300.0, 0.0), top[0]],
        "top": top,
        "left": [top[-1], (0.0, 0.0)],
    }
    return SizedPiece(
        edges=tuple(Edge(name, frozen_points(points)) for name, points in edges.items()),
        grain=Grain((10.0, 10.0), (10.0, 40.0)),
    )


def test_a_line_of_two_points_is_looked_at_between_them():
    """A straight edge that is hollowed out: what was trimmed is measured by shapely at each mm."""
    x = np.linspace(300.0, 0.0, 90)
    hollow = np.column_stack([x, 50.0 - 6.0 * np.sin(np.pi * x / 300.0) ** 2])
    old, new = strip(np.array([(300.0, 50.0), (0.0, 50.0)])), strip(hollow)
    expected = max(
        shapely.Point(at, 50.0).distance(shapely.Polygon(new.outline)) for at in range(301)
    )
    for before, after, figure in ((old, new, "trimmed_mm"), (new, old, "added_mm")):
        change = compare_pieces("strip", "1", before, after, "edit")
        (top,) = [edge for edge in change.edges if edge.edge == "top"]
        assert expected > 5.9
        assert getattr(top, figure) == pytest.approx(expected, abs=0.01)


@examples(60)
@given(
    first=st.floats(0.5, 12.0),
    second=st.floats(0.5, 12.0),
    place=st.floats(0.1, 0.4),
    count=st.integers(20, 400),
)
def test_the_farthest_point_is_found_among_two_humps(first, second, place, count):
    """Two humps of different height: what was added is the height of the higher one."""
    x = np.linspace(300.0, 0.0, count)
    humps = [
        height * np.exp(-(((x / 300.0 - at) / 0.05) ** 2))
        for height, at in ((first, place), (second, 1 - place))
    ]
    old, new = (
        strip(np.column_stack([x, 50.0 + 0 * x])),
        strip(np.column_stack([x, 50.0 + humps[0] + humps[1]])),
    )
    change = compare_pieces("strip", "1", old, new, "edit")
    (top,) = [edge for edge in change.edges if edge.edge == "top"]
    expected = shapely.distance(
        shapely.points(new.edge("top").points), shapely.Polygon(old.outline)
    ).max()
    assert top.added_mm == pytest.approx(float(expected), abs=1e-9)
    back = compare_pieces("strip", "1", new, old, "edit")
    (top,) = [edge for edge in back.edges if edge.edge == "top"]
    assert top.trimmed_mm == pytest.approx(float(expected), abs=1e-9)


@pytest.mark.parametrize(
    ("name", "upper", "lower", "options"),
    [
        ("scoop_skirt", "M", "XS", {"rise": "lower"}),
        ("scoop_skirt", "S", "XL", {}),
        ("slant_trouser", "42", "48", {}),
        ("slant_trouser", "50", "38", {"pocket": "lower"}),
    ],
)
def test_added_and_trimmed_of_every_piece(name, upper, lower, options):
    """Millimetres at every edge and square millimetres of paper, piece by piece."""
    pattern, result = demo(name), blended(name, upper, lower, **options)
    for change in result.record.pieces:
        old = pattern.pieces[change.piece].at(change.size)
        new = result.pattern.pieces[change.piece].at(result.pattern.base)
        before, after = measure.polygon(old), measure.polygon(new)
        assert change.added_mm2 == pytest.approx(after.difference(before).area, abs=0.1)
        assert change.trimmed_mm2 == pytest.approx(before.difference(after).area, abs=0.1)
        for edge in change.edges:
            fresh, worn = (measure.points_of(sized, edge.edge) for sized in (new, old))
            assert edge.before_mm == pytest.approx(measure.polyline_length(worn), abs=1e-6)
            assert edge.after_mm == pytest.approx(measure.polyline_length(fresh), abs=1e-6)
            where = (change.piece, edge.edge)
            if edge.status != "same":
                for figure, line, area in (
                    (edge.added_mm, fresh, before),
                    (edge.trimmed_mm, worn, after),
                ):
                    between = shapely.get_coordinates(
                        shapely.segmentize(shapely.LineString(line), 0.1)
                    )
                    at_vertices, anywhere = (
                        shapely.distance(shapely.points(points), area).max()
                        for points in (line, between)
                    )
                    assert at_vertices - 1e-6 <= figure <= anywhere + 1e-6, where
                    assert figure == pytest.approx(anywhere, abs=0.005), where
            else:
                assert measure.same_digits(fresh, worn), where


@pytest.mark.parametrize(
    ("name", "upper", "lower"), [("slant_trouser", "42", "48"), ("scoop_skirt", "3XL", "M")]
)
def test_every_change_leads_back_to_the_edit(name, upper, lower):
    """Why did the under bag change?  A chain of causes, each noted itself, ends at the edit."""
    record = blended(name, upper, lower).record
    ids = [change.id for change in record.changes]
    assert len(ids) == len(set(ids))
    for change in record.changes:
        at, steps = change, 0
        while at.cause is not None:
            (at,) = [other for other in record.changes if other.id == at.cause]
            steps += 1
            assert steps < 10
        assert at.id == "edit"
        assert record.chain(change.id)[-1].id == "edit"
    for piece in record.pieces:
        if piece.status != "same":
            assert piece.why in ids
            for edge in piece.edges:
                if edge.status != "same":
                    assert f"{piece.piece}.{edge.edge}" in ids


def test_hand_room_is_measured_and_warned_of():
    """Area of a bag by shapely; its depth below the low end of the mouth along the grain."""
    pattern = demo("slant_trouser")
    result = blended("slant_trouser", "42", "48")
    main = result.pattern.pieces["front"].at(result.pattern.base)
    warned = {n.where for n in result.record.warnings if "hand room" in n.text}
    (stack,) = pattern.relations.stacks.values()
    bags = [layer for layer in stack.layers if layer.bag]
    for layer in bags:
        (row,) = [row for row in result.record.stacks if row.piece == layer.piece]
        found = []
        for front, sized in (
            (pattern.pieces["front"].at("42"), pattern.pieces[layer.piece].at("42")),
            (main, result.pattern.pieces[layer.piece].at(result.pattern.base)),
        ):
            placed = measure.put(front, sized, layer)(measure.outline(sized))
            low = measure.landmark(front, "mouth.end")
            found.append((measure.polygon(sized).area, low[1] - placed[:, 1].min()))
        assert (row.area_before_mm2, row.area_after_mm2) == pytest.approx(
            (found[0][0], found[1][0]), abs=0.1
        )
        assert (row.depth_before_mm, row.depth_after_mm) == pytest.approx(
            (found[0][1], found[1][1]), abs=0.01
        )
        changes = [abs(found[1][k] / found[0][k] - 1) for k in (0, 1)]
        assert (layer.piece in warned) == (max(changes) > 0.05)
