"""The wording follows the record: what changed is said once, what did not is not said."""

from __future__ import annotations

import re
from collections import Counter

import pytest
import shapely
import shapely.ops

import propagate
from propagate.errors import EditError
from propagate.report.worksheet.value import WorkSheet
from tests.shared import blended, demo, main_job
from tests.worksheet.conftest import on_blends, sheet_of

_MM = re.compile(r"(\d+\.\d) mm")
_DEG = re.compile(r"(\d+\.\d)°")


def changed_edges(result: propagate.Result) -> list[tuple[str, str]]:
    return [
        (piece.piece, edge.edge)
        for piece in result.record.pieces
        for edge in piece.edges
        if edge.status != "same"
    ]


def texts(sheet: WorkSheet) -> str:
    parts = [step.title for step in sheet.steps]
    parts += [said.text for step in sheet.steps for said in step.sentences]
    parts += [edge.text for edge in sheet.edges]
    return "\n".join(parts)


@on_blends
def test_each_changed_edge_once_and_unchanged_pieces_not_at_all(result: propagate.Result) -> None:
    sheet = sheet_of(result)
    assert Counter((e.piece, e.edge) for e in sheet.edges) == Counter(changed_edges(result))
    changed = {piece for piece, _ in changed_edges(result)}
    assert {piece for step in sheet.steps for piece in step.pieces} == changed
    said = texts(sheet)
    for name, info in result.pattern.info.items():
        word = rf"(?<!\w){re.escape(info.title)}(?!\w)"
        if name in changed:
            assert re.search(word, said)
        elif not any(info.title in result.pattern.info[other].title for other in changed):
            assert not re.search(word, said), info.title
            assert not re.search(rf"(?<!\w){re.escape(name)}(?!\w)", said), name
    assert [step.number for step in sheet.steps] == list(range(1, len(sheet.steps) + 1))


@on_blends
def test_every_piece_is_taken_out_or_cut_as_drawn_in_the_record_s_size(
    result: propagate.Result,
) -> None:
    sheet = sheet_of(result)
    changed = {piece for piece, _ in changed_edges(result)}
    sizes = {change.piece: change.size for change in result.record.pieces}
    recut = {row.piece: row.size for row in sheet.take_out if row.purpose == "to change"}
    assert recut == {piece: sizes[piece] for piece in changed}
    assert {row.piece for row in sheet.cut_list} == set(result.pattern.pieces) - changed
    for row in sheet.cut_list:
        assert row.size == sizes.get(row.piece, list(result.record.edit["sizes"].values())[1])
        info = result.pattern.info[row.piece]
        assert (row.cut, row.pair, row.fabric) == (info.cut, info.pair, info.fabric)


@on_blends
def test_numbers_in_the_texts_are_the_measures_beside_them(result: propagate.Result) -> None:
    sheet = sheet_of(result)
    record = {(p.piece, e.edge): e for p in result.record.pieces for e in p.edges}
    for step in sheet.steps:
        for said in step.sentences:
            known = {f"{abs(value):.1f}" for _, value in said.measures}
            assert set(_MM.findall(said.text)) | set(_DEG.findall(said.text)) <= known, said
    for work in sheet.edges:
        row = record[work.piece, work.edge]
        assert (work.before_mm, work.after_mm) == (row.before_mm, row.after_mm)
        known = {f"{row.before_mm:.1f}", f"{row.after_mm:.1f}"}
        known |= {f"{work.kept_start_mm:.1f}", f"{work.kept_end_mm:.1f}", f"{work.mouth_mm:.1f}"}
        for mm in (mm for part in work.kept_between_mm for mm in part):
            known |= {f"{mm:.1f}", f"{row.before_mm - mm:.1f}"}
        for widest, mm in ((work.trimmed, row.trimmed_mm), (work.added, row.added_mm)):
            assert (widest is None) == (mm < 0.2)
            if widest is not None:
                assert widest.mm == mm
                far = min(widest.along_mm, row.before_mm - widest.along_mm)
                known |= {f"{mm:.1f}", f"{abs(far):.1f}"}
        assert set(_MM.findall(work.text)) <= known, work.text


