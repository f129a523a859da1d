"""What a hand would do, on pieces simple enough to work out: hems, fades, marks, darts."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from propagate.engine.edits.replace import Replace
from propagate.engine.job import Given
from propagate.engine.revise import revise
from propagate.engine.run import run
from propagate.pattern.model import Dart, Edge, Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import PieceInfo, Seam, parse_run
from tests.engine.test_corners_that_follow import _piece


def panel(low: float = 0.0, waist: float = 0.0, top: float = 200.0) -> SizedPiece:
    """A panel 200 mm wide and 600 mm long; `low` drops its hem, `waist` takes it in."""
    return _piece(
        ("hem", np.array([(0.0, -low), (200.0, -low)])),
        ("side", np.array([(200.0, -low), (top - waist, 600.0)])),
        ("waist", np.array([(top - waist, 600.0), (0.0, 600.0)])),
        ("centre", np.array([(0.0, 600.0), (0.0, -low)])),
    )


def sewn(pieces: dict[str, SizedPiece], *seams: Seam, folds: dict[str, str] | None = None):
    info = {n: PieceInfo(n, fold=(folds or {}).get(n)) for n in pieces}
    return PatternSet(
        name="skirt",
        sizes=("M",),
        base="M",
        lay_on="hip",
        pieces={n: Piece(n, {"M": p}) for n, p in pieces.items()},
        info=info,
        relations=Relations(seams={s.name: s for s in seams}),
    )


def seam(name: str, lead: str, follow: str, **options: object) -> Seam:
    return Seam(name, parse_run(lead), parse_run(follow), **options)


def sent(pattern: PatternSet, piece: str, drawn: SizedPiece, **options):
    return revise(pattern, {piece: Piece(piece, {"M": drawn})}, **options)


@pytest.mark.parametrize("fold", [None, "centre"])
def test_a_hem_let_down_at_the_side_sinks_as_a_whole(fold: str | None) -> None:
    """Common practice, no source: a hem stays parallel to itself, however much it is let down."""
    pattern = sewn(
        {"front": panel(top=199.0), "back": panel()},
        seam("side", "front.side", "back.side"),
        folds={"back": fold} if fold else None,
    )
    back = sent(pattern, "front", panel(low=30.0, top=199.0)).pattern.sized("back", "M")
    lower = shapely.Polygon(panel(low=30.0).outline)
    assert shapely.Polygon(back.outline).symmetric_difference(lower).area < 200.0 * 0.01
    assert np.ptp(back.edge("hem").points[:, 1]) < 1e-6
    assert len(back.outline) == 4


@pytest.mark.parametrize("fold", [None, "centre"])
def test_a_hem_of_a_piece_cut_like_its_lead_sinks_as_a_whole(fold: str | None) -> None:
    """Traced along the two edges that are sewn; its hem is free and goes parallel all the same."""
    pattern = sewn(
        {"front": panel(), "back": panel()},
        seam("side", "front.side", "back.side"),
        seam("waist", "front.waist", "back.waist"),
        folds={"back": fold} if fold else None,
    )
    back = sent(pattern, "front", panel(low=30.0)).pattern.sized("back", "M")
    assert back.edge("hem").points == pytest.approx(panel(low=30.0).edge("hem").points)
    assert len(back.outline) == 4


@pytest.mark.parametrize("fold", [None, "centre"])
def test_a_slanted_hem_is_slanted_on_a_piece_cut_like_its_lead(fold: str | None) -> None:
    """Laid on each other the two are one drawing: the lead shows that the far corner stays."""
    slanted = _piece(
        ("hem", np.array([(0.0, 0.0), (200.0, -30.0)])),
        ("side", np.array([(200.0, -30.0), (200.0, 600.0)])),
        ("waist", np.array([(200.0, 600.0), (0.0, 600.0)])),
        ("centre", np.array([(0.0, 600.0), (0.0, 0.0)])),
    )
    pattern = sewn(
        {"front": panel(), "back": panel()},
        seam("side", "front.side", "back.side"),
        seam("waist", "front.waist", "back.waist"),
        folds={"back": fold} if fold else None,
    )
    back = sent(pattern, "front", slanted).pattern.sized("back", "M")
    assert back.outline == pytest.approx(slanted.outline)


def test_a_waist_taken_in_turns_the_side_no_more_than_it_must() -> None:
    """The fade over a length f turns a straight line by 1.5 d/f, closed form, and makes no S."""
    arch = np.linspace(0.0, 1.0, 60)[:, None]
    side = (1 - arch) * (200.0, 0.0) + arch * (200.0, 600.0)
    side[:, 0] += 12.0 * np.sin(np.pi * arch[:, 0])
    skirt = panel()
    skirt = replace(
        skirt, edges=tuple(Edge("side", side) if e.name == "side" else e for e in skirt.edges)
    )
    pattern = sewn(
        {"bodice": panel(), "skirt": skirt},
        seam("join", "bodice.waist", "skirt.waist"),
    )
    new = sent(pattern, "bodice", panel(waist=8.0)).pattern.sized("skirt", "M")
    assert abs(new.edge("waist").length - 192.0) < 0.05
    old_line, line = side, new.edge("side").points
    shift = np.interp(np.linspace(0, 600, 61), line[:, 1], line[:, 0]) - np.interp(
        np.linspace(0, 600, 61), old_line[:, 1], old_line[:, 0]
    )
    x = 1.0 - np.linspace(0.0, 1.0, 61)
    assert shift == pytest.approx(-8.0 * (1 - x) ** 2 * (1 + x / 2), abs=0.05)
    assert (np.diff(shift) <= 1e-3).all()


def test_between_two_inner_marks_no_more_moves_than_was_asked() -> None:
    """A mouth in the middle of an edge, 3 mm longer: each mark gives half, along the edge."""
    marks = (Landmark("a", "side", (200.0, 250.0)), Landmark("b", "side", (200.0, 400.0)))
    back = replace(panel(), landmarks=marks)
    lead = _piece(
        ("low", np.array([(0.0, 0.0), (150.0, 0.0)])),
        ("right", np.array([(150.0, 0.0), (150.0, 80.0)])),
        ("top", np.array([(150.0, 80.0), (0.0, 80.0)])),
        ("left", np.array([(0.0, 80.0), (0.0, 0.0)])),
    )
    longer = _piece(
        ("low", np.array([(-1.5, 0.0), (151.5, 0.0)])),
        ("right", np.array([(151.5, 0.0), (150.0, 80.0)])),
        ("top", np.array([(150.0, 80.0), (0.0, 80.0)])),
        ("left", np.array([(0.0, 80.0), (-1.5, 0.0)])),
    )
    pattern = sewn({"bag": lead, "back": back}, seam("mouth", "bag.low", "back.side from a to b"))
    new = sent(pattern, "bag", longer).pattern.sized("back", "M")
    a, b = (new.landmark(name).point for name in "ab")
    assert a == pytest.approx((200.0, 248.5), abs=0.2)
    assert b == pytest.approx((200.0, 401.5), abs=0.2)
    assert b[1] - a[1] == pytest.approx(153.0, abs=0.05)
    assert (
        shapely.Polygon(new.outline).symmetric_difference(shapely.Polygon(back.outline)).area < 0.1
    )


def test_a_dart_stays_where_the_edge_is_only_taken_in_at_its_end() -> None:
    """The side of a waist with a dart comes in by 8 mm: legs and tip do not move."""
    marks = (
        Landmark("leg_1", "waist", (110.0, 600.0), "dart leg"),
        Landmark("leg_2", "waist", (90.0, 600.0), "dart leg"),
    )
    back = replace(
        panel(), landmarks=marks, darts=(Dart("dart", "waist", ("leg_1", "leg_2"), (100.0, 500.0)),)
    )
    band = _piece(
        ("low", np.array([(0.0, 0.0), (180.0, 0.0)])),
        ("right", np.array([(180.0, 0.0), (180.0, 40.0)])),
        ("top", np.array([(180.0, 40.0), (0.0, 40.0)])),
        ("left", np.array([(0.0, 40.0), (0.0, 0.0)])),
    )
    shorter = _piece(
        ("low", np.array([(8.0, 0.0), (180.0, 0.0)])),
        ("right", np.array([(180.0, 0.0), (180.0, 40.0)])),
        ("top", np.array([(180.0, 40.0), (8.0, 40.0)])),
        ("left", np.array([(8.0, 40.0), (8.0, 0.0)])),
    )
    pattern = sewn({"band": band, "back": back}, seam("join", "band.low", "back.waist"))
    new = sent(pattern, "band", shorter).pattern.sized("back", "M")
    assert new.edge("waist").length == pytest.approx(192.0, abs=0.01)
    assert new.landmarks == back.landmarks and new.darts == back.darts
    assert new.edge("waist").points[0] == pytest.approx([192.0, 600.0], abs=0.01)


@pytest.mark.parametrize("follow", ["length", "shape"])
@pytest.mark.parametrize("turned", [False, True])
def test_a_panel_taken_in_between_its_ends_gives_its_mate_no_lower_hem(
    follow: str, turned: bool
) -> None:
    """Taken in 8 mm at the waist level; the mate's ends stay within what the length asks."""
    t = np.linspace(0.0, 1.0, 80)[:, None]
    side = (1 - t) * (200.0, 0.0) + t * (200.0, 600.0)
    bent = side - np.column_stack([8.0 * np.sin(np.pi * t[:, 0]) ** 2, np.zeros(80)])
    drawn = replace(
        panel(), edges=tuple(Edge("side", bent) if e.name == "side" else e for e in panel().edges)
    )
    back = " reversed" if turned else ""
    pattern = sewn(
        {"front": panel(), "back": panel()}, seam("side", f"front.side{back}", f"back.side{back}")
    )
    new = sent(pattern, "front", drawn, follow=follow).pattern.sized("back", "M")
    gain = drawn.edge("side").length - 600.0
    assert abs(new.edge("side").length - 600.0 - gain) < 0.05
    for corner in (0, -1):
        moved = new.edge("side").points[corner] - panel().edge("side").points[corner]
        assert np.hypot(*moved) <= gain + 0.05
    middle = np.interp(300.0, new.edge("side").points[:, 1], new.edge("side").points[:, 0])
    assert middle == pytest.approx(192.0 if follow == "shape" else 200.0, abs=0.1)


