"""Uncut paper: the printed cut line of the size asked for, followed among its neighbours."""

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from calibration.ground.errors import InputError, Note
from calibration.ground.points import Points, as_points, frozen, length, resample, signed_area
from calibration.sheet.flatten import FlatSheet
from convert.trace.ink.beads import find_dotted
from convert.trace.ink.border import Border, border_of
from convert.trace.ink.chains import Chain, chain_strokes
from convert.trace.ink.in_line import joined_in_line
from convert.trace.ink.ink import Ink
from convert.trace.ink.line_styles import Style
from convert.trace.ink.printing import Printing, find_printing
from convert.trace.nest.assembly import AssembledRing, Part, assemble, part_of
from convert.trace.nest.size_lines import size_lines
from convert.trace.nest.size_numbers import numbers_beside
from convert.trace.nest.size_styles import stretches_by_style
from convert.trace.nest.which_size import chosen
from convert.trace.printed.arrows import find_arrows
from convert.trace.printed.fold_bracket import find_fold_bracket
from convert.trace.printed.lines import read_print
from convert.trace.printed.notches import find_printed_notches
from convert.trace.tracing import TracedLine, TracedMark

_SHORTEST_MM = 12.0
_CLOSE_MM = (7.0, 14.0, 21.0)  # half the gap bridged when the outermost printed line is looked for; more if need be
_STEADY = (0.6, 0.01)  # mm, and share of the distance, by which a stitching line leaves its distance from the edge
_COARSE_MM = 0.5
_LEAST_AREA = 0.3  # of the paper, inside the printed line of an uncut sheet
_ALONGSIDE = 0.6  # share of a printed ring that keeps one distance from the paper's edge when it is a stitching line
_LEAST_INKED = 0.9  # of a cut line, by which a ring of another course is told
_SAME_MM = 0.4  # from a point of the ring to one of what it was made of
_LONG_LENT_MM = 25.0  # along another size's line, that is said
_ONE_LINE_MM = 1.0  # lines of two rings that lie nearer together are one
_DRAWN_SHARE = 0.5  # of a line, drawn; a row of digits strings into a sparser one
_NEAR_SHARE = 0.15  # of a stitching line that may come nearer to the cut line than it does along any edge
_STITCHING_MM = 4.0  # a stitching line keeps at least this from the cut line, nested sizes come closer somewhere


_SizeRing = tuple[AssembledRing, Style]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PrintedCut:
    """A cut line printed on uncut paper.

    Attributes
    ----------
    outline : (N, 2)
        The middle of the printed line as a ring, mat mm, counter-clockwise, at most 0.5 mm apart.
    corners : (K,) int
        Indices of its true corners.
    inferred : (N,) bool
        Where it could not be told from the lines of other sizes.
    notches : tuple of TracedMark
        Triangles printed on it.
    sizes : int
        How many nested cut lines there are.
    size : int
        Which one this is, 1 being the innermost.
    styles : tuple of Style
        How each size's line is broken, the innermost first.
    lines : tuple of TracedLine
        Of nested sizes, the darts of this size, and the grain and the fold that all share; empty on a single size.
    followed : float
        Share of the outline that was read from this size's own line; the rest runs along lines that sizes share or
        is bridged where lines run together.
    notes : tuple of Note
        How the size was found, and which numbers were read beside the lines.
    """

    outline: Points
    corners: npt.NDArray[np.int64]
    inferred: npt.NDArray[np.bool_]
    notches: tuple[TracedMark, ...]
    sizes: int
    size: int
    styles: tuple[Style, ...]
    lines: tuple[TracedLine, ...]
    followed: float
    confidence: float
    notes: tuple[Note, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "outline", as_points(self.outline))
        object.__setattr__(self, "corners", frozen(self.corners, np.int64))
        object.__setattr__(self, "inferred", frozen(self.inferred, np.bool_))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Sheetful:
    """What is read once of an uncut sheet: its ink, its long lines, and the outermost of them as a border."""

    ink: Ink
    chains: tuple[Chain, ...]
    envelope: Border


def is_uncut(sheet: FlatSheet, paper: npt.NDArray[np.bool_], *, printing: Printing | None = None) -> bool:
    """Whether the paper was left uncut: a closed printed line lies well inside its edge and does not follow it."""
    return _read_sheet(sheet, paper, printing or find_printing(sheet, paper)) is not None


