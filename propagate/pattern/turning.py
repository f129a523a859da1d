"""Turn a seam round: the side that followed leads, and the lead follows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from propagate.pattern.ease import Ease, EaseSaid, share_said
from propagate.pattern.relations import Seam

__all__ = ["turned_seam", "zones_without_pair"]


def turned_seam(seam: Seam) -> Seam:
    """Return the same seam, told from its other side.

    Parameters
    ----------
    seam : Seam
        With a follower; each zone of its ease ends at a notch that is paired.
    """
    return replace(
        seam,
        lead=seam.follow,
        follow=seam.lead,
        ease=_turned_ease(seam.ease, dict(seam.notches)),
        notches=tuple((follow, lead) for lead, follow in seam.notches),
        crossing={end: (follow, lead) for end, (lead, follow) in seam.crossing.items()},
    )


def zones_without_pair(seam: Seam) -> list[str]:
    """Landmarks at which a zone of the ease ends and that meet no notch of the follower."""
    if not isinstance(seam.ease, Ease):
        return []
    paired = {lead for lead, _ in seam.notches}
    return [to for to, _ in seam.ease.zones if to != "end" and to not in paired]


def _turned_ease(ease: EaseSaid, pairs: Mapping[str, str]) -> EaseSaid:
    """By how much the other side is longer; `pairs`: the lead's notches to those they meet."""
    if not isinstance(ease, Ease):
        return -ease if ease else ease
    share = share_said(ease)
    if share is not None:  # longer by s of the lead: the lead is shorter by s / (1 + s)
        return Ease(share=-share / (1.0 + share))
    if ease.between is not None:
        return Ease(between=(-ease.between[1], -ease.between[0]))
    return Ease(
        sizes=tuple((size, _turned_ease(one, pairs)) for size, one in ease.sizes),
        zones=tuple((pairs.get(to, to), _turned_ease(one, pairs)) for to, one in ease.zones),
    )
