"""A corner of a derived piece that lies on the cap of an open dart is told."""

import pytest

from propagate.engine.derived.region import corners_in_darts, region_of
from propagate.pattern.derived import Derived, DerivedEdge
from tests.shared import demo


def panel(width: float, closed: tuple[str, ...] = ()) -> Derived:
    """The part of the skirt's back within a distance of its centre."""
    edges = (
        DerivedEdge("hem", on="hem"),
        DerivedEdge("side", on="centre", inside=width),
        DerivedEdge("waist", on="waist"),
        DerivedEdge("centre", on="centre"),
    )
    return Derived("lining_back", "back", edges, closed=closed)


def distance_from_centre(mark: str) -> float:
    back = demo("lined_skirt").sized("back", "12")
    return back.edge("centre").points[0][0] - back.landmark(mark).point[0]


@pytest.mark.parametrize("beyond", [-3.0, 3.0])
@pytest.mark.parametrize("leg", ["dart_centre", "dart_side"])
def test_a_corner_between_the_legs_is_found(leg: str, beyond: float) -> None:
    pattern = demo("lined_skirt")
    derived = panel(abs(distance_from_centre(leg)) + beyond)
    region = region_of(pattern, derived, lambda name: pattern.sized(name, "12"), "12")
    found = corners_in_darts(derived, region, pattern.sized("lining_back", "12").edge_names)
    between = (leg == "dart_centre") == (beyond > 0.0)
    assert found == (("waist",) if between else ())
