"""A seam told from its other side asks for the same two lengths."""

from __future__ import annotations

import pytest

from propagate.pattern.ease import Ease, EaseSaid, share_said
from propagate.pattern.relations import Seam, parse_run
from propagate.pattern.turning import turned_seam

LEAD_MM = 400.0


def follower(ease: EaseSaid, lead: float) -> float:
    """How long the follower is, by the meaning of the words."""
    if not isinstance(ease, Ease):
        return lead + ease
    share = share_said(ease)
    assert share is not None
    return lead * (1.0 + share)


@pytest.mark.parametrize(
    "ease",
    [0.0, 12.0, -5.0, Ease(share=0.04), Ease(gathers=1.5), Ease(stretched=0.85), Ease(share=-0.1)],
)
def test_both_lengths_stay(ease: EaseSaid) -> None:
    seam = Seam("side", parse_run(["a.side"]), parse_run(["b.side reversed"]), ease=ease)
    turned = turned_seam(seam)
    assert (turned.lead, turned.follow) == (seam.follow, seam.lead)
    assert follower(turned.ease, follower(ease, LEAD_MM)) == pytest.approx(LEAD_MM)
    assert follower(turned_seam(turned).ease, LEAD_MM) == pytest.approx(follower(ease, LEAD_MM))
