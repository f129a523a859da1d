"""A set whose names try everything: markup, quotes, other scripts, 300 characters."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from propagate.pattern.model import Piece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import Girth, Seam, parse_run
from tests.builders import tiny_set

SCRIPT = "<script>window.hit=1</script>"
TITLES: Mapping[str, str] = {
    "markup": SCRIPT,
    "image": "<img src=x onerror=window.hit=1>",
    "closing": "</script></style></svg></title><b>",
    "quotes": "\"double\" 'single' & amp; {{ 7*7 }} {% raw %} ${x} `y`",
    "right_to_left": "قطعة أمامية ‮abc",
    "hebrew": "חזית",
    "emoji": "👖🧵 front 👩🏽‍🦱",
    "long": "n" * 300,
    "comment": "<!-- ]]> -->",
    "control": "a\x00b\x1bc\x7fd",
    "lone": "x\ud800y",
}


def hostile_set() -> PatternSet:
    """Copies of a front and its back, each with a hostile title, sewn side to side."""
    tiny = tiny_set()
    front, back = tiny.pieces["front"], tiny.pieces["back"]
    pieces, info, seams = {}, {}, {}
    for i, title in enumerate(TITLES.values()):
        for twin, name in ((front, f"f{i}"), (back, f"b{i}")):
            pieces[name] = Piece(name, twin.nest)
            info[name] = replace(tiny.info[twin.name], title=title, fabric=title)
        name = f"{title} seam"
        seams[name] = Seam(name, parse_run(f"f{i}.side"), parse_run(f"b{i}.side reversed"))
    girth = Girth(SCRIPT, runs=(parse_run("f0.waist"),), chart=SCRIPT)
    relations = Relations(seams=seams, girths={SCRIPT: girth})
    chart = {SCRIPT: dict.fromkeys(tiny.sizes, 300.0)}
    return replace(tiny, name=SCRIPT, pieces=pieces, info=info, relations=relations, chart=chart)
