"""Files that mean harm or are broken: refused soon, by name, never with a traceback.

The files are a tenth of what the reader's limits keep out, and so are the limits, which makes
the calls that are counted a tenth.  The profile ``long`` has both as they are.
"""

from __future__ import annotations

import random
from pathlib import Path
from pkgutil import resolve_name

import pytest

from propagate.errors import PropagateError
from propagate.io.options import SvgWriting
from propagate.io.svg.read import read_drawings
from propagate.io.svg.write import svg_texts
from tests.effort import calls_of
from tests.examples import goes_on
from tests.io.svg.drawings import PAGE, read_text, svg
from tests.shared import demo

SHARE = 1 if goes_on() else 10
LIMITS = {
    "path_data": ("MOST_COMMANDS",),
    "svg.drawing": ("MOST_SHAPES", "MOST_STEPS", "MOST_COPIES", "MOST_POINTS"),
    "svg.elements": ("MOST_COMMANDS",),
    "svg.marks": ("MOST_MARKS",),
    "svg.read": ("MOST_MARK_WORK",),
    "svg.sorting": ("MOST_PIECES", "MOST_RINGS"),
}
MOST_CALLS = 6_000_000 // SHARE
"""Those of a few seconds without a tenth; the worst file takes half of them."""

LAUGHS = "".join(f'<!ENTITY l{i} "{f"&l{i - 1};" * 10 if i else "ha"}">' for i in range(12))
BOMB = f'<?xml version="1.0"?><!DOCTYPE svg [{LAUGHS}]><svg {PAGE}><text>&l11;</text></svg>'
OUTSIDE = (
    '<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/hostname">]>'
    f"<svg {PAGE}><title>&x;</title></svg>"
)
PARAMETER = f'<!DOCTYPE svg [<!ENTITY % p SYSTEM "http://example.invalid/p.dtd"> %p;]><svg {PAGE}/>'
QUADRATIC = f'<!DOCTYPE svg [<!ENTITY a "{"a" * 50_000}">]><svg {PAGE}>{"&a;" * 50_000}</svg>'
COPIES = (
    "<defs>"
    + '<g id="u0"><path d="M0 0h9v9z"/></g>'
    + "".join(f'<g id="u{i}">' + f'<use href="#u{i - 1}"/>' * 10 + "</g>" for i in range(1, 12))
    + '</defs><use href="#u11"/>'
)
HARMFUL = {
    "laughs": (BOMB, "entity"),
    "outside": (OUTSIDE, "entity"),
    "parameter": (PARAMETER, "entity"),
    "quadratic": (QUADRATIC, "entity"),
    "copies of copies": (svg(COPIES), "more than"),
    "a copy of itself": (svg('<g id="a"><use href="#a"/></g>'), "copies|use"),
    "deep": (svg("<g>" * 5000 + "</g>" * 5000), "nested"),
    "many": (svg('<path d="M0 0h1"/>' * (210_000 // SHARE)), "more than"),
    "long path": (svg('<path id="a" d="M0 0' + "h1" * (200_000 // SHARE) + '"/>'), "more than"),
    "many points": (
        svg('<polygon id="a" points="' + "1 2 " * (150_000 // SHARE) + '"/>'),
        "more than",
    ),
    "empty": ("", "not readable"),
    "other": ("<html><body/></html>", "expected an SVG"),
    "cut off": (svg('<rect id="a"')[:90], "not readable"),
    "no outline": (svg('<path d="M0 0L10 10"/>'), "outline"),
    "not a number": (svg('<path id="a" d="M0 0 L1 x"/>'), "'a'"),
    "huge number": (svg('<path id="a" d="M0 0 L1e999 0"/>'), "'a'"),
}

# What costs time and not memory: many lines on one piece, hatchings, nets, wild curves.
HARMFUL |= {
    "hatching": (
        svg(
            '<rect id="a" width="400" height="400"/>'
            + "".join(f'<path d="M{i % 390} {i // 390}l5 3"/>' for i in range(15_000 // SHARE))
        ),
        "at most",
    ),
    "confetti": (
        svg("".join(f'<path d="M{i % 390} {i // 39}h20v20z"/>' for i in range(10_000 // SHARE))),
        "at most",
    ),
    "net": (
        svg(
            "".join(
                f'<path d="M{10 * i} {10 * j}h10"/><path d="M{10 * i} {10 * j}v10"/>'
                for i in range(80)
                for j in range(80 // SHARE)
            )
        ),
        "outline",
    ),
    "zigzag": (
        svg(
            '<polygon id="a" points="'
            + " ".join(f"{k / 120},{k % 2 * 9 + 20}" for k in range(50_000 // SHARE))
            + ' 450,450 0,450"/>'
        ),
        "--corner-angle",
    ),
    "wild curves": (
        svg('<path id="a" d="M0 0' + "C9e4 0 0 9e4 9e4 9e4S0 9e4 0 0" * (8_000 // SHARE) + 'Z"/>'),
        "--unit",
    ),
}


@pytest.mark.parametrize("name", HARMFUL)
def test_a_harmful_file_is_refused_soon(
    tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    for module, limits in LIMITS.items():
        for limit in limits:
            place = f"propagate.io.{module}.{limit}"
            monkeypatch.setattr(
                place, resolve_name(place.replace(f".{limit}", f":{limit}")) // SHARE
            )
    text, word = HARMFUL[name]

    def refuse() -> None:
        with pytest.raises(PropagateError, match=word):
            read_text(tmp_path, text)

    assert calls_of(refuse) < MOST_CALLS


@pytest.mark.parametrize(
    "source",
    [
        b"\x1f\x8b\x08\x00" + bytes(50),
        b"\xff\xfe<\x00s\x00",
        b'<?xml version="1.0" encoding="x-none"?><svg/>',
        f'<svg {PAGE}><g id="\xe9"/></svg>'.encode("latin-1"),
        bytes(1000),
    ],
)
def test_bytes_that_are_no_text_are_refused(tmp_path: Path, source: bytes) -> None:
    with pytest.raises(PropagateError):
        read_text(tmp_path, source)


def test_a_plain_doctype_is_no_harm(tmp_path: Path) -> None:
    head = (
        '<?xml version="1.0" standalone="no"?><!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" '
        '"http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">'
    )
    pattern, _ = read_text(tmp_path, head + svg('<rect id="front" width="90" height="80"/>'))
    assert list(pattern.pieces) == ["front"]


def test_other_encodings_are_read(tmp_path: Path) -> None:
    text = '<?xml version="1.0" encoding="ISO-8859-1"?>' + svg(
        '<rect id="r\xfcckteil" width="90" height="80"/>'
    )
    pattern, _ = read_text(tmp_path, text.encode("latin-1"))
    assert list(pattern.pieces) == ["r\xfcckteil"]


def test_mutated_drawings_end_in_an_error_or_a_report(tmp_path: Path) -> None:
    pattern = demo("scoop_skirt")
    (text,) = svg_texts(pattern, SvgWriting(), "a.svg").values()
    start, end = text.index('<g id="size-M"'), text.index('<g id="size-L"')
    source = (text[: text.index("<g ")] + text[start:end] + "</svg>").encode()
    rng = random.Random(20260705)
    refused, trials = 0, 600 if goes_on() else 40
    file = tmp_path / "a.svg"
    file.write_bytes(source)
    of_the_sound = calls_of(lambda: read_drawings([file]))

    def try_it() -> None:
        nonlocal refused
        try:
            read_drawings([file])
        except PropagateError:
            refused += 1

    for _ in range(trials):
        broken = bytearray(source)
        for _ in range(rng.choice([1, 1, 3, 20])):
            place = rng.randrange(len(broken))
            kind = rng.randrange(4)
            if kind == 0:
                broken[place] = rng.randrange(256)
            elif kind == 1:
                del broken[place : place + rng.randrange(1, 200)]
            elif kind == 2:
                broken[place:place] = rng.choice([b"9" * 30, b"-", b"Z", b"M", b'"', b"<", b"e9"])
            elif rng.random() < 0.1:
                del broken[place:]
        file.write_bytes(bytes(broken))
        assert calls_of(try_it) < 10 * of_the_sound
    assert trials / 6 < refused < trials
