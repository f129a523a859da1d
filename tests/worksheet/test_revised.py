"""The work sheet of a revision: one record for every size."""

from __future__ import annotations

from collections import Counter
from io import BytesIO

import pytest
import shapely

import propagate
from propagate.engine.revise import revise
from propagate.engine.run import Result
from propagate.pattern.model import Piece
from propagate.report.worksheet.derive import work_sheet
from propagate.report.worksheet.write import sheet_paper, write_sheet
from tests.revise.test_revise import let_out
from tests.shared import demo
from tests.worksheet.conftest import outlines_of

REVISED = [
    ("slant_trouser", "front", "side", 5.0),
    ("slant_trouser", "front", "waist", 3.0),
    ("slant_trouser", "back", "centre", -4.0),
    ("scoop_skirt", "skirt_front", "flank", 4.0),
]


@pytest.mark.parametrize(("name", "piece", "edge", "by"), REVISED)
def test_a_revision_as_steps(name: str, piece: str, edge: str, by: float) -> None:
    pattern = demo(name)
    base = pattern.base
    sent = let_out(pattern.sized(piece, base), edge, by, 2.0)
    found = revise(pattern, {piece: Piece(piece, {base: sent})})
    for size in (base, pattern.sizes[-1]):
        result = Result(found.pattern, found.records[size])
        sheet = work_sheet(result)
        changed = [
            (p.piece, e.edge) for p in result.record.pieces for e in p.edges if e.status != "same"
        ]
        assert (piece, edge) in changed
        assert Counter((e.piece, e.edge) for e in sheet.edges) == Counter(changed)
        assert {p for step in sheet.steps for p in step.pieces} == {p for p, _ in changed}
        laid = next(s for s in sheet.steps if s.title == "Lay the revised drawing on")
        assert laid.pieces == (piece,)
        work = next(e for e in sheet.edges if (e.piece, e.edge) == (piece, edge))
        widest = work.added if by > 0 else work.trimmed
        outlines = outlines_of(result, piece)
        far = shapely.hausdorff_distance(outlines.old[edge], outlines.new[edge])
        # The record measures from the old line inwards: less than the whole way on a hollow.
        assert widest is not None and 0.7 * far < widest.mm < far + 0.05
        assert {row.size for row in sheet.take_out} | {r.size for r in sheet.cut_list} == {size}
        out = BytesIO()
        assert write_sheet(result, sheet, out, sheet_paper("a4")).pages >= 3


def test_the_pattern_of_a_revision_keeps_its_sizes() -> None:
    pattern = demo("scoop_skirt")
    sent = let_out(pattern.sized("skirt_back", "M"), "flank", 4.0, 2.0)
    found = revise(pattern, {"skirt_back": Piece("skirt_back", {"M": sent})})
    sheets = {
        size: work_sheet(Result(found.pattern, record)) for size, record in found.records.items()
    }
    assert list(sheets) == list(pattern.sizes)
    assert all(sheet.size == size for size, sheet in sheets.items())
    assert isinstance(found.pattern, propagate.PatternSet)
