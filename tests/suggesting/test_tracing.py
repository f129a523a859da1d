"""Pieces that lie on another one: found as the drafts' own sets have them, asked, and followed."""

from __future__ import annotations

import io
import math
from dataclasses import replace
from pathlib import Path

import pytest
import shapely
from click.testing import CliRunner

import propagate
from propagate.cli import app
from propagate.cli.asking import Sitting
from propagate.cli.asking_derived import ask_derived
from propagate.demo import demo_names
from propagate.engine.walk import walk
from propagate.pattern.derived import Derived
from propagate.pattern.model import Piece
from propagate.pattern.patternset import PatternSet
from propagate.suggesting.tracing import find_tracings
from tests.shared import demo
from tests.suggesting.strangers import _redrawn

DERIVED = {
    "concert_dress": {"front_facing", "back_facing"},
    "market_bag": {"pocket"},
}
"""Of the demo sets those pieces that have no ease, no closed darts and no cloth of their own."""


def without_derived(real: PatternSet) -> PatternSet:
    """Its seams are matched again, as somebody says them who knows nothing of derived pieces."""
    held = real.relations
    seams = {
        name: replace(one, check=False)
        if {span.piece for span in one.follow} & held.derived.keys()
        else one
        for name, one in held.seams.items()
    }
    return replace(real, relations=replace(held, derived={}, seams=seams))


def sitting(folder: Path) -> Sitting:
    return Sitting(str(folder), propagate.load(folder), 0.3)


def edges_of(derived: Derived) -> set[tuple[str, str, float]]:
    return {(one.edge, one.on, float(str(one.inside))) for one in derived.edges}


@pytest.mark.parametrize("name", demo_names())
def test_the_drafts_own_derived_pieces_are_found_and_no_others(name: str) -> None:
    real = demo(name)
    found = {one.derived.piece: one.derived for one in find_tracings(without_derived(real))}
    assert found.keys() == DERIVED.get(name, set())
    for piece, derived in found.items():
        own = real.relations.derived[piece]
        assert (derived.of, derived.face_down) == (own.of, own.face_down)
        assert edges_of(derived) == edges_of(own)


@pytest.mark.parametrize(("angle", "first"), [(0.7, 1), (math.pi / 2, 2), (-2.0, 3)])
def test_however_a_piece_is_turned_and_whichever_edge_is_first(angle: float, first: int) -> None:
    real = demo("concert_dress")
    pieces = dict(real.pieces)
    for name in ("front_facing", "back", "front"):
        nest = real.pieces[name].nest
        pieces[name] = Piece(
            name, {size: _redrawn(one, angle, (310.0, -95.0), first) for size, one in nest.items()}
        )
    turned = replace(without_derived(real), pieces=pieces)
    for one in find_tracings(turned):
        own = real.relations.derived[one.derived.piece]
        assert edges_of(one.derived) == edges_of(own)
        assert all(walk(one.put_on(turned), size).sews for size in turned.sizes)


def test_what_lies_askew_in_one_size_is_not_traced() -> None:
    """The neck of the front facing in the largest size 1 mm deeper: it is a shape of its own."""
    real = demo("concert_dress")
    last = real.sizes[-1]
    nest = dict(real.pieces["front_facing"].nest)
    edges = []
    for edge in nest[last].edges:
        points = edge.points.copy()
        points[1:-1] -= (0.0, 1.0)
        edges.append(replace(edge, points=points, path=None) if edge.name == "neck" else edge)
    nest[last] = replace(nest[last], edges=tuple(edges))
    pieces = {**real.pieces, "front_facing": Piece("front_facing", nest)}
    bent = replace(without_derived(real), pieces=pieces)
    assert "front_facing" not in {one.derived.piece for one in find_tracings(bent)}


def test_a_yes_is_written_and_changes_follow_as_in_the_drafts_own_set(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    own, mine = tmp_path / "own", tmp_path / "mine"
    propagate.save(demo("concert_dress"), own)
    propagate.save(without_derived(demo("concert_dress")), mine)
    monkeypatch.setattr("sys.stdin", io.StringIO("perhaps\ny\ny\n"))
    ask_derived(sitting(mine))
    text = " ".join(capsys.readouterr().out.split())
    assert "Front neck facing (2 left). Is it traced from front, and does it follow it?" in text
    assert "inner edge, 45.0 mm inside of neck" in text
    assert "face down" in text
    joined = propagate.load(mine)
    assert all(walk(joined, size).sews for size in joined.sizes)
    assert find_tracings(joined) == ()
    results = []
    for folder in (own, mine):
        out = f"{folder}_changed"
        words = ["draw-edge", "edge=front.neck", "through=50%:-36mm", "-o", out]
        done = CliRunner().invoke(app.cli, ["change", str(folder), *words])
        assert done.exit_code == 0, done.output
        results.append(propagate.load(out))
    drafted, got = results
    for piece in drafted.pieces:
        for size in drafted.sizes:
            rings = [shapely.LinearRing(x.sized(piece, size).outline) for x in (drafted, got)]
            assert shapely.hausdorff_distance(*rings) < 0.2, (piece, size)
    before = demo("concert_dress").sized("front_facing", drafted.base).outline
    after = got.sized("front_facing", got.base).outline
    assert shapely.hausdorff_distance(*map(shapely.LinearRing, (before, after))) > 5.0


def test_a_no_and_a_stop_write_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "dress"
    propagate.save(without_derived(demo("concert_dress")), folder)
    before = (folder / "set.toml").read_bytes()
    for said in ("n\nn\n", "n\ns\n", ""):
        monkeypatch.setattr("sys.stdin", io.StringIO(said))
        ask_derived(sitting(folder))
        assert (folder / "set.toml").read_bytes() == before


def test_what_was_answered_of_a_seam_holds_when_its_follower_is_derived(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The seam is walked alone from then on; that is no change by hand."""
    folder = tmp_path / "dress"
    real = without_derived(demo("concert_dress"))
    seams = {name: one for name, one in real.relations.seams.items() if name != "front_neck"}
    propagate.save(replace(real, relations=replace(real.relations, seams=seams)), folder)

    def ask(*words: str) -> str:
        said = "".join(f"{word}\n" for word in words)
        done = CliRunner().invoke(app.cli, ["suggest", str(folder), "--ask"], input=said)
        assert done.exit_code == 0, done.output
        return " ".join(done.output.split())

    text = ask("y", *"nnnnnnnn", "s")
    assert "1 confirmed" in text
    monkeypatch.setattr("sys.stdin", io.StringIO("y\ny\n"))
    ask_derived(sitting(folder))
    pattern = propagate.load(folder)
    assert pattern.relations.derived.keys() == {"front_facing", "back_facing"}
    again = ask("s")
    assert "changed in set.toml since" not in again
    assert "1 confirmed" in again
