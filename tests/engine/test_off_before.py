"""What a set was off by before, and what two revised sides disagree by, is told with its figure.

Panels and bands of straight lines: their lengths are those of their corners.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from propagate.engine.revise import Revised, revise
from propagate.engine.walk import walk
from propagate.errors import Conflict
from propagate.pattern.model import Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import Band, PieceInfo, Seam, Zone, parse_run
from tests.engine.test_corners_that_follow import _piece

TOLERANCE = 1.5


def panel(side: float, waist: float = 200.0) -> SizedPiece:
    """A panel whose waist lies at the height of 0, and whose sides are so long."""
    return _piece(
        ("hem", np.array([(0.0, -side), (waist, -side)])),
        ("side", np.array([(waist, -side), (waist, 0.0)])),
        ("waist", np.array([(waist, 0.0), (0.0, 0.0)])),
        ("centre", np.array([(0.0, 0.0), (0.0, -side)])),
    )


def strip(front: float, back: float) -> SizedPiece:
    """A band 40 mm wide, with a mark between its two zones."""
    whole = front + back
    piece = _piece(
        ("sewn", np.array([(0.0, 0.0), (whole, 0.0)])),
        ("right", np.array([(whole, 0.0), (whole, 40.0)])),
        ("far", np.array([(whole, 40.0), (0.0, 40.0)])),
        ("left", np.array([(0.0, 40.0), (0.0, 0.0)])),
    )
    return replace(piece, landmarks=(Landmark("side", "sewn", (front, 0.0), "notch"),))


def a_set(pieces: dict[str, SizedPiece], relations: Relations) -> PatternSet:
    return PatternSet(
        name="skirt",
        sizes=("M",),
        base="M",
        lay_on="hip",
        pieces={name: Piece(name, {"M": piece}) for name, piece in pieces.items()},
        info={name: PieceInfo(name) for name in pieces},
        relations=relations,
    )


def skirt(off: float, band_off: tuple[float, float] = (0.0, 0.0)) -> PatternSet:
    """Front and back with sides of 600 mm, the back's longer by `off`; a band on both waists."""
    zones = (
        Zone("front", "start", "side", parse_run("front.waist")),
        Zone("back", "side", "end", parse_run("back.waist")),
    )
    return a_set(
        {
            "front": panel(600.0, 210.0),
            "back": panel(600.0 + off, 190.0),
            "band": strip(210.0 + band_off[0], 190.0 + band_off[1]),
        },
        Relations(
            seams={"side": Seam("side", parse_run("front.side"), parse_run("back.side"))},
            bands={"fit": Band("fit", "band", "sewn", "far", zones)},
        ),
    )


def sent(pattern: PatternSet, **drawn: SizedPiece) -> Revised:
    return revise(pattern, {name: Piece(name, {"M": piece}) for name, piece in drawn.items()})


def said_of(result: Revised, edge: str) -> str:
    return next(change.what for change in result.records["M"].changes if change.id == edge)


def notices(result: Revised) -> dict[str, str]:
    return {notice.where: notice.text for notice in result.records["M"].warnings}


def zones_of(pattern: PatternSet) -> tuple[float, float]:
    band = pattern.sized("band", "M")
    mark = band.distance("sewn", "side")
    return mark, band.edge("sewn").length - mark


# ------------------------------------------------------------------------------- a seam


@pytest.mark.parametrize("off", [0.8, -0.8, 1.4])
@pytest.mark.parametrize("by", [10.0, -4.0])
def test_a_follower_meets_its_lead_and_what_it_was_off_by_is_told(off: float, by: float) -> None:
    """Neither kept nor doubled: 600 + by, which is by - off more than it was."""
    pattern = skirt(off)
    assert walk(pattern, cut_lines=False).sews
    result = sent(pattern, front=panel(600.0 + by, 210.0))
    assert result.pattern.sized("back", "M").edge("side").length == pytest.approx(600.0 + by)
    told = said_of(result, "back.side")
    assert f"{by - off:+.2f} mm" in told and f"{-off:+.2f} mm of it" in told


def test_a_seam_that_agreed_has_nothing_more_to_tell() -> None:
    told = said_of(sent(skirt(0.0), front=panel(610.0, 210.0)), "back.side")
    assert "+10.00 mm" in told and "before" not in told


