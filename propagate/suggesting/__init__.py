"""Find out how the pieces of a set are joined, from their geometry in all sizes."""

from __future__ import annotations

from propagate.suggesting.accepted import ACCEPT, Choice, accepted, choose
from propagate.suggesting.proposal import Proposal
from propagate.suggesting.suggestions import Suggestions, suggest

__all__ = ["ACCEPT", "Choice", "Proposal", "Suggestions", "accepted", "choose", "suggest"]
