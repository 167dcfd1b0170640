"""A thing of known size in the picture, a bank card, an A4 or a Letter sheet, tells whether the scale is right."""

from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from calibration.ground.errors import Note
from calibration.ground.plane import left
from calibration.ground.points import Points, frozen
from calibration.ground.units import MM_PER_INCH
from calibration.sheet.cover import find_cover
from calibration.sheet.flatten import FlatSheet

Mask = npt.NDArray[np.bool_]


_MOST_PX = 1.2e6  # of the raster on which things are told from the mat; their edges are measured on the sheet
_OUTLINE_PX = 400  # longer side of a mask whose rough outline is drawn


@dataclass(frozen=True, slots=True, kw_only=True)
class Standard:
    """A thing whose size a standard fixes: long and short side, mm."""

    name: str
    long_mm: float
    short_mm: float


STANDARDS = (
    Standard(name="bank card", long_mm=85.60, short_mm=53.98),  # ISO/IEC 7810:2019, ID-1
    Standard(name="A4 sheet", long_mm=297.0, short_mm=210.0),  # ISO 216:2007
    Standard(name="Letter sheet", long_mm=11 * MM_PER_INCH, short_mm=8.5 * MM_PER_INCH),  # ANSI/ASME Y14.1, size A
)
# What lattices are printed at; between them no pitch is likely.
USUAL_PITCHES_MM = (5.0, 6.35, 10.0, 12.7, 20.0, 25.0, 25.4, 50.0, 50.8)

_SAME_SHAPE = 0.012  # of the ratio of its sides: a card cut to 0.1 mm and measured to 0.3 mm
_SAME_SHAPE_SCANNED = 0.03  # a scanner's two directions may have scales of their own
_SAME_SIZE = 0.05  # a scale may be off by so much and the thing still be that thing
_SAME_PITCH = 0.015  # of a usual pitch, for a scale that is off by more
_RIGHT = 0.006  # a scale that is off by less is called right: a card stands 0.8 mm above the mat and reads 0.15 % large
_SQUARE_DEG = 0.8
_ROUGHLY_SQUARE = 0.1  # cosine, of a first outline that lines of the mat may fray
_FULL = 0.85  # share of its four sides' area that a first, frayed outline must fill; the exact sides are judged later
_STRAIGHT = 0.006  # of its short side: how far its sides may bend
_PRINTING = 0.2  # of the pitch: what is thinner than this is printing on the mat
_ATTACHED = 0.35  # of a thing's size: what is thinner and hangs on to it (printing, a line) is not part of it
_ENDS = 0.16  # of each side left out at both ends: corners are round
_FAR_ACROSS = 0.16  # of the short side looked at across each side of a first, frayed outline
_ACROSS = 0.06  # the same, later
_WHICH = ("nearest", "innermost", "outermost")
_THICK_MM = 0.3  # what a card's thickness (0.76 mm) does to its picture: its side shows, its top stands nearer
_PLACES = 80  # along each side


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class KnownObject:
    """A thing of known size as it measures on a sheet.

    Attributes
    ----------
    standard : Standard
        What it is taken for.
    corners_mm : (4, 2)
        Where its sides meet, as if not rounded, counter-clockwise, on the sheet.
    long_mm, short_mm : float
        Its sides as measured.
    uncertainty_mm : float
        Of each side, 95 %.
    """

    standard: Standard
    corners_mm: Points
    long_mm: float
    short_mm: float
    uncertainty_mm: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "corners_mm", frozen(self.corners_mm))

    @property
    def reads(self) -> float:
        """What it reads for each millimetre that it truly has: 1 if the scale is right."""
        own, true = self.long_mm + self.short_mm, self.standard.long_mm + self.standard.short_mm
        return own / true