def test_a_seam_whose_lead_stayed_stays_off_digit_for_digit() -> None:
    """The front's hem alone is drawn anew; the back's side is not asked for anything."""
    pattern = skirt(0.8)
    front = pattern.sized("front", "M")
    arch = front.edge("hem").points[[0, 0, 1]] * (1.0, 1.0)
    arch[1] = (105.0, -603.0)
    edges = tuple(replace(e, points=arch) if e.name == "hem" else e for e in front.edges)
    result = sent(pattern, front=replace(front, edges=edges))
    assert result.pattern.pieces["back"] is pattern.pieces["back"]


def test_what_both_sides_were_off_by_before_is_nothing_that_a_revision_of_both_did() -> None:
    drawn = {"front": panel(610.0, 210.0), "back": panel(610.8, 190.0)}
    result = sent(skirt(0.8), **drawn)
    assert result.pattern.sized("back", "M").edge("side") == drawn["back"].edge("side")
    assert "side" not in notices(result)


def test_a_disagreement_within_what_the_seam_allows_is_told_with_its_figure() -> None:
    result = sent(skirt(0.0), front=panel(610.0, 210.0), back=panel(609.3, 190.0))
    assert result.pattern.sized("back", "M").edge("side").length == pytest.approx(610.0)
    assert "disagree by 0.70 mm" in notices(result)["side"]
    assert f"{TOLERANCE:g} mm that the seam allows" in notices(result)["side"]
    with pytest.raises(Conflict) as found:
        sent(skirt(0.0), front=panel(610.0, 210.0), back=panel(608.3, 190.0))
    assert found.value.distance_mm == pytest.approx(1.7)


# ------------------------------------------------------------------------------- a band


@pytest.mark.parametrize("by", [0.7, -0.7, 1.4])
def test_a_revised_band_gives_way_within_what_it_allows_and_the_figure_is_told(by: float) -> None:
    """The front's waist goes from 210 to 220; the band was drawn for 220 - by there."""
    result = sent(skirt(0.0), front=panel(600.0, 220.0), band=strip(220.0 - by, 190.0))
    assert zones_of(result.pattern) == pytest.approx((220.0, 190.0), abs=1e-6)
    told = notices(result)["fit"]
    assert f"'front' is off by {abs(by):.2f} mm" in told
    assert f"{TOLERANCE:g} mm that the band allows" in told


def test_a_revised_band_that_agrees_stays_as_it_was_drawn_without_a_word() -> None:
    drawn = strip(220.03, 190.0)
    result = sent(skirt(0.0), front=panel(600.0, 220.0), band=drawn)
    assert result.pattern.sized("band", "M").edge("sewn") == drawn.edge("sewn")
    assert "fit" not in notices(result)


def test_beyond_what_it_allows_a_revised_band_is_a_conflict_with_the_millimetres() -> None:
    with pytest.raises(Conflict) as found:
        sent(skirt(0.0), front=panel(600.0, 220.0), band=strip(218.2, 190.0))
    assert found.value.distance_mm == pytest.approx(1.8)
    assert "zone 'front'" in str(found.value)


def test_what_a_band_was_off_by_before_is_nothing_that_a_revision_of_both_did() -> None:
    """Off by 0.9 mm before and after; a further 0.7 mm is told, and all of it taken out."""
    pattern = skirt(0.0, (0.9, 0.0))
    drawn = strip(220.9, 190.0)
    result = sent(pattern, front=panel(600.0, 220.0), band=drawn)
    assert result.pattern.sized("band", "M").edge("sewn") == drawn.edge("sewn")
    assert "fit" not in notices(result)
    result = sent(pattern, front=panel(600.0, 220.0), band=strip(221.6, 190.0))
    assert zones_of(result.pattern) == pytest.approx((220.0, 190.0), abs=1e-6)
    assert "off by 1.60 mm" in notices(result)["fit"]


def test_a_zone_whose_run_stayed_stays_off_and_the_other_tells_what_it_was() -> None:
    """Zones 0.6 mm too long and 0.4 mm too short; the front's waist alone becomes longer."""
    pattern = skirt(0.0, (0.6, -0.4))
    assert walk(pattern, cut_lines=False).sews
    result = sent(pattern, front=panel(600.0, 215.0))
    assert zones_of(result.pattern) == pytest.approx((215.0, 189.6), abs=1e-6)
    told = said_of(result, "band.sewn")
    assert "+4.40 mm" in told and "-0.60 mm of it" in told
    again = revise(result.pattern, {"front": Piece("front", {"M": panel(600.0, 215.0)})})
    assert zones_of(again.pattern) == zones_of(result.pattern)
