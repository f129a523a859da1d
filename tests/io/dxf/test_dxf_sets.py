"""A set whose geometry is a DXF: the same answers, the same bytes, clear errors.

Lengths and likenesses are measured with shapely, the written files read with ezdxf.
"""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from shapely.geometry import LineString

import propagate
from propagate.engine.revise import revise
from propagate.engine.walk import walk
from propagate.errors import FormatError, InvalidSet, OutputError
from propagate.io import set_toml
from propagate.io.begin import read_style
from propagate.io.convert import write_style
from propagate.io.dxf import WriteOptions, write
from propagate.io.folder import load, reading_of, save
from propagate.io.origin import origin_of
from propagate.io.output import LIST_NAME, write_folder
from propagate.pattern.model import Edge, Piece
from propagate.pattern.patternset import PatternSet
from tests.io.dxf.test_write_back import entities
from tests.shared import demo, demo_in_few

JOBS = {
    "slant_trouser": {"waist": "36", "hip": "42"},
    "scoop_skirt": {"natural_waist": "M", "seat": "3XL"},
}
GILET = propagate.demo_path("workshop_gilet")
CASES = [(name, form) for name in JOBS for form in ("dxf", "dxf-rules")]


def as_drawn_set(folder: Path, source: Path, form: str) -> Path:
    """Export a set, and let its relations file name the DXF."""
    folder.mkdir()
    write_style(load(source), folder / "style.dxf", form)
    text = (source / "set.toml").read_text("utf-8")
    text = re.sub(r"^base = .*$", r'\g<0>\ngeometry = "style.dxf"', text, count=1, flags=re.M)
    (folder / "set.toml").write_text(text, encoding="utf-8", newline="\n")
    return folder


@pytest.fixture(scope="module")
def sets(tmp_path_factory: pytest.TempPathFactory) -> dict[tuple[str, str], Path]:
    base = tmp_path_factory.mktemp("sets")
    for name in JOBS:
        save(demo_in_few(name), base / name)
    return {
        (name, form): as_drawn_set(base / f"{name}_{form}", base / name, form)
        for name, form in CASES
    }


loaded = cache(load)
"""A set that no test writes to, loaded once."""


def files(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and path.name != LIST_NAME
    }


def copied(folder: Path, source: Path = GILET) -> Path:
    """A set with nothing beside it but its own files."""
    folder.mkdir(parents=True)
    for path in source.iterdir():
        if path.suffix in (".dxf", ".rul") or path.name == "set.toml":
            shutil.copy(path, folder)
    return folder


def with_text(folder: Path, change: Callable[[str], str]) -> Path:
    file = folder / "set.toml"
    file.write_text(change(file.read_text("utf-8")), encoding="utf-8", newline="\n")
    return folder


def line(edge: Edge) -> LineString:
    return LineString(np.asarray(edge.points))


# ------------------------------------------------------------------------ the same answers


@pytest.mark.parametrize("case", CASES)
def test_every_check_of_a_walk_measures_the_same(
    sets: dict[tuple[str, str], Path], case: tuple[str, str]
) -> None:
    """Within 0.01 mm and 0.2 degrees; measured: 0.005 mm, 0.08 degrees at most."""
    drawn, own = loaded(sets[case]), demo_in_few(case[0])
    assert list(drawn.pieces) == list(own.pieces)
    assert drawn.sizes == own.sizes
    for size in own.sizes:
        a, b = walk(own, size, cut_lines=False), walk(drawn, size, cut_lines=False)
        assert [(c.kind, c.name, c.verdict) for c in a.checks] == [
            (c.kind, c.name, c.verdict) for c in b.checks
        ]
        for one, two in zip(a.checks, b.checks, strict=True):
            within = 0.2 if one.kind == "corner" else 0.01
            assert abs(one.first - two.first) <= within
            assert abs(one.second - two.second) <= within


