"""How much of the paper is seam: the allowance of each edge, with its evidence."""

from collections.abc import Mapping

import numpy as np

from calibration.ground.plane import unit
from calibration.ground.points import Points, nearest_on_line
from convert.piece.allowance.stitching import Stitching
from convert.piece.darts.darts import CutDart
from convert.piece.names.kinds import KINDS
from convert.piece.names.naming import NamedPiece
from convert.piece.names.told import Told
from convert.piece.outline.meeting import stretch
from convert.piece.piece import Allowance, EdgeName
from convert.piece.width_words import Unit, format_paper_mm

STOP_SIGMA_MM = 0.3  # how well a printed leg's end or a hole's middle gives the seam line
ONE_PLACE_SIGMA_MM = 0.5  # both legs end at one place of the edge: it is taken for all of it
USUAL_MM = 15.0
USUAL_DOUBT_MM = 5.0
_NARROW_MM, _HALF_INCH_MM, _WIDE_MM = 9.525, 12.7, 19.05  # 3/8, 1/2 and 3/4 in: published for patterns before 1960
_PUNCHED = 3  # the fewest holes of a row that means grain; a small part has no others
_INCHES_MM = 15.875  # 5/8 in: perforated tissue comes from publishers in inches, so it is not taken for 15 mm
# Published hems run from 1/4 to 3 in: https://www.asg.org/how-deep-is-that-hem
HEM_MM, SLEEVE_HEM_MM, HEM_DOUBT_MM = 40.0, 30.0, 20.0
FOLD_DOUBT_MM = 16.0
"""A centre edge that is taken for a fold and is a seam is wrong by a seam allowance."""
STATED: tuple[tuple[int, float, float, str], ...] = (
    # from year, most edges, side seams, what the source states ({usual} and {side} are these widths). Each row is one
    # publisher's pattern of one year, or one writer's word, and stands for the years nearest to it: our choice, because
    # nothing better is published.
    # [1] https://blacktulipsewing.blogspot.com/2019/04/making-allowances.html
    # [2] http://www.threadsmagazine.com/item/4669/working-with-vintage-patterns/page/2
    # [3] http://lauramaedesigns.com/2013/07/tips-tricks-vintage-pattern-primer.html
    (1960, 15.0, 15.0, "printed home-sewing patterns mostly have {usual}"),  # [2]: at last the whole industry
    (  # [2] and [3]
        1945,
        15.0,
        15.0,
        "one large publisher's patterns have {usual} since the early 1940s, others of the 1940s and 1950s {half} or "
        "{narrow}",
    ),
    (1941, _HALF_INCH_MM, _WIDE_MM, "one publisher's pattern of 1942 has {usual}, and {side} at the underarm"),  # [1]
    (1937, _HALF_INCH_MM, _HALF_INCH_MM, "one publisher's pattern of 1939 has {usual}"),  # [1]
    (1929, _NARROW_MM, _NARROW_MM, "one publisher's pattern of 1935 has {usual}"),  # [1]
    (1920, _NARROW_MM, _WIDE_MM, "one publisher's pattern of 1923 has {usual}, and {side} where it may be let out"),
    (0, _NARROW_MM, _WIDE_MM, "patterns before the 1920s are said to have {usual} at some edges and {side} at others"),
)
_ALL_ALIKE_FROM = 1960  # the earliest row of which not one publisher is told but all

_TO_LET_OUT = ("side seam", "underarm seam front", "underarm seam back")
OLD_EDGES: Mapping[str, tuple[float, str]] = {
    "side seam": (_WIDE_MM, "one publisher's patterns of 1923 and 1942 have {width} there, to let out"),
    "underarm seam front": (_WIDE_MM, "one publisher's patterns of 1923 and 1942 have {width} at the underarm"),
    "underarm seam back": (_WIDE_MM, "one publisher's patterns of 1923 and 1942 have {width} at the underarm"),
    "neckline": (_NARROW_MM, "one publisher's pattern of 1923 has {width} at edges that are not let out"),
}
"""Edges that differ from the rest on perforated tissue; the source is [1] above."""


