"""Draft of the garden apron, written as drawings in the way that people draw.

One SVG file for each size, in centimetres, with groups, transforms and names as a drawing
program leaves them; nothing in the files is peculiar to this project.

Run ``python demo_sets/garden_apron/draft.py`` to write them again.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path

HOME = Path(__file__).resolve().parent
if __name__ == "__main__":
    sys.path.insert(0, str(HOME.parents[1]))

FACING = 5.0  # width of the facing, cm


@dataclass(frozen=True)
class Apron:
    """Measures of one size, cm: half widths from the fold, lengths from the top."""

    size: str
    bib: float
    width: float
    scoop: float
    length: float
    pocket: float


SIZES = (
    Apron("S", 11.0, 30.0, 26.0, 80.0, 17.0),
    Apron("M", 12.0, 33.0, 28.0, 84.0, 18.0),
    Apron("L", 13.0, 36.5, 30.0, 88.0, 19.0),
)


def drawing(one: Apron) -> str:
    """The drawing of one size."""
    page = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="100cm" height="120cm" '
        'viewBox="0 0 100 120" fill="none" stroke="black" stroke-width="0.08">'
    )
    groups = (_apron(one), _facing(one), _pocket(one), _strap(one))
    return "\n".join([page, f'<g id="layer1">\n{"".join(groups)}</g>', "</svg>", ""])


def scoop(one: Apron) -> str:
    """The curve under the arm, from the bib to the side, as path data."""
    b, w, s = one.bib, one.width, one.scoop
    return f"M{_n(b)} 0C{_n(b + 1)} {_n(0.6 * s)} {_n(b + 5)} {_n(s)} {_n(w)} {_n(s)}"


def _n(value: float) -> str:
    return f"{value:.4f}".rstrip("0").rstrip(".")


def _apron(one: Apron) -> str:
    b, w, s, length = (_n(v) for v in (one.bib, one.width, one.scoop, one.length))
    p, low = _n(one.pocket), _n(one.scoop + 8 + one.pocket)
    high = _n(one.scoop + 8)
    return f"""<g id="apron" transform="translate(4 4)">
<text x="12" y="50" font-size="2">Apron {one.size}, cut 1 on the fold</text>
<path id="fold" d="M0 0V{length}"/>
<path id="hem" d="M0 {length}H{w}"/>
<path id="side" d="M{w} {s}V{length}"/>
<path id="scoop" d="{scoop(one)}"/>
<path id="top" d="M0 0H{b}"/>
<path id="pocket_place" d="M0.5 {high}H{p}V{low}H0.5"/>
<path id="notch_tie" d="M{w} {_n(one.scoop + 2)}h-0.6"/>
<path id="level_waist" d="M0 {s}H{w}"/>
<line id="grain" x1="6" y1="{_n(one.length - 8)}" x2="6" y2="20"/>
</g>
"""


def _facing(one: Apron) -> str:
    """The strip behind top and scoop, drawn in its own corner of the page."""
    w, s = one.width, one.scoop
    inner = (
        f"M{_n(w)} {_n(s + FACING)}C{_n(one.bib + 1)} {_n(s + FACING)} {_n(one.bib - 4)} "
        f"{_n(0.7 * s)} {_n(one.bib - 4)} {_n(FACING)}H0"
    )
    return f"""<g id="facing" transform="translate(50 4)">
<path id="facing_scoop" d="{scoop(one)}"/>
<path id="facing_side" d="M{_n(w)} {_n(s)}v{_n(FACING)}"/>
<path id="facing_inner" d="{inner}"/>
<path id="facing_fold" d="M0 {_n(FACING)}V0"/>
<path id="facing_top" d="M0 0H{_n(one.bib)}"/>
<line id="grain2" x1="2" y1="4.5" x2="2" y2="0.5"/>
</g>
"""


def _pocket(one: Apron) -> str:
    """A whole outline; its corners are found by angle."""
    p = one.pocket
    return f"""<g id="pocket" transform="translate(52 50)">
<path d="M0 0H{_n(p)}V{_n(p - 3)}L{_n(p - 3)} {_n(p)}H0Z"/>
<line id="grain3" x1="5" y1="12" x2="5" y2="4"/>
</g>
"""


def _strap(one: Apron) -> str:
    """A strip that lies across the page: its group is turned."""
    return f"""<g id="strap" transform="translate(50 112) rotate(-90)">
<rect width="6" height="{_n(2 * one.bib + 24)}"/>
<line id="grain4" x1="3" y1="30" x2="3" y2="6"/>
</g>
"""


def main() -> None:
    """Write one file for each size."""
    for one in SIZES:
        (HOME / f"garden_apron_{one.size}.svg").write_text(drawing(one), encoding="utf-8")


if __name__ == "__main__":
    main()