@pytest.mark.parametrize("case", CASES)
def test_a_blend_gives_the_same_pieces(
    sets: dict[tuple[str, str], Path], case: tuple[str, str]
) -> None:
    """Within 0.02 mm in length and place; measured: 0.0136 mm at most."""
    name, _ = case
    a = propagate.blend(demo_in_few(name), propagate.Blend(JOBS[name]))
    b = propagate.blend(loaded(sets[case]), propagate.Blend(JOBS[name]))
    assert a.sews == b.sews

    def changed(result: propagate.Result) -> list[object]:
        return [
            (p.piece, [e.edge for e in p.edges if e.status != "same"]) for p in result.record.pieces
        ]

    assert changed(a) == changed(b)
    size = a.pattern.base
    for piece in a.pattern.pieces:
        for edge in a.pattern.sized(piece, size).edges:
            other = b.pattern.sized(piece, size).edge(edge.name)
            assert abs(line(edge).length - line(other).length) <= 0.02, (piece, edge.name)
            assert line(edge).hausdorff_distance(line(other)) <= 0.02, (piece, edge.name)


def test_the_relations_and_the_information_come_from_the_relations_file(
    sets: dict[tuple[str, str], Path],
) -> None:
    own = demo_in_few("scoop_skirt")
    drawn = loaded(sets["scoop_skirt", "dxf-rules"])
    assert drawn.relations == own.relations
    assert dict(drawn.info) == dict(own.info)
    assert drawn.chart == own.chart


# ------------------------------------------------------------------------------- the bytes


@pytest.mark.parametrize("case", CASES)
def test_an_untouched_set_is_saved_byte_for_byte(
    tmp_path: Path, sets: dict[tuple[str, str], Path], case: tuple[str, str]
) -> None:
    save(loaded(sets[case]), tmp_path / "out")
    assert files(tmp_path / "out") == files(sets[case])


def test_the_demo_set_is_saved_byte_for_byte_under_its_own_names(tmp_path: Path) -> None:
    source = copied(tmp_path / "in")
    (source / "workshop_gilet.rul").rename(source / "workshop_gilet.RUL")
    written = save(load(source), tmp_path / "out")
    assert files(tmp_path / "out") == files(source)
    assert set(written.files) == {"set.toml", "workshop_gilet.dxf", "workshop_gilet.RUL"}


@cache
def revised_gilet(name: str, folder: Path = GILET) -> PatternSet:
    sent, _ = read_style([GILET / "revised" / name])
    return revise(loaded(folder), dict(sent.pieces)).pattern


REVISED = {
    "front_base_size.dxf": {"lower_front", "lower_back"},
    "front_all_sizes.dxf": {"upper_front", "collar", "zip_guard"},
}


@pytest.mark.parametrize("name", REVISED)
def test_a_revised_set_keeps_every_other_block(tmp_path: Path, name: str) -> None:
    pattern = revised_gilet(name)
    save(pattern, tmp_path / "out")
    out = tmp_path / "out"
    assert set(files(out)) == {"set.toml", "workshop_gilet.dxf", "workshop_gilet.rul"}
    assert (out / "set.toml").read_bytes() == (GILET / "set.toml").read_bytes()
    before = ezdxf.readfile(GILET / "workshop_gilet.dxf")
    after = ezdxf.readfile(out / "workshop_gilet.dxf")
    assert not after.audit().errors
    old, new = entities(before), entities(after)
    assert set(old) == set(new)
    assert {block for block in old if old[block] != new[block]} == REVISED[name]
    assert b"RULE" in (out / "workshop_gilet.rul").read_bytes()
    rules = (GILET / "workshop_gilet.rul").read_text("ascii").partition("END")[0]
    assert (out / "workshop_gilet.rul").read_text("ascii").startswith(rules)  # only added to

    again = load(out)
    for piece in pattern.pieces:
        for size in pattern.sizes:
            a, b = pattern.sized(piece, size), again.sized(piece, size)
            assert a.edge_names == b.edge_names
            assert set(a.levels) == set(b.levels)
            for edge in a.edges:
                assert abs(line(edge).length - line(b.edge(edge.name)).length) <= 0.02
                assert line(edge).hausdorff_distance(line(b.edge(edge.name))) <= 0.012
    assert all(walk(again, size, cut_lines=False).sews for size in again.sizes)


