"""The likely proposals as TOML text, with the evidence as comments.

Two likely proposals that are in each other's way are both written as comments, side by
side: a person takes the mark away from the one that holds.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator
from dataclasses import replace

from propagate.pattern.answers import Joining
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Assembly, Opening, Stack
from propagate.pattern.toml_text import lines_of_relation
from propagate.suggesting.claims import Claim, Claimed, claim_relations
from propagate.suggesting.nest import measure_nest
from propagate.suggesting.proposal import Proposal
from propagate.suggesting.suggestions import Suggestions
from propagate.values import dataclass

__all__ = [
    *("ACCEPT", "TABLES", "Choice", "accepted", "choose", "list_joinings", "name_apart"),
    *("names_of", "write_comment"),
]

ACCEPT = 0.9
"""Level above which proposals are written.

On the demo sets without relations and names, in any order and frame, the lowest true seam,
opening, stack or band scores 0.924 and the highest false proposal 0.818 (0.750 when the set says
which pieces are cut as pairs or on the fold).  What is sewn twice over, such as a fly, scores
below the level on purpose: its partners are equal to each other, too.
"""
TABLES = {
    "Assembly": "assemblies",
    "Seam": "seams",
    "Opening": "openings",
    "Stack": "stacks",
    "Band": "bands",
    "SeamOpening": "seam_openings",
}
"""What may be written, and the field of a set's relations that holds it."""
_WIDTH = 98


@dataclass(frozen=True)
class Choice:
    """What is written of a set's suggestions.

    Attributes
    ----------
    taken : tuple of Proposal
    rivals : tuple of tuples of Proposal
        Likely proposals that are in each other's way; none of them is taken.
    known : tuple of Proposal
        Likely proposals on what the set joins already.
    """

    taken: tuple[Proposal, ...]
    rivals: tuple[tuple[Proposal, ...], ...]
    known: tuple[Proposal, ...]


def choose(suggestions: Suggestions, level: float = ACCEPT) -> Choice:
    """Choose the proposals at or above a level that nothing stands in the way of."""
    likely = [one for one in suggestions.proposals if one.score >= level]
    held, claims = list_joinings(suggestions.pattern), list[Claim]()
    if held:
        claims = list(claim_relations(measure_nest(suggestions.pattern), held))
    joined = Claimed([claims])
    known = [one for one in likely if joined.over(one.claims)]
    fresh = [one for one in likely if not joined.over(one.claims)]
    wanted = Claimed([one.claims for one in fresh])
    contested = {id(one) for k, one in enumerate(fresh) if set(wanted.over(one.claims)) - {k}}
    taken = [one for one in fresh if id(one) not in contested]
    names = {one.name for one in taken} | set(suggestions.pattern.relations.openings)
    taken = [one for one in taken if all(need in names for need in one.needs)]
    groups = [tuple(one for one in group if id(one) in contested) for group in suggestions.groups]
    return Choice(tuple(taken), tuple(group for group in groups if group), tuple(known))


def accepted(suggestions: Suggestions, level: float = ACCEPT) -> str:
    """Return TOML text of the proposals at or above a level, to be added to a set's file.

    Parameters
    ----------
    suggestions : Suggestions
    level : float
        0 to 1.

    Returns
    -------
    str
        Empty when there is nothing to write.  Each relation stands below its evidence as
        comments.  Proposals in each other's way are comments altogether.
    """
    choice = choose(suggestions, level)
    used, renamed = names_of(suggestions.pattern), dict[tuple[type, str], str]()
    blocks = []
    for one in choice.taken:
        named = name_apart(one.relations, used, renamed)
        lines = [line for relation in named for line in lines_of_relation(relation)]
        blocks.append("\n".join([*write_comment(one), *lines]))
    for group in choice.rivals:
        lines = ["# These are in each other's way; take the mark away from the one that holds."]
        for one in group:
            written = (line for relation in one.relations for line in lines_of_relation(relation))
            lines += ["#", *write_comment(one), *(f"# {line}" for line in written)]
        blocks.append("\n".join(lines))
    return "\n\n".join(blocks) + "\n" if blocks else ""


def write_comment(one: Proposal) -> Iterator[str]:
    """The score and the evidence of a proposal, as lines of comment."""
    texts = [(f"suggested, score {one.score:.3f}: {one}", "# ")]
    texts += [(text, "# + ") for text in one.evidence]
    texts += [(text, "# - ") for text in one.against]
    for text, first in texts:
        yield from textwrap.wrap(
            text, _WIDTH, initial_indent=first, subsequent_indent="#   ", break_long_words=False
        )


def list_joinings(pattern: PatternSet) -> list[Joining]:
    """Every relation that a set has of those that may be proposed."""
    tables = (getattr(pattern.relations, table) for table in TABLES.values())
    return [relation for table in tables for relation in table.values()]


def names_of(pattern: PatternSet) -> set[tuple[type, str]]:
    """Every relation that a set has, by its type and name."""
    return {(type(one), one.name) for one in list_joinings(pattern)}


def name_apart(
    relations: Iterable[Joining], used: set[tuple[type, str]], renamed: dict[tuple[type, str], str]
) -> Iterator[Joining]:
    """Give a relation another name where the set has one of that name already."""
    for relation in relations:
        name, count = relation.name, 2
        while (type(relation), name) in used:
            name, count = f"{relation.name}_{count}", count + 1
        used.add((type(relation), name))
        renamed[type(relation), relation.name] = name
        if isinstance(relation, Opening):
            silhouette = renamed.get((Assembly, relation.silhouette), relation.silhouette)
            yield replace(relation, name=name, silhouette=silhouette)
        elif isinstance(relation, Stack):
            opening = renamed.get((Opening, relation.opening), relation.opening)
            yield replace(relation, name=name, opening=opening)
        else:
            yield replace(relation, name=name)
