"""Ease: by how much one side of a join is longer than its lead, on purpose.

An amount of millimetres is a plain number.  Cloth is also eased by a share of the length, within
a range (what the cloth takes up), by another amount in each size, and in other measure between
notches: none below the notches of a sleeve cap, most of it towards the shoulder.  Fullness is said
as the trade says it, by its ratio: gathered 1.5 to 1, or an elastic cut to 0.85 of its edge.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from propagate.values import dataclass

__all__ = [
    "Ease",
    "EaseSaid",
    "as_of_zone",
    "ease_in_size",
    "ease_words",
    "eases_within",
    "fullness_words",
    "is_by_size",
    "is_eased",
    "least_and_most",
    "meant_ease",
    "mix_eases",
    "plain_amount",
    "share_said",
    "zone_ease",
]


@dataclass(frozen=True)
class Ease:
    """An ease that is more than one amount; exactly one of its forms is said.

    Attributes
    ----------
    share : float or None
        Share of the lead's length: 0.03 is 3 mm in 100.
    gathers : float or None
        The fuller side in lengths of the other: 1.5 is one and a half gathered on to one.
    stretched : float or None
        What is stretched on, such as an elastic, in lengths of what it is sewn to: 0.85.
    between : (float, float) or None
        The least and the most, mm.  Whatever lies between them is as meant.
    sizes : tuple of (size, ease)
        An ease for each size.
    zones : tuple of (landmark, ease)
        The lead's run from its start, stretch by stretch: each ends at ``PIECE.LANDMARK`` of
        the lead, the last at ``end``, and has its own ease.
    """

    share: float | None = None
    gathers: float | None = None
    stretched: float | None = None
    between: tuple[float, float] | None = None
    sizes: tuple[tuple[str, EaseSaid], ...] = ()
    zones: tuple[tuple[str, EaseSaid], ...] = ()


EaseSaid = float | Ease
"""What is said of an ease: an amount in mm, or one of the other forms."""


def plain_amount(ease: EaseSaid) -> float | None:
    """The amount in mm, where it is one and the same in every size and for every length."""
    return None if isinstance(ease, Ease) else float(ease)


def is_eased(ease: EaseSaid) -> bool:
    """Whether anything but none is said."""
    return isinstance(ease, Ease) or ease != 0.0


def is_by_size(ease: EaseSaid) -> bool:
    """Whether anything of an ease is said for each size."""
    if not isinstance(ease, Ease):  # most are: asked of every relation for every result
        return False
    return any(isinstance(one, Ease) and bool(one.sizes) for one in eases_within(ease))


def eases_within(ease: EaseSaid) -> Iterator[EaseSaid]:
    """The ease itself and every one that is said within it."""
    yield ease
    if isinstance(ease, Ease):
        for _, inner in (*ease.sizes, *ease.zones):
            yield from eases_within(inner)


def ease_in_size(ease: EaseSaid, size: str) -> EaseSaid:
    """What of an ease holds in one size; raises KeyError where nothing is said of it."""
    if isinstance(ease, Ease) and ease.sizes:
        return ease_in_size(dict(ease.sizes)[size], size)
    if isinstance(ease, Ease) and ease.zones:
        return Ease(zones=tuple((to, ease_in_size(one, size)) for to, one in ease.zones))
    return ease


def least_and_most(ease: EaseSaid, size: str, lead_mm: float) -> tuple[float, float]:
    """The least and the most ease of a lead of some length, mm; zones are for a whole run."""
    if not isinstance(ease, Ease):
        return ease, ease
    if ease.sizes:
        return least_and_most(dict(ease.sizes)[size], size, lead_mm)
    if ease.between is not None:
        return ease.between
    share = share_said(ease)
    if share is not None:
        return share * lead_mm, share * lead_mm
    raise ValueError("an ease by zones is asked for of a run, not of a length")


def share_said(ease: Ease) -> float | None:
    """By which share of its lead a follower is longer; None where nothing says that."""
    ratio = ease.stretched if ease.gathers is None else ease.gathers
    return ease.share if ratio is None else ratio - 1.0


def as_of_zone(ease: EaseSaid) -> EaseSaid:
    """The ease of a band's zone as a share of its run, where a ratio is said.

    The run leads there and is the longer side: of one that is gathered 1.5 to 1 the zone takes
    1 / 1.5, of a zone that is stretched on at 0.85 it is that share.

    Examples
    --------
    >>> as_of_zone(Ease(gathers=1.25))
    Ease(share=0.2, gathers=None, stretched=None, between=None, sizes=(), zones=())
    """
    if not isinstance(ease, Ease):
        return ease
    if ease.sizes:
        return Ease(sizes=tuple((size, as_of_zone(one)) for size, one in ease.sizes))
    if ease.gathers is not None:
        return Ease(share=(ease.gathers - 1.0) / ease.gathers)
    return ease if ease.stretched is None else Ease(share=1.0 - ease.stretched)


def meant_ease(ease: EaseSaid, size: str, lead_mm: float, apart_mm: float) -> float:
    """The ease that a join should have, mm.

    Parameters
    ----------
    ease : EaseSaid
    size : str
    lead_mm : float
        Length of the side that leads.
    apart_mm : float
        By how much the other side is longer now.  Within a range it is as meant; outside it
        the nearer end is.
    """
    least, most = least_and_most(ease, size, lead_mm)
    return min(max(apart_mm, least), most) if least != most else least


def zone_ease(ease: EaseSaid, size: str, run_mm: float, zone_mm: float) -> float:
    """By how much the run of a band's zone, or of a tape, is to be longer than that now, mm."""
    return meant_ease(as_of_zone(ease), size, run_mm, run_mm - zone_mm)


