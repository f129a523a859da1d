"""What a sewer is told of a set, and whether that names the mistake that was made in it.

A mistake is *told* when one message (a problem of validation, an error of reading, a
finding of the review, a line of the walk) holds one of its words and every name it must
hold.  It is told *wrongly* when a problem or finding blames what had no part in it.
"""

from __future__ import annotations

import re
import shutil
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Literal

import propagate
from propagate.demo import demo_path
from propagate.engine.review.finding import Finding
from propagate.engine.review.run import review
from propagate.engine.walk import walk
from propagate.errors import InvalidSet, PropagateError
from propagate.pattern.patternset import PatternSet
from propagate.pattern.validate import find_problems
from tests.shared import demo

Demo = Literal["slant_trouser", "scoop_skirt", "workshop_gilet", "garden_apron"]
DEMOS: tuple[Demo, ...] = ("slant_trouser", "scoop_skirt", "workshop_gilet", "garden_apron")


@dataclass(frozen=True)
class Mistake:
    """A plausible human mistake.

    Attributes
    ----------
    name : str
        The mistake in words.
    demo : str
    make : callable
        Gives the set with the mistake; for `in_files` it edits a copy of the folder.
    words : str
        A pattern: what names the mistake.
    names : tuple of str
        Patterns, each of which must be found in the same message.
    wrong : str
        A pattern that no problem or finding may hold.
    about : tuple of str
        The pieces that may be blamed; empty when any may.
    in_files : bool
    """

    name: str
    demo: Demo
    make: Callable[[PatternSet], PatternSet] | Callable[[Path], None]
    words: str
    names: tuple[str, ...] = ()
    wrong: str = ""
    about: tuple[str, ...] = ()
    in_files: bool = False


@dataclass(frozen=True)
class Told:
    """Everything that is told of a set.

    Attributes
    ----------
    problems : tuple of str
        Of reading and validation: nothing else is told then.
    findings : tuple of Finding
    of : PatternSet or None
        The set, when it can be walked.
    """

    problems: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    of: PatternSet | None = None

    @cached_property
    def walked(self) -> tuple[str, ...]:
        """What does not sew, in every size; walked when somebody asks."""
        return () if self.of is None else does_not_sew(self.of)

    def messages(self) -> Iterator[str]:
        """Everything, one message each; what a walk says comes last."""
        yield from self.problems
        yield from map(words_of, self.findings)
        yield from self.walked


def words_of(finding: Finding) -> str:
    """A finding as one text."""
    return f"{finding.rule}: {finding.where}: {finding.text}"


def told_of(pattern: PatternSet) -> Told:
    """Return what is told of a set."""
    found = find_problems(pattern)
    if found:
        return Told(problems=found)
    try:
        findings = review(pattern)
    except PropagateError as error:  # then this is all that is told
        return Told(problems=(str(error),))
    return Told((), findings, pattern)


def does_not_sew(pattern: PatternSet) -> tuple[str, ...]:
    """Return what the walk says does not sew, in all sizes."""
    found = []
    for size in pattern.sizes:
        try:
            checks = walk(pattern, size, cut_lines=False).checks
        except PropagateError as error:
            found.append(str(error))
            continue
        found += [
            f"size {size}: {check.kind} {check.name}: {check.what}: does not sew, "
            f"off by {check.difference:.1f}"
            for check in checks
            if check.verdict == "does not sew"
        ]
    return tuple(found)


def told_about(mistake: Mistake) -> Told:
    """Make the mistake in its demo set and return what is told of it."""
    if not mistake.in_files:
        return told_of(mistake.make(demo(mistake.demo)))  # type: ignore[arg-type]
    with tempfile.TemporaryDirectory() as room:
        folder = Path(room) / mistake.demo
        shutil.copytree(demo_path(mistake.demo), folder)
        mistake.make(folder)  # type: ignore[arg-type]
        try:
            return told_of(propagate.load(folder))
        except InvalidSet as error:
            return Told(problems=error.problems)
        except PropagateError as error:
            return Told(problems=(str(error),))


def is_told(mistake: Mistake, told: Told) -> bool:
    """Whether one message names the mistake."""
    wanted = [mistake.words, *mistake.names]
    return any(all(_holds(text, one) for one in wanted) for text in told.messages())


def wrongly(mistake: Mistake, told: Told) -> tuple[str, ...]:
    """Return the messages that blame what had no part in the mistake."""
    blamed = [*told.problems, *map(words_of, told.findings)]
    words = [text for text in blamed if mistake.wrong and _holds(text, mistake.wrong)]
    assemblies = demo(mistake.demo).relations.assemblies
    about = {*mistake.about, *(a.name for a in assemblies.values() if a.lead in mistake.about)}
    others = [
        words_of(finding)
        for finding in told.findings
        if about and finding.pieces and not about & set(finding.pieces)
    ]
    return tuple(dict.fromkeys([*words, *others]))


def _holds(text: str, pattern: str) -> bool:
    return re.search(pattern, text, re.IGNORECASE) is not None
