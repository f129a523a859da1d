"""Whatever is damaged in the files of a set, the answer is one of the project's errors."""

import json
import re
from dataclasses import replace
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from propagate.errors import PropagateError
from propagate.io.geometry_json import dump_piece, load_piece
from propagate.io.set_toml import parse_set, render_set
from propagate.pattern.validate import find_problems
from tests.builders import pocket_set
from tests.examples import examples

POCKET = pocket_set()
TOML = render_set(POCKET)
WORDS = sorted(set(re.findall(r'"[^"\n]*"|\d+', TOML)))
PLACES = [match.span() for match in re.finditer(r'"[^"\n]*"|\d+|(?<=\n)\S+|[][{}=,]', TOML)]
GEOMETRY = {name: dump_piece(piece) for name, piece in POCKET.pieces.items()}

plain = st.sampled_from(
    [None, True, 0, -1, 1e9, -0.0, 1e999, "", "side", "a b", [], [[0, 0]], {}, [1, 2], "M 0 0 h 9"]
)


def leaves(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Every place in a document."""
    items = value.items() if isinstance(value, dict) else enumerate(value)
    found = [path] if path else []
    for key, item in items if isinstance(value, (dict, list)) else ():
        found += leaves(item, (*path, key)) if isinstance(item, (dict, list)) else [(*path, key)]
    return found


@examples(150)
@given(st.sampled_from(sorted(GEOMETRY)), st.data())
def test_damaged_geometry(name: str, data: st.DataObject) -> None:
    document = json.loads(GEOMETRY[name])
    *way, last = data.draw(st.sampled_from(leaves(document)))
    holder = document
    for key in way:
        holder = holder[key]
    if data.draw(st.booleans()) and isinstance(holder, dict):
        del holder[last]
    else:
        holder[last] = data.draw(plain)
    try:
        piece = load_piece(json.dumps(document), f"{name}.json")
    except PropagateError:
        return
    found = find_problems(replace(POCKET, pieces={**POCKET.pieces, name: piece}))
    assert all(isinstance(line, str) and "\n" not in line for line in found)


@examples(150)
@given(st.sampled_from(PLACES), st.sampled_from([*WORDS, "", "x", "[]", "{}", "-1", "1.5", "true"]))
def test_damaged_relations(place: tuple[int, int], word: str) -> None:
    text = TOML[: place[0]] + word + TOML[place[1] :]
    try:
        head = parse_set(text, "set.toml")
    except PropagateError:
        return
    pattern = replace(
        POCKET,
        name=head.name,
        sizes=head.sizes,
        base=head.base,
        lay_on=head.lay_on,
        info=head.info,
        relations=head.relations,
        chart=head.chart,
    )
    assert all(isinstance(line, str) and "\n" not in line for line in find_problems(pattern))
