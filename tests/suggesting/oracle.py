"""Somebody who knows how the pieces are joined, and answers by it."""

from __future__ import annotations

from dataclasses import replace

from propagate.pattern.answers import Word, reverse_run
from propagate.pattern.relations import Seam
from propagate.suggesting import Proposal
from propagate.suggesting.asking import Asking
from tests.suggesting.strangers import seam_key
from tests.suggesting.test_demo_sets import Case


def answer_of(known: Case, one: Proposal) -> Word:
    """What the draft's own set says of a proposal."""
    if known.is_true(one):
        return "yes"
    seam = one.relations[-1]
    if isinstance(seam, Seam) and seam.follow:
        other = seam_key(replace(seam, follow=reverse_run(seam.follow)))
        if other in {seam_key(own) for own in known.true_seams().values()}:
            return "turned"
    return "no"


def asked_all(known: Case, asking: Asking) -> Asking:
    """Answer until nothing is asked any more."""
    while asking.question is not None:
        asking = asking.answered(answer_of(known, asking.question))
    return asking
