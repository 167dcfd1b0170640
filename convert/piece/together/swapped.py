"""Whether a part was called by its partner's name."""

from collections.abc import Mapping
from dataclasses import replace

from calibration.ground.errors import Note
from convert.piece.names.kinds import partner_of
from convert.piece.names.naming import how_unlike
from convert.piece.names.told import NOTHING_TOLD, Told
from convert.piece.piece import PieceKind
from convert.trace.tracing import Tracing

SURELY = 4.0
"""A part looks like its partner if its edges fit that one better by so much; parts rightly named fit theirs better by
1 to 36, on panels of random cut (see the test) by 5 or more."""

SURELY_A_LEG = 2.0
"""The same of a leg of trousers called by the other's name; drafts of many cuts fit their own by 2.5 to 6 (see the
test), and a pair is looked at once more by its crotch seams."""
_OTHER_LEG: Mapping[PieceKind, PieceKind] = {"trousers front": "trousers back", "trousers back": "trousers front"}


def likely_swapped(tracing: Tracing, kind: PieceKind, told: Told = NOTHING_TOLD) -> tuple[Note, ...]:
    """A note if a part looks like the part that it is sewn to; nothing for whole pieces, or where edges were told."""
    partner = partner_of(kind) or _OTHER_LEG.get(kind)
    if partner is None or told.edges:
        return ()
    told = replace(told, seam_from=None)
    surely = SURELY_A_LEG if kind in _OTHER_LEG else SURELY
    if how_unlike(tracing, kind, told) - how_unlike(tracing, partner, told) < surely:
        return ()
    text = f"What is called the {kind} looks like a {partner}. Are the two swapped?"
    return (Note("part-swapped", text),)
