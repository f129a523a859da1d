"""The drafted lined skirt: what its files say, and redrafts of it as the judge of edits.

Distances, parallels and rotations are shapely's.  Trade facts (corner angles across a seam
add to 180 degrees, the legs of a dart are as long as each other) are common practice, no source.
"""

from __future__ import annotations

import runpy
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely import affinity

import propagate
from demo_sets.drafting import rotated
from demo_sets.lined_skirt import draft as drafting
from demo_sets.lined_skirt.mains import Quarter
from demo_sets.scoop_skirt.mains import turned
from propagate.engine.edits.raise_edge import Lower, Raise
from propagate.engine.edits.take_in import TakeIn
from propagate.engine.walk import walk
from propagate.io.edits_toml import read_edits
from propagate.io.geometry_json import dump_piece
from propagate.pattern.model import Edge, SizedPiece
from propagate.pattern.patternset import PatternSet
from tests.shared import demo, demo_in_few

HOME = Path(__file__).resolve().parents[2] / "demo_sets" / "lined_skirt"
SIZES = drafting.Chart().sizes
DERIVED = [name for name in drafting.PIECES if name not in ("front", "back")]


def line(edge: Edge) -> shapely.LineString:
    return shapely.LineString(edge.points)


def gap(one: SizedPiece, other: SizedPiece) -> float:
    """The farthest that two pieces are apart, edge by edge, mm."""
    assert one.edge_names == other.edge_names
    return max(
        float(shapely.hausdorff_distance(line(a), line(b)))
        for a, b in zip(one.edges, other.edges, strict=True)
    )


def test_the_files_are_what_the_draft_draws() -> None:
    made = runpy.run_path(str(HOME / "draft.py"))["draft"]()
    for name, piece in made.items():
        assert (HOME / "geometry" / f"{name}.json").read_text("utf-8") == dump_piece(piece), name


@pytest.mark.parametrize("size", SIZES)
def test_it_is_as_its_readme_tells(size: str) -> None:
    pattern = demo("lined_skirt")
    chart = drafting.Chart()
    i = SIZES.index(size)
    for name, facing in (("front", "facing_front"), ("back", "facing_back")):
        main, strip = pattern.sized(name, size), pattern.sized(facing, size)
        dart = main.darts[0]
        a, b = (main.landmark(leg).point for leg in dart.legs)
        legs = [float(np.hypot(*np.subtract(dart.tip, leg))) for leg in (a, b)]
        assert legs[0] == pytest.approx(legs[1], abs=0.001)
        top, low = line(strip.edge("waist")), strip.edge("low").points
        inner = low[3:-3]  # its ends run on beyond the waist's, to the side
        far = shapely.distance(shapely.points(inner), top)
        assert far == pytest.approx(drafting.FACING, abs=0.01)
        mouth = main.distance("waist", dart.legs[1]) - main.distance("waist", dart.legs[0])
        assert top.length == pytest.approx(main.edge("waist").length - abs(mouth), abs=0.01)
    zip_end = pattern.sized("back", size).distance("centre", "zip_end")
    assert zip_end == pytest.approx(chart.zip[i], abs=0.001)


def test_everything_sews_in_every_size() -> None:
    pattern = demo("lined_skirt")
    for size in SIZES:
        walked = walk(pattern, size, cut_lines=False)
        assert all(check.verdict == "sews" for check in walked.checks)
        off = {check.name: check.difference for check in walked.of("derived")}
        assert all(
            far < (0.05 if name.startswith("fusible") else 0.01) for name, far in off.items()
        )


@pytest.mark.parametrize(
    ("waist", "hip"), [("8", "20"), ("20", "8"), ("10", "16"), ("14", "12"), ("12", "14")]
)
def test_blends_sew_and_pieces_are_as_their_definitions(waist: str, hip: str) -> None:
    result = propagate.blend(demo("lined_skirt"), propagate.Blend({"waist": waist, "hip": hip}))
    walked = walk(result.pattern)
    assert result.sews and walked.sews
    assert max(check.difference for check in walked.of("derived")) < 0.01
    assert max(abs(check.difference) for check in walked.of("seam_opening")) < 0.01


# --- edits, judged by drafting anew -------------------------------------------


def test_a_lower_hem_is_as_drafted_longer() -> None:
    """20 mm lower at the front's hem; back, lining and all: the set drafted 20 mm longer."""
    edit = Lower(edge="front.hem", by=propagate.Amount(20.0))
    result = propagate.run(demo("lined_skirt"), edit)
    chart = drafting.Chart()
    longer = drafting.draft(replace(chart, long=tuple(long + 20.0 for long in chart.long)))
    for name in drafting.PIECES:
        new = result.pattern.sized(name, result.pattern.base)
        assert gap(new, longer[name].at("12")) < 0.5, name