def test_saving_and_loading_twice_gives_the_same_bytes(tmp_path: Path) -> None:
    save(revised_gilet("front_base_size.dxf"), tmp_path / "one")
    save(load(tmp_path / "one"), tmp_path / "two")
    save(revised_gilet("front_base_size.dxf"), tmp_path / "three")
    assert files(tmp_path / "one") == files(tmp_path / "two") == files(tmp_path / "three")


def test_levels_through_landmarks_follow_the_landmark_when_written_back(tmp_path: Path) -> None:
    pattern = revised_gilet("front_base_size.dxf")
    save(pattern, tmp_path / "out")
    assert b"@level" not in (tmp_path / "out" / "workshop_gilet.dxf").read_bytes()
    again = load(tmp_path / "out").sized("lower_front", "96")
    assert again.levels["hip"] == again.landmark("hip_notch").point


def test_the_blend_of_a_drawn_set_is_a_set_of_our_own_form(tmp_path: Path) -> None:
    result = propagate.blend(demo("workshop_gilet"), propagate.Blend({"waist": "90", "hip": "102"}))
    propagate.save(result, tmp_path / "out")
    names = set(files(tmp_path / "out"))
    assert "geometry/lower_front.json" in names
    assert not any(name.endswith((".dxf", ".rul")) for name in names)
    head = set_toml.parse_set((tmp_path / "out" / "set.toml").read_text("utf-8"), "set.toml")
    assert (head.geometry, head.dxf, head.levels) == ("geometry", {}, {})
    again = load(tmp_path / "out")
    assert set(again.sized("lower_front", "90/102").levels) == {"waist", "hip"}
    assert walk(again, "90/102", cut_lines=False).sews


def test_a_blend_with_itself_is_that_size(tmp_path: Path) -> None:
    pattern = demo("workshop_gilet")
    result = propagate.blend(pattern, propagate.Blend({"waist": "96", "hip": "96"}))
    for piece in pattern.pieces:
        assert result.pattern.sized(piece, "96").edges == pattern.sized(piece, "96").edges


def test_some_of_the_sizes_may_be_a_set(tmp_path: Path) -> None:
    source = with_text(
        copied(tmp_path / "in"),
        lambda t: (
            re.sub(r"\[chart\].*?\n\n", "", t, flags=re.S)
            .replace('["84", "90", "96", "102", "110", "118"]', '["90", "96", "102"]')
            .replace('chart = "waist"', "")
            .replace('chart = "hip"', "")
        ),
    )
    pattern = load(source)
    assert pattern.sizes == ("90", "96", "102")
    save(pattern, tmp_path / "same")
    assert files(tmp_path / "same") == files(source)
    sent, _ = read_style([GILET / "revised" / "front_base_size.dxf"])
    save(revise(pattern, dict(sent.pieces)).pattern, tmp_path / "out")
    names = files(tmp_path / "out")  # the file's other sizes would be neither kept nor right
    assert "geometry/lower_front.json" in names
    assert load(tmp_path / "out").sizes == pattern.sizes


def test_a_set_in_inches_keeps_its_unit_and_its_decimals(tmp_path: Path) -> None:
    source = copied(tmp_path / "in")
    options = WriteOptions(kind="rules", units="in", precision=2e-5)
    bare, _ = read_style([GILET / "workshop_gilet.dxf"])
    for end in (".dxf", ".rul"):
        (source / "workshop_gilet").with_suffix(end).unlink()
    write(bare, source / "workshop_gilet.dxf", options)
    pattern = revised_gilet("front_base_size.dxf", source)
    save(pattern, tmp_path / "out")
    text = (tmp_path / "out" / "workshop_gilet.dxf").read_text("ascii")
    document = ezdxf.readfile(tmp_path / "out" / "workshop_gilet.dxf")
    (seam,) = [e for e in document.blocks["lower_front"].query("POLYLINE") if e.dxf.layer == "14"]
    width = np.ptp([v.dxf.location.x for v in seam.vertices])
    assert width == pytest.approx(np.ptp(pattern.sized("lower_front", "96").outline[:, 0]) / 25.4)
    assert re.search(r" 10\n-?\d+\.\d{7}\n", text)
    again = load(tmp_path / "out")
    for size in again.sizes:
        for edge in pattern.sized("lower_front", size).edges:
            other = again.sized("lower_front", size).edge(edge.name)
            assert line(edge).hausdorff_distance(line(other)) <= 0.012


