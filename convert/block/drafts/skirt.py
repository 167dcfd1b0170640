"""A plain straight skirt drafted to fit under a bodice, or by itself, where no skirt was photographed.

A rule of our own. The width at the hip is the hip with its ease; what is too much at the waist goes into the side
seams and into darts, the same curve at both side seams, more of the darts on the back than on the front. The waist
rises to the side seam, which it meets square, and towards each dart, so that it runs smooth when the darts are sewn.
Below the hip the side seam hangs straight. Source of the proportions: common practice.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from calibration.ground.errors import InputError, Note
from calibration.ground.points import Points, lengths_along
from convert.block.drafts.lines import cubic, drafted_piece, length_of
from convert.body.wording import format_body_mm
from convert.piece.piece import Dart, EdgeName, Mark, Piece, PieceKind

_SIDE_SHARE = 0.35  # of what is too much at the waist, that the side seam takes
_SIDE_MM = (8.0, 30.0)  # but so much at least and at most on each piece: a rounder hip curve bulges
_FRONT_SHARE = 0.4  # of all darts' intake: the back is rounder
_LEAST_DART_MM, _WIDEST_DART_MM = 8.0, 28.0  # a narrower dart is not sewn, a wider one is made two
_LENGTHS_MM = ((95.0, 85.0), (125.0, 110.0))  # of a dart of the front, of the back; nearer to the centre first
_ROUNDS, _MET_MM = 25, 1e-6
_PLACES = {1: (0.5,), 2: (0.38, 0.7), 3: (0.3, 0.52, 0.74)}  # of darts along the sewn waist
_RISE_MM = 35.0  # how far from a dart the waist begins to rise towards it


@dataclass(frozen=True, slots=True, kw_only=True)
class SkirtWanted:
    """What a skirt shall measure, mm: sewn half waists (front, back), whole hip with its ease, heights."""

    half_waists: tuple[float, float]
    hip: float
    waist_to_hip: float
    length: float
    dart_places: tuple[float | None, float | None] = (None, None)
    """Where the bodice's dart meets the waist, as a share of the sewn half waist; None where there is none."""


def draft_skirt(
    wanted: SkirtWanted, *, folds: Sequence[str] = (), uncertainty_mm: float = 0.0, scale: float = 0.0
) -> tuple[Piece, Piece]:
    """Front and back of a skirt.

    Raises
    ------
    InputError
        If the skirt is shorter than the hip lies low.
    """
    if wanted.length < wanted.waist_to_hip + 30.0:
        raise InputError(
            f"A skirt {format_body_mm(wanted.length)} long ends above the hip.",
            "Check the skirt length and the waist to hip on the card.",
        )
    shares = _shared(wanted)
    unsure = (uncertainty_mm, scale)
    front, back = (_half(i, shares, wanted, folds, unsure) for i in (0, 1))
    return front, back


@dataclass(frozen=True, slots=True, kw_only=True)
class _Shares:
    """What the side seam takes, its rise at the waist, what the darts of front and back take, widths at the waist."""

    side: float
    rise: float
    intakes: tuple[float, float]
    outs: tuple[float, float]


def _shared(wanted: SkirtWanted) -> _Shares:
    """Hip less waist shared out: as long as the sewn waists and the hip are not both right, again."""
    bent = 0.0  # by how much the waist lines are longer than they are wide
    for _ in range(_ROUNDS):
        spare = wanted.hip / 2 - sum(wanted.half_waists) + bent
        side = float(np.clip(_SIDE_SHARE * spare / 2, *_SIDE_MM))
        taken = spare - 2 * side
        if taken < 4 * _LEAST_DART_MM:
            side, taken = spare / 2, 0.0  # hardly a waist: no darts, all of it at the side
        intakes = (_FRONT_SHARE * taken, (1 - _FRONT_SHARE) * taken)
        rise = _side_rise(sum(wanted.half_waists) / 2, side, wanted.waist_to_hip)
        outs = tuple(_out(i, side, rise, intakes[i], wanted) for i in (0, 1))
        miss = wanted.hip / 2 - sum(outs) - 2 * side
        if abs(miss) < _MET_MM:
            break
        bent += miss
    return _Shares(side=side, rise=rise, intakes=intakes, outs=(outs[0], outs[1]))


def _out(i: int, side: float, rise: float, intake: float, wanted: SkirtWanted) -> float:
    """How far the waist reaches from the centre line for the sewn waist to be right."""
    waist = wanted.half_waists[i]
    out = waist + intake
    for _ in range(_ROUNDS):
        line, legs = _waist_line(out, side, rise, intake, i, wanted)
        miss = waist - (length_of(line) - sum(_arc(line, one) for one in legs))
        out += miss
        if abs(miss) < _MET_MM / 10:
            break
    return out


_KINDS: tuple[PieceKind, PieceKind] = ("skirt front", "skirt back")


def _lean(side: float, hip: float) -> float:
    """Angle (radians) by which the side seam leans in at the waist."""
    return float(np.arctan2(1.4 * side, hip))


def _side_rise(waist: float, side: float, hip: float) -> float:
    """How much higher the waist lies at the side seam than at the centre."""
    return max(8.0, 0.33 * waist * float(np.tan(abs(_lean(side, hip)))))


