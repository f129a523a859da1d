"""Sound drafts that are not derived from the demo sets: nothing may strike in them.

Their habits differ on purpose: pieces lie at any angle, sizes are named and graded unevenly,
allowances vary by edge, edges are left unsewn or sewn twice where the trade does so.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from propagate.pattern.patternset import PatternSet
from tests.review.drafts_outer import boxy_top, cape
from tests.review.drafts_skirts import panel_skirt, pyjama_trousers, wrap_skirt
from tests.review.drafts_things import cushion, hat, tote_bag
from tests.review.drafts_tops import pinafore, shirt

__all__ = ["DRAFTS"]

DRAFTS: Mapping[str, Callable[[], PatternSet]] = {
    "wrap skirt": wrap_skirt,
    "panel skirt": panel_skirt,
    "pyjama trousers": pyjama_trousers,
    "tote bag": tote_bag,
    "cushion": cushion,
    "shirt": shirt,
    "pinafore": pinafore,
    "hat": hat,
    "cape": cape,
    "boxy top": boxy_top,
}