@pytest.mark.parametrize("turned", [False, True])
def test_beyond_a_hold_both_ends_give_where_both_ends_of_the_lead_moved(turned: bool) -> None:
    """A side of two pieces, held at the hip in the upper one: the lower one gives at the hem."""

    def half(low: float, high: float) -> SizedPiece:
        return _piece(
            ("hem", np.array([(0.0, low), (200.0, low)])),
            ("side", np.array([(200.0, low), (200.0, high)])),
            ("waist", np.array([(200.0, high), (0.0, high)])),
            ("centre", np.array([(0.0, high), (0.0, low)])),
        )

    hip = {"hip": (0.0, 450.0)}
    upper = replace(half(300.0, 600.0), levels=hip)
    lead = replace(half(0.0, 600.0), levels=hip)
    drawn = replace(half(-20.0, 610.0), levels=hip)
    runs = ["lead.side"], ["lower.side", "upper.side"]
    if turned:
        runs = tuple([f"{text} reversed" for text in reversed(run)] for run in runs)
    join = Seam("side", *map(parse_run, runs), hold="hip")
    pattern = sewn({"lead": lead, "upper": upper, "lower": half(0.0, 300.0)}, join)
    # Given as it lies: a plain rectangle may be laid either end on.
    found = run(pattern, Replace("M", Given({"lead": drawn}))).pattern
    new = {name: found.sized(name, "M").edge("side") for name in ("upper", "lower")}
    assert new["upper"].length + new["lower"].length == pytest.approx(630.0, abs=0.01)
    assert new["lower"].length > 305.0 and new["upper"].length > 305.0
    assert (new["upper"].points[0] == (200.0, 300.0)).all()
    assert (new["lower"].points[-1] == (200.0, 300.0)).all()