def _half(i: int, shares: _Shares, wanted: SkirtWanted, folds: Sequence[str], unsure: tuple[float, float]) -> Piece:
    kind, hip, length = _KINDS[i], wanted.waist_to_hip, wanted.length
    centre: EdgeName = "centre front" if i == 0 else "centre back"
    out, side = shares.outs[i], shares.side
    line, legs = _waist_line(out, side, shares.rise, shares.intakes[i], i, wanted)
    side_line, wide = _side_line(out, side, shares.rise, hip, length), out + side
    edges: Mapping[EdgeName, Points] = {
        "hem": np.array([[0.0, -length], [wide, -length]]),
        "side seam": side_line,
        "waist": line[::-1],
        centre: np.array([[0.0, 0.0], [0.0, -length]]),
    }
    darts = tuple(_dart(line, one, _LENGTHS_MM[i][min(k, 1)], 0.6 * hip) for k, one in enumerate(legs))
    return drafted_piece(
        kind,
        edges,
        note=Note(
            "drafted",
            f"The {kind} was not photographed. It is drafted from waist, hip and skirt length, the difference between "
            "waist and hip shared by darts and side seams: sew a toile of it first.",
        ),
        fold=centre if centre in folds else "",
        darts=darts,
        marks=[Mark(kind="notch", at=np.array([wide, -hip]), on="side seam", meaning="single")],
        grainline=np.array([[0.4 * wide, -0.9 * length], [0.4 * wide, -hip]]),
        uncertainty_mm=unsure[0],
        scale_uncertainty=unsure[1],
    )


def _side_line(out: float, side: float, rise: float, hip: float, length: float) -> Points:
    """Side seam (N, 2) from the hem up to the waist."""
    lean, reach = _lean(side, hip), 0.4 * hip
    way = np.array([-np.sin(lean), np.cos(lean)])
    top = np.array([out, rise])
    curve = cubic([[out + side, -hip], [out + side, -hip + reach], top - reach * way, top])
    return np.vstack([[[out + side, -length]], curve])


def _waist_line(
    out: float, side: float, rise: float, intake: float, half: int, wanted: SkirtWanted
) -> tuple[Points, list[tuple[int, int]]]:
    """Waist (N, 2) from the centre to the side seam, with the indices of each dart's two leg ends."""
    lean, place = _lean(side, wanted.waist_to_hip), wanted.dart_places[half]
    way = np.array([np.cos(lean), np.sin(lean)])
    top = np.array([out, rise])
    curve = cubic([[0.0, 0.0], [0.4 * out, 0.0], top - 0.35 * out * way, top])
    count = int(np.ceil(intake / _WIDEST_DART_MM)) if intake >= 2 * _LEAST_DART_MM else int(intake > 0.0)
    if not count:
        return curve, []
    count = min(count, max(_PLACES))
    along = lengths_along(curve)
    each, sewn = intake / count, along[-1] - intake
    shares = _PLACES[count] if place is None else _aligned(_PLACES[count], place)
    nears = [share * sewn + i * each for i, share in enumerate(shares)]
    stations = np.unique(np.concatenate([along, *[[near, near + each] for near in nears]]))
    line = np.column_stack([np.interp(stations, along, curve[:, axis]) for axis in (0, 1)])
    ends = [(int(np.searchsorted(stations, near)), int(np.searchsorted(stations, near + each))) for near in nears]
    return _raised(line, stations, ends, _LENGTHS_MM[half])


def _aligned(shares: Sequence[float], place: float) -> tuple[float, ...]:
    """The darts' places with the first one below the bodice's dart, as far as that leaves room for the others."""
    first = float(np.clip(place, 0.25, 0.6 if len(shares) == 1 else 0.45))
    step = (0.8 - first) / len(shares)
    return tuple(first + step * i for i in range(len(shares)))


def _raised(
    line: Points, stations: Points, ends: list[tuple[int, int]], longs: tuple[float, float]
) -> tuple[Points, list[tuple[int, int]]]:
    """The waist raised towards each dart so that it meets the legs square; straight across the mouths."""
    out = line.copy()
    for i, (near, far) in enumerate(ends):
        half = float(np.hypot(*(line[far] - line[near]))) / 2
        slope = half / longs[min(i, 1)]
        normal = np.array([-(line[far] - line[near])[1], (line[far] - line[near])[0]]) / (2 * half)
        gap = np.where(stations < stations[near], stations[near] - stations, np.maximum(stations - stations[far], 0.0))
        height = slope * _RISE_MM / 2 * np.clip(1 - gap / _RISE_MM, 0.0, None) ** 2
        out += np.outer(height, normal)
        across = np.linspace(0.0, 1.0, far - near + 1)[:, None]
        out[near : far + 1] = (1 - across) * out[near] + across * out[far]
    return out, ends


def _arc(line: Points, ends: tuple[int, int]) -> float:
    return length_of(line[ends[0] : ends[1] + 1])


def _dart(line: Points, ends: tuple[int, int], long: float, most: float) -> Dart:
    legs = line[list(ends)]
    chord = (legs[1] - legs[0]) / np.hypot(*(legs[1] - legs[0]))
    apex = legs.mean(0) - min(long, most) * np.array([-chord[1], chord[0]])
    return Dart(on="waist", apexes=apex[None], legs=legs[::-1], evidence="deduced")
