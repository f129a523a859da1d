"""Points as a table: the same points in the same order as one by one."""

from __future__ import annotations

import numpy as np

from propagate.io.dxf.frame import Entity
from propagate.io.dxf.shapes import Point, table_points


def test_a_table_holds_what_the_list_held() -> None:
    listed = [
        Point(layer, (float(index), -0.5 * index), Entity("POINT", index, index + 1))
        for index, layer in enumerate(["2", "3", "2", "4", "3", "2"])
    ]
    table = table_points(listed)
    assert list(table) == listed
    assert table[3] == listed[3]
    assert table[1:4] == listed[1:4]
    assert len(table) == len(listed)
    assert {layer: at.tolist() for layer, at in table.by_layer().items()} == {
        layer: [list(point.at) for point in listed if point.layer == layer]
        for layer in ("2", "3", "4")
    }
    moved = table.at(table.places + np.array([10.0, 1.0]))
    assert [point.at for point in moved] == [(x + 10.0, y + 1.0) for x, y in table.places.tolist()]
    assert moved.by_layer()["4"].tolist() == [[13.0, -0.5]]
    assert table_points(moved) is moved
    assert list(table_points([])) == []
