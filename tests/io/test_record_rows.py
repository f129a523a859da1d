"""Rows of a record read from its file: the same again, or told with what is wrong."""

from __future__ import annotations

import copy
import dataclasses
import json
from collections.abc import Iterator
from typing import Any, get_args

import pytest

import propagate
from propagate.engine.record import ChangeKind, Record, as_plain
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
    Verdict,
    is_written,
)
from propagate.errors import FormatError
from propagate.io.record_json import read_record
from propagate.report.blend_text import blend_lines
from propagate.report.draw import draw
from propagate.report.page.build import report_page
from propagate.report.why import why_lines
from propagate.report.worksheet.derive import work_sheet
from tests.examples import part_of
from tests.io.test_schema import schema, validator
from tests.shared import demo

JOBS = {
    "slant_trouser": {"waist": "42", "hip": "46"},
    "scoop_skirt": {"natural_waist": "L", "seat": "S"},
}
GROUPS = ("seams", "openings", "stacks", "bands", "girths", "corners", "fairness")
JUNK = (None, 5, -1.5, True, "q", [], [3], {}, {"q": 1}, float("nan"), 10**400)
ROWS = {
    "check": Check,
    "opening": OpeningRow,
    "layer": LayerRow,
    "ride": RideRow,
    "girth": GirthRow,
    "top_corners": TopCorners,
    "fairness": FairnessRow,
    "match": Match,
}


@pytest.fixture(scope="module")
def results() -> dict[str, propagate.Result]:
    return {
        name: propagate.blend(demo(name), propagate.Blend(sizes)) for name, sizes in JOBS.items()
    }


def plain(record: Record) -> dict[str, Any]:
    """As it is written, without the old outlines, which are long."""
    short = tuple(dataclasses.replace(piece, before={}) for piece in record.pieces)
    found: dict[str, Any] = as_plain(dataclasses.replace(record, pieces=short))
    return {"format": 1, **found}


def read(value: dict[str, Any]) -> Record:
    return read_record(json.dumps(value), "record.json")


def unwritten(row: Any) -> list[Any]:
    return [getattr(row, item.name) for item in dataclasses.fields(row)
            if not is_written(item.metadata)]  # fmt: skip


@pytest.mark.parametrize("name", JOBS)
def test_read_again_every_row_has_its_type_and_the_fields_that_the_file_has_not(
    results: dict[str, propagate.Result], name: str
) -> None:
    record = results[name].record
    again = read(plain(record))
    assert plain(again) == plain(record)
    compared = 0
    for group in GROUPS:
        rows = list(zip(getattr(record, group), getattr(again, group), strict=True))
        for row, same in rows:
            assert type(row) is type(same)
            assert unwritten(same) == unwritten(row)
            compared += len(unwritten(row))
    assert compared > 40
    assert again.match is not None and type(again.match) is Match
    assert {change.kind for change in again.changes} <= set(ChangeKind) - {ChangeKind.UNTOLD}


def test_reader_and_schema_know_the_same_keys_of_rows() -> None:
    parts = schema("record")["$defs"]
    for name, row in ROWS.items():
        fields = [item for item in dataclasses.fields(row) if is_written(item.metadata)]
        assert list(parts[name]["properties"]) == [item.name for item in fields], name
        due = {item.name for item in fields
               if item.default is dataclasses.MISSING or not item.init}  # fmt: skip
        assert set(parts[name]["required"]) == due, name
    assert list(parts["band"]["properties"]) == [dataclasses.fields(BandRow)[-1].name]
    check = parts["check"]["properties"]
    assert check["verdict"]["enum"] == list(get_args(Verdict))
    changes = parts["body"]["properties"]["changes"]["items"]["properties"]
    assert changes["kind"]["enum"] == [str(kind) for kind in ChangeKind]