def find_known_object(sheet: FlatSheet, *, usual_pitches_mm: tuple[float, ...] = ()) -> KnownObject | None:
    """The thing of known size on a flat sheet, or None: a rectangle of its own with a standard's shape.

    Its size must be the standard's, nearly, or the standard's if the lattice had another usual pitch. Of several, the
    one whose shape fits best.
    """
    found = []
    for ring in _outlines(sheet):
        sides = _four_sides(ring)
        if sides is None:
            continue
        for which in _WHICH:
            exact = _measured(sheet, sides, which)
            seen = None if exact is None else _recognised(*exact, sheet, usual_pitches_mm)
            if seen is not None:
                found.append(seen)
                break
    return min(found, key=_unlike, default=None)


def pitch_evidence(known: KnownObject, pitch_mm: float) -> Note:
    """What a thing of known size says of the pitch that was told.

    The code is ``pitch-confirmed`` or ``pitch-doubtful``; nothing is corrected.
    """
    thing, reads = known.standard, known.reads
    size = f"{known.long_mm:.1f} × {known.short_mm:.1f} mm"
    true = f"{thing.long_mm:g} × {thing.short_mm:g} mm"
    told = _length_words(pitch_mm)
    if abs(reads - 1) <= _RIGHT:
        return Note(
            "pitch-confirmed", f"The {thing.name} in the picture measures {size} (true: {true}): {told} is right."
        )
    likely = min(USUAL_PITCHES_MM, key=lambda usual: abs(np.log(usual * reads / pitch_mm)))
    if abs(reads - 1) > _SAME_SIZE and abs(likely * reads / pitch_mm - 1) <= _SAME_PITCH:
        return Note(
            "pitch-doubtful",
            f"The grid was said to be {told}, but then the {thing.name} in the picture would measure {size}; it has "
            f"{true}. It would be right if the grid were {_length_words(likely)}. Measure the grid with a rule and say "
            "which it is.",
        )
    way = "long" if reads > 1 else "short"
    return Note(
        "pitch-doubtful",
        f"With a grid of {told} the {thing.name} in the picture measures {size}; it has {true}. All lengths would come "
        f"out {abs(reads - 1) * 100:.1f} % too {way}. Lay a steel rule along the grid and say what it reads.",
    )


def _length_words(pitch_mm: float) -> str:
    """A pitch as a maker says it."""
    inches = pitch_mm / MM_PER_INCH
    for share, words in ((0.25, "1/4 inch"), (0.5, "1/2 inch"), (1.0, "1 inch"), (2.0, "2 inches")):
        if abs(inches - share) < 1e-6:
            return f"{words} ({pitch_mm:g} mm)"
    return f"{pitch_mm / 10:g} cm" if pitch_mm >= 10 else f"{pitch_mm:g} mm"


def _unlike(known: KnownObject) -> float:
    """How far its shape is from the standard's."""
    return float(abs(np.log(known.long_mm / known.short_mm * known.standard.short_mm / known.standard.long_mm)))


def _recognised(
    corners: Points, scatter: float, sheet: FlatSheet, usual_pitches_mm: tuple[float, ...]
) -> KnownObject | None:
    """The standard that a rectangle can be, if one."""
    edges = np.roll(corners, -1, axis=0) - corners
    a, b, c, d = np.hypot(*edges.T)
    one, two = (a + c) / 2, (b + d) / 2
    long, short = max(one, two), min(one, two)
    scales = {1.0: _SAME_SIZE}
    if sheet.lattice is not None:
        scales |= {sheet.lattice.pitch_mm / usual: _SAME_PITCH for usual in usual_pitches_mm}
    fits = [
        (abs(np.log(long / short * thing.short_mm / thing.long_mm)), thing)
        for thing in STANDARDS
        if any(
            abs((long + short) / (thing.long_mm + thing.short_mm) / scale - 1) < off for scale, off in scales.items()
        )
    ]
    limit = _SAME_SHAPE if sheet.lattice is not None else _SAME_SHAPE_SCANNED
    if not fits or min(fits, key=lambda fit: fit[0])[0] > limit:
        return None
    thing = min(fits, key=lambda fit: fit[0])[1]
    return KnownObject(
        standard=thing, corners_mm=corners, long_mm=float(long), short_mm=float(short), uncertainty_mm=float(scatter)
    )


# --- rectangles ---------------------------------------------------------------------------------------------------


