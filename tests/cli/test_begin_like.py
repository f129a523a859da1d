"""``begin --like``: a style that is drawn like one before gets its names and its relations."""

from __future__ import annotations

import json
import random
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from importlib import import_module
from pathlib import Path

import numpy as np
import pytest

from propagate import PatternSet, load, save, walk
from propagate.demo import demo_names, demo_path
from propagate.io.dxf import WriteOptions
from propagate.io.dxf.write import render_drawing
from propagate.pattern.grain import Grain
from propagate.pattern.info import PieceInfo
from propagate.pattern.kinds import KINDS, relations_of
from propagate.pattern.model import Piece, SizedPiece, frozen_points
from tests.cli.conftest import run
from tests.shared import demo
from tests.suggesting.strangers import Names, stripped

NEAR_MM = 0.01
EVERY = sorted(demo_names())


def mapped(pattern: PatternSet, change: Callable[[SizedPiece], SizedPiece]) -> PatternSet:
    pieces = {
        name: Piece(name, {size: change(sized) for size, sized in piece.nest.items()})
        for name, piece in pattern.pieces.items()
    }
    return replace(pattern, pieces=pieces)


def moved(sized: SizedPiece, matrix: np.ndarray, shift: tuple[float, float]) -> SizedPiece:
    """Everything that is drawn, put elsewhere; the outline is begun at its second edge."""

    def points(drawn: object) -> np.ndarray:
        return np.round(np.asarray(drawn, dtype=float) @ matrix.T + shift, 6)

    def point(drawn: tuple[float, float]) -> tuple[float, float]:
        x, y = points(drawn).tolist()
        return x, y

    edges = [
        replace(edge, points=frozen_points(points(edge.points)), path=None) for edge in sized.edges
    ]
    lines = [replace(line, points=frozen_points(points(line.points))) for line in sized.lines]
    return replace(
        sized,
        edges=(*edges[1:], edges[0]),
        landmarks=tuple(replace(mark, point=point(mark.point)) for mark in sized.landmarks),
        darts=tuple(replace(dart, tip=point(dart.tip)) for dart in sized.darts),
        lines=tuple(lines),
        drills=tuple(replace(mark, point=point(mark.point)) for mark in sized.drills),
        grain=Grain(point(sized.grain.start), point(sized.grain.end)),
    )


def scaled(pattern: PatternSet, times: float) -> PatternSet:
    """All that is drawn, so many times as large."""
    return mapped(pattern, lambda sized: moved(sized, times * np.eye(2), (0.0, 0.0)))


