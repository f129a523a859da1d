"""A set to DXF and back, judged on the numbers and by independent readers of DXF."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import shapely
from ezdxf import recover

import propagate
from propagate.io.dxf import ReadOptions, WriteOptions, read, write
from propagate.io.origin import source_of
from propagate.lengths import MM_PER_INCH
from propagate.pattern.model import Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Allowance, PieceInfo
from propagate.pattern.validate import find_problems
from tests.builders import pocket_set, tiny_set
from tests.examples import part_of
from tests.shared import demo, demo_in_few

NESTED = WriteOptions(kind="nested")
RULES = WriteOptions(kind="rules")
SETS = {
    "tiny": tiny_set,
    "pocket": pocket_set,
    "slant": lambda: demo_in_few("slant_trouser"),
    "scoop": lambda: demo_in_few("scoop_skirt"),
    "gilet": lambda: demo("workshop_gilet"),
}


def there_and_back(pattern: PatternSet, folder: Path, options: WriteOptions) -> PatternSet:
    path = folder / "style.dxf"
    write(pattern, path, options)
    back, report = read(path)
    assert not report.of("warning"), [str(note) for note in report.of("warning")]
    return back


def gap(a: object, b: object) -> float:
    return float(np.abs(np.asarray(a, dtype=float) - np.asarray(b, dtype=float)).max())


def assert_same_drawing(a: SizedPiece, b: SizedPiece, within: float) -> None:
    assert a.edge_names == b.edge_names
    for one, other in zip(a.edges, b.edges, strict=True):
        assert one.points.shape == other.points.shape
        assert one.turns == other.turns
        assert gap(one.points, other.points) <= within
        assert abs(one.length - other.length) <= 0.01
    assert_same_marks(a, b, within)


def assert_same_marks(a: SizedPiece, b: SizedPiece, within: float) -> None:
    assert [(m.name, m.edge, m.kind) for m in a.landmarks] == [
        (m.name, m.edge, m.kind) for m in b.landmarks
    ]
    for one, other in zip(a.landmarks, b.landmarks, strict=True):
        assert gap(one.point, other.point) <= within
    assert [(d.name, d.edge, d.legs) for d in a.darts] == [
        (d.name, d.edge, d.legs) for d in b.darts
    ]
    assert [mark.name for mark in a.drills] == [mark.name for mark in b.drills]
    for mark, twin in zip(a.drills, b.drills, strict=True):
        assert gap(mark.point, twin.point) <= within
    assert [line.name for line in a.lines] == [line.name for line in b.lines]
    for line, like in zip(a.lines, b.lines, strict=True):
        assert gap(line.points, like.points) <= within
    assert gap(a.grain.start, b.grain.start) <= within
    assert gap(a.grain.end, b.grain.end) <= within
    assert a.levels.keys() == b.levels.keys()
    assert all(gap(a.levels[name], b.levels[name]) <= within for name in a.levels)
    assert (a.label is None) == (b.label is None)


Nested = Callable[[str], tuple[Path, PatternSet]]


@pytest.fixture(scope="module")
def nested(tmp_path_factory: pytest.TempPathFactory) -> Nested:
    """A set as one nested file, and read from it, once for all tests that look at it."""

    @cache
    def made(name: str) -> tuple[Path, PatternSet]:
        folder = tmp_path_factory.mktemp(name)
        return folder / "style.dxf", there_and_back(SETS[name](), folder, NESTED)

    return made


@pytest.mark.parametrize("name", SETS)
def test_a_nested_style_comes_back_point_for_point(name: str, nested: Nested) -> None:
    pattern = SETS[name]()
    _, back = nested(name)
    assert (back.name, back.sizes, back.base, back.lay_on) == (
        pattern.name,
        pattern.sizes,
        pattern.base,
        pattern.lay_on,
    )
    assert list(back.pieces) == list(pattern.pieces)
    for piece in pattern.pieces:
        for size in pattern.sizes:
            # half of the last decimal in x and in y
            assert_same_drawing(pattern.sized(piece, size), back.sized(piece, size), 0.0005 + 1e-9)
    assert find_problems(back) == ()


@pytest.mark.parametrize("name", SETS)
def test_allowances_counts_and_fold_are_measured_back(name: str, nested: Nested) -> None:
    pattern = SETS[name]()
    _, back = nested(name)
    for piece, info in pattern.info.items():
        found = back.info[piece]
        assert (found.title, found.cut, found.pair, found.fabric, found.fold) == (
            info.title,
            info.cut,
            info.pair,
            info.fabric,
            info.fold,
        )
        for edge in pattern.sized(piece, pattern.base).edge_names:
            expected = info.allowance.of(edge)
            if edge == info.fold and edge not in info.allowance.edges:
                expected = 0.0
            assert found.allowance.of(edge) == pytest.approx(expected, abs=0.02), (piece, edge)


@pytest.mark.parametrize("name", ["tiny", "pocket", "slant"])
def test_a_ruled_style_comes_back_in_every_size(name: str, tmp_path: Path) -> None:
    pattern = SETS[name]()
    path = tmp_path / "style.dxf"
    report = write(pattern, path, RULES)
    assert report.files == ("style.dxf", "style.rul")
    assert set(report.ruled) == set(pattern.pieces)
    back, _ = read(path)
    source = source_of(back)
    assert source is not None and {block.size for block in source.blocks} == {None}
    for piece in pattern.pieces:
        for size in pattern.sizes:
            a, b = pattern.sized(piece, size), back.sized(piece, size)
            assert a.edge_names == b.edge_names
            for one, other in zip(a.edges, b.edges, strict=True):
                lines = shapely.LineString(one.points), shapely.LineString(other.points)
                off = shapely.distance(lines[0], shapely.points(other.points)).max()
                back_off = shapely.distance(lines[1], shapely.points(one.points)).max()
                assert max(off, back_off) <= 0.01  # what a rule promises
                assert abs(one.length - other.length) <= 0.01
            assert_same_marks(a, b, 0.0101)
    assert find_problems(back) == ()


def test_sizes_with_as_many_points_keep_every_point_under_rules(tmp_path: Path) -> None:
    pattern = tiny_set()
    path = tmp_path / "style.dxf"
    write(pattern, path, RULES)
    back, _ = read(path)
    a, b = pattern.sized("front", pattern.base), back.sized("front", pattern.base)
    same = [
        name
        for name in a.edge_names
        if len({len(pattern.sized("front", s).edge(name).points) for s in pattern.sizes}) == 1
    ]
    assert {"hem", "centre"} <= set(same)
    for name in same:
        assert gap(a.edge(name).points, b.edge(name).points) <= 0.0005 + 1e-9


def test_inches_are_25_4_mm_exactly(tmp_path: Path) -> None:
    pattern = tiny_set()
    back = there_and_back(pattern, tmp_path, replace(NESTED, units="in"))
    for size in pattern.sizes:
        # the international inch (NIST SP 811: 1 in = 2.54 cm exactly); five decimals
        assert_same_drawing(pattern.sized("front", size), back.sized("front", size), 0.00013)
    document = ezdxf.readfile(tmp_path / "style.dxf")
    seam = next(e for e in document.blocks["front-38"] if e.dxf.layer == "14")
    width = max(v.dxf.location.x for v in seam.vertices)
    assert width * MM_PER_INCH == pytest.approx(206.0, abs=0.00013)  # half hip of the builder


def test_precision_is_as_asked(tmp_path: Path) -> None:
    pattern = tiny_set()
    write(pattern, tmp_path / "coarse.dxf", replace(NESTED, precision=0.1))
    write(pattern, tmp_path / "fine.dxf", replace(NESTED, precision=0.000001))
    coarse, _ = read(tmp_path / "coarse.dxf")
    fine, _ = read(tmp_path / "fine.dxf")
    outline = pattern.sized("front", "38").outline
    assert gap(outline, fine.sized("front", "38").outline) <= 0.0000005 + 1e-9
    assert 0.001 < gap(outline, coarse.sized("front", "38").outline) <= 0.05 + 1e-9


@pytest.mark.parametrize("options", [NESTED, RULES, replace(NESTED, units="in")])
def test_the_auditor_and_the_recovery_reader_find_nothing_wrong(
    options: WriteOptions, tmp_path: Path
) -> None:
    pattern = pocket_set()
    path = tmp_path / "style.dxf"
    write(pattern, path, options)
    assert path.read_bytes().isascii()
    document = ezdxf.readfile(path)
    audit = document.audit()
    assert not audit.errors and not audit.fixes
    recovered, auditor = recover.readfile(path)
    assert not auditor.errors
    assert len(recovered.blocks) == len(document.blocks)
    inserts = {insert.dxf.name for insert in document.modelspace().query("INSERT")}
    pieces = len(pattern.pieces) * (1 if options is RULES else len(pattern.sizes))
    assert len(inserts) == pieces
    assert not list(document.entitydb.query("LWPOLYLINE"))


def test_layers_hold_what_the_convention_says(tmp_path: Path) -> None:
    """Layer meanings from memory; areas by shapely."""
    pattern = tiny_set()
    path = tmp_path / "style.dxf"
    write(pattern, path, NESTED)
    found = ezdxf.readfile(path).blocks["back-38"]

    def area(layer: str) -> float:
        line = next(e for e in found.query("POLYLINE") if e.dxf.layer == layer)
        assert line.is_closed
        return float(shapely.Polygon([(v.dxf.location.x, v.dxf.location.y) for v in line]).area)

    seam = shapely.Polygon(pattern.sized("back", "38").outline)
    assert area("14") == pytest.approx(seam.area, rel=1e-5)
    assert area("1") >= area("14")
    layers = {e.dxf.layer for e in found}
    assert {"1", "2", "3", "4", "7", "8", "13", "14", "15"} <= layers
    corners = [e for e in found.query("POINT") if e.dxf.layer == "2"]
    assert len(corners) >= 4
    words = [e.dxf.text for e in found.query("TEXT") if e.dxf.layer == "1"]
    assert {"Piece Name: back", "Size: 38"} <= set(words)


@pytest.mark.parametrize("name", SETS)
def test_a_general_geographic_reader_sees_every_vertex(name: str, nested: Nested) -> None:
    """GDAL's own reader of DXF, when it is there."""
    pyogrio = pytest.importorskip("pyogrio")
    pattern = SETS[name]()
    path, _ = nested(name)
    whole = {"DXF_INLINE_BLOCKS": "FALSE", "DXF_MERGE_BLOCK_GEOMETRIES": "FALSE"}
    pyogrio.set_gdal_config_options(whole)
    meta, _, shapes, columns = pyogrio.raw.read(path, layer="blocks", where="Layer = '14'")
    fields = dict(zip(meta["fields"].tolist(), columns, strict=True))
    seams: dict[str, list[np.ndarray]] = {}
    for shape, block in zip(shapes, fields["Block"], strict=True):
        seams.setdefault(block, []).append(shapely.get_coordinates(shapely.from_wkb(shape)))
    for piece in pattern.pieces:
        for size in pattern.sizes:
            outline = max(seams[f"{piece}-{size}"], key=len)
            assert (outline[0] == outline[-1]).all()
            assert gap(outline[:-1], pattern.sized(piece, size).outline) <= 0.001


