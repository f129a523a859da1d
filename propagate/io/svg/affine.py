"""Transforms, lengths with units, and view boxes of SVG.

The forms are those of the W3C recommendation *Scalable Vector Graphics (SVG) 1.1*,
sections 7.6 to 7.8 and 7.10, and of CSS for units: 96 px to the inch (from memory).
"""

from __future__ import annotations

import math
import re

from propagate.errors import FormatError
from propagate.io.words import quoted
from propagate.values import dataclass

__all__ = ["IDENTITY", "MM_PER_UNIT", "Affine", "fit_view_box", "numbers", "parse_transform"]

MM_PER_UNIT = {
    "mm": 1.0,
    "cm": 10.0,
    "q": 0.25,
    "in": 25.4,
    "pt": 25.4 / 72,
    "pc": 25.4 / 6,
}
"""Absolute units but px, which depends on the dots per inch."""

_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
_CALL = re.compile(r"\s*,?\s*([A-Za-z]+)\s*\(([^()]*)\)")
_COUNTS = {
    "matrix": (6,),
    "translate": (1, 2),
    "scale": (1, 2),
    "rotate": (1, 3),
    "skewX": (1,),
    "skewY": (1,),
}


@dataclass(frozen=True)
class Affine:
    """``x' = a x + c y + e``, ``y' = b x + d y + f``."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    def __matmul__(self, inner: Affine) -> Affine:
        """First `inner`, then this one."""
        return Affine(
            self.a * inner.a + self.c * inner.b,
            self.b * inner.a + self.d * inner.b,
            self.a * inner.c + self.c * inner.d,
            self.b * inner.c + self.d * inner.d,
            self.a * inner.e + self.c * inner.f + self.e,
            self.b * inner.e + self.d * inner.f + self.f,
        )

    def apply(self, point: tuple[float, float]) -> tuple[float, float]:
        """Transform a point."""
        x, y = point
        return self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f

    @property
    def stretch(self) -> tuple[float, float]:
        """Smallest and largest factor by which lengths change (singular values)."""
        total = self.a**2 + self.b**2 + self.c**2 + self.d**2
        det = abs(self.a * self.d - self.b * self.c)
        root = math.sqrt(max(0.0, total**2 - 4 * det**2))
        return math.sqrt(max(0.0, (total - root) / 2)), math.sqrt((total + root) / 2)


IDENTITY = Affine()
MOST_TRANSFORMS = 1_000


def numbers(text: str) -> list[float]:
    """Read numbers parted by blanks or commas.

    Raises
    ------
    ValueError
        When something else stands there, or a number is not finite.
    """
    rest = _NUMBER.sub(" ", text)
    if rest.replace(",", " ").strip():
        raise ValueError(text)
    found = [float(word) for word in _NUMBER.findall(text)]
    if not all(map(math.isfinite, found)):
        raise ValueError(text)
    return found


def parse_transform(text: str) -> Affine:
    """Read a ``transform`` attribute.

    Raises
    ------
    FormatError
        Says what was found and what was expected.
    """
    whole, place = IDENTITY, 0
    body = text.rstrip(" \t\r\n\f,")
    if body.strip() == "none":
        return whole
    if body.count("(") > MOST_TRANSFORMS:
        raise FormatError(
            f"found more than {MOST_TRANSFORMS} transforms on one element; save as plain SVG"
        )
    while place < len(body):
        match = _CALL.match(body, place)
        if match is None:
            raise _wrong(text)
        try:
            values = numbers(match[2])
        except ValueError:
            raise _wrong(text) from None
        if len(values) not in _COUNTS.get(match[1], ()):
            raise _wrong(text)
        whole = whole @ _one(match[1], values)
        place = match.end()
    return whole


def _wrong(text: str) -> FormatError:
    return FormatError(
        f"found the transform {quoted(text[:60])}, expected matrix, translate, scale, rotate, "
        "skewX or skewY with their numbers"
    )


def _one(kind: str, v: list[float]) -> Affine:
    if kind == "matrix":
        return Affine(*v)
    if kind == "translate":
        return Affine(e=v[0], f=v[1] if len(v) > 1 else 0.0)
    if kind == "scale":
        return Affine(a=v[0], d=v[-1])
    if kind == "rotate":
        cos, sin = math.cos(math.radians(v[0])), math.sin(math.radians(v[0]))
        turn = Affine(cos, sin, -sin, cos)
        if len(v) == 1:
            return turn
        return Affine(e=v[1], f=v[2]) @ turn @ Affine(e=-v[1], f=-v[2])
    slope = math.tan(math.radians(v[0]))
    return Affine(c=slope) if kind == "skewX" else Affine(b=slope)


def fit_view_box(
    box: tuple[float, float, float, float], width: float, height: float, ratio: str | None
) -> Affine:
    """Map a view box on a viewport at the origin (``preserveAspectRatio``)."""
    x, y, w, h = box
    sx, sy = width / w, height / h
    words = (ratio or "xMidYMid meet").split()
    align = words[0] if words else "xMidYMid"
    if align == "none":
        return Affine(a=sx, d=sy, e=-x * sx, f=-y * sy)
    scale = max(sx, sy) if words[-1:] == ["slice"] else min(sx, sy)
    share = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}
    left = (width - w * scale) * share.get(align[1:4], 0.5)
    above = (height - h * scale) * share.get(align[5:8], 0.5)
    return Affine(a=scale, d=scale, e=left - x * scale, f=above - y * scale)
