"""Edits on sizes that nobody drew: the size is drawn first, stands in the set, and is edited."""

from __future__ import annotations

import json

import pytest
import shapely
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

import propagate
from propagate import Amount, ChangeEase, EditError, Lower, NamedEdit, TakeIn, apply_edits
from propagate.cli import app
from propagate.pattern.ease import Ease, ease_in_size
from tests.engine import measure
from tests.examples import examples
from tests.io.test_schema import validator
from tests.shared import demo

HEM = "full_front.hem"
CLOSER = TakeIn(edge="full_front.side", by=Amount(mm=10), at="waist", to=("hip",), both=True)


def apart_mm(first: propagate.PatternSet, second: propagate.PatternSet, size: str) -> float:
    """How far any edge lies from its like, mm."""
    return max(
        shapely.LineString(edge.points).hausdorff_distance(
            shapely.LineString(second.sized(name, size).edge(edge.name).points)
        )
        for name in first.pieces
        for edge in first.sized(name, size).edges
    )


def test_the_size_stands_in_the_nest_and_is_edited_alone(tmp_path) -> None:
    old = demo("slant_trouser")
    # a trued waist line is a little longer: tests/engine/test_truing.py
    found = apply_edits(old, [NamedEdit("closer", CLOSER)], sizes=("43.5",), corners="left")
    assert found.pattern.sizes == ("36", "38", "40", "42", "43.5", "44", "46", "48", "50", "52")
    assert list(found.records) == ["43.5"] and found.sews
    for name in old.pieces:
        for size in old.sizes:
            assert found.pattern.sized(name, size) is old.sized(name, size)
    drawn = propagate.with_between_size(old, "43.5")
    girth = old.relations.girths["waist"]
    was, now = (measure.girth(one, girth, "43.5") for one in (drawn, found.pattern))
    assert was - now == pytest.approx(40.0, abs=0.1)  # four times 10 mm
    again = apply_edits(drawn, [NamedEdit("closer", CLOSER)], sizes=("43.5",), corners="left")
    assert apart_mm(again.pattern, found.pattern, "43.5") == 0.0
    record = found.records["43.5"]
    row = {"first": "42", "second": "44", "share": 0.75, "settled_mm": 0.0}
    assert record.edit["between"] == {"43.5": row}
    assert "43.5 lies between 42 and 44, 0.75 of the way" in record.changes[0].what
    propagate.save(found.pattern, tmp_path / "out")
    read = propagate.load(tmp_path / "out")
    assert read.sizes == found.pattern.sizes
    assert apart_mm(read, found.pattern, "43.5") == 0.0


def test_one_edit_in_one_size_between_is_that_size_of_the_set() -> None:
    old = demo("scoop_skirt")
    edit = Lower(edge="full_front.top", by=Amount(mm=4), at="start", to=("end",), size="S+0.4")
    alone = propagate.run(old, edit)
    found = apply_edits(old, [NamedEdit("lower", edit)], sizes=("M-0.6",))
    assert alone.record.size == "S+0.4" and list(found.records) == ["S+0.4"]
    assert alone.record.options.between == found.records["S+0.4"].options.between
    assert apart_mm(alone.pattern, found.pattern, "S+0.4") == 0.0


@examples(4)
@given(
    share=st.integers(1, 19).map(lambda k: k / 20),
    amounts=st.tuples(st.integers(5, 20), st.integers(5, 20)),
)
def test_edited_between_lies_between_the_edited(share: float, amounts: tuple[int, int]) -> None:
    """A hem that is lowered parallel goes straight, and so does a size between: they commute."""
    old = demo("slant_trouser")
    by = Amount(sizes=(("42", float(amounts[0])), ("44", float(amounts[1]))))
    edits = [NamedEdit("longer", Lower(edge=HEM, by=by))]
    size = f"{42 + 2 * share:g}"
    first = apply_edits(old, edits, sizes=(size,))
    both = apply_edits(old, edits, sizes=("42", "44")).pattern
    assert first.sews
    assert apart_mm(first.pattern, propagate.with_between_size(both, size), size) < 0.05
    lowered = amounts[0] + share * (amounts[1] - amounts[0])
    assert f"{lowered:g} mm in size {size}" in first.records[size].changes[0].what


def test_an_ease_by_size_lies_between_too() -> None:
    old = demo("scoop_skirt")
    to = Ease(sizes=(("S", 3.0), ("M", 5.0)))
    edit = NamedEdit("eased", ChangeEase(seam="belt_fit.right_back", to=to))
    found = apply_edits(old, [edit], sizes=("S+0.5",))
    assert found.sews
    (zone,) = (z for z in found.pattern.relations.bands["belt_fit"].zones if z.name == "right_back")
    said = {size: ease_in_size(zone.ease, size) for size in found.pattern.sizes}
    assert said == {**dict.fromkeys(old.sizes, 3), "S+0.5": 4.0}


def test_what_cannot_be_is_refused() -> None:
    old = demo("slant_trouser")
    edits = [NamedEdit("closer", CLOSER)]
    with pytest.raises(EditError, match="the nearest that can be is '54'"):
        apply_edits(old, edits, sizes=("57",))
    with pytest.raises(propagate.UnknownName, match="no size 'M'"):
        apply_edits(old, edits, sizes=("M",))
    lone = NamedEdit("low", Lower(edge=HEM, by=Amount(sizes=(("42", 5.0),))))
    with pytest.raises(EditError, match=r"expected one for size '43\.5' too"):
        apply_edits(old, [lone], sizes=("43.5",))
    hem = NamedEdit("hem", propagate.Allow(edge="back.hem", to=Amount(mm=30)))
    with pytest.raises(EditError, match="holds for every size"):
        apply_edits(old, [hem], sizes=("43.5",))


def test_a_file_names_sizes_between_and_one_beyond_is_warned_of(tmp_path) -> None:
    file, out = tmp_path / "edits.toml", tmp_path / "out"
    file.write_text(
        'format = 1\nsizes = ["110+0.5", "119"]\n[[edit]]\nname = "closer"\ndo = "take-in"\n'
        'edge = "upper_front.side"\nby = "4mm"\nat = "waist"\nto = "chest"\nboth = true\n',
        encoding="utf-8",
    )
    gilet = str(propagate.demo_path("workshop_gilet"))
    result = CliRunner().invoke(app.cli, ["apply", gilet, str(file), "-o", str(out)])
    text = " ".join(result.output.split())
    assert result.exit_code == 0, text
    assert "changed in size 114, 119; 114 lies between 110 and 118, 0.5 of the way" in text
    assert "size 119: nobody drew it: it lies 0.125 of a step beyond 118" in text
    told = json.loads((out / "revised.json").read_text(encoding="utf-8"))
    validator("revised").validate(told)
    assert list(told["records"]) == ["114", "119"]
    assert told["records"]["119"]["edit"]["between"]["119"]["first"] == "110"
    read = propagate.load(out)
    assert read.sizes[-3:] == ("114", "118", "119")
    assert propagate.load_result(out, "114").sews and propagate.walk(read, "119").sews
