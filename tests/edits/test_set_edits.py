"""Allowances, corners and eases: what holds for every size, judged by shapely and by sums."""

from __future__ import annotations

from pathlib import Path

import pytest
import shapely

import propagate
from propagate import Allow, Amount, ChangeEase, FinishCorner, NamedEdit, PropagateError
from propagate.pattern.ease import Ease
from tests.builders import tiny_set
from tests.shared import demo


def cut_area(pattern, piece: str, size: str) -> shapely.Polygon:
    sized = pattern.sized(piece, size)
    return shapely.Polygon(propagate.cut_line(sized, pattern.info[piece], size=size).points)


def test_an_allowance_widens_the_cut_line_by_length_times_width_and_no_seam_line() -> None:
    """A straight strip along a straight edge: its area is length times width, but for corners."""
    old = tiny_set()
    new = propagate.apply_edits(old, [NamedEdit("hem", Allow(edge="back.hem", to=Amount(mm=60)))])
    for size in old.sizes:
        assert new.pattern.sized("back", size) is old.sized("back", size)
        more = cut_area(new.pattern, "back", size).area - cut_area(old, "back", size).area
        wide = cut_area(old, "back", size).bounds
        assert more == pytest.approx(20.0 * (wide[2] - wide[0]), rel=0.02)
    assert new.pattern.info["front"] is old.info["front"]
    assert new.sews and new.edits == ("hem: allowance of back.hem 60 mm",)


def test_the_same_allowance_again_leaves_the_set_itself() -> None:
    old = tiny_set()
    same = Allow(edge="back.hem", to=Amount(mm=old.info["back"].allowance.of("hem")))
    assert same.on_set(old, old.sizes) is old
    once = FinishCorner(corner="back.side/hem", finish="mitre")
    assert once.on_set(old, old.sizes) is old


def test_a_line_of_an_assembly_gives_every_part_its_allowance(tmp_path: Path) -> None:
    trousers = demo("slant_trouser")
    result = propagate.run(trousers, Allow(edge="full_front.side", to=Amount(mm=18.0)))
    found = {n: i.allowance.of("side") for n, i in result.pattern.info.items()}
    assert (found["front"], found["facing"]) == (18.0, 18.0)
    assert found["under_bag"] == trousers.info["under_bag"].allowance.of("side")
    propagate.save(result, tmp_path / "out")
    assert propagate.load(tmp_path / "out").info["front"].allowance.of("side") == 18.0


def test_an_eased_follower_is_longer_by_the_ease_in_the_sizes_asked_for() -> None:
    old = tiny_set()
    edit = ChangeEase(seam="side_seam", to=4.0)
    new = propagate.apply_edits(old, [NamedEdit("eased", edit)], sizes=("36", "40"))
    assert new.sews
    for size, ease in {"36": 4.0, "38": 0.0, "40": 4.0}.items():
        sides = [new.pattern.sized(name, size).edge("side").length for name in ("front", "back")]
        assert sides[1] - sides[0] == pytest.approx(ease, abs=0.05)
    for name in old.pieces:
        assert new.pattern.sized(name, "38") is old.sized(name, "38")
    none = NamedEdit("none", ChangeEase(seam="side_seam", to=0.0))
    back = propagate.apply_edits(new.pattern, [none])
    for size in old.sizes:
        was, now = old.sized("back", size), back.pattern.sized("back", size)
        for edge in was.edges:
            line = shapely.LineString(edge.points)
            assert line.hausdorff_distance(shapely.LineString(now.edge(edge.name).points)) < 0.05


@pytest.mark.parametrize(
    ("ease", "wanted"),
    [
        (Ease(share=0.01), (0.01, 0.0)),
        (Ease(between=(3.0, 5.0)), (0.0, 3.0)),
        (Ease(between=(-1.0, 5.0)), (0.0, 0.0)),
        (Ease(sizes=(("36", 1.0), ("38", 2.0), ("40", 3.0))), (0.0, 2.0)),
        (Ease(zones=(("front.hip_notch", 0.0), ("end", 2.5))), (0.0, 2.5)),
    ],
)
def test_every_form_of_ease(ease, wanted) -> None:
    result = propagate.run(tiny_set(), ChangeEase(seam="side_seam", to=ease))
    front, back = (result.pattern.sized(n, "38").edge("side").length for n in ("front", "back"))
    assert result.sews and back - front == pytest.approx(wanted[0] * front + wanted[1], abs=0.05)


def test_a_zone_of_a_band_is_shorter_than_its_run_by_the_ease() -> None:
    skirt = demo("scoop_skirt")
    result = propagate.run(skirt, ChangeEase(seam="belt_fit.right_back", to=7.0))

    def zone(pattern) -> float:
        belt = pattern.sized("belt", "M")
        return belt.distance("join", "flank_mark_right") - belt.distance("join", "cb_mark")

    assert abs(zone(skirt)) - abs(zone(result.pattern)) == pytest.approx(4.0, abs=0.05)  # 3 to 7
    assert [piece.piece for piece in result.record.pieces if piece.status != "same"] == ["belt"]


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (Allow(edge="back.hemm", to=Amount(mm=5.0)), "did you mean 'hem'"),
        (Allow(edge="bak.hem", to=Amount(mm=5.0)), "did you mean 'back'"),
        (Allow(edge="back.hem", to=Amount(mm=-5.0)), "0 mm or more"),
        (Allow(edge="back.hem", to=Amount(share=0.02)), "0 mm or more"),
        (Allow(edge="back.hem", to=Amount(mm=600.0)), "is the unit right?"),
        (FinishCorner(corner="back.hem/waist", finish="square"), "no corner 'hem/waist'"),
        (ChangeEase(seam="side_sem", to=1.0), "did you mean 'side_seam'"),
        (ChangeEase(seam="side_seam", to=Ease(sizes=(("36", 1.0),))), "size '38'"),
        (
            ChangeEase(seam="side_seam", to=Ease(zones=(("front.hip", 1.0), ("end", 0.0)))),
            "hip",
        ),
    ],
)
def test_what_cannot_be_is_said(edit, words: str) -> None:
    with pytest.raises(PropagateError) as error:
        propagate.apply_edits(tiny_set(), [NamedEdit("it", edit)])
    assert words in str(error.value)


def test_seams_that_cannot_give_and_some_sizes_of_what_holds_for_all() -> None:
    trousers = demo("slant_trouser")
    for seam, words in {"centre_back": "mirrored twin", "pocket_bag": "only walked"}.items():
        with pytest.raises(PropagateError, match=words):
            propagate.run(trousers, ChangeEase(seam=seam, to=1.0))
    with pytest.raises(PropagateError, match="sewn to nothing"):
        propagate.run(trousers, ChangeEase(seam="waistband_fit.extension", to=1.0))
    allow = NamedEdit("allow", Allow(edge="back.hem", to=Amount(mm=5.0)))
    with pytest.raises(PropagateError, match="holds for every size"):
        propagate.apply_edits(tiny_set(), [allow], sizes=("36",))