def places(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Where a value stands in a record: of lists the first and the last."""
    if path:
        yield path
    if isinstance(value, dict):
        for key, item in value.items():
            yield from places(item, (*path, key))
    elif isinstance(value, list):
        for k in sorted({0, len(value) - 1} if value else ()):
            yield from places(value[k], (*path, k))


def spoilt(value: dict[str, Any], path: tuple[Any, ...], junk: Any) -> dict[str, Any]:
    """A copy with something else in one place; `...` takes the key out."""
    value = copy.deepcopy(value)
    at: Any = value
    for step in path[:-1]:
        at = at[step]
    if junk is ...:
        del at[path[-1]]
    else:
        at[path[-1]] = junk
    return value


def shortened(value: dict[str, Any]) -> dict[str, Any]:
    """A record with the first and last row of each list, the corners of both kinds."""
    found = {
        key: item[:1] + item[1:][-1:] if isinstance(item, list) else item
        for key, item in value.items()
    }
    for piece in found["pieces"]:
        piece["edges"] = piece["edges"][:1]
    return {**found, "warnings": [{"where": "front", "text": "look"}]}


def test_what_is_damaged_is_refused_and_what_is_read_can_be_told(
    results: dict[str, propagate.Result],
) -> None:
    """Every key of a record in turn, replaced by what does not belong there or taken out."""
    result = results["slant_trouser"]
    whole = shortened(plain(result.record))
    refused, told = 0, 0
    every = (*JUNK, ...)
    for number, path in enumerate(places(whole)):
        # Each key is taken out of some rows, and gets each kind of junk in others.
        for junk in part_of((*every[number % len(every) :], *every[: number % len(every)]), 3):
            try:
                record = read(spoilt(whole, path, junk))
            except FormatError as error:
                refused += "record.json" in str(error)
                continue
            told += 1
            json.dumps(as_plain(record))
            blend_lines(propagate.Result(result.pattern, record))
    assert refused > 400
    assert told > 30


def test_a_number_that_is_none_is_told_with_its_row(results: dict[str, propagate.Result]) -> None:
    value = plain(results["slant_trouser"].record)
    value["openings"][0]["swing_deg"] = "a little"
    del value["girths"][0]["found_mm"]
    value["seams"][0]["verdict"] = "maybe"
    value["stacks"][0]["rides"][0]["off_line_mm"] = None
    value["edit"]["sizes"]["waist"] = 42
    with pytest.raises(FormatError) as caught:
        read(value)
    said = str(caught.value)
    assert "5 problems" in said
    for part in (
        "openings 'front_pocket', swing_deg: found 'a little' (text), expected a finite number",
        "'found_mm' is missing",
        "verdict: found 'maybe' (text), expected 'sews' or 'look' or 'does not sew'",
        "off_line_mm: found None",
        "edit, sizes, waist: found 42 (number), expected text",
    ):
        assert part in said, part


def of_before(value: dict[str, Any]) -> dict[str, Any]:
    """A record as it was written before changes had kinds."""
    changes = [{key: item for key, item in change.items() if key != "kind"}
               for change in value["changes"]]  # fmt: skip
    return {**value, "changes": changes}


def test_a_record_of_before_there_were_kinds_tells_the_same(
    results: dict[str, propagate.Result],
) -> None:
    result = results["slant_trouser"]
    value = {"format": 1, **as_plain(result.record)}
    validator("record").validate(of_before(value))
    validator("record").validate(value)
    old, new = (propagate.Result(result.pattern, read(one)) for one in (of_before(value), value))
    assert {change.kind for change in old.record.changes} == {ChangeKind.UNTOLD}
    assert blend_lines(old) == blend_lines(new)
    assert work_sheet(old) == work_sheet(new)
    assert report_page(old) == report_page(new)
    assert draw(old, "front") == draw(new, "front")
    for piece in result.pattern.pieces:
        assert why_lines(old, piece) == why_lines(new, piece)


def test_a_kind_of_a_later_version_is_passed_over(results: dict[str, propagate.Result]) -> None:
    value = plain(results["slant_trouser"].record)
    value["changes"][1]["kind"] = "pleated"
    assert read(value).changes[1].kind is ChangeKind.UNTOLD
    value["changes"][1]["kind"] = 5
    with pytest.raises(FormatError, match="kind: found 5"):
        read(value)


def test_corners_and_openings_that_fail_are_read_with_their_places() -> None:
    """By hand: an opening that no longer meets its layer, a corner whose end nobody told."""
    rows = [
        ("opening", "slant bag", "ends of front.mouth | bag.a to b"),
        ("notches", "side", "front.hip | back.hip"),
    ]
    numbers = {"first": 1.0, "second": 1.0, "ease": 0.0, "difference": 0.0, "tolerance": 1.0}
    value = {
        "format": 1, "edit": {"kind": "settle"}, "set_name": "s", "size": "M",
        "seams": [{"kind": k, "name": n, "what": w, **numbers, "verdict": "sews"}
                  for k, n, w in rows],
        "corners": [
            {"kind": "corner", "name": "side", "what": what, **numbers, "verdict": "look"}
            for what in ("a.x | b.y, at the end: 89.0° + 91.5°", "a.x | b.y")
        ],
    }  # fmt: skip
    record = read(value)
    opening, notches = record.seams
    assert (opening.relation, opening.part) == ("slant", "bag")
    assert opening.sides == ("ends of front.mouth", "bag.a to b")
    assert (notches.relation, notches.part) == ("side", "")
    assert notches.sides == ("front.hip", "back.hip")
    first, second = record.walked_corners
    assert (first.sides, first.end) == (("a.x", "b.y"), "end")
    assert (second.sides, second.end) == (("a.x", "b.y"), None)