# --------------------------------------------------------------------------- what is told


def test_what_was_taken_for_granted_is_told_with_its_place_in_the_relations_file() -> None:
    reading = reading_of(demo("workshop_gilet"))
    assert reading is not None
    assert not reading.of("warning")
    options = {line.option for line in reading.lines}
    assert "dxf.deltas in set.toml" in options
    assert not any(option and option.startswith("--") for option in options)
    assert reading_of(demo("scoop_skirt")) is None


def test_the_dxf_table_decides_how_the_file_is_read(tmp_path: Path) -> None:
    source = with_text(copied(tmp_path / "in"), lambda t: t.replace('"from sample"', '"stepwise"'))
    a, b = demo("workshop_gilet"), load(source)
    assert a.sized("pocket", "96").outline == pytest.approx(b.sized("pocket", "96").outline)
    wide = [float(np.ptp(p.sized("pocket", "118").outline[:, 0])) for p in (a, b)]
    assert wide[0] == pytest.approx(164.0)
    assert wide[1] == pytest.approx(170.0)  # 158 + 0 + 6 + 6, as the rules would then say


# ---------------------------------------------------------------------------------- errors


def test_a_missing_drawing_is_named_with_the_set(tmp_path: Path) -> None:
    source = copied(tmp_path / "in")
    (source / "workshop_gilet.dxf").unlink()
    with pytest.raises(FormatError, match=r"in.set\.toml: geometry: there is no 'workshop_gilet"):
        load(source)


def test_a_missing_rule_file_is_thought_of(tmp_path: Path) -> None:
    source = copied(tmp_path / "in")
    (source / "workshop_gilet.rul").unlink()
    with pytest.raises(FormatError, match=r"does not have.*\n?.*no rule file stands beside it"):
        load(source)


def test_a_size_that_the_file_lacks_is_named(tmp_path: Path) -> None:
    source = with_text(
        copied(tmp_path / "in"),
        lambda t: re.sub(r"\[chart\].*?\n\n", "", t, flags=re.S).replace('"118"]', '"126"]'),
    )
    with pytest.raises(FormatError, match=r"sizes: found '126'.*among 84, 90, 96, 102, 110, 118"):
        load(source)


def test_a_piece_that_lacks_a_size_is_named(
    tmp_path: Path, sets: dict[tuple[str, str], Path]
) -> None:
    source = tmp_path / "in"
    shutil.copytree(sets["scoop_skirt", "dxf"], source)
    file = source / "style.dxf"
    head, *blocks = file.read_text("ascii").split("  0\nBLOCK\n")
    kept = [block for block in blocks if "  2\nbelt-3XL\n" not in block.partition("ENDBLK")[0]]
    assert len(kept) == len(blocks) - 1
    file.write_text("  0\nBLOCK\n".join([head, *kept]), encoding="ascii", newline="\n")
    with pytest.raises(FormatError, match=r"piece 'belt'.*does not draw it in size '3XL'"):
        load(source)


