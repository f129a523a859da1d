"""The order of propagation, judged by the standard library's topological sorter."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from propagate import Blend, InvalidSet, blend
from propagate.engine.graph import order_of_work, relation_graph
from propagate.pattern.grain import Grain
from propagate.pattern.model import Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import PieceInfo, Seam, parse_run
from tests.bench.tiling import tile
from tests.builders import edge
from tests.examples import examples
from tests.shared import demo

SETS = ("slant_trouser", "scoop_skirt")
UPPER = {"slant_trouser": "42", "scoop_skirt": "XL"}
LOWER = {"slant_trouser": "48", "scoop_skirt": "S"}
EDGES = ("south", "east", "north", "west")
SQUARE = SizedPiece(
    edges=(
        edge("south", (0.0, 0.0), (50.0, 0.0)),
        edge("east", (50.0, 0.0), (50.0, 50.0)),
        edge("north", (50.0, 50.0), (0.0, 50.0)),
        edge("west", (0.0, 50.0), (0.0, 0.0)),
    ),
    grain=Grain((10.0, 10.0), (10.0, 40.0)),
)


def squares(count: int, joined: Iterable[tuple[int, str, int, str]]) -> PatternSet:
    """Squares p0, p1 ... and seams (lead, its edge, follower, its edge)."""
    names = [f"p{i}" for i in range(count)]
    seams = {
        f"s{k}": Seam(f"s{k}", parse_run(f"p{i}.{a}"), parse_run(f"p{j}.{b}"))
        for k, (i, a, j, b) in enumerate(joined)
    }
    return PatternSet(
        name="squares",
        sizes=("1",),
        base="1",
        lay_on="hip",
        pieces={name: Piece(name, {"1": SQUARE}) for name in names},
        info={name: PieceInfo(name) for name in names},
        relations=Relations(seams=seams),
    )


def assert_sorted(order: list, needs: Mapping[object, Iterable[object]]) -> None:
    """The standard library's sorter accepts each item when its turn comes."""
    sorter = TopologicalSorter({item: set(needs[item]) & set(order) for item in order})
    sorter.prepare()
    ready: set[object] = set()
    for item in order:
        ready |= set(sorter.get_ready())
        assert item in ready, f"{item} comes before one that it waits for"
        sorter.done(item)
    assert not sorter.is_active()


# ----------------------------------------------------------------------- random relations


@st.composite
def relations(draw) -> tuple[int, list[tuple[int, str, int, str]]]:
    """Seams without a cycle: a lead has the lower number, and no edge follows two leads."""
    count = draw(st.integers(2, 12))
    places = [(j, b) for j in range(1, count) for b in EDGES]
    followed = draw(st.lists(st.sampled_from(places), unique=True, max_size=30))
    return count, [
        (draw(st.integers(0, j - 1)), draw(st.sampled_from(EDGES)), j, b) for j, b in followed
    ]


@examples(60)
@given(drawn=relations(), data=st.data())
def test_random_relations_come_in_an_order_that_the_standard_sorter_accepts(drawn, data):
    count, joined = drawn
    pattern = squares(count, joined)
    start = data.draw(
        st.sets(st.tuples(st.integers(0, count - 1), st.sampled_from(EDGES)), max_size=4)
    )
    order = order_of_work(pattern, [f"p{i}.{a}" for i, a in start])
    reads = {("seam", f"s{k}"): (i, a) for k, (i, a, _, _) in enumerate(joined)}
    writes = {("seam", f"s{k}"): (j, b) for k, (_, _, j, b) in enumerate(joined)}
    # By hand: a seam is reached when its lead is, and waits for whatever writes its lead.
    reached, edges = set(), set(start)
    while True:
        new = {seam for seam, lead in reads.items() if lead in edges} - reached
        if not new:
            break
        reached |= new
        edges |= {writes[seam] for seam in new}
    assert set(order) == reached
    assert len(order) == len(set(order))
    assert_sorted(order, {s: {t for t in reads if writes[t] == reads[s]} for s in order})


@examples(40)
@given(drawn=relations(), data=st.data())
def test_a_cycle_of_leads_is_refused_and_its_pieces_are_named(drawn, data):
    """The sorter of the standard library finds a cycle exactly when the project does."""
    count, joined = drawn
    extra = data.draw(
        st.lists(
            st.tuples(
                st.integers(0, count - 1),
                st.sampled_from(EDGES),
                st.integers(0, count - 1),
                st.sampled_from(EDGES),
            ),
            min_size=1,
            max_size=4,
        )
    )
    pattern = squares(count, [*joined, *extra])
    seams = [(f"p{i}.{a}", f"p{j}.{b}") for i, a, j, b in [*joined, *extra]]
    needs: dict[str, set[str]] = {}
    for lead, follower in seams:
        needs.setdefault(follower, set()).add(lead)
    try:
        TopologicalSorter(needs).prepare()
    except CycleError:
        with pytest.raises(InvalidSet, match="cycle") as caught:
            relation_graph(pattern)
        text = str(caught.value).split("cycle: ")[1].split(";")[0]
        path = [word for word in text.split(" -> ") if "." in word]
        # What it names is a cycle indeed: each edge leads the next one.
        assert len(path) > 1 or (path[0], path[0]) in seams
        if text.split(" -> ")[0] != path[0]:
            path = [path[-1], *path]
        assert all(pair in seams for pair in pairwise(path))
    else:
        relation_graph(pattern)