BLENDED = {"slant": "slant_trouser", "scoop": "scoop_skirt", "gilet": "workshop_gilet"}
RESULTS = {
    "slant": ({"waist": "42", "hip": "48"}, {"waist": "48", "hip": "42"}),
    "scoop": (
        {"natural_waist": "S", "seat": "L"},
        {"natural_waist": "XL", "seat": "M"},
    ),
    "gilet": ({"waist": "90", "hip": "96"},),
}


@pytest.mark.parametrize(
    ("name", "sizes", "kind"),
    part_of(
        (
            (name, sizes, kind)
            for name, found in RESULTS.items()
            for sizes in found
            for kind in (NESTED, RULES)
        ),
        3,
    ),
)
def test_a_blended_result_comes_back_point_for_point(
    name: str, sizes: dict[str, str], kind: WriteOptions, tmp_path: Path
) -> None:
    result = propagate.blend(demo(BLENDED[name]), propagate.Blend(sizes)).pattern
    back = there_and_back(result, tmp_path, kind)
    assert list(back.pieces) == list(result.pieces)
    for piece in result.pieces:
        for size in result.sizes:
            assert_same_drawing(result.sized(piece, size), back.sized(piece, size), 0.0005 + 1e-9)


def test_the_same_set_gives_the_same_bytes(tmp_path: Path) -> None:
    pattern = pocket_set()
    for kind in (NESTED, RULES):
        write(pattern, tmp_path / "a.dxf", kind)
        write(pattern, tmp_path / "b.dxf", kind)
        assert (tmp_path / "a.dxf").read_bytes() == (tmp_path / "b.dxf").read_bytes()
        (tmp_path / "a.dxf").unlink()
        (tmp_path / "b.dxf").unlink()
        for rule in tmp_path.glob("*.rul"):
            rule.unlink()