def printed_cut_line(
    sheet: FlatSheet,
    paper: npt.NDArray[np.bool_],
    size: int | str | None = None,
    *,
    printing: Printing | None = None,
) -> PrintedCut | None:
    """The printed cut line of an uncut sheet; None if the paper is cut or bears none.

    Parameters
    ----------
    size : int or str, optional
        Of nested sizes, 1 being the innermost, or the number printed beside the line; needed where there are several.
    printing : Printing, optional
        What is printed on the paper, where it has been found already.

    Raises
    ------
    InputError
        If several sizes are printed and none is asked for, or one that is not there or can't be read.
    """
    printing = printing or find_printing(sheet, paper)
    read = _read_sheet(sheet, paper, printing)
    if read is None:
        return None
    rings = _size_rings(read)
    if not rings:
        return None
    index, notes = chosen(len(rings), size, lambda wanted: _printed_beside(read, rings, wanted))
    made = rings[index][0]
    ring = made.points
    styles = tuple(style for _, style in rings)
    inked = _inked_share(ring, read)
    if inked < _LEAST_INKED:
        raise InputError(
            f"The printed line of size {index + 1} of {len(rings)} can be followed for {inked:.0%} of its way only.",
            "Photograph the sheet nearer and sharper, or cut the size out and photograph the piece.",
        )
    return PrintedCut(
        outline=ring,
        corners=made.corners,
        inferred=_near(ring, np.vstack([made.unsure, *made.lent])),
        notches=find_printed_notches(read.ink, ring, nowhere_near=_no_notches_near(rings) if len(rings) > 1 else None),
        sizes=len(rings),
        size=index + 1,
        styles=styles,
        lines=read_print(sheet, paper, ring, printing=printing, nest=styles[index]).lines if len(rings) > 1 else (),
        followed=made.followed,
        confidence=float(np.clip(inked * (0.6 + 0.4 * made.followed), 0.0, 0.98)),
        notes=(*notes, *_on_lent(made.lent)),
    )


def _near(ring: Points, places: Points) -> npt.NDArray[np.bool_]:
    """Which points of a ring lie on some places."""
    return np.asarray(cKDTree(places).query(ring)[0] < _SAME_MM) if len(places) else np.zeros(len(ring), bool)


def _on_lent(lent: tuple[Points, ...]) -> tuple[Note, ...]:
    """Where a size's line runs along another's for long, so that it is looked at before anybody cuts."""
    return tuple(
        Note(
            "size-unclear",
            f"Near {at[0] / 10:.0f} cm across, {at[1] / 10:.0f} cm up the line of this size can't be told from its "
            "neighbour's; there it was drawn along that. Look at it on the picture, and move it where it is wrong.",
        )
        for at in (stretch.mean(0) for stretch in lent if length(stretch) > _LONG_LENT_MM)
    )


def _no_notches_near(rings: list[_SizeRing]) -> Points:
    """Where lines of several sizes may meet as a notch's sides do: corners, and where they could not be told apart."""
    return np.vstack([np.vstack([made.points[made.corners], made.unsure]) for made, _ in rings])


def _printed_beside(read: _Sheetful, rings: list[_SizeRing], wanted: str) -> tuple[str | None, ...]:
    """The number printed beside each size's line, as far as it can be read."""
    lines = tuple(c.points for c in read.chains if sum(map(length, c.strokes)) > _DRAWN_SHARE * c.length)
    return numbers_beside(read.ink, tuple(made.points for made, _ in rings), lines, wanted)


def _read_sheet(sheet: FlatSheet, paper: npt.NDArray[np.bool_], printing: Printing) -> _Sheetful | None:
    ink = printing.ink
    chains = printing.chains + chain_strokes(find_dotted(ink))
    arrows = {a.chain for a in find_arrows(ink, chains) if a.heads == 2}
    long = tuple(c for k, c in enumerate(chains) if c.length >= _SHORTEST_MM and k not in arrows and c.drawn)
    if not long:
        return None
    usual = float(np.median(np.concatenate([np.full(len(c.points), c.ink) for c in long])))
    long = tuple(c for c in long if c.ink > 0.5 * usual or len(c.starts) == 1)
    area = paper.sum() * sheet.mm_per_px**2
    ring = _outermost_ring(tuple(c for k, c in enumerate(chains) if k not in arrows), _LEAST_AREA * area)
    if ring is None:
        return None
    envelope = border_of(ring)
    if _follows_edge(long, envelope, sheet, paper):
        return None
    bracket = find_fold_bracket(chains, envelope)
    long = joined_in_line(tuple(c for c in long if all(c is not chains[k] for k in bracket)))
    return _Sheetful(ink=ink, chains=long, envelope=envelope)


