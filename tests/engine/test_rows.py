"""Rows of the record by hand: what each holds, and how the file has it."""

from __future__ import annotations

import dataclasses
from typing import Any

import pytest

import propagate
from propagate.engine.record import Change, ChangeKind, Record, as_plain
from propagate.engine.rows import (
    BandRow,
    Check,
    FairnessRow,
    GirthRow,
    LayerRow,
    Match,
    OpeningRow,
    RideRow,
    TopCorners,
)
from propagate.engine.state import State
from propagate.engine.walk import walk
from tests.shared import demo

SEAM = Check(
    "seam", "inseam", "back.inseam | front.inseam", 700.0, 706.0, 5.0, 1.0, 1.5, "look",
    relation="inseam", sides=("back.inseam", "front.inseam"),
)  # fmt: skip
WALKED = {
    "kind": "seam", "name": "inseam", "what": "back.inseam | front.inseam", "first": 700.0,
    "second": 706.0, "ease": 5.0, "difference": 1.0, "tolerance": 1.5, "verdict": "look",
    "cut_line_difference": None,
}  # fmt: skip
LAYER = LayerRow("layers", "bag", "42", (RideRow("top", "waist", 0.01),), 0.0, ok=True)

WRITTEN: dict[str, tuple[Any, dict[str, Any]]] = {
    "what was walked": (SEAM, WALKED),
    "a band's zone": (
        BandRow(*dataclasses.astuple(SEAM)[:10], before_mm=699.0),
        {**WALKED, "before_mm": 699.0},
    ),
    "a band's zone of before": (BandRow(*dataclasses.astuple(SEAM)[:10]), WALKED),
    "two corners": (
        TopCorners("side", "front + back", 91.0, 92.0, 180.0, 183.0, 3.0, ok=False),
        {
            "kind": "top corners", "name": "side", "what": "front + back", "first": 91.0,
            "second": 92.0, "wanted_sum": 180.0, "found_sum": 183.0, "difference": 3.0,
            "ok": False,
        },
    ),
    "an opening": (
        OpeningRow("slant", "front", "mouth", "42", 160.0, 160.0, 0.0, -1.25, 3.5, 0.0, 0.0, 0.0,
                   ok=True),
        {
            "opening": "slant", "piece": "front", "edge": "mouth", "size": "42",
            "before_mm": 160.0, "after_mm": 160.0, "difference_mm": 0.0, "swing_deg": -1.25,
            "moved_mm": 3.5, "slid_mm": 0.0, "across_gap_mm": 0.0, "side_gap_mm": 0.0, "ok": True,
        },
    ),
    "a layer": (
        LAYER,
        {
            "stack": "layers", "piece": "bag", "size": "42",
            "rides": [{"edge": "top", "rides_on": "waist", "off_line_mm": 0.01, "added_mm": 0.0,
                       "trimmed_mm": 0.0}],
            "sticks_out_mm2": 0.0, "ok": True,
        },
    ),
    "a girth without a chart": (
        GirthRow("hip", "46", 1000.0, 1000.5, 0.5, None, None, ok=False),
        {
            "girth": "hip", "size": "46", "wanted_mm": 1000.0, "found_mm": 1000.5,
            "difference_mm": 0.5, "body_mm": None, "ease_mm": None, "ok": False,
        },
    ),
    "a straight line": (
        FairnessRow("front/side", 0.0, 0, 0, 1, 1, None, 900.0, None, 0.0, ok=True),
        {
            "edge": "front/side", "join_deg": 0.0, "inflections": 0, "inflections_allowed": 0,
            "peaks": 1, "peaks_of_parents": 1, "smallest_radius_mm": None,
            "parents_radius_mm": 900.0, "plain_arc_radius_mm": None, "curvature_ratio": 0.0,
            "ok": True,
        },
    ),
    "a match": (
        Match("side", 2.0, 0.1, largest_deviation_mm=0.3),
        {"seam": "side", "apart_before_mm": 2.0, "drawn_into_source_mm": 0.1,
         "largest_deviation_mm": 0.3},
    ),
    "a match of a revision": (
        Match("side", 2.0, largest_deviation_mm=0.3),
        {"seam": "side", "apart_before_mm": 2.0, "largest_deviation_mm": 0.3},
    ),
    "a change": (
        Change("front.side", ChangeKind.CUT_APART, "cut apart from 'full_front'", "edit"),
        {"id": "front.side", "kind": "cut apart", "what": "cut apart from 'full_front'",
         "cause": "edit"},
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", WRITTEN)
def test_a_row_is_written_key_by_key(name: str) -> None:
    row, written = WRITTEN[name]
    assert as_plain(row) == written
    assert list(as_plain(row)) == list(written)


def test_a_bag_tells_its_hand_room_and_a_revised_layer_whether_it_fits() -> None:
    bag = dataclasses.replace(LAYER, area_before_mm2=1.0, area_after_mm2=2.0, depth_before_mm=3.0,
                              depth_after_mm=4.0)  # fmt: skip
    told = ["area_before_mm2", "area_after_mm2", "depth_before_mm", "depth_after_mm"]
    assert list(as_plain(bag))[6:] == told
    assert list(as_plain(dataclasses.replace(LAYER, fits=False)))[6:] == ["fits"]


def test_a_record_without_a_match_has_an_empty_one() -> None:
    record = Record({"kind": "settle"}, "set", "M")
    assert as_plain(record)["match"] == {}
    assert record.options.kind == "settle"
    assert (record.options.pieces, record.options.sizes, record.options.rise) == ((), {}, None)


def test_corners_are_told_apart_by_their_type() -> None:
    top = TopCorners("side", "front + back", 90.0, 90.0, 180.0, 180.0, 0.0, ok=True)
    record = Record({}, "set", "M", corners=(SEAM, top))
    assert record.walked_corners == (SEAM,)
    assert record.top_corners == (top,)


def test_the_walk_tells_sides_ends_and_parts_in_fields() -> None:
    """Against the relations of the set, which the words are made of as well."""
    pattern = demo("slant_trouser")
    relations, found = pattern.relations, walk(pattern)
    for check in found.of("seam"):
        seam = relations.seams[check.relation]
        assert check.sides == tuple(" + ".join(map(str, run)) for run in (seam.lead, seam.follow))
    pairs = {(s.name, pair) for s in relations.seams.values() for pair in s.notches}
    told = {(check.relation, check.sides) for check in found.of("notches")}
    assert told and told <= pairs
    corners = {(check.relation, check.end): check.sides for check in found.of("corner")}
    assert corners == {(s.name, end): s.crossing[end] for s in relations.seams.values()
                       for end in s.crossing}  # fmt: skip
    zones = {(check.relation, check.part) for check in found.of("band")}
    assert zones == {(band.name, zone.name) for band in relations.bands.values()
                     for zone in band.zones if zone.run}  # fmt: skip
    layers = {check.part for check in found.of("opening") if check.part}
    assert layers <= {layer.piece for layer in relations.stacks["front_pocket_layers"].layers}
    assert layers


def test_only_an_edge_that_follows_its_corner_is_still_to_be_matched(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The kind decides, whatever the words say."""
    from propagate.engine.edits.settle import Settle
    from propagate.engine.state import start_state

    pattern = demo("slant_trouser")
    job = Settle("42").job(pattern)
    drawn = dataclasses.replace(Settle("42").draw(job), changes=())
    for kind in ChangeKind:
        state: State = start_state(job, drawn)
        state.change("back.side", kind, "follows its corner", None)
        assert state.decided("back.side") is (kind is not ChangeKind.FOLLOWS_CORNER), kind


KINDS = {
    "edit": "edit",
    "level:waist": "level size",
    "full_front/side": "drawn",
    "full_front/waist": "drawn",
    "front.side": "cut apart",
    "front.mouth": "opening laid",
    "facing.waist": "re-seated",
    "under_bag.waist": "re-seated",
    "waistband.*": "taken in size",
}


def test_what_happened_in_a_blend_has_its_kind() -> None:
    pattern = demo("slant_trouser")
    record = propagate.blend(pattern, propagate.Blend({"waist": "42", "hip": "48"})).record
    found = {change.id: str(change.kind) for change in record.changes}
    assert {key: found.get(key) for key in KINDS} == KINDS
    assert ChangeKind.UNTOLD not in found.values()