def test_a_date_is_written_only_when_given(tmp_path: Path) -> None:
    write(tiny_set(), tmp_path / "a.dxf", NESTED)
    write(tiny_set(), tmp_path / "b.dxf", replace(NESTED, date="01-02-2025"))
    assert b"Creation Date" not in (tmp_path / "a.dxf").read_bytes()
    assert b"Creation Date: 01-02-2025" in (tmp_path / "b.dxf").read_bytes()


def test_names_beyond_ascii_survive_and_the_report_says_how(tmp_path: Path) -> None:
    pattern = tiny_set()
    pieces = {"rückteil": Piece("rückteil", pattern.pieces["back"].nest)}
    info = {"rückteil": PieceInfo("Rückteil, groß", cut=2, pair=True, fabric="Köper")}
    pattern = replace(pattern, name="jupe d'été", pieces=pieces, info=info)
    path = tmp_path / "style.dxf"
    report = write(pattern, path, NESTED)
    data = path.read_bytes()
    assert data.isascii()
    assert b"Piece Name: ruckteil" in data and b"Material: Koper" in data
    assert any("'Köper'" in note.text and "'Koper'" in note.text for note in report.lines)
    back, _ = read(path)
    assert list(back.pieces) == ["rückteil"]
    assert back.name == "jupe d'été"
    assert back.info["rückteil"].title == "Rückteil, groß"


