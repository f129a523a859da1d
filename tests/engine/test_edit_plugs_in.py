"""An edit that exists only here runs through engine, record, files, pictures, page and sheet."""

from __future__ import annotations

import ast
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
import shapely

import propagate
from propagate.engine.graph import silhouette_node
from propagate.engine.job import Drawn, Job
from propagate.engine.record import EDIT, Change, ChangeKind
from propagate.engine.reshape import Source, Stretch, start_edit
from propagate.engine.run import run
from propagate.engine.tape import tape
from propagate.pattern.model import Edge
from propagate.report.blend_text import blend_lines
from propagate.report.pdf.paper import paper_of
from propagate.report.worksheet.derive import work_sheet
from propagate.report.worksheet.write import write_sheet
from tests.shared import demo

DEEPER_MM = 12.0


@dataclass(frozen=True)
class DeepenWaist:
    """The waist of a main dips by some millimetres between its ends, which stay."""

    silhouette: str
    edge: str
    by_mm: float

    def job(self, pattern):
        return Job(pattern, name=pattern.base, size=pattern.base, pocket=pattern.base)

    def draw(self, job: Job) -> Drawn:
        base = tape(job.pattern, self.silhouette, job.size)
        old = base.edge(self.edge)
        share = old.arc / old.length
        dip = 4 * self.by_mm * share * (1 - share)
        points = old.points - np.outer(dip, base.base.grain.direction)
        points[[0, -1]] = old.points[[0, -1]]
        new = Edge(self.edge, points, old.turns)
        stretch = Stretch("lower", (0.0, new.length), (0.0, old.length))
        edited = start_edit(base, job.size).with_edges(
            [new], {self.edge: (stretch,)}, {"lower": Source(base, job.size)}, None
        )
        node = silhouette_node(self.silhouette, self.edge)
        return Drawn(
            said=f"waist of '{self.silhouette}' {self.by_mm:g} mm deeper",
            words={"kind": "deepen", "by_mm": self.by_mm},
            edited={self.silhouette: edited},
            changes=(Change(node, ChangeKind.DRAWN, f"dips by {self.by_mm:g} mm", EDIT),),
        )


@pytest.fixture(scope="module")
def result():
    trousers = demo("slant_trouser")
    return run(trousers, DeepenWaist("back", "waist", DEEPER_MM))


def test_the_piece_has_it_and_the_band_follows(result) -> None:
    trousers = demo("slant_trouser")
    old, new = (p.sized("back", "42") for p in (trousers, result.pattern))
    lines = [shapely.LineString(p.edge("waist").points) for p in (old, new)]
    # Between its vertices the parabola has its whole depth.
    assert lines[0].hausdorff_distance(lines[1]) == pytest.approx(DEEPER_MM, abs=1.5)
    assert [m.name for m in old.landmarks] == [m.name for m in new.landmarks]
    zones = {c.name: c for c in propagate.walk(result.pattern, cut_lines=False).of("band")}
    assert all(abs(check.difference) < 0.05 for check in zones.values())
    assert result.sews
    # The dart is closed, so its mouth counts for nothing.
    before = {c.name: c for c in propagate.walk(trousers, cut_lines=False).of("band")}
    back = "waistband_fit right_back"
    legs = [p.landmark(leg).point for p in (old, new) for leg in old.darts[0].legs]
    mouths = [float(np.hypot(*np.subtract(legs[k], legs[k + 1]))) for k in (0, 2)]
    closed = [line.length - mouth for line, mouth in zip(lines, mouths, strict=True)]
    gained = zones[back].second - before[back].second
    assert gained == pytest.approx(closed[1] - closed[0], abs=0.05)
    assert gained > 2.0


def test_it_is_told_saved_drawn_and_written_down(result, tmp_path: Path) -> None:
    assert result.record.edit["kind"] == "deepen"
    chain = result.record.chain("waistband.lower")
    assert chain[-1].what == "waist of 'back' 12 mm deeper"
    assert any("12 mm deeper" in line for line in blend_lines(result))
    propagate.save(result, tmp_path / "deeper")
    again = propagate.load_result(tmp_path / "deeper")
    assert again.record.edit == result.record.edit and again.sews
    assert propagate.draw(again, "back").startswith("<svg")
    out = BytesIO()
    sheet = work_sheet(result)
    write_sheet(result, sheet, out, paper_of("a4"))
    assert out.getvalue().startswith(b"%PDF")


def test_the_engine_knows_no_edit_by_name() -> None:
    """Only what runs edits imports them: `run`, `revise`, `applying`, `truing`, the edits."""
    engine = Path(propagate.__file__).parent / "engine"
    may = {engine / f"{name}.py" for name in ("run", "revise", "applying", "truing")}
    for path in engine.rglob("*.py"):
        if path in may or path.parent.name == "edits":
            continue
        text = path.read_text(encoding="utf-8")
        if "propagate.engine.edits" not in text:
            continue  # to parse all takes long
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.ImportFrom) and node.module is not None:
                assert not node.module.startswith("propagate.engine.edits"), path
