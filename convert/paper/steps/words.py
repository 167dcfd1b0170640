"""What stands beside a step: its title, where its cut runs, how a piece is trued in the end."""

import re

from calibration.ground.points import Points, lengths_along, nearest_on_line
from convert.block.block import Move
from convert.body.card import LengthUnit
from convert.body.wording import format_fine_mm
from convert.piece.piece import Piece

_ON_EDGE_MM = 1.5  # an end of a cut this near to an edge lies on it
_EITHER = re.compile(r"(\w+) or (\w+)")


def move_title(move: Move) -> str:
    """What is done, by the way it goes: ``lengthen above the waist`` of ``lengthen or shorten above the waist``."""
    return _EITHER.sub(lambda found: found[1 if move.amount_mm >= 0 else 2], move.move, count=1)


def closing_sentences(piece: Piece) -> tuple[str, ...]:
    """How a piece is redrawn, trued and cut; the order is a cutter's, common practice."""
    out = ["Draw one clean line round the piece: straight where it was straight, smooth where it was curved."]
    folded = [where for where, on in (("waist darts towards the centre", "waist"), ("shoulder dart towards the centre",
              "shoulder"), ("side dart down", "side seam")) if any(dart.on == on for dart in piece.darts)]  # fmt: skip
    if folded:
        out.append(f"Fold the darts as they are pressed ({', '.join(folded)}). Draw the edge on across the fold.")
    join = {
        "bodice front": "Lay it on the back at shoulder and side seam",
        "bodice back": "Lay it on the front at shoulder and side seam",
        "dress front": "Lay it on the back at shoulder and side seam",
        "dress back": "Lay it on the front at shoulder and side seam",
        "sleeve": "Fold it so that the two underarm seams meet",
        "trousers front": "Lay it on the back at side seam and inseam",
        "trousers back": "Lay it on the front at side seam and inseam",
        "skirt front": "Lay it on the back at the side seam",
        "skirt back": "Lay it on the front at the side seam",
    }[piece.kind]
    out.append(f"{join}: the lines must run on without a corner, the seams be equally long.")
    still = ", darts still folded" if folded else ""
    out.append(f"Lay it on the printed block: the two must agree. Then cut, away from your hand{still}.")
    return tuple(out)


def cut_words(move: Move, unit: LengthUnit = "cm") -> str:
    """Where the cut runs, measured from corners that a cutter can find; empty where nothing is slashed."""
    for cut in move.cuts:
        ends = [_end_words(move, end, unit) for end in (cut[0], cut[-1])]
        edges = [_edge_at(move, end) for end in (cut[0], cut[-1])]
        if len(cut) > 6 or ends[0] == "" or edges[0] == edges[1]:
            continue  # a line drawn anew along an edge or a dart, not a slash
        if ends[1]:
            return f"The cut runs from {ends[0]}, to {ends[1]}."
        return f"The cut starts at {ends[0]}."
    return ""


def _edge_at(move: Move, end: Points) -> str:
    return min(move.before.edges, key=lambda one: nearest_on_line(one.points, end)[2]).name


def _end_words(move: Move, end: Points, unit: LengthUnit) -> str:
    """An end of a cut on an edge: how far along it from the nearer corner; empty if it lies inside."""
    piece = move.before
    edge = min(piece.edges, key=lambda one: nearest_on_line(one.points, end)[2])
    _, along, off = nearest_on_line(edge.points, end)
    if off > _ON_EDGE_MM:
        return ""
    at = piece.edges.index(edge)
    whole = float(lengths_along(edge.points)[-1])
    before, after = piece.edges[at - 1], piece.edges[(at + 1) % len(piece.edges)]
    far, corner = (along, before.name) if along <= whole / 2 else (whole - along, after.name)
    if far < 2 * _ON_EDGE_MM:
        return f"the corner of {edge.name} and {corner}"
    return f"the {edge.name}, {format_fine_mm(far, unit)} from the {corner}"
