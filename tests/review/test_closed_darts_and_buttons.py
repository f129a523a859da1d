"""What an edit did on purpose is no slip: a dart in a side, a row that got one more button."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np

import propagate
from propagate import NamedEdit, SwingDart, apply_edits
from propagate.pattern.buttons import Buttons
from propagate.pattern.grain import Grain
from propagate.pattern.info import Allowance
from propagate.pattern.model import Dart, Edge, Landmark, Mark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import PieceInfo, Seam, parse_run
from propagate.report.revise_text import _told_warnings as told_warnings
from tests.shared import demo


def test_a_level_below_a_dart_in_the_side_meets_its_mate() -> None:
    """As it is sewn the hip lies where it lay; along the line, lower by the mouth of the dart."""
    skirt = demo("scoop_skirt")
    swing = propagate.SwingDart(dart="skirt_back.back_dart", into="flank", at="470mm")
    result = propagate.run(skirt, swing).pattern
    back = result.sized("skirt_back", result.base)
    (dart,) = back.darts
    mouth = np.hypot(*np.subtract(*(back.landmark(leg).point for leg in dart.legs)))
    assert dart.edge == "flank" and mouth > 12.0
    assert [one.text for one in propagate.review(result) if "level" in one.text] == []


def marked_front(buttons: dict[str, int]) -> PatternSet:
    """A front edge with 100 mm less than room for the buttons of each size, evenly spaced."""
    nest = {}
    for i, (size, count) in enumerate(buttons.items()):
        high = 500.0 + 10.0 * i
        places = np.linspace(20.0, high - 100.0, count)
        corners = [(0.0, 0.0), (200.0 + 10.0 * i, 0.0), (200.0 + 10.0 * i, high), (0.0, high)]
        nest[size] = SizedPiece(
            tuple(
                Edge(name, np.array([corners[k], corners[(k + 1) % 4]]))
                for k, name in enumerate(("hem", "side", "top", "edge"))
            ),
            Grain((100.0, 10.0), (100.0, 90.0)),
            drills=tuple(
                Mark(f"button_{k + 1}", (15.0, high - place)) for k, place in enumerate(places)
            ),
            levels={"waist": (0.0, 200.0)},
        )
    row = Buttons("row", (parse_run("front.edge"),), ("button",), 20.0, 100.0, 110.0)
    return PatternSet(
        name="front",
        sizes=tuple(buttons),
        base="M",
        lay_on="waist",
        pieces={"front": Piece("front", nest)},
        info={"front": PieceInfo("front", allowance=Allowance(10.0))},
        relations=Relations(buttons={"row": row}),
    )


def told(pattern: PatternSet) -> list[str]:
    return [one.text for one in propagate.review(pattern) if "button" in one.text]


def test_a_row_with_one_more_button_in_the_largest_size_is_no_slip() -> None:
    """There are 380, 390 and 400 mm in four gaps, then 410 in five, as the relation says."""
    pattern = marked_front({"S": 5, "M": 5, "L": 5, "XL": 6})
    assert told(pattern) == []


def test_a_button_that_slipped_in_a_row_as_long_in_every_size_is_told() -> None:
    pattern = marked_front({"S": 5, "M": 5, "L": 5, "XL": 5})
    assert told(pattern) == []
    nest = dict(pattern.pieces["front"].nest)
    drills = [
        replace(m, point=(m.point[0], m.point[1] + 30.0 * (m.name == "button_3")))
        for m in nest["L"].drills
    ]
    nest["L"] = replace(nest["L"], drills=tuple(drills))
    assert "button_3" in told(replace(pattern, pieces={"front": Piece("front", nest)}))[0]


def shoulders() -> PatternSet:
    """A front with a dart in its shoulder on a back of the same side, a dart of its own in it."""
    nests: dict[str, dict[str, SizedPiece]] = {"front": {}, "back": {}}
    for i, size in enumerate(("S", "M", "L")):
        wide = 200.0 + 10.0 * i
        for name, mouth, narrower in (("front", 30.0, 0.0), ("back", 10.0, 20.0)):
            out, width = wide - narrower, mouth + i
            x = [out, out / 2 + width / 2, out / 2 - width / 2, 0.0]
            corners = [(0.0, 0.0), (out, 0.0), (out, 400.0), (0.0, 400.0)]
            marks = tuple(
                Landmark(leg, "top", (x[k + 1], 400.0), "dart leg")
                for k, leg in enumerate(("first", "second"))
            )
            nests[name][size] = SizedPiece(
                tuple(
                    Edge(edge, np.array([corners[k], corners[(k + 1) % 4]]))
                    for k, edge in enumerate(("hem", "side", "top", "centre"))
                ),
                Grain((50.0, 10.0), (50.0, 90.0)),
                marks,
                (Dart(f"{name}_dart", "top", ("first", "second"), (out / 2, 250.0)),),
                levels={"waist": (0.0, 80.0)},
            )
    seams = {
        name: Seam(name, parse_run(f"front.{edge}"), parse_run(f"back.{edge}"), ease=ease)
        for name, edge, ease in (("side_seam", "side", 0.0), ("shoulder_seam", "top", 0.0))
    }
    return PatternSet(
        name="shoulders",
        sizes=("S", "M", "L"),
        base="M",
        lay_on="waist",
        pieces={name: Piece(name, nest) for name, nest in nests.items()},
        info={name: PieceInfo(name, allowance=Allowance(10.0)) for name in nests},
        relations=Relations(seams=seams),
    )


def test_a_back_with_a_dart_of_its_own_is_not_called_cut_like_its_front() -> None:
    """It is told once for the edit, and where a dart went and came back each size is named once."""
    swings = [
        NamedEdit("there", SwingDart(dart="front.front_dart", into="side", at="300mm")),
        NamedEdit("back", SwingDart(dart="front.front_dart", into="top", at="100mm")),
    ]
    once = apply_edits(shoulders(), swings[:1])
    said = [notice.text for notice in once.records["M"].warnings if notice.where == "back"]
    assert len(said) == 1 and "kept its own ('back_dart')" in said[0]
    for line in told_warnings(apply_edits(shoulders(), swings)):
        sizes = re.findall(r"\b[SML]\b", line.rpartition("(")[2])
        assert len(sizes) == len(set(sizes))