def in_other_sizes(pattern: PatternSet) -> PatternSet:
    """Every other size, by other names: the grading goes in other steps."""
    kept = pattern.sizes[::2]
    called = {size: f"g{k}" for k, size in enumerate(kept)}
    pieces = {
        name: Piece(name, {new: piece.nest[old] for old, new in called.items()})
        for name, piece in pattern.pieces.items()
    }
    base = called[kept[len(kept) // 2]]
    return replace(pattern, pieces=pieces, sizes=tuple(called.values()), base=base)


def stranger(pattern: PatternSet, seed: int) -> tuple[PatternSet, Names]:
    """Bare geometry without any name of the set, each size of each piece in a frame of its own."""
    chance = random.Random(seed)

    def elsewhere(sized: SizedPiece) -> SizedPiece:
        turn = chance.uniform(-np.pi, np.pi)
        matrix = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
        shift = (chance.uniform(-900, 900), chance.uniform(-900, 900))
        return moved(replace(sized, levels={}), matrix, shift)

    found, names = stripped(pattern, seed, told=False)
    return replace(mapped(found, elsewhere), origin=None), names


def begun(tmp_path: Path, bare: PatternSet, like: str, *more: str) -> tuple[PatternSet, str]:
    save(bare, tmp_path / "bare")
    files = sorted(map(str, (tmp_path / "bare" / "geometry").glob("*.json")))
    sizes = ("--sizes", ",".join(bare.sizes), "--base", bare.base)
    out = str(tmp_path / "new")
    done = run("begin", *files, "-o", out, *sizes, "--like", str(demo_path(like)), *more)
    assert done.exit_code == 0, done.output
    return load(out), " ".join(done.output.split())


def without_chart(relation: object) -> object:
    return replace(relation, chart=None) if hasattr(relation, "chart") else relation  # type: ignore[type-var]


def assert_carried(found: PatternSet, old: PatternSet) -> None:
    for key in KINDS:
        was = {n: without_chart(one) for n, one in relations_of(old.relations, key).items()}
        assert dict(relations_of(found.relations, key)) == was
    assert found.relations.blend == old.relations.blend
    assert found.relations.titles == old.relations.titles


def outline_by_edges(sized: SizedPiece) -> dict[str, float]:
    return {edge.name: edge.length for edge in sized.edges}


@pytest.mark.parametrize("name", EVERY)
def test_everything_comes_back_in_the_same_sizes(tmp_path: Path, name: str) -> None:
    old = demo(name)
    bare, _ = stranger(old, 7)
    found, said = begun(tmp_path, bare, name)
    assert f"{len(old.pieces)} of the {len(old.pieces)} pieces" in said
    assert "not carried over" not in said
    assert set(found.pieces) == set(old.pieces)
    assert_carried(found, old)
    for piece in old.pieces:
        for size in old.sizes:
            own = outline_by_edges(found.sized(piece, size))
            assert own == pytest.approx(outline_by_edges(old.sized(piece, size)), abs=NEAR_MM)
    for size in old.sizes:
        now, was = walk(found, size), walk(replace(old, chart={}), size)
        told = {(c.kind, c.name, c.what): c for c in was.checks if c.kind != "girth"}
        for check in now.checks:
            if check.kind in ("girth", "corner"):
                continue
            assert check.difference == pytest.approx(
                told[check.kind, check.name, check.what].difference, abs=NEAR_MM
            )


@pytest.mark.parametrize("name", EVERY)
def test_everything_comes_back_in_other_sizes(tmp_path: Path, name: str) -> None:
    old = demo(name)
    bare, names = stranger(in_other_sizes(old), 11)
    found, said = begun(tmp_path, bare, name)
    assert set(found.pieces) == set(old.pieces)
    assert "not carried over" not in said
    assert_carried(found, old)
    assert "does not sew yet" not in said
    drawn_as = {names.pieces[piece]: piece for piece in old.pieces}
    for line in said.split("'"):
        assert (
            line not in drawn_as
            or f"'{line}' is '{drawn_as[line]}'" in said
            or "look the same" in said
        )


@pytest.mark.parametrize("name", EVERY)
@pytest.mark.parametrize("times", [0.93, 1.08])
def test_a_style_of_other_measures(tmp_path: Path, name: str, times: float) -> None:
    old = demo(name)
    bare, _ = stranger(scaled(in_other_sizes(old), times), 5)
    found, _ = begun(tmp_path, bare, name)
    assert set(found.pieces) == set(old.pieces)
    middle = old.sizes[::2][len(old.sizes[::2]) // 2]
    for piece in old.pieces:
        own = np.array(list(outline_by_edges(found.sized(piece, found.base)).values()))
        was = np.array(list(outline_by_edges(old.sized(piece, middle)).values()))
        assert own == pytest.approx(times * was, abs=NEAR_MM)
    # A seam as long on both sides is that in any measure.
    plain = {n for n, seam in old.relations.seams.items() if not seam.ease and not seam.mirror}
    assert plain <= set(found.relations.seams)


def test_a_style_with_a_piece_less(tmp_path: Path) -> None:
    old = demo("slant_trouser")
    fewer = replace(
        old, pieces={name: piece for name, piece in old.pieces.items() if name != "welt_bag"}
    )
    bare, _ = stranger(fewer, 3)
    bare = replace(
        bare, info={name: info for name, info in bare.info.items() if name in bare.pieces}
    )
    found, said = begun(tmp_path, bare, "slant_trouser")
    assert "pieces of set 'slant trouser' that are not found: 'welt_bag'" in said
    named = {
        (key, name)
        for key in KINDS
        for name, one in relations_of(old.relations, key).items()
        if "welt_bag" in repr(one)
    }
    assert named
    for key in KINDS:
        for name in relations_of(old.relations, key):
            there = name in relations_of(found.relations, key)
            assert there == ((key, name) not in named)
    for key, name in named:
        assert f"{key.replace('_', ' ')} '{name}' is not carried over: " in said
    assert all(walk(found, size).sews for size in found.sizes)


def test_a_style_with_a_piece_more(tmp_path: Path) -> None:
    old = demo("scoop_skirt")
    more = demo("concert_dress").pieces["front"]
    sizes = dict(zip(old.sizes, demo("concert_dress").sizes, strict=False))
    bare, _ = stranger(old, 3)
    extra, _ = stranger(replace(demo("concert_dress"), pieces={"front": more}), 3)
    drawn = next(iter(extra.pieces.values()))
    # It is called as one of the set before, and is not that.
    nest = {size: drawn.nest[own] for size, own in sizes.items()}
    bare = replace(
        bare,
        pieces={**bare.pieces, "belt": Piece("belt", nest)},
        info={**bare.info, "belt": replace(next(iter(bare.info.values())), title="belt")},
    )
    found, said = begun(tmp_path, bare, "scoop_skirt")
    assert_carried(found, old)
    assert set(found.pieces) == {*old.pieces, "belt_2"}
    assert "pieces that are none of set 'scoop skirt': 'belt_2'" in said


@pytest.mark.parametrize(
    ("drawn", "like"),
    [
        ("ferry_shirt", "slant_trouser"),
        ("lined_skirt", "scoop_skirt"),
        ("market_bag", "quay_jeans"),
    ],
)
def test_another_kind_of_garment(tmp_path: Path, drawn: str, like: str) -> None:
    bare, _ = stranger(demo(drawn), 9)
    found, said = begun(tmp_path, bare, like)
    assert set(found.pieces) == set(bare.pieces)
    assert found.relations == type(found.relations)()
    whole = sum(len(relations_of(demo(like).relations, key)) for key in KINDS) + 1
    assert f"0 of the {whole} relations" in said
    assert "without the row" not in said


def with_other_face_up(bare: PatternSet, *names: str) -> PatternSet:
    def over(sized: SizedPiece) -> SizedPiece:
        back = moved(sized, np.diag([-1.0, 1.0]), (0.0, 0.0))
        edges = [
            replace(edge, points=frozen_points(edge.points[::-1]), turns=()) for edge in back.edges
        ]
        darts = tuple(replace(dart, legs=dart.legs[::-1]) for dart in back.darts)
        return replace(back, edges=tuple(edges[::-1]), darts=darts)

    turned = {
        name: Piece(name, {size: over(one) for size, one in bare.pieces[name].nest.items()})
        for name in names
    }
    return replace(bare, pieces={**bare.pieces, **turned})


@pytest.mark.parametrize("name", ["slant_trouser", "ferry_shirt", "lined_skirt", "concert_dress"])
def test_half_of_a_pair_is_turned_over_and_sewn_as_before(tmp_path: Path, name: str) -> None:
    """A pair is cut once from either face, and a piece on the fold is its own mirror image."""
    old = demo(name)
    bare, names = stranger(old, 4)
    main = names.pieces["front"]
    found, said = begun(tmp_path, with_other_face_up(bare, main), name)
    assert "is the mirror image of 'front'" in said
    assert "was turned over (piece front)" in said
    assert_carried(found, old)
    for size in old.sizes:
        own = outline_by_edges(found.sized("front", size))
        assert own == pytest.approx(outline_by_edges(old.sized("front", size)), abs=NEAR_MM)
        was = {(c.kind, c.name, c.what): c.verdict for c in walk(old, size).checks}
        checks = [check for check in walk(found, size).checks if check.kind != "girth"]
        assert all(was[c.kind, c.name, c.what] == c.verdict for c in checks)


def test_a_whole_style_drawn_the_other_way_round(tmp_path: Path) -> None:
    old = demo("ferry_shirt")
    bare, _ = stranger(old, 4)
    found, said = begun(tmp_path, with_other_face_up(bare, *bare.pieces), "ferry_shirt")
    assert "was turned over (piece yoke)" in said
    for key in ("seam", "band"):
        assert relations_of(found.relations, key) == relations_of(old.relations, key)


@pytest.mark.parametrize("name", ["slant_trouser", "quay_jeans"])
def test_what_is_cut_once_and_drawn_the_other_way_round_is_told(tmp_path: Path, name: str) -> None:
    bare, names = stranger(demo(name), 4)
    found, said = begun(tmp_path, with_other_face_up(bare, names.pieces["fly_extension"]), name)
    assert "looks like the mirror image of 'fly_extension'" in said
    assert "fly_extension" not in found.pieces
    for key in KINDS:
        assert "piece='fly_extension'" not in repr(relations_of(found.relations, key))


@pytest.mark.parametrize("side", ["left", "right"])
def test_of_two_halves_one_that_is_drawn_the_other_way_round_is_told(
    tmp_path: Path, side: str
) -> None:
    """They are each other's mirror image but for the end in front, and were exchanged."""
    old = demo("quay_jeans")
    bare, names = stranger(old, 4)
    ways = f"band_{side}", f"band_{'left' if side == 'right' else 'right'}"
    found, said = begun(tmp_path, with_other_face_up(bare, names.pieces[ways[0]]), "quay_jeans")
    assert f"looks like the mirror image of '{ways[0]}'" in said
    assert ways[0] not in found.pieces
    assert found.sized(ways[1], old.base).edge("lower").length == pytest.approx(
        old.sized(ways[1], old.base).edge("lower").length, abs=NEAR_MM
    )


def test_of_several_copies_one_is_taken(tmp_path: Path) -> None:
    old = demo("scoop_skirt")
    bare, _ = stranger(old, 4)
    copies = {f"{name}_{k}": Piece(f"{name}_{k}", piece.nest)
              for name, piece in bare.pieces.items() for k in range(3)}  # fmt: skip
    info = {name: bare.info[name.rpartition("_")[0]] for name in copies}
    found, said = begun(tmp_path, replace(bare, pieces=copies, info=info), "scoop_skirt")
    assert set(old.pieces) < set(found.pieces)
    assert len(found.pieces) == 3 * len(old.pieces)
    assert_carried(found, old)
    assert said.count("look the same in every size, so each may be the other") == len(old.pieces)


def test_the_answer_does_not_hang_on_order(tmp_path: Path) -> None:
    bare, _ = stranger(demo("quay_jeans"), 4)
    other = replace(bare, pieces=dict(reversed(bare.pieces.items())))
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    one, _ = begun(tmp_path / "a", bare, "quay_jeans")
    two, _ = begun(tmp_path / "b", other, "quay_jeans")
    assert one.relations == two.relations
    for piece in one.pieces:
        assert one.sized(piece, one.base).edges == two.sized(piece, two.base).edges


def test_files_with_relations_are_refused(tmp_path: Path) -> None:
    skirt = str(demo_path("scoop_skirt"))
    done = run("begin", skirt, "-o", str(tmp_path / "new"), "--like", skirt)
    assert done.exit_code == 2
    assert "expected bare geometry" in done.output


# ------------------------------------------------------------------ drafted for other bodies


def charted(demo_name: str, rows: Mapping[str, Sequence[float]], folder: Path) -> Path:
    """The relations file of a demo set with another chart, from which its draft is drawn."""
    text = (demo_path(demo_name) / "set.toml").read_text("utf-8")
    count = len(next(iter(rows.values())))
    sizes = json.dumps([f"n{k}" for k in range(count)])
    text = re.sub(r"(?m)^sizes\s*=.*$", f"sizes = {sizes}", text, count=1)
    for row, values in rows.items():
        text = re.sub(rf"(?m)^{row}\s*=\s*\[.*\]$", f"{row} = {list(values)}", text, count=1)
    file = folder / "other.toml"
    file.write_text(text, "utf-8")
    return file


BODIES: Mapping[tuple[str, str], Mapping[str, Sequence[float]]] = {
    ("slant_trouser", "large"): {
        "waist": [900, 960, 1030],
        "hip": [1100, 1160, 1230],
        "rise": [300, 310, 320],
        "waist_to_hip": [215, 218, 221],
        "inside_leg": [740, 745, 750],
    },
    ("slant_trouser", "young"): {
        "waist": [600, 630, 660],
        "hip": [780, 820, 860],
        "rise": [230, 236, 242],
        "waist_to_hip": [170, 174, 178],
        "inside_leg": [690, 710, 730],
    },
    ("quay_jeans", "long"): {
        "waist": [700, 740, 780],
        "hip": [880, 920, 960],
        "rise": [240, 244, 248],
        "waist_to_hip": [160, 162, 164],
        "inside_leg": [840, 845, 850],
    },
    ("ferry_shirt", "young"): {
        "neck": [330, 340, 350],
        "bust": [720, 760, 800],
        "waist": [640, 660, 690],
        "hip": [740, 780, 820],
        "back_length": [360, 370, 380],
        "shoulder": [120, 124, 128],
        "arm": [520, 535, 550],
        "wrist": [145, 148, 151],
    },
}


def drafted(pieces: Mapping[str, Piece]) -> PatternSet:
    sizes = tuple(next(iter(pieces.values())).nest)
    info = {name: PieceInfo(name) for name in pieces}
    return PatternSet("second", sizes, sizes[len(sizes) // 2], "hip", pieces, info)


def assert_second_style(tmp_path: Path, pieces: Mapping[str, Piece], name: str) -> PatternSet:
    """Every piece has its name, by the lengths that its draft has, and every relation is there."""
    bare, _ = stranger(drafted(pieces), 2)
    found, said = begun(tmp_path, bare, name)
    assert "not carried over" not in said
    assert set(found.pieces) == set(pieces)
    for piece, drawn in pieces.items():
        own = outline_by_edges(found.sized(piece, found.base))
        assert own == pytest.approx(outline_by_edges(drawn.at(found.base)), abs=NEAR_MM)
        marks = {mark.name: mark.point for mark in found.sized(piece, found.base).landmarks}
        assert set(marks) == {mark.name for mark in drawn.at(found.base).landmarks}
    assert_carried(found, demo(name))
    return found


@pytest.mark.parametrize(("name", "body"), BODIES)
def test_a_second_style_for_other_bodies(tmp_path: Path, name: str, body: str) -> None:
    draft = import_module(f"demo_sets.{name}.draft")
    pieces = draft.build(charted(name, BODIES[name, body], tmp_path))
    found = assert_second_style(tmp_path, pieces, name)
    for size in found.sizes:
        assert all(
            c.verdict != "does not sew" for c in walk(found, size).checks if c.kind == "seam"
        )


def test_a_longer_skirt_with_fuller_hips(tmp_path: Path) -> None:
    draft = import_module("demo_sets.lined_skirt.draft")
    chart = draft.Chart(
        sizes=("A", "B", "C"),
        waist=(700, 740, 780),
        hip=(960, 1000, 1040),
        depth=(215, 218, 221),
        long=(780, 790, 800),
        dart=(36, 38, 40),
        zip=(200, 200, 200),
        waist_ease=24.0,
        hip_ease=70.0,
    )
    found = assert_second_style(tmp_path, draft.draft(chart), "lined_skirt")
    assert all(walk(found, size).sews for size in found.sizes)


def test_another_ease_is_carried_and_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    draft = import_module("demo_sets.scoop_skirt.draft")
    monkeypatch.setattr(draft, "LONG", tuple(long + 180 for long in draft.LONG))
    monkeypatch.setattr(draft, "SEAT_EASE", 70.0)
    monkeypatch.setattr(draft, "BELT_WIDTH", 55.0)
    monkeypatch.setattr(draft, "BACK_EASED", draft.BACK_EASED + 3.0)
    pieces = draft.draft()
    bare, _ = stranger(drafted(pieces), 2)
    _, said = begun(tmp_path, bare, "scoop_skirt")
    told = "band 'belt_fit' is carried over and does not sew yet"
    assert re.search(rf"{told}: [^;]* is off by 3\.0 mm", said)
    monkeypatch.setattr(draft, "BACK_EASED", draft.BACK_EASED + 60.0)
    (tmp_path / "far").mkdir()
    bare, _ = stranger(drafted(draft.draft()), 2)
    found, said = begun(tmp_path / "far", bare, "scoop_skirt")
    assert "band 'belt_fit' is not carried over: it is off by 63.0 mm" in said
    assert not found.relations.bands


@pytest.mark.parametrize("name", EVERY)
def test_a_drawing_without_names_of_edges(tmp_path: Path, name: str) -> None:
    """A DXF draws notches and drill marks; darts and plain marks are where the set has them."""
    old = demo(name)
    bare, _ = stranger(old, 6)
    for ending, data in render_drawing(bare, WriteOptions(kind="nested", names=False))[0].items():
        (tmp_path / f"other{ending}").write_bytes(data)
    out = str(tmp_path / "new")
    done = run("begin", str(tmp_path / "other.dxf"), "-o", out, "--like", str(demo_path(name)))
    assert done.exit_code == 0, done.output
    assert "not carried over" not in " ".join(done.output.split())
    found = load(out)
    assert set(found.pieces) == set(old.pieces)
    for key in KINDS:
        assert set(relations_of(found.relations, key)) == set(relations_of(old.relations, key))
    for size in found.sizes:
        for kind in ("seam", "band", "opening"):
            assert all(c.verdict != "does not sew" for c in walk(found, size).of(kind))
    for piece in old.pieces:
        own = {dart.name for dart in found.sized(piece, found.base).darts}
        assert own >= {dart.name for dart in old.sized(piece, old.base).darts}