@pytest.mark.parametrize(("kind", "mm"), [(Lower, -3.0), (Raise, 5.0)])
def test_a_side_that_is_moved_up_at_the_waist_goes_along_itself_on_both_pieces(
    kind: type[Raise], mm: float
) -> None:
    """The pocket keeps its distance from the waist; its marks ask nothing more of the seam."""
    pattern = demo("lined_skirt")
    edit = kind(edge="front.waist", by=propagate.Amount(abs(mm)), at="end", to=("start",))
    result = propagate.run(pattern, edit, corners="left")
    assert not [w for w in result.record.warnings if "each time" in w.text]
    old, new = pattern.sized("back", "12"), result.pattern.sized("back", "12")
    moved = new.edge("side").points[-1] - old.edge("side").points[-1]
    up = np.subtract(*old.edge("side").points[[-1, -2]])
    assert moved == pytest.approx(mm * up / np.hypot(*up), abs=0.05)
    for name in ("pocket_top", "pocket_low"):
        gaps = [p.edge("side").length - p.distance("side", name) for p in (old, new)]
        assert gaps[0] == pytest.approx(gaps[1], abs=0.01)


def in_draft(piece: SizedPiece, name: str, q: Quarter) -> Quarter:
    """An edited main piece in the frame of the draft, with its dart closed by shapely."""
    i = SIZES.index("12")
    mirror, angle = (True, 0.0) if name == "front" else (False, 180.0)
    origin = (320.0, 80.0) if mirror else (-400.0, -1300.0)
    shift = np.add(origin, drafting.SCATTER[i])

    def home(points: np.ndarray) -> np.ndarray:
        back = rotated(points - shift, -angle) * ((-1.0, 1.0) if mirror else (1.0, 1.0))
        return back[::-1] if mirror else back

    waist, side, centre = (home(piece.edge(n).points) for n in ("waist", "side", "centre"))
    legs = [int(np.hypot(*(waist - q.waist[leg]).T).argmin()) for leg in q.legs]
    tip = q.tip
    swung = affinity.rotate(
        shapely.LineString(waist[: legs[0] + 1]), q.open_by, tuple(tip), use_radians=False
    )
    closed = np.vstack([shapely.get_coordinates(swung), waist[legs[1] + 1 :]])
    darts = (replace(q.darts[0], legs=(legs[0], legs[1])),)
    hanging = turned(side, q.open_by, tip)
    return replace(
        q, side=side, waist=waist, centre=centre, darts=darts, closed=closed, closed_side=hanging
    )


def test_what_is_derived_is_as_drafted_on_the_taken_in_mains() -> None:
    """The side taken in at the waist: every derived piece drawn anew by the draft's own ruler."""
    pattern = demo("lined_skirt")
    edit = TakeIn(edge="front.side", by=propagate.Amount(3.0), at="waist", to=("hip",), both=True)
    result = propagate.run(pattern, edit)
    i = SIZES.index("12")
    drawn = drafting._draw(drafting.Chart(), i)
    mains = {
        name: in_draft(result.pattern.sized(name, result.pattern.base), name, quarter)
        for name, quarter in (("front", drawn.front), ("back", drawn.back))
    }
    again = replace(drawn, front=mains["front"], back=mains["back"])
    for name in DERIVED:
        new = result.pattern.sized(name, result.pattern.base)
        wanted = drafting.PIECES[name](again, i)
        limit = 0.5 if name.startswith(("bag", "fusible")) else 0.02
        assert gap(new, wanted) < limit, name
        old = pattern.sized(name, "12")
        assert gap(new, old) > 1.0, name


def test_the_edit_file_runs_on_the_whole_nest(tmp_path: Path) -> None:
    few, out = demo_in_few("lined_skirt"), tmp_path / "fitted"
    propagate.save(propagate.apply_edits(few, read_edits(HOME / "edits.toml").edits).pattern, out)
    fitted: PatternSet = propagate.load(out)
    assert propagate.review(fitted) == ()
    for size in few.sizes:
        walked = walk(fitted, size, cut_lines=False)
        assert walked.sews
        assert max(check.difference for check in walked.of("derived")) < 0.01
        back, old = fitted.sized("back", size), demo("lined_skirt").sized("back", size)
        assert back.distance("centre", "zip_end") == pytest.approx(
            old.distance("centre", "zip_end"), abs=0.01
        )