def estimate_allowances(
    piece: NamedPiece,
    darts: tuple[CutDart, ...],
    stitching: Mapping[EdgeName, Stitching],
    holes: Mapping[EdgeName, Allowance],
    told: Told,
    *,
    fold: tuple[EdgeName, Allowance] | None = None,
) -> dict[EdgeName, Allowance]:
    """The allowance of every edge from the best evidence there is for it.

    Order: told; a stitching line read inside the cut line; holes along the edge; where printed or punched dart legs
    end (or the usual width, where they agree with it); what the other pieces of the pattern have at that seam; what
    the piece's other edges have; the convention of the pattern's age. ``fold`` names the edge that lies on a fold,
    with its evidence.

    That a dart's legs meet the seam line at equal length tells nothing: a dart that sews up smooth meets its edge at
    two angles that add up to a straight line, so that its legs are equal at every width.
    """
    known: dict[EdgeName, Allowance] = {}
    stops: dict[EdgeName, Allowance] = {}
    for edge in piece.edges:
        said = told.allowance_of(edge.name)
        if fold is not None and edge.name == fold[0] and edge.name not in told.allowances:
            known[edge.name] = fold[1]
        elif said is not None:
            known[edge.name] = Allowance(mm=said, evidence="told", why="This allowance was told.")
        elif edge.name in stitching:
            known[edge.name] = _read(stitching[edge.name], told.unit)
        elif edge.name in holes:
            known[edge.name] = holes[edge.name]
        else:
            stop = _from_dart_ends(piece, edge.name, darts, told.unit)
            if stop is not None:
                stops[edge.name] = stop
    old = told.year is None and is_unprinted(piece)
    known |= _as_usual(stops, told, old)
    alike = _usual_of(known)
    known = {**told.alike, **known}
    return {edge.name: known.get(edge.name) or _assumed(piece, edge.name, alike, told, old) for edge in piece.edges}


def is_unprinted(piece: NamedPiece) -> bool:
    """Whether it is perforated tissue without print, as sold until the 1950s."""
    holes = sum(mark.kind == "hole" for mark in piece.tracing.marks)
    return holes >= _PUNCHED and not piece.tracing.lines


def _read(line: Stitching, unit: Unit) -> Allowance:
    why = f"A stitching line is printed {format_paper_mm(line.mm, unit)} inside the cut line."
    if abs(line.taper_mm) > max(1.5, 3 * line.uncertainty_mm):
        why = (
            f"A stitching line is printed inside the cut line, on average {format_paper_mm(line.mm, unit)}, not "
            "everywhere the same."
        )
    return Allowance(mm=line.mm, evidence="measured", uncertainty_mm=line.uncertainty_mm, why=why)


def _from_dart_ends(piece: NamedPiece, name: EdgeName, darts: tuple[CutDart, ...], unit: Unit) -> Allowance | None:
    """A dart's legs, as printed or punched, end on the seam line."""
    edge = piece.edge(name).points
    gaps = []
    for dart in darts:
        if dart.on != name or dart.stops is None:
            continue
        for stop, beyond in zip(dart.stops, dart.crossings, strict=True):
            gap = nearest_on_line(edge, stop)[2]
            slant = float(np.hypot(*(beyond - stop)))
            if 3.0 < gap < 60.0 and slant < 2.0 * gap:
                gaps.append(_square_gap(edge, stop, dart))
    if not gaps:
        return None
    mm = float(np.mean(gaps))
    if np.ptp(gaps) > 2.5:
        return None
    doubt = 2.0 * float(np.hypot(STOP_SIGMA_MM / np.sqrt(len(gaps)), ONE_PLACE_SIGMA_MM))
    why = f"The legs of its dart end {format_paper_mm(mm, unit)} inside the cut line, and a dart ends on the seam line."
    return Allowance(mm=mm, evidence="deduced", uncertainty_mm=doubt, why=why)


def _as_usual(stops: Mapping[EdgeName, Allowance], told: Told, old: bool) -> dict[EdgeName, Allowance]:
    """What the ends of darts say, with the usual width where they are no surer than to agree with it, taken together.

    A dart shows one place of its edge only, and patterns have one of few widths: where the usual one lies within the
    doubt of all the darts, it is likelier than the value read.
    """
    usual, side, _ = _convention(told, old)
    expected = {name: side if name in _TO_LET_OUT else usual for name in stops}
    off = [stop.mm - expected[name] for name, stop in stops.items()]
    doubts = [stop.uncertainty_mm for stop in stops.values()]
    if not stops or np.ptp(off) > 2.0 * max(doubts) or abs(np.mean(off)) > np.hypot.reduce(doubts) / len(doubts):
        return dict(stops)
    out = {}
    for name, stop in stops.items():
        read, taken = format_paper_mm(stop.mm, told.unit), format_paper_mm(expected[name], told.unit)
        why = (
            f"The legs of its dart end about {read} inside the cut line, and a dart ends on the seam line. "
            f"Within what that is sure to, it is the usual {taken}, which is taken."
        )
        out[name] = Allowance(mm=expected[name], evidence="deduced", uncertainty_mm=stop.uncertainty_mm, why=why)
    return out