def _outermost_ring(chains: tuple[Chain, ...], least_mm2: float) -> Points | None:
    """Outer contour (N, 2) of all the lines together, gaps and corners bridged; counter-clockwise. None if none of
    ``least_mm2`` or more is drawn most of its way.
    """
    lines = np.vstack([c.points for c in chains])
    low, high = lines.min(0) - 2 * _CLOSE_MM[-1], lines.max(0) + 2 * _CLOSE_MM[-1]
    width, height = np.ceil((high - low) / _COARSE_MM).astype(int)
    canvas = np.zeros((height, width), np.uint8)
    for chain in chains:
        cv2.polylines(canvas, [np.round((chain.points - low) / _COARSE_MM).astype(np.int32)], False, 1, 1)
    for close_mm in _CLOSE_MM:
        side = 2 * round(close_mm / _COARSE_MM) + 1
        disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side))
        contours, _ = cv2.findContours(
            cv2.morphologyEx(canvas, cv2.MORPH_CLOSE, disc), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE
        )
        if not contours:
            continue
        ring = max(contours, key=cv2.contourArea)[:, 0].astype(float) * _COARSE_MM + low
        if abs(signed_area(ring)) > least_mm2 and (cKDTree(lines).query(ring)[0] < 2.5).mean() > _DRAWN_SHARE:
            return ring if signed_area(ring) > 0 else ring[::-1]
    return None


def _follows_edge(chains: tuple[Chain, ...], envelope: Border, sheet: FlatSheet, paper: npt.NDArray[np.bool_]) -> bool:
    """Whether the outermost printed lines keep, each, one distance from the paper's edge, as stitching lines do."""
    contours, _ = cv2.findContours(paper.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    edge = border_of(sheet.to_mm(max(contours, key=cv2.contourArea)[:, 0].astype(float)))
    along = total = 0.0
    for chain in chains:
        points = chain.points[:: max(1, len(chain.points) // 60)]
        if np.median(envelope.distance(points)) > 1.5 or len(points) < 4:
            continue
        gap = edge.distance(points)
        steady = np.abs(gap - np.median(gap)) < _STEADY[0] + _STEADY[1] * np.median(gap)
        along += chain.length * float(steady.mean() > 0.75)
        total += chain.length
    return total == 0.0 or along > _ALONGSIDE * total


def _size_rings(read: _Sheetful) -> list[_SizeRing]:
    """Ring, corners, share followed and style of each size, the innermost first."""
    chains = size_lines(read.chains, read.envelope)
    parts = [part_of(chain.points, read.envelope) for chain in chains]
    groups = stretches_by_style(chains, read.ink, read.envelope)
    everything = np.vstack([chain.points for chain in read.chains])
    rings = []
    for style, group in sorted(groups, key=lambda g: -_depth(g[1], read.envelope)):
        made = assemble(group, parts, everything, read.ink, _nearest_group(group, groups), read.envelope.length)
        if made is not None:
            rings.append((made, style))
    if len(rings) == 2 and rings[1][1].unbroken and _is_stitching(rings[0][0].points, rings[1][0].points):
        return rings[1:]
    return rings


def _depth(group: list[Part], envelope: Border) -> float:
    """How deep a size's own lines lie inside the outermost one: told by them, not by what bridges their gaps."""
    return float(np.median(np.concatenate([envelope.distance(part.points) for part in group])))


def _is_stitching(inner: Points, outer: Points) -> bool:
    """Whether two printed rings are a single size's stitching line and cut line rather than two nested sizes.

    They may be one line along a fold; elsewhere they come near each other only where the stitching line ends.
    """
    gaps = cKDTree(outer).query(inner)[0]
    apart = gaps[gaps > _ONE_LINE_MM]
    return bool(len(apart) > 0.3 * len(gaps) and (apart < _STITCHING_MM).mean() < _NEAR_SHARE)


def _inked_share(ring: Points, read: _Sheetful) -> float:
    """Share of a ring that runs along ink; gaps of dashes count as ink."""
    inked = np.vstack([resample(c.points[:: max(1, len(c.points) // 400)], 1.0) for c in read.chains])
    return float((cKDTree(inked).query(ring)[0] < 1.0).mean())


def _nearest_group(group: list[Part], groups: list[tuple[Style, list[Part]]]) -> list[Part]:
    """Stretches of the size that runs nearest to a group's; none if it is the only one."""
    own = np.vstack([p.points for p in group])
    others = [members for _, members in groups if members is not group]
    if not others:
        return []
    return min(others, key=lambda m: float(np.median(cKDTree(np.vstack([p.points for p in m])).query(own)[0])))