def mix_eases(first: EaseSaid, second: EaseSaid, share: float) -> EaseSaid | None:
    """The ease that lies by a share between two; None where they are not of one form."""

    def mix(a: float, b: float) -> float:
        return a + share * (b - a)

    if not isinstance(first, Ease) and not isinstance(second, Ease):
        return mix(first, second)
    if not isinstance(first, Ease) or not isinstance(second, Ease):
        return None
    for form in ("share", "gathers", "stretched"):
        a, b = getattr(first, form), getattr(second, form)
        if a is not None and b is not None:
            said: dict[str, Any] = {form: mix(a, b)}
            return Ease(**said)
    if first.between is None or second.between is None:
        return None
    a, b = (mix(*ends) for ends in zip(first.between, second.between, strict=True))
    return Ease(between=(min(a, b), max(a, b)))


def ease_words(ease: EaseSaid, said: Callable[[float], str]) -> str:
    """An ease in words; `said` puts an amount in mm into words."""
    if not isinstance(ease, Ease):
        return said(ease)
    if ease.share is not None:
        return f"{100.0 * ease.share:g}% of the length"
    if ease.gathers is not None:
        return f"gathered {ease.gathers:g} to 1"
    if ease.stretched is not None:
        return f"stretched on, {100.0 * ease.stretched:g}% as long"
    if ease.between is not None:
        return f"{said(ease.between[0])} to {said(ease.between[1])}"
    if ease.sizes:
        inner = (f"{ease_words(one, said)} in size {size}" for size, one in ease.sizes)
    else:
        inner = (f"{ease_words(one, said)} up to {to}" for to, one in ease.zones)
    return ", ".join(inner)


def fullness_words(ease: EaseSaid, size: str, said: Callable[[float], str]) -> str:
    """What is gathered or stretched on in a size, in words; empty where nothing is."""
    held = ease_in_size(ease, size)
    ratios = [one for one in eases_within(held) if isinstance(one, Ease)]
    if not any(one.gathers is not None or one.stretched is not None for one in ratios):
        return ""
    return ease_words(held, said)