def test_a_drawn_sleeve_stays_as_drawn_although_its_own_seam_is_matched() -> None:
    """A sleeve is sewn to itself along its length and at its top to the body, which was not drawn.

    1 mm wider at one side it has nothing to match: both sides are as long as before.  That its top
    is longer than the armhole is told, and left to who drew it.
    """
    pattern = sewn(
        {"body": panel(), "sleeve": panel()},
        seam("armhole", "body.waist", "sleeve.waist"),
        seam("underarm", "sleeve.side", "sleeve.centre reversed"),
    )
    outline = {e.name: e.points for e in panel().edges}
    wider = {
        "hem": outline["hem"] + np.array([(0.0, 0.0), (1.0, 0.0)]),
        "side": outline["side"] + np.array([1.0, 0.0]),
        "waist": outline["waist"] + np.array([(1.0, 0.0), (0.0, 0.0)]),
        "centre": outline["centre"],
    }
    drawn = _piece(*wider.items())
    found = sent(pattern, "sleeve", drawn)
    assert np.abs(found.pattern.sized("sleeve", "M").outline - drawn.outline).max() < 1e-6
    (told,) = [n for n in found.records["M"].warnings if n.where == "armhole"]
    assert "+1.00 mm" in told.text


def test_a_hem_that_sinks_leaves_the_line_of_a_shaped_centre_as_it_is() -> None:
    """Drawn on with a ruler: each point slides s along its line, and s^2 / 2r off it at most.

    By the fade of a free end half of the 30 mm arrive where the shape begins, radius 675 mm.
    """
    up = np.linspace(600.0, 200.0, 41)
    shaped = np.column_stack([6.0 - 6.0 * np.cos(2 * np.pi * (up - 200.0) / 400.0), up])
    centre = np.vstack([shaped, [(0.0, 0.0)]])
    back = replace(
        panel(),
        edges=tuple(Edge("centre", centre) if e.name == "centre" else e for e in panel().edges),
    )
    pattern = sewn(
        {"front": panel(), "back": back},
        seam("side", "front.side", "back.side"),
    )
    new = sent(pattern, "front", panel(low=30.0)).pattern.sized("back", "M")
    line = shapely.LineString([*centre, (0.0, -40.0)])
    points = shapely.points(new.edge("centre").points)
    assert new.edge("hem").points[:, 1] == pytest.approx(-30.0, abs=0.01)
    assert shapely.distance(points, line).max() < 15.6**2 / 2 / 675.0 + 0.02  # and the chords