def test_a_damaged_drawing_is_an_error_or_told(tmp_path: Path) -> None:
    source = copied(tmp_path / "in")
    file = source / "workshop_gilet.dxf"
    file.write_bytes(b"\x00\x01 nothing of the kind")
    with pytest.raises(FormatError, match=r"set\.toml: geometry 'workshop_gilet\.dxf'"):
        load(source)
    whole = (GILET / "workshop_gilet.dxf").read_bytes()
    file.write_bytes(whole[: len(whole) * 9 // 10])
    with pytest.raises((FormatError, InvalidSet)):  # pieces are missing then
        load(source)


def test_levels_name_what_is_there_all_problems_at_once(tmp_path: Path) -> None:
    source = with_text(
        copied(tmp_path / "in"),
        lambda t: t.replace(
            '[levels.chest]\nupper_front = "side.start"', '[levels.chest]\nuper_front = "side.tip"'
        ).replace('upper_back = "side.end"', 'upper_back = "side.tip"'),
    )
    with pytest.raises(InvalidSet) as caught:
        load(source)
    first, second = caught.value.problems
    assert "'uper_front'" in first and "'upper_front'" in first
    assert "piece 'upper_back'" in second and "'side.tip'" in second


def test_a_level_that_is_drawn_already_is_refused(
    tmp_path: Path, sets: dict[tuple[str, str], Path]
) -> None:
    source = tmp_path / "in"
    shutil.copytree(sets["scoop_skirt", "dxf"], source)
    with_text(source, lambda t: t + '\n[levels.seat]\nskirt_front = "seat_notch"\n')
    with pytest.raises(InvalidSet, match=r"level 'seat', piece 'skirt_front'.*drawn already"):
        load(source)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('deltas = "from sample"', 'deltas = "upwards"', r"dxf, deltas: found 'upwards'"),
        ('deltas = "from sample"', 'delta = "stepwise"', r"unknown key 'delta'.*'deltas'"),
        ('deltas = "from sample"', "corner_angle = 300", r"corner_angle.*1 to 120"),
        ('deltas = "from sample"', 'allowance = "wide"', r"allowance"),
        ('"workshop_gilet.dxf"', '"../workshop_gilet.dxf"', r"geometry.*beside this file"),
        ('"workshop_gilet.dxf"', '"geometry"', r"dxf: found this table beside the geometry"),
        ("[levels.chest]", "[levels.chest]\nx = 3", r"level 'chest', x: found 3"),
        ("format = 1", "format = 2", r"format 2 is newer"),
    ],
)
def test_what_the_relations_file_says_wrongly(
    tmp_path: Path, old: str, new: str, said: str
) -> None:
    source = with_text(copied(tmp_path / "in"), lambda t: t.replace(old, new))
    with pytest.raises(FormatError, match=said):
        load(source)


# ------------------------------------------------------------- levels on our own geometry


def test_levels_through_landmarks_serve_any_geometry(tmp_path: Path) -> None:
    source = tmp_path / "in"
    shutil.copytree(propagate.demo_path("scoop_skirt"), source)
    with_text(source, lambda t: t + '\n[levels.mid]\nskirt_back = "zip_end"\n')
    pattern = load(source)
    sized = pattern.sized("skirt_back", "M")
    assert sized.levels["mid"] == sized.landmark("zip_end").point
    save(pattern, tmp_path / "out")
    assert (tmp_path / "out" / "geometry" / "skirt_back.json").read_bytes() == (
        source / "geometry" / "skirt_back.json"
    ).read_bytes()
    edited = replace(
        pattern, pieces={**pattern.pieces, "skirt_back": Piece("skirt_back", dict(
            pattern.pieces["skirt_back"].nest))},
    )  # fmt: skip
    save(edited, tmp_path / "edited")
    assert load(tmp_path / "edited").sized("skirt_back", "M").levels == sized.levels
    other = replace(pattern, name="another skirt")
    save(other, tmp_path / "other")
    assert (tmp_path / "other" / "set.toml").read_text("utf-8") == (
        (source / "set.toml").read_text("utf-8").replace('"scoop skirt"', '"another skirt"')
    )
    assert load(tmp_path / "other").sized("skirt_back", "M").levels == sized.levels
    # A text written anew gives no levels, so its pieces draw them.
    save(replace(pattern, origin=None), tmp_path / "anew")
    assert "levels" not in (tmp_path / "anew" / "set.toml").read_text("utf-8")
    assert load(tmp_path / "anew").sized("skirt_back", "M").levels == sized.levels


def test_levels_and_reading_are_rendered_and_read_again() -> None:
    pattern = demo("workshop_gilet")
    levels = {"hip": {"lower_front": "hip_notch"}}
    choices = {"unit": "in", "allowance": 10.0, "mirror": "unfold"}
    text = set_toml.render_set(pattern, geometry="a b.dxf", dxf=choices, levels=levels)
    head = set_toml.parse_set(text, "set.toml")
    assert (head.geometry, dict(head.dxf), head.levels) == ("a b.dxf", choices, levels)
    assert head.relations == pattern.relations