def _outlines(sheet: FlatSheet) -> Iterator[Points]:
    """Outlines (N, 2), mm, of what lies on the mat or on a scanner's glass."""
    covered, scale, origin, thin = _covered(sheet)
    if covered is None:
        return
    plain = cv2.morphologyEx(covered, cv2.MORPH_OPEN, _disc(thin / scale))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(plain)
    for k in range(1, count):
        left, top, width, height, area = (int(value) for value in stats[k])
        if area < 30 * 30:
            continue
        part = (labels[top : top + height, left : left + width] == k).astype(np.uint8) * 255
        shrink = min(
            1.0, _OUTLINE_PX / max(width, height)
        )  # a wide disc on a wide mask is slow, and its place is refined
        small = cv2.resize(part, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA) if shrink < 1 else part
        across, down = small.shape[1] / width, small.shape[0] / height
        own = np.pad((small > 127).astype(np.uint8), 1)
        own = cv2.morphologyEx(own, cv2.MORPH_OPEN, _disc(_ATTACHED * np.sqrt(area) * shrink))
        rings, _ = cv2.findContours(own, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
        for ring in rings:
            if len(ring) > 60:
                at = (np.asarray(ring, float).reshape(-1, 2) - 1 + 0.5) / [across, down] - 0.5
                yield origin + (at + [left, top]) * [scale, -scale]


def _disc(diameter_px: float) -> npt.NDArray[np.uint8]:
    size = max(3, int(diameter_px) | 1)
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size)), np.uint8)


def _covered(sheet: FlatSheet) -> tuple[npt.NDArray[np.uint8] | None, float, Points, float]:
    """What is not background: a mask, its mm per pixel, its origin, and how thin printing is, mm."""
    if sheet.lattice is not None:
        try:
            cover = find_cover(sheet, most_px=_MOST_PX)
        except ValueError:
            return None, 1.0, np.zeros(2), 0.0
        return cover.covered.astype(np.uint8), cover.mm_per_px, cover.origin_mm, _PRINTING * sheet.lattice.pitch_mm
    shrink = min(1.0, sheet.mm_per_px / 0.3)
    small = cv2.resize(sheet.pixels, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA)
    lab = cv2.cvtColor(cv2.medianBlur(small, 5).astype(np.float32) / 255.0, cv2.COLOR_RGB2LAB)
    rim = np.concatenate(
        [lab[:4].reshape(-1, 3), lab[-4:].reshape(-1, 3), lab[:, :4].reshape(-1, 3), lab[:, -4:].reshape(-1, 3)]
    )
    far = np.linalg.norm(lab - np.median(rim, axis=0), axis=-1)
    scale = sheet.mm_per_px / shrink
    origin = sheet.origin_mm + np.array([0.5, -0.5]) * (scale - sheet.mm_per_px)
    return (far > 5.0).astype(np.uint8), scale, origin, 2.0


def _four_sides(ring: Points) -> Points | None:
    """Corners (4, 2), counter-clockwise, of an outline that is a rectangle; None if it is not."""
    box = cv2.boxPoints(cv2.minAreaRect(ring.astype(np.float32))).astype(float)
    box = box if _area(box) > 0 else box[::-1]
    short = min(np.hypot(*(np.roll(box, -1, axis=0) - box).T))
    if short <= 0 or abs(_area(ring)) < _FULL * abs(_area(box)):
        return None
    lines = []
    for a, b in zip(box, np.roll(box, -1, axis=0), strict=True):
        length = np.hypot(*(b - a))
        along = (b - a) / length
        at, off = (ring - a) @ along, (ring - a) @ left(along)
        near = (at > _ENDS * length) & (at < (1 - _ENDS) * length) & (np.abs(off) < 0.1 * short)
        if near.sum() < 10:
            return box
        lines.append(_line(ring[near]))
    corners = _corners(lines)
    return box if corners is None else corners


def _area(ring: Points) -> float:
    x, y = ring.T
    return float(0.5 * (x * np.roll(y, -1) - np.roll(x, -1) * y).sum())


