"""The ease of a seam is told with its question; judged by plain sums of chords."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from propagate.io.garments import known_kinds
from propagate.pattern.ease import EaseSaid
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Seam, parse_run
from propagate.report.asking_text import asked_of, question_lines
from propagate.suggesting import Proposal, suggest
from tests import builders
from tests.suggesting.garment_drafts import harbour_shirt


def chords(pattern: PatternSet, keys: tuple[str, ...]) -> list[float]:
    """Lengths of whole edges, added up, in every size."""
    found = []
    for size in pattern.sizes:
        edges = (key.split(".") for key in keys)
        steps = [np.diff(pattern.sized(p, size).edge(e).points, axis=0) for p, e in edges]
        found.append(float(sum(np.hypot(*one.T).sum() for one in steps)))
    return found


def asked(lead: str, follow: str, ease: EaseSaid) -> str:
    runs = parse_run([lead]), parse_run([follow])
    seam = Seam("one", *runs, ease=ease)
    proposal = Proposal("seam", "one", runs, 0.0, relations=(seam,))
    lines = question_lines(asked_of(builders.tiny_set(), proposal), 1, 1)
    return " ".join(" ".join(lines).split())


def test_a_longer_side_is_told_with_what_it_has_in_all_sizes() -> None:
    tiny = builders.tiny_set()
    waist, side = (chords(tiny, (key,)) for key in ("front.waist", "back.side"))
    apart = sorted(b - a for a, b in zip(waist, side, strict=True))
    much = f"{apart[0]:.1f} to {apart[-1]:.1f} mm"
    assert much.split(" to ")[0] != much.split(" to ")[1].removesuffix(" mm")
    assert f"B is {much} longer than A, as ease" in asked("front.waist", "back.side", 5.0)
    assert f"B is {much} shorter than A, stretched on" in asked("back.side", "front.waist", -5.0)


def test_no_ease_is_told_of_sides_that_are_alike() -> None:
    assert "B is" not in asked("front.side", "back.side reversed", 0.0)


def test_sleeve_and_cuff_of_a_shirt() -> None:
    real = harbour_shirt()
    bare = type(real.relations)()
    found = suggest(replace(real, relations=bare), kinds=known_kinds())
    told = {}
    for one in found.proposals:
        said = [text for text in asked_of(found.pattern, one).ends if text.startswith("B is")]
        if said:
            told[one.edges] = (one, said[0])
    one, said = told[frozenset({"back.armhole", "front.armhole", "sleeve.cap"})]
    cap, armhole = (
        chords(real, tuple(span.key for span in run))
        for run in (one.relations[0].follow, one.relations[0].lead)  # type: ignore[union-attr]
    )
    (least,) = {f"{b - a:.1f}" for a, b in zip(armhole, cap, strict=True)}
    assert said == f"B is {least} mm longer than A, as ease"
    ease = one.relations[0].ease  # type: ignore[union-attr]
    assert ease == pytest.approx(float(least), abs=0.05)
