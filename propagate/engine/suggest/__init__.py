"""Find out how the pieces of a set are joined, from their geometry in all sizes."""

from __future__ import annotations

from propagate.engine.suggest.accepted import ACCEPT, Choice, accepted, choose
from propagate.engine.suggest.proposal import Proposal
from propagate.engine.suggest.suggestions import Suggestions, suggest

__all__ = ["ACCEPT", "Choice", "Proposal", "Suggestions", "accepted", "choose", "suggest"]
