"""Printed lines inside a piece: what each is, and where it runs."""

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from calibration.ground.plane import cross
from calibration.ground.points import Points, resample
from calibration.sheet.flatten import FlatSheet
from convert.trace.ink.beads import find_dotted
from convert.trace.ink.border import Border, border_of
from convert.trace.ink.chains import Chain, chain_strokes
from convert.trace.ink.in_line import joined_in_line
from convert.trace.ink.ink import Ink
from convert.trace.ink.lettering import seen_mirrored
from convert.trace.ink.line_styles import Style, broken_alike
from convert.trace.ink.printing import Printing, find_printing
from convert.trace.ink.straight import angle_between_deg, fit_straight
from convert.trace.printed.arrows import Arrow, find_arrows
from convert.trace.printed.buttonholes import beside_buttonholes, find_buttonholes
from convert.trace.printed.darts import PrintedDart, find_darts, set_leg_ends
from convert.trace.printed.double_darts import DoubleDart, find_double_darts
from convert.trace.printed.fold_bracket import bracket_line, find_fold_bracket
from convert.trace.printed.marks import find_dots
from convert.trace.printed.stitching import Run, find_runs, smooth_line
from convert.trace.tracing import TracedLine, TracedMark

_LONE_MM = 20.0  # of an unbroken line, the least that may be a dart's leg by itself
_MERGED_MM = 60.0  # the darts of nested sizes run into one another so far from their points
_OTHER_MM = 25.0  # a shorter line of no known meaning is left out
_WORD_MM = 7.0  # letters stand nearer together than this
_LETTERS = 7  # short strokes within that distance of one another that make print a word
_FEWEST_PRICKS, _SHARP_DEG = 8, 20.0
_CUT_MM = 2.5  # a line within this of the outline is the cut line


@dataclass(frozen=True, slots=True, kw_only=True)
class Print:
    """What is printed inside a piece: its lines, its dots, and how surely its lettering is seen mirrored (-1 to 1).

    ``pricked`` says that nothing is printed and the lines are rows of pricks of a tracing wheel.
    """

    lines: tuple[TracedLine, ...]
    marks: tuple[TracedMark, ...]
    mirrored: float = 0.0
    pricked: bool = False


def read_print(
    sheet: FlatSheet,
    paper: npt.NDArray[np.bool_],
    outline: Points,
    *,
    printing: Printing | None = None,
    nest: Style | None = None,
) -> Print:
    """Everything printed inside a piece.

    Parameters
    ----------
    sheet : FlatSheet
    paper : (height, width) bool
        Where the piece's paper lies on the sheet's raster.
    outline : (N, 2)
        The cut line, mat mm, a ring. On an uncut sheet the printed one, and only what lies inside it is read.
    printing : Printing, optional
        What is printed on the paper, where it has been found already.
    nest : Style, optional
        Of nested sizes, how the line of the size read is broken: only its darts are read, and no stitching lines.

    Returns
    -------
    Print
        Lines: stitching in runs from corner to corner; two "dart" lines per dart, each from its leg end on the seam
        line to the apex (four for a double-pointed dart, from its widest points to either apex); the grain arrow from
        tail to head; the fold bracket from tick to tick; lines to lengthen or shorten at; buttonholes; others. Marks:
        dots at the darts' ends.
    """
    border = border_of(outline)
    printing = printing or find_printing(sheet, paper & _filled(sheet, outline))
    ink = printing.ink
    buttonholes = tuple(ends for ends in find_buttonholes(ink) if border.distance(ends).min() > _CUT_MM)
    chains, pricked = _chains_inside(printing, buttonholes, border, outline, nested=nest is not None)
    dots, radii = find_dots(ink)
    arrows = _grain_arrows(tuple(arrow for arrow in find_arrows(ink, chains) if not _twinned(chains, arrow.chain)))
    fold = find_fold_bracket(chains, border)
    known = frozenset(a.chain for a in arrows) | frozenset(fold)
    double: tuple[DoubleDart, ...] = ()
    runs: tuple[Run, ...] = ()
    if nest is not None:
        legs = _of_one_style(chains, ink, border, outline, nest)
        dots, radii = dots[:0], radii[:0]  # they may be other sizes' as well
        darts = find_darts(legs, border, dots, short_mm=_MERGED_MM)
    else:
        legs = chains
        double = find_double_darts(chains, border, ignore=known)
        known |= frozenset(k for d in double for k in d.chains)
        darts = find_darts(legs, border, dots, ignore=known)
        known |= frozenset(k for d in darts for k in d.chains)
        runs = find_runs(chains, border, ignore=known)
        known |= frozenset(run.chain for run in runs)
    darts = tuple(set_leg_ends(d, tuple(run.points for run in runs), dots, ink) for d in darts)
    lengthen = _lengthen_lines(chains, border, arrows, known)
    lines = [*_seams_and_darts(runs, darts, legs), *_double_dart_lines(double, chains)]
    lines += [
        TracedLine(kind="grainline", points=np.array([a.tail, a.head]), confidence=0.97 if a.heads == 2 else 0.85)
        for a in arrows
    ]
    if fold:
        lines.append(bracket_line(chains, fold))
    lines += [TracedLine(kind="lengthen", points=smooth_line(chains[k]), confidence=0.85) for k in sorted(lengthen)]
    lines += [TracedLine(kind="buttonhole", points=ends, confidence=0.85) for ends in buttonholes]
    if nest is None:
        lines += _other_lines(chains, known | lengthen, ink)
    return Print(lines=tuple(lines), marks=_dart_dots(darts, dots, radii), mirrored=seen_mirrored(ink), pricked=pricked)