@on_blends
def test_checks_are_the_record_s(result: propagate.Result) -> None:
    sheet, record = sheet_of(result), result.record
    traced = [c for c in sheet.checks if c.second_what == "as the top was traced"]
    assert bool(traced) == (record.edit["top"] == "traced")
    found = [
        (c.kind, c.name, c.first, 180.0 if c in traced else c.second, c.ease) for c in sheet.checks
    ]
    assert all(c.first == c.second for c in traced)
    wanted = [
        (row.kind, row.name, row.first, row.second, row.ease)
        for row in (*record.seams, *record.bands)
    ]
    wanted += [("opening", r.opening, r.before_mm, r.after_mm, 0.0) for r in record.openings]
    wanted += [("corner", r.name, r.first, r.second, 0.0) for r in record.walked_corners]
    wanted += [("girth", r.girth, r.found_mm, r.wanted_mm, 0.0) for r in record.girths]
    assert found == wanted
    told = dict(m for s in sheet.steps for said in s.sentences for m in said.measures)
    for swing in record.openings:
        if abs(swing.swing_deg) >= 0.05:
            assert told["swing_deg"] == swing.swing_deg
            assert told["moved_mm"] == swing.moved_mm


def test_the_order_of_hand_work() -> None:
    sheet = sheet_of(main_job("slant_trouser"))
    assert [(step.title, step.way) for step in sheet.steps] == [
        ("Take out the pieces", ""),
        ("Change Back", ""),
        ("Change Front", ""),
        ("Change Pocket facing", ""),
        ("Change Under bag", ""),
        ("Change Top bag", ""),
        ("Add the allowances and cut", ""),
        ("Tape Front and Pocket facing together, as sewn", "by tracing"),
        ("Lay the other size over", "by tracing"),
        ("True the corners", "by tracing"),
        ("Swing the opening ‘front pocket’", "by tracing"),
        ("Re-seat the layers ‘front pocket layers’", "by tracing"),
        ("Cut apart along the split line", "by tracing"),
    ]
    assert "trial garment" in " ".join(sheet.cautions)
    assert "their own standards" in " ".join(sheet.cautions)


def zone_before(result: propagate.Result, zone_name: str) -> float:
    """Length of a waistband zone in the size that the band was taken from, by shapely."""
    taken = next(c.size for c in result.record.pieces if c.piece == "waistband")
    band = result.pattern.relations.bands["waistband_fit"]
    zone = next(z for z in band.zones if z.name == zone_name)
    piece = demo("slant_trouser").sized("waistband", taken)
    line = shapely.LineString(piece.edge(band.sewn).points)
    begin, end = (
        line.project(shapely.Point(piece.landmark(name).point))
        for mark in (zone.begin, zone.end)
        for name in [f"{band.sewn}.{mark}" if mark in ("start", "end") else mark]
    )
    return float(abs(end - begin))


def test_a_band_is_told_zone_by_zone() -> None:
    """A pocket of the lower size moves the zones of the waistband."""
    result = blended("slant_trouser", "38", "44", pocket="lower")
    step = next(s for s in sheet_of(result).steps if s.title == "Fit Waistband")
    zones = [dict(said.measures)["length_mm"] for said in step.sentences[1:]]
    assert len(zones) == 7
    for row in result.record.bands:
        zone = row.part
        index = [z.name for z in result.pattern.relations.bands["waistband_fit"].zones].index(zone)
        assert abs(zones[index] - row.first) < 1e-6
        old = zone_before(result, zone)
        sentence = step.sentences[1 + index]
        assert dict(sentence.measures)["gain_mm"] == pytest.approx(row.first - old, abs=1e-4)
        gain = row.first - old
        told = f"{abs(gain):.1f} mm {'longer' if gain > 0 else 'shorter'}, {row.first:.1f} mm"
        assert told in sentence.text or f"{row.first:.1f} mm, as before" in sentence.text
    assert "stays as it is: do not cut it" in step.sentences[0].text
    assert [edge.piece for edge in step.edges] == ["waistband"] * len(step.edges)


def test_a_rise_in_millimetres_and_a_leg_size_are_told() -> None:
    sheet = sheet_of(blended("slant_trouser", "42", "46", leg="40", rise=250.0))
    said = texts(sheet)
    assert "is 250.0 mm from the crotch level" in said
    assert "size 40 is the guide" in said
    over = {(row.piece, row.size) for row in sheet.take_out if row.purpose == "to lay over"}
    assert {("front", "42"), ("front", "40"), ("back", "42"), ("back", "40")} <= over


def test_nothing_changed_is_nothing_to_draw() -> None:
    with pytest.raises(EditError, match=r"nothing to draw.*in which a piece changed"):
        sheet_of(blended("scoop_skirt", "M", "M"))


def test_a_traced_top_is_not_to_be_redrawn() -> None:
    traced = texts(sheet_of(blended("slant_trouser", "50", "44", top="traced")))
    assert "was traced, as asked" in traced
    assert "redraw it smoothly there" not in traced
    assert "redraw it smoothly there" in texts(sheet_of(main_job("slant_trouser")))