# ----------------------------------------------------------------------------- replacing


def test_a_set_of_a_drawing_can_be_replaced_and_strange_files_cannot(tmp_path: Path) -> None:
    source = tmp_path / "set"
    save(demo("workshop_gilet"), source)
    save(demo("workshop_gilet"), source, replace=True)
    result = propagate.blend(load(source), propagate.Blend({"waist": "90", "hip": "102"}))
    propagate.save(result, source, replace=True)
    assert "set.toml" in files(source) and "workshop_gilet.dxf" not in files(source)
    (source / "other.dxf").write_bytes(b"mine")
    with pytest.raises(OutputError, match=r"'other\.dxf'"):
        save(demo("workshop_gilet"), source, replace=True)


def test_the_pictures_of_begin_are_replaced_and_photographs_are_not(tmp_path: Path) -> None:
    target = tmp_path / "set"
    write_folder(target, {"set.toml": b'geometry = "shapes"\n', "pictures/front.svg": b"<svg/>"})
    write_folder(target, {"set.toml": b"x"}, replace=True)
    assert set(files(target)) == {"set.toml"}
    (target / "pictures").mkdir()
    (target / "pictures" / "me.jpg").write_bytes(b"mine")
    with pytest.raises(OutputError, match="'pictures'"):
        write_folder(target, {"set.toml": b"y"}, replace=True)
    assert (target / "pictures" / "me.jpg").read_bytes() == b"mine"


# --------------------------------------------------------------------------- writing back


def test_a_json_set_goes_back_on_the_drawing_it_was_begun_from(tmp_path: Path) -> None:
    original = GILET / "workshop_gilet.dxf"
    begun, _ = read_style([original])
    save(begun, tmp_path / "json")
    pattern = load(tmp_path / "json")
    assert origin_of(pattern).drawing is None
    report = write_style(pattern, tmp_path / "a.dxf", "dxf-as-read", onto=original)
    assert (tmp_path / "a.dxf").read_bytes() == original.read_bytes()
    assert (tmp_path / "a.rul").read_bytes() == original.with_suffix(".rul").read_bytes()
    (kept,) = report.of("kept")
    assert all(name in kept.text for name in pattern.pieces)

    sent, _ = read_style([GILET / "revised" / "front_base_size.dxf"])
    relations = demo("workshop_gilet").relations
    whole = replace(pattern, relations=replace(relations, blend=None, girths={}))
    changed = revise(replace(whole, info=demo("workshop_gilet").info), dict(sent.pieces)).pattern
    report = write_style(changed, tmp_path / "b.dxf", "dxf-as-read", onto=original)
    old = entities(ezdxf.readfile(original))
    new = entities(ezdxf.readfile(tmp_path / "b.dxf"))
    assert {k for k in old if old[k] != new[k]} <= {"lower_front", "lower_back"}
    assert any("lower_front" in line.text and "anew" in line.text for line in report.of("found"))


def test_a_revised_set_is_written_back_before_it_is_saved(tmp_path: Path) -> None:
    pattern = revised_gilet("front_all_sizes.dxf")
    write_style(pattern, tmp_path / "out.dxf", "dxf-as-read")
    old = entities(ezdxf.readfile(GILET / "workshop_gilet.dxf"))
    new = entities(ezdxf.readfile(tmp_path / "out.dxf"))
    assert {k for k in old if old[k] != new[k]} == REVISED["front_all_sizes.dxf"]


def test_writing_back_without_a_drawing_names_the_cure(tmp_path: Path) -> None:
    skirt = demo("scoop_skirt")
    with pytest.raises(FormatError, match=r"--onto ORIGINAL\.dxf"):
        write_style(skirt, tmp_path / "a.dxf", "dxf-as-read")
    with pytest.raises(FormatError, match=r"found no size 'M'"):
        write_style(skirt, tmp_path / "a.dxf", "dxf-as-read", onto=GILET / "workshop_gilet.dxf")
    assert not (tmp_path / "a.dxf").exists()
