"""Paths, transforms and view boxes agree with a general SVG library (svgelements).

The library forgives what cannot be read; this reader says at which character it is.  So the
library is the yardstick here and not the reader.
"""

from __future__ import annotations

import io
import itertools

import numpy as np
import pytest
import shapely
from hypothesis import Phase, assume, given
from hypothesis import strategies as st

from propagate.io.chain import Chain
from propagate.io.options import ReadOptions
from propagate.io.report import ReportNotes
from propagate.io.svg.drawing import Group, read_drawing
from propagate.io.svg.xml_tree import parse_xml
from propagate.pattern.model import Array
from tests.examples import examples

svgelements = pytest.importorskip("svgelements")

NEAR_MM = 0.02  # what is compared with is flattened here
FINE, COARSE = 400, 25


def number(low: float, high: float) -> st.SearchStrategy[str]:
    return st.floats(low, high).map(lambda value: f"{value:.3f}")


XY = st.tuples(number(-80, 80), number(-80, 80)).map(",".join)
RADIUS = number(5, 90)
FLAG = st.sampled_from("01")
ARC = st.tuples(RADIUS, RADIUS, number(-180, 180), FLAG, FLAG, XY).map(" ".join)


def command(letters: str, arguments: st.SearchStrategy[str]) -> st.SearchStrategy[str]:
    return st.tuples(st.sampled_from(letters), arguments).map("".join)


STEP = st.one_of(
    command("Ll", XY),
    command("Hh", number(-80, 80)),
    command("Vv", number(-80, 80)),
    command("Cc", st.tuples(XY, XY, XY).map(" ".join)),
    # After another command the library does not take the point itself for the control of
    # S and T, as the recommendation has it (8.3.6 and 8.3.7); so they stand after their own.
    st.tuples(
        command("Cc", st.tuples(XY, XY, XY).map(" ".join)),
        command("Ss", st.tuples(XY, XY).map(" ".join)),
    ).map("".join),
    st.tuples(command("Qq", st.tuples(XY, XY).map(" ".join)), command("Tt", XY)).map("".join),
    command("Aa", ARC),
)
PATH = st.tuples(XY, st.lists(STEP, min_size=1, max_size=6), st.sampled_from(["", "z"])).map(
    lambda parts: f"M{parts[0]}" + "".join(parts[1]) + parts[2]
)
TRANSFORM = st.lists(
    st.one_of(
        st.tuples(number(-50, 50), number(-50, 50)).map(lambda v: f"translate({v[0]} {v[1]})"),
        number(0.3, 3).map(lambda v: f"scale({v})"),
        st.tuples(number(0.3, 3), number(-3, -0.3)).map(lambda v: f"scale({v[0]},{v[1]})"),
        st.tuples(number(-180, 180), XY).map(lambda v: f"rotate({v[0]},{v[1]})"),
        number(-180, 180).map(lambda v: f"rotate({v})"),
        number(-40, 40).map(lambda v: f"skewX({v})"),
        number(-40, 40).map(lambda v: f"skewY({v})"),
        st.tuples(*[number(0.2, 2)] * 6).map(lambda v: f"matrix({' '.join(v)})"),
    ),
    max_size=3,
).map(" ".join)
PAGE = st.tuples(
    st.sampled_from(["300mm", "20cm", "8in", "400pt", "500px", "700"]),
    st.sampled_from(["300mm", "25cm", "9in", "30pc", "500"]),
    st.tuples(number(-50, 50), number(-50, 50), number(60, 900), number(60, 900)).map(" ".join),
)


def drawing(page: tuple[str, str, str], outer: str, inner: str, paths: list[str]) -> str:
    drawn = "".join(f'<path id="line{k}" d="{d}"/>' for k, d in enumerate(paths))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{page[0]}" height="{page[1]}" '
        f'viewBox="{page[2]}"><g transform="{outer}"><g transform="{inner}">{drawn}</g></g></svg>'
    )


def chains(group: Group) -> list[Chain]:
    found = [shape.chain for shape in group.shapes]
    for inside in group.groups:
        found += chains(inside)
    return found


def bezier(chain: Chain) -> Array:
    """Points of a chain from the definition of Bezier curves, not from the reader's own."""
    t = np.linspace(0.0, 1.0, FINE)[1:, None]
    here = np.array(chain.start)
    parts = [here[None]]
    for segment in chain.segments:
        control = [here, *map(np.array, segment)]
        while len(control) > 1:  # de Casteljau
            control = [(1 - t) * a + t * b for a, b in itertools.pairwise(control)]
        parts.append(control[0])
        here = np.array(segment[-1])
    return np.concatenate(parts)


def by_library(text: str) -> list[Array]:
    """The paths in mm, y up, as the library has them; lines without length left out."""
    # Its own applying of an uneven transform to an arc takes conjugate diameters for axes
    # and is off by millimetres; so its matrices are applied to its points here.
    whole = svgelements.SVG.parse(io.StringIO(text), ppi=96.0, reify=False)
    found = []
    for element in whole.elements():
        if not isinstance(element, svgelements.Path):
            continue
        place = element.transform.point_in_matrix_space
        points = [
            [(p.x, -p.y) for p in map(place, map(segment.point, np.linspace(0.0, 1.0, COARSE)))]
            for segment in element
            if not isinstance(segment, svgelements.Move)
        ]
        found.append(np.concatenate(points) * 25.4 / 96.0)
    return found


@examples(60, phases=[Phase.generate])
@given(page=PAGE, outer=TRANSFORM, inner=TRANSFORM, paths=st.lists(PATH, min_size=1, max_size=3))
def test_lines_lie_where_the_library_puts_them(
    page: tuple[str, str, str], outer: str, inner: str, paths: list[str]
) -> None:
    text = drawing(page, outer, inner, paths)
    root = parse_xml(text.encode(), "drawing.svg")
    ours = [bezier(c) for c in chains(read_drawing(root, "f", ReadOptions(), ReportNotes()))]
    theirs = [line for line in by_library(text) if np.ptp(line, axis=0).max() > 0.01]
    ours = [line for line in ours if np.ptp(line, axis=0).max() > 0.01]
    assert len(ours) == len(theirs)
    assume(theirs)
    shift = theirs[0][0] - ours[0][0]  # the origin of the page says nothing of a pattern
    for mine, other in zip(ours, theirs, strict=True):
        near = max(NEAR_MM, 1e-5 * float(np.abs(other).max()))
        gaps = shapely.distance(shapely.points(other), shapely.LineString(mine + shift))
        assert gaps.max() <= near
        assert np.abs(mine[-1] + shift - other[-1]).max() <= near