def test_a_cycle_names_its_pieces_and_no_others():
    pattern = squares(4, [(0, "east", 1, "west"), (1, "west", 2, "west"), (2, "west", 1, "west")])
    with pytest.raises(InvalidSet) as caught:
        relation_graph(pattern)
    text = str(caught.value)
    assert "p1.west" in text
    assert "p2.west" in text
    assert "p0" not in text
    assert "p3" not in text
    assert "swap lead and follow" in text


# -------------------------------------------------------------------------------- demos


def _nodes(pattern: PatternSet) -> list[str]:
    return [node for node in relation_graph(pattern) if isinstance(node, str)]


@pytest.mark.parametrize("name", SETS)
def test_the_demos_come_in_an_order_that_the_standard_sorter_accepts(name):
    pattern = demo(name)
    graph = relation_graph(pattern)
    for node in _nodes(pattern):
        order = order_of_work(pattern, [node])
        needs = {
            item: {r for edge in graph.predecessors(item) for r in graph.predecessors(edge)}
            for item in order
        }
        assert_sorted(order, needs)


OPENING, STACK = ("opening", "front_pocket"), ("stack", "front_pocket_layers")
SCOOP, SCOOP_STACK = ("opening", "scoop_pocket"), ("stack", "scoop_pocket_layers")


@pytest.mark.parametrize(
    ("name", "chain"),
    [
        ("slant_trouser", [OPENING, STACK, ("seam", "pocket_bag")]),
        ("slant_trouser", [OPENING, ("cut", "full_front"), ("band", "waistband_fit")]),
        ("slant_trouser", [STACK, ("band", "waistband_fit")]),
        ("slant_trouser", [("cut", "full_front"), ("seam", "fly_left")]),
        ("scoop_skirt", [SCOOP, SCOOP_STACK, ("band", "belt_fit")]),
        ("scoop_skirt", [SCOOP_STACK, ("seam", "bag_seam")]),
    ],
)
def test_what_a_hand_does_first_comes_first(name, chain):
    """Lay the opening, re-seat the layers, then fit the band and walk the bag's seam."""
    pattern = demo(name)
    sides = [n for n in _nodes(pattern) if n.startswith("full_front/")]
    order = order_of_work(pattern, sides)
    places = [order.index(item) for item in chain]
    assert places == sorted(places)


# ------------------------------------------------------------------- only what is reached


def _visited(pattern: PatternSet, name: str) -> tuple[int, int]:
    """Relations visited and pieces looked at by a blend."""
    looked: set[str] = set()

    class Watched(dict):
        def __getitem__(self, key):
            looked.add(key)
            return super().__getitem__(key)

    watched = replace(pattern, pieces=Watched(pattern.pieces))
    order_of_work(watched, ())  # building the graph looks at every piece once
    looked.clear()
    plan = pattern.relations.blend
    result = blend(watched, Blend({plan.upper: UPPER[name], plan.lower: LOWER[name]}))
    return len(result.record.pieces), len(looked)


@pytest.mark.parametrize("name", SETS)
def test_only_what_is_reached_is_visited(name):
    """The work does not grow when the set holds other garments too."""
    pattern = demo(name)
    counts = {_visited(tile(pattern, copies), name) for copies in (1, 2, 20)}
    assert len(counts) == 1
    sides = [n for n in _nodes(pattern) if "/" in n]
    many = tile(pattern, 20)
    assert order_of_work(many, sides) == order_of_work(pattern, sides)
    assert len(relation_graph(many)) >= 10 * len(relation_graph(pattern))


@pytest.mark.parametrize("name", SETS)
def test_copies_keep_every_digit(name):
    pattern = tile(demo(name), 2)
    plan = pattern.relations.blend
    result = blend(pattern, Blend({plan.upper: UPPER[name], plan.lower: LOWER[name]}))
    size = result.pattern.base
    others = [piece for piece in pattern.pieces if piece.startswith("copy")]
    assert len(others) == len(pattern.pieces) / 2
    for piece in others:
        assert result.pattern.pieces[piece].at(size) is pattern.pieces[piece].at(LOWER[name])
    assert not {piece.piece for piece in result.record.pieces} & set(others)


# ----------------------------------------------------------------------- early cut-off


def _changed(result) -> Iterator[str]:
    return (piece.piece for piece in result.record.pieces if piece.status != "same")


def test_a_leg_alone_leaves_pocket_and_waistband_untouched():
    """The side seam changed below the thigh, so it is reached, but nothing above follows."""
    pattern = demo("slant_trouser")
    result = blend(pattern, Blend({"waist": "44", "hip": "44", "knee": "50"}))
    size = result.pattern.base
    for piece in pattern.pieces:
        new, old = result.pattern.pieces[piece].at(size), pattern.pieces[piece].at("44")
        if piece in ("front", "back"):
            assert new != old
            for name in ("waist", "mouth", "centre"):
                if name in old.edge_names:
                    assert new.edge(name) == old.edge(name), (piece, name)
        else:
            assert new == old, piece
    assert set(_changed(result)) == {"front", "back"}
    assert not result.record.openings, "an opening that rests where it is has nothing to report"


def test_a_piece_that_is_the_same_keeps_being_the_same_object():
    """Nothing is copied that nothing changed: belt loops, welts and the rest."""
    pattern = demo("slant_trouser")
    result = blend(pattern, Blend({"waist": "42", "hip": "48"}))
    size = result.pattern.base
    assert result.pattern.pieces["belt_loop"].at(size) is pattern.pieces["belt_loop"].at("48")
    for piece in ("fly_extension", "fly_shield", "welt", "welt_bag", "waistband"):
        assert result.pattern.pieces[piece].at(size) is pattern.pieces[piece].at("42"), piece