def _square_gap(edge: Points, stop: Points, dart: CutDart) -> float:
    """Distance of a leg's end from the edge beside the dart, not from the dart's own peak."""
    along = nearest_on_line(edge, stop)[1]
    size = float(np.hypot(*np.diff(edge, axis=0).T).sum())
    before = abs(along - dart.span[0]) < abs(along - dart.span[1])
    a, b = (dart.span[0] - 25.0, dart.span[0] - 1.0) if before else (dart.span[1] + 1.0, dart.span[1] + 25.0)
    part = stretch(edge, max(a, 0.0), min(b, size))
    way = unit(part[-1] - part[0])
    gap = stop - part.mean(0)
    return float(abs(way[0] * gap[1] - way[1] * gap[0]))


def _usual_of(known: Mapping[EdgeName, Allowance]) -> float | None:
    """What this piece's own seams have, where two or more are read and agree."""
    seams = [a.mm for name, a in known.items() if a.mm > 0 and name not in ("hem", "wrist", "neckline")]
    return float(np.median(seams)) if len(seams) >= 2 and np.ptp(seams) < 4.5 else None


def _assumed(piece: NamedPiece, name: EdgeName, alike: float | None, told: Told, old: bool) -> Allowance:
    if name in ("hem", "wrist"):
        mm = SLEEVE_HEM_MM if KINDS[piece.kind].garment == "sleeve" else HEM_MM
        return Allowance(
            mm=mm,
            evidence="assumed",
            uncertainty_mm=HEM_DOUBT_MM,
            why="Nothing says how deep the hem is: a usual depth is taken.",
        )
    if old and name in OLD_EDGES:
        mm, stated = OLD_EDGES[name]
        return _from_print(mm, _old_doubt(mm), stated.format(width=format_paper_mm(mm, told.unit)))
    if alike is not None:
        why = (
            f"Nothing was read along this edge; the other seams of the piece have {format_paper_mm(alike, told.unit)}."
        )
        doubt = 6.0 if name == "neckline" else 4.0
        return Allowance(mm=alike, evidence="assumed", uncertainty_mm=doubt, why=why)
    mm, side, stated = _convention(told, old)
    named = {"usual": mm, "side": side, "half": _HALF_INCH_MM, "narrow": _NARROW_MM}
    why = stated.format(**{word: format_paper_mm(width, told.unit) for word, width in named.items()})
    value = side if name in _TO_LET_OUT else mm
    one_publishers = old or (told.year is not None and told.year < _ALL_ALIKE_FROM)
    return _from_print(value, _old_doubt(value) if one_publishers else USUAL_DOUBT_MM, why)


def _from_print(mm: float, doubt_mm: float, stated: str) -> Allowance:
    """What is stated in print of patterns like this one, where nothing was read."""
    why = f"Nothing was read along this edge; {stated}."
    return Allowance(mm=mm, evidence="assumed", uncertainty_mm=doubt_mm, why=why)


def _old_doubt(mm: float) -> float:
    """As far as the narrowest or the widest allowance that is published for patterns before 1960, whichever is further:
    one publisher's pattern tells little of another's."""
    return max(USUAL_DOUBT_MM, mm - _NARROW_MM, _WIDE_MM - mm)


def _convention(told: Told, old: bool) -> tuple[float, float, str]:
    """Usual width, that of the side seams, and what is stated of them, by the pattern's age."""
    if told.year is None and old:
        return _INCHES_MM, _INCHES_MM, next(row[3] for row in STATED if row[0] < _ALL_ALIKE_FROM)
    if told.year is None:
        return USUAL_MM, USUAL_MM, "most printed home-sewing patterns have {usual}"
    return next(row[1:] for row in STATED if told.year >= row[0])
