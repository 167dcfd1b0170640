"""A plain sleeve drafted for the armhole of a bodice, where no sleeve was photographed.

A rule of our own. The two halves of the cap are as long as the two halves of the armhole and their share of the cap
ease; the cap's height follows from that and from the width, which is the upper arm with its ease. Each half is one S of
two cubics, flat at the underarm and at the top, the front hollowed more than the back. Below, the seams leave the
underarm line and meet the wrist at right angles, so that cap and wrist run on smoothly across the joined seam. Source
of the proportions: common practice; the cap ease: :data:`convert.block.targets.CAP_EASE_MM`.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
from scipy.optimize import brentq

from calibration.ground.errors import InputError, Note
from calibration.ground.points import Points, as_points
from convert.block.compared.targets import CAP_EASE_MM
from convert.block.drafts.lines import cubic, drafted_piece, length_of
from convert.piece.piece import Mark, Piece

_FRONT_SHARE = 0.45  # of the cap ease: the back half, round the shoulder blade, takes a little more
_HEIGHTS_MM = (40.0, 260.0)  # no cap of a set-in sleeve is flatter or taller
_ABOVE_MIDDLE_MM = 25.0  # the elbow lies about an inch above the middle of the underarm seam, common practice
_TURN = (0.3, 0.65)  # where down the underarm seam the cubic's nodes lie
# the two cubics of each half of the cap, from the underarm (0, 0) to the top (1, 1)
_HALVES = {
    "front": (
        ((0.0, 0.0), (0.28, 0.0), (0.36, 0.22), (0.46, 0.48)),
        ((0.46, 0.48), (0.56, 0.74), (0.72, 1.0), (1.0, 1.0)),
    ),
    "back": (
        ((0.0, 0.0), (0.22, 0.0), (0.34, 0.20), (0.46, 0.42)),
        ((0.46, 0.42), (0.60, 0.676), (0.70, 1.0), (1.0, 1.0)),
    ),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class SleeveWanted:
    """What a sleeve shall measure, mm, ease included; ``elbow`` is None where nothing is known of it."""

    upper_arm: float
    length: float
    wrist: float
    elbow: float | None = None
    cap_ease: float = CAP_EASE_MM[1]


def half_cap(side: str, wide: float, high: float) -> Points:
    """Half of the cap (N, 2) from the underarm (0, 0) to the top (``wide``, ``high``)."""
    return np.asarray(_of_unit_size(side) * [wide, high])


@cache
def _of_unit_size(side: str) -> Points:
    first, second = (cubic(nodes) for nodes in _HALVES[side])
    return as_points(np.vstack([first, second[1:]]))


def cap_of(front_mm: float, back_mm: float, wide_mm: float) -> tuple[float, float]:
    """Height of the cap, and width of its front half, that make its two halves so long on so wide a sleeve.

    Raises
    ------
    InputError
        If there is no such cap: the sleeve is too wide for the armhole, or far too narrow.
    """

    def half_width(side: str, long: float, high: float) -> float:
        if length_of(half_cap(side, 1e-6, high)) >= long:
            return 0.0
        return float(brentq(lambda w: length_of(half_cap(side, w, high)) - long, 1e-6, long, xtol=1e-10))

    def too_wide(high: float) -> float:
        return half_width("front", front_mm, high) + half_width("back", back_mm, high) - wide_mm

    low, top = _HEIGHTS_MM
    if too_wide(low) < 0 or too_wide(top) > 0:
        fault = "wide" if too_wide(low) < 0 else "narrow"
        raise InputError(
            f"A sleeve {wide_mm / 10:.1f} cm round the upper arm is too {fault} for an armhole of "
            f"{(front_mm + back_mm) / 10:.1f} cm.",
            "Check the upper arm and the armhole depth on the card against the tape.",
        )
    high = float(brentq(too_wide, low, top, xtol=1e-9))
    return high, half_width("front", front_mm, high)


def draft_sleeve(
    front_armhole: float, back_armhole: float, wanted: SleeveWanted, *, uncertainty_mm: float = 0.0, scale: float = 0.0
) -> Piece:
    """A sleeve for two halves of an armhole (mm, on the seam line): underarm line level, front to the right.

    Raises
    ------
    InputError
        If no cap fits armhole and upper arm, or the arm is shorter than the cap is high.
    """
    front_long = front_armhole + _FRONT_SHARE * wanted.cap_ease
    back_long = back_armhole + (1 - _FRONT_SHARE) * wanted.cap_ease
    high, front_wide = cap_of(front_long, back_long, wanted.upper_arm)
    low = high - wanted.length
    if low > -2 * _ABOVE_MIDDLE_MM:
        raise InputError(
            f"A sleeve {wanted.length / 10:.1f} cm long ends within its own cap, which is {high / 10:.1f} cm high.",
            "Check the arm length on the card: from the shoulder point over the bent elbow to the wrist.",
        )
    half, cuff = wanted.upper_arm / 2, wanted.wrist / 2
    seam = _seam(half, cuff, low, wanted.elbow)
    front = half_cap("front", front_wide, high) * [-1.0, 1.0] + [half, 0.0]
    back = half_cap("back", wanted.upper_arm - front_wide, high) - [half, 0.0]
    return drafted_piece(
        "sleeve",
        {
            "wrist": np.array([[-cuff, low], [cuff, low]]),
            "underarm seam front": seam[::-1],
            "cap": np.vstack([front, back[::-1][1:]]),
            "underarm seam back": seam * [-1.0, 1.0],
        },
        note=Note(
            "drafted",
            "The sleeve was not photographed. It is drafted from the armhole of this bodice, the upper arm, the arm "
            "length and the wrist: sew a toile of it first.",
        ),
        marks=[Mark(kind="notch", at=np.array([half - front_wide, high]), on="cap", meaning="single")],
        grainline=np.array([[0.0, 0.85 * low], [0.0, 0.6 * high]]),
        uncertainty_mm=uncertainty_mm,
        scale_uncertainty=scale,
    )


def elbow_level(low: float) -> float:
    """Height of the elbow on a sleeve whose wrist lies at ``low`` (negative), mm."""
    return low / 2 + _ABOVE_MIDDLE_MM


def _seam(half: float, cuff: float, low: float, elbow: float | None) -> Points:
    """Underarm seam (N, 2) from underarm to wrist, as far out as the elbow needs."""

    def drawn(out: float) -> Points:
        return cubic([[half, 0.0], [half, _TURN[0] * low], [cuff + out, _TURN[1] * low], [cuff, low]])

    def spare(out: float) -> float:
        line = drawn(out)[::-1]
        return float(np.interp(elbow_level(low), line[:, 1], line[:, 0])) - (elbow or 0.0) / 2

    if elbow is None or spare(0.0) >= 0:
        return drawn(0.0)
    return drawn(float(brentq(spare, 0.0, 4 * elbow, xtol=1e-9)))