def arched(low: float, bow: float, more: float) -> SizedPiece:
    """A panel with an arched side and two notches; `more` mm are added between them."""
    along = np.linspace(0.0, 600.0, 121)
    out = bow * np.sin(np.pi * along / 600.0)
    # A ripple of height h and length l is longer by (pi h)^2 / l in all, closed form.
    height = np.sqrt(max(more, 0.0) * 200.0) / np.pi
    out += np.where((along > 200.0) & (along < 400.0), height * np.sin(np.pi * along / 100.0), 0.0)
    side = np.column_stack([200.0 + out, along])
    side = np.vstack([[(200.0, -low)], side]) if low else side
    piece = panel(low=low)
    marks = [(f"at_{k}", side[np.abs(side[:, 1] - k).argmin()]) for k in (200, 400)]
    return replace(
        piece,
        edges=tuple(Edge("side", side) if e.name == "side" else e for e in piece.edges),
        landmarks=tuple(Landmark(n, "side", (float(x), float(y)), "notch") for n, (x, y) in marks),
    )


@pytest.mark.parametrize("more", [0.0, 0.012])
def test_notches_stay_where_the_stretch_between_them_is_long_enough(more: float) -> None:
    """A hem that sinks by 30 mm is not shared out among notches for a hundredth between them."""
    pattern = sewn(
        {"front": arched(0.0, 12.0, 0.0), "back": arched(0.0, 12.0, 0.0)},
        seam(
            "side",
            "front.side",
            "back.side",
            notches=(("front.at_200", "back.at_200"), ("front.at_400", "back.at_400")),
        ),
    )
    old = pattern.sized("back", "M")
    new = sent(pattern, "front", arched(30.0, 12.0, more)).pattern.sized("back", "M")
    assert new.edge("hem").points[:, 1] == pytest.approx(-30.0, abs=0.1)
    for name in ("at_200", "at_400"):
        assert new.landmark(name).point == pytest.approx(old.landmark(name).point, abs=0.1)
