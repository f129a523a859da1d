"""How much of each garment's relations ``suggest`` finds: ``python -m tests.bench.suggest``.

Every demo set and two garments drafted for it are stripped of names and relations and drawn as
drawings from elsewhere are (`tests.suggesting.roughened`).  Printed are the relations that can
be written still, how many of them are the first or second proposal for each of their edges, how
many are written at the level of what is written, and how many false ones.  Never passes or fails.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping

from propagate.pattern.patternset import PatternSet
from propagate.suggesting import Proposal, choose
from tests.shared import demo
from tests.suggesting import garment_drafts as drafts
from tests.suggesting import gusset_drafts as gusseted
from tests.suggesting import pocket_drafts as pocketed
from tests.suggesting import same_hand_drafts as same_hand
from tests.suggesting import tailored_drafts as tailored
from tests.suggesting import wardrobe_drafts as wardrobe
from tests.suggesting.roughened import WAYS, kept, layers
from tests.suggesting.suggested import suggested
from tests.suggesting.truth import Case

DEMOS = (
    "slant_trouser",
    "scoop_skirt",
    "workshop_gilet",
    "quay_jeans",
    "ferry_shirt",
    "concert_dress",
    "lined_skirt",
    "puddle_pinafore",
    "garden_apron",
    "market_bag",
)
DRAFTED: Mapping[str, Callable[[], PatternSet]] = {
    "walking_trouser": drafts.walking_trouser,
    "harbour_shirt": drafts.harbour_shirt,
    "cove_tee": wardrobe.cove_tee,
    "tarn_raglan": wardrobe.tarn_raglan,
    "moor_hoodie": wardrobe.moor_hoodie,
    "attic_pyjama": wardrobe.attic_pyjama,
    "mill_waistcoat": wardrobe.mill_waistcoat,
    "creel_bag": wardrobe.creel_bag,
    "pantry_apron": wardrobe.pantry_apron,
    "fen_gores": wardrobe.fen_gores,
    "weir_panels": wardrobe.weir_panels,
    "hop_dungarees": wardrobe.hop_dungarees,
    "heath_coat": tailored.heath_coat,
    "lagoon_culottes": tailored.lagoon_culottes,
    "ford_trouser": pocketed.ford_trouser,
    "heron_skirt": pocketed.heron_skirt,
    "linden_dress": pocketed.linden_dress,
    "alder_pants": pocketed.alder_pants,
    "willow_trouser": pocketed.willow_trouser,
    "sedge_skirt": pocketed.sedge_skirt,
    "reed_leggings": gusseted.reed_leggings,
    "osier_top": gusseted.osier_top,
    "burdock_shirt": same_hand.burdock_shirt,
    "lintel_dress": same_hand.lintel_dress,
    "fennick_skirt": same_hand.fennick_skirt,
}
SETS = (*DEMOS, *DRAFTED)


def drawn(name: str) -> PatternSet:
    return DRAFTED[name]() if name in DRAFTED else demo(name)


def case(name: str, way: str, seed: int = 1) -> Case:
    """A set stripped and drawn in a way, with what is suggested for it."""
    pattern = drawn(name)
    bare, names, copies = WAYS[way](pattern, seed)
    return Case(kept(pattern, names), bare, names, suggested(bare), copies, layers(pattern, names))


def relations_of(one: Case) -> set[str]:
    said = one.real.relations
    return {*said.seams, *said.openings, *said.stacks, *said.bands}


def near_the_top(one: Case) -> set[str]:
    """Relations that are the first or second of their kind for each edge of one proposal."""
    found: set[str] = set()
    for proposal in one.found.proposals:
        names = one.names_of(proposal)
        if names - found and all(_place(one, proposal, edge) < 2 for edge in proposal.edges):
            found |= names
    return found


def _place(one: Case, proposal: Proposal, edge: str) -> int:
    alike = [p for p in one.found.of_edge(edge) if p.kind == proposal.kind]
    return alike.index(proposal)


def written(one: Case) -> tuple[set[str], list[Proposal]]:
    """The true relations that are written, and the false proposals."""
    names: set[str] = set()
    false = []
    for proposal in choose(one.found).taken:
        names |= one.names_of(proposal)
        if not one.is_true(proposal):
            false.append(proposal)
    return names, false


def main() -> None:
    reading = argparse.ArgumentParser(description="How much suggest finds.")
    reading.add_argument("--only", default="", help="sets whose name holds this text")
    reading.add_argument("--seed", type=int, default=1)
    reading.add_argument("--told", action="store_true", help="say what is missing and false")
    asked = reading.parse_args()
    print(f"{'':<17}" + "".join(f"{way:>22}" for way in WAYS))
    print(f"{'':<17}" + "".join(f"{'of top written false':>22}" for _ in WAYS))
    total = {way: [0, 0, 0, 0] for way in WAYS}
    for name in (one for one in SETS if asked.only in one):
        cells, notes = "", []
        for way in WAYS:
            one = case(name, way, asked.seed)
            true, top = relations_of(one), near_the_top(one)
            told, false = written(one)
            counts = [len(true), len(top & true), len(told & true), len(false)]
            total[way] = [a + b for a, b in zip(total[way], counts, strict=True)]
            cells += "{:>10}{:>4}{:>4}{:>4}".format(*counts)
            notes += [f"    {way}: not written {', '.join(sorted(true - told)) or 'none'}"]
            notes += [f"    {way}: FALSE {p.score:.3f} {p}" for p in false]
        print(f"{name:<17}{cells}")
        if asked.told:
            print("\n".join(notes))
    print(f"{'all':<17}" + "".join("{:>10}{:>4}{:>4}{:>4}".format(*total[way]) for way in WAYS))


if __name__ == "__main__":
    main()