def _chains_inside(
    printing: Printing, buttonholes: tuple[Points, ...], border: Border, outline: Points, *, nested: bool
) -> tuple[tuple[Chain, ...], bool]:
    """Lines inside the outline that are neither letters nor buttonholes, and whether they are rows of pricks."""
    loose = beside_buttonholes(printing.chains, buttonholes)
    chains = joined_in_line(_inside(_without_words(loose), border, outline))
    if nested or any(chain.drawn and chain.length > _OTHER_MM for chain in chains):
        return chains, False
    # nothing is printed: what a tracing wheel has pricked into the paper shows
    return _inside(_pricked(printing.ink), border, outline), True


def _seams_and_darts(
    runs: tuple[Run, ...], darts: tuple[PrintedDart, ...], legs: tuple[Chain, ...]
) -> list[TracedLine]:
    """Stitching lines, then the legs of each dart."""
    stitching = [
        TracedLine(kind="stitching", points=run.points, dashed=run.dashed, confidence=run.confidence) for run in runs
    ]
    return stitching + [line for dart in darts for line in _dart_lines(dart, legs)]


def _double_dart_lines(double: tuple[DoubleDart, ...], chains: tuple[Chain, ...]) -> list[TracedLine]:
    """Each double-pointed dart as four lines, from its widest points to either apex."""
    return [
        TracedLine(kind="dart", points=np.array([wide, apex]), dashed=chains[d.chains[0]].dashed, confidence=0.85)
        for d in double
        for apex in d.apexes
        for wide in d.widest
    ]


def _pricked(ink: Ink) -> tuple[Chain, ...]:
    """Rows of equally spaced pricks as lines, each straight side of a row by itself."""
    return tuple(
        Chain(points=part, starts=(0,), ink=row.ink)
        for row in find_dotted(ink)
        for part in _sides(row.points)
        if len(part) >= _FEWEST_PRICKS
    )


def _sides(points: Points) -> list[Points]:
    """A row of pricks parted where it turns sharply, as the seam line does at a corner."""
    way = np.diff(points, axis=0)
    turn = np.degrees(np.abs(np.arctan2(cross(way[:-1], way[1:]), (way[:-1] * way[1:]).sum(1))))
    return np.split(points, np.flatnonzero(turn > _SHARP_DEG) + 1)


def _other_lines(chains: tuple[Chain, ...], known: frozenset[int], ink: Ink) -> list[TracedLine]:
    """Drawn lines of no known meaning."""
    return [
        TracedLine(kind="other", points=smooth_line(chain), dashed=chain.dashed, confidence=0.5)
        for k, chain in enumerate(chains)
        if k not in known and chain.length >= _OTHER_MM and chain.drawn and _regular(chain) and _alone(chain, ink)
    ]


def read_lines(sheet: FlatSheet, paper: npt.NDArray[np.bool_], outline: Points) -> tuple[TracedLine, ...]:
    """Printed lines inside a piece; see ``read_print``."""
    return read_print(sheet, paper, outline).lines


def read_printed_marks(sheet: FlatSheet, paper: npt.NDArray[np.bool_], outline: Points) -> tuple[TracedMark, ...]:
    """Printed dots inside a piece; see ``read_print``."""
    return read_print(sheet, paper, outline).marks


def _filled(sheet: FlatSheet, outline: Points) -> npt.NDArray[np.bool_]:
    mask = np.zeros(sheet.pixels.shape[:2], np.uint8)
    cv2.fillPoly(mask, [np.round(sheet.to_px(outline) * 16).astype(np.int32)], 1, shift=4)
    return mask.astype(bool)