def _line(points: Points) -> tuple[Points, Points, float]:
    """Middle, direction and scatter of points on a straight line, without the third that lies off most."""
    keep = np.ones(len(points), bool)
    for _ in range(4):
        vx, vy, x, y = np.asarray(cv2.fitLine(points[keep].astype(np.float32), cv2.DIST_HUBER, 0, 0.01, 0.01)).ravel()
        middle, along = np.array([x, y], float), np.array([vx, vy], float)
        off = np.abs((points - middle) @ left(along))
        keep = off <= max(float(np.percentile(off, 67)), 1e-6)
    return middle, along, float(np.percentile(off, 67))


def _corners(lines: list[tuple[Points, Points, float]]) -> Points | None:
    """Where each line meets the one before it, if all meet squarely."""
    corners = []
    for (p, u, _), (q, v, _) in zip([lines[-1], *lines[:-1]], lines, strict=True):
        if abs(u @ v) > _ROUGHLY_SQUARE:
            return None
        t = np.linalg.solve(np.column_stack([u, -v]), q - p)
        corners.append(p + t[0] * u)
    return np.array(corners)


def _measured(sheet: FlatSheet, corners: Points, which: str) -> tuple[Points, float] | None:
    """The corners to a fraction of a pixel, from where the colour changes; and the sides' 95 % uncertainty.

    ``which`` of several changes near a frayed first outline is the side: the nearest, the innermost, the outermost.
    """
    for reach, choice in ((_FAR_ACROSS, which), (_ACROSS, "nearest"), (_ACROSS / 2, "nearest")):
        short = float(min(np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)))
        lines = []
        for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
            places = _edge_places(sheet, a, b, reach * short, choice)
            if len(places) < _PLACES // 3:
                return None
            lines.append(_line(places))
        better = _corners(lines)
        if better is None or _area(better) <= 0:
            return None
        corners = better
    if max(scatter for _, _, scatter in lines) > _STRAIGHT * short:
        return None
    sides = np.roll(corners, -1, axis=0) - corners
    unit = sides / np.hypot(*sides.T)[:, None]
    if np.abs((unit * np.roll(unit, 1, axis=0)).sum(1)).max() > np.sin(np.radians(_SQUARE_DEG)):
        return None
    return corners, max(_THICK_MM, 2.0 * max(scatter for _, _, scatter in lines))


def _edge_places(sheet: FlatSheet, a: Points, b: Points, reach: float, which: str) -> Points:
    """Places (N, 2) on the side from a to b where the colour is half way from outside to inside."""
    along = (b - a) / np.hypot(*(b - a))
    inward = left(along)
    at = a + np.linspace(_ENDS, 1 - _ENDS, _PLACES)[:, None] * (b - a)
    off = np.linspace(-reach, reach, 2 * int(np.ceil(reach / sheet.mm_per_px * 1.5)) + 1)
    px = sheet.to_px((at[:, None] + off[:, None] * inward).reshape(-1, 2)).astype(np.float32).reshape(_PLACES, -1, 2)
    colour = np.asarray(cv2.remap(sheet.pixels, px[..., 0], px[..., 1], cv2.INTER_LINEAR), float)
    third = len(off) // 3
    inside, outside = np.median(colour[:, -third:], axis=(0, 1)), np.median(colour[:, :third], axis=(0, 1))
    far = np.linalg.norm(colour - inside, axis=-1)  # not the way towards the mat's colour: a line beside it is no card
    share = 0.5 - far / max(float(np.linalg.norm(outside - inside)), 1.0)
    places = []
    for k in range(_PLACES):
        ups = np.flatnonzero((share[k, :-1] < 0) & (share[k, 1:] >= 0))
        if len(ups):
            i = {"innermost": ups[-1], "outermost": ups[0]}.get(which, ups[np.abs(off[ups]).argmin()])
            part = -share[k, i] / (share[k, i + 1] - share[k, i])
            places.append(at[k] + inward * (off[i] + part * (off[i + 1] - off[i])))
    return np.array(places).reshape(-1, 2)
