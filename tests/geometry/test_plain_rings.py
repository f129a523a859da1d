"""Lines of bands in a row are the cut line that the union of all cloth has, digit for digit."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from propagate.demo import demo_names
from propagate.engine.finish import CutLine, cut_line
from propagate.geometry import offset
from tests.shared import demo_in_few


def cut_lines_of(name: str) -> Iterator[CutLine]:
    """Every piece of a demo set in three sizes, worked out anew."""
    pattern = demo_in_few(name)
    for piece in pattern.pieces.values():
        for sized in piece.nest.values():
            vars(sized).pop("_cut_lines", None)  # which a piece keeps
            yield cut_line(sized, pattern.info[piece.name])


@pytest.mark.parametrize("name", demo_names())
def test_rows_of_bands(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    found = list(cut_lines_of(name))
    monkeypatch.setattr(offset, "_find_plain_ring", lambda _: None)
    for line, united in zip(found, cut_lines_of(name), strict=True):
        assert line.points.tobytes() == united.points.tobytes()
        assert line.stretches.keys() == united.stretches.keys()
        for edge, parts in line.stretches.items():
            assert [part.tobytes() for part in parts] == [
                part.tobytes() for part in united.stretches[edge]
            ]


def test_most_cut_lines_are_plain(monkeypatch: pytest.MonkeyPatch) -> None:
    find, plain = offset._find_plain_ring, []
    monkeypatch.setattr(
        offset, "_find_plain_ring", lambda bands: plain.append(ring := find(bands)) or ring
    )
    count = len(list(cut_lines_of("quay_jeans")))
    assert sum(ring is not None for ring in plain) > count / 2