def _without_words(chains: tuple[Chain, ...]) -> tuple[Chain, ...]:
    """Chains that are not the strokes of letters: short ones among many short strokes."""
    loose = np.array([c.points.mean(0) for c in chains if c.length < 3 * _WORD_MM]).reshape(-1, 2)
    if len(loose) < _LETTERS:
        return chains
    tree = cKDTree(loose)
    kept = []
    for chain in chains:
        if chain.length < 6 * _WORD_MM:
            crowd = [len(n) for n in tree.query_ball_point(chain.points[:: max(1, len(chain.points) // 8)], _WORD_MM)]
            if np.median(crowd) >= _LETTERS:
                continue
        kept.append(chain)
    return tuple(kept)


def _inside(chains: tuple[Chain, ...], border: Border, outline: Points) -> tuple[Chain, ...]:
    """Chains inside the outline, without the cut line itself."""
    ring = outline.astype(np.float32).reshape(-1, 1, 2)
    kept = []
    for chain in chains:
        points = chain.points[:: max(1, len(chain.points) // 60)]
        middle = chain.points[len(chain.points) // 2]
        within = cv2.pointPolygonTest(ring, (float(middle[0]), float(middle[1])), False) > 0
        if within and np.median(border.distance(points)) > _CUT_MM:
            kept.append(chain)
    return tuple(kept)


def _regular(chain: Chain) -> bool:
    """Whether a short broken line is broken evenly, as letters in a row are not."""
    spans = np.array([np.hypot(*(s[-1] - s[0])) for s in chain.strokes])
    return not chain.dashed or chain.length > 2.5 * _OTHER_MM or float(np.std(spans[1:-1])) < 0.3 * spans.mean()


def _alone(chain: Chain, ink: Ink) -> bool:
    """Whether the paper on both sides of a line is bare, as it is not along a line of words."""
    points = resample(chain.points[:: max(1, len(chain.points) // 400)], 1.0)
    across = np.gradient(points, axis=0)[:, ::-1] * [-1.0, 1.0]
    across /= np.maximum(np.hypot(*across.T), 1e-9)[:, None]
    sides = [[ink.sample(points + sense * off * across) > 0.3 for off in (1.3, 1.9, 2.6)] for sense in (1.0, -1.0)]
    return max(float(np.mean(side)) for side in sides) < 0.15


def _grain_arrows(arrows: tuple[Arrow, ...]) -> tuple[Arrow, ...]:
    """The grain arrow: one with a head at either end before one with a single head."""
    both = [a for a in arrows if a.heads == 2]
    return tuple((both or list(arrows))[:1])


def _twinned(chains: tuple[Chain, ...], k: int) -> bool:
    """Whether a line has another like it close beside, as lines to lengthen or shorten at have and a grain has not."""
    line = fit_straight(chains[k].points)
    for other, chain in enumerate(chains):
        if other == k or chain.dashed or chain.straightness < 0.99 or abs(chain.length / chains[k].length - 1) > 0.1:
            continue
        if angle_between_deg(line.direction, fit_straight(chain.points).direction) % 179.0 < 2.0:
            aside = np.abs(line.aside(chain.points)).max()
            middles = chain.points[[0, -1]].mean(0) - chains[k].points[[0, -1]].mean(0)
            if aside < 15.0 and np.hypot(*middles) < 20.0:
                return True
    return False


def _lengthen_lines(
    chains: tuple[Chain, ...], border: Border, arrows: tuple[Arrow, ...], known: frozenset[int]
) -> frozenset[int]:
    """Indices of lines to lengthen or shorten at: unbroken, straight, across it, paired or square to the grain."""
    across = []
    for k, chain in enumerate(chains):
        if k in known or chain.dashed or chain.length < 50.0 or chain.straightness < 0.99:
            continue
        gap = border.distance(np.array([chain.points[0], chain.points[-1], *chain.points[:: len(chain.points) // 9]]))
        if gap[:2].max() < 30.0 and gap.max() > 25.0:
            across.append((k, fit_straight(chain.points), chain))
    found = set()
    for k, line, _ in across:
        for other, twin, chain in across:
            aside = np.abs(line.aside(chain.points))
            if other != k and angle_between_deg(line.direction, twin.direction) % 179.0 < 2.0 and aside.max() < 15.0:
                found.add(k)
        if arrows and abs(angle_between_deg(line.direction, arrows[0].head - arrows[0].tail) - 90.0) < 4.0:
            found.add(k)
    return frozenset(found)


def _of_one_style(
    chains: tuple[Chain, ...], ink: Ink, border: Border, outline: Points, style: Style
) -> tuple[Chain, ...]:
    """Lines of one of several nested sizes: the strokes of an unbroken one each by itself, the dots of a dotted one."""
    if style.unbroken:
        alone = (Chain(points=stroke, starts=(0,), ink=chain.ink) for chain in chains for stroke in chain.strokes)
        return tuple(one for one in alone if one.length > _LONE_MM)
    if style.dash_mm == 0.0:
        return _inside(chain_strokes(find_dotted(ink)), border, outline)
    return broken_alike(chains, style)


def _dart_lines(dart: PrintedDart, chains: tuple[Chain, ...]) -> list[TracedLine]:
    return [
        TracedLine(
            kind="dart",
            points=np.array([dart.legs[i], dart.apex]),
            dashed=chains[dart.chains[i]].dashed,
            confidence=dart.confidence,
        )
        for i in (0, 1)
    ]


def _dart_dots(darts: tuple[PrintedDart, ...], dots: Points, radii: Points) -> tuple[TracedMark, ...]:
    """The printed dots at the darts' ends, each once."""
    if not len(dots) or not darts:
        return ()
    ends = np.vstack([[d.apex, *d.legs] for d in darts])
    near = cKDTree(ends).query(dots)[0] < 0.6
    return tuple(
        TracedMark(kind="dot", at=at, size_mm=float(2 * r), confidence=0.95)
        for at, r in zip(dots[near], radii[near], strict=True)
    )