def test_notches_move_their_names_with_them(tmp_path: Path) -> None:
    """A notch point moved by another program takes its name along, and that is said."""
    pattern = tiny_set()
    path = tmp_path / "style.dxf"
    write(pattern, path, replace(NESTED, notches="seam"))
    document = ezdxf.readfile(path)
    notch = next(e for e in document.blocks["front-38"] if e.dxf.layer == "4")
    x, y, _ = notch.dxf.location
    notch.dxf.location = (x, y + 7.0, 0.0)
    document.saveas(path)
    back, report = read(path)
    mark = back.sized("front", "38").landmark("hip_notch")
    old = pattern.sized("front", "38").landmark("hip_notch")
    assert np.hypot(*np.subtract(mark.point, old.point)) == pytest.approx(7.0, abs=0.05)
    assert any("hip_notch" in note.text for note in report.of("warning"))


def test_notches_lie_on_the_cut_line_or_on_the_seam_line_as_asked(tmp_path: Path) -> None:
    pattern = tiny_set()
    info = {**pattern.info, "front": PieceInfo("Front", allowance=Allowance(12.0))}
    pattern = replace(pattern, info=info)
    where = pattern.sized("front", "38").landmark("hip_notch").point
    for option, off in (("cut", 12.0), ("seam", 0.0)):
        path = tmp_path / f"{option}.dxf"
        write(pattern, path, replace(NESTED, notches=option))
        notch = next(e for e in ezdxf.readfile(path).blocks["front-38"] if e.dxf.layer == "4")
        at = (notch.dxf.location.x, notch.dxf.location.y)
        assert np.hypot(*np.subtract(at, where)) == pytest.approx(off, abs=0.01)
        back, _ = read(path)
        assert gap(back.sized("front", "38").landmark("hip_notch").point, where) <= 0.0005 + 1e-9


def test_notch_types_keep_their_layer(tmp_path: Path) -> None:
    pattern = tiny_set()
    front = pattern.sized("front", "38")
    marks = tuple(
        Landmark(name, "hem", (20.0 + 30 * i, -600.0), "notch")
        for i, name in enumerate(
            ["t_notch_1", "castle_notch_1", "check_notch_1", "u_notch_1", "notch_9"]
        )
    )
    one = replace(
        pattern,
        sizes=("38",),
        pieces={"front": Piece("front", {"38": replace(front, landmarks=marks)})},
        info={"front": pattern.info["front"]},
    )
    path = tmp_path / "style.dxf"
    write(one, path, NESTED)
    layers = sorted(
        e.dxf.layer
        for e in ezdxf.readfile(path).blocks["front-38"].query("POINT")
        if e.dxf.layer in ("4", "80", "81", "82", "83")
    )
    assert layers == ["4", "80", "81", "82", "83"]
    back, _ = read(path, ReadOptions())
    assert [mark.name for mark in back.sized("front", "38").landmarks] == [m.name for m in marks]


def test_validation_curves_are_written_for_the_edges_asked_for(tmp_path: Path) -> None:
    pattern = tiny_set()

    def curves(options: WriteOptions) -> int:
        path = tmp_path / "style.dxf"
        write(pattern, path, replace(options, replace=True))
        found = ezdxf.readfile(path).blocks["front-38"].query("POLYLINE")
        return sum(e.dxf.layer == "87" for e in found)

    assert curves(replace(NESTED, validation="none")) == 0
    assert curves(replace(NESTED, validation={"front": ("side",)})) == 1
    assert curves(NESTED) == 2  # side and waist
