"""Trousers drafted by a rule of our own, with known measurements, as test material; not trued, as patterns are not."""

from dataclasses import dataclass

import numpy as np

from calibration.ground.errors import Note
from calibration.ground.points import Points
from convert.block.drafts.lines import cubic, drafted_piece, length_of
from convert.piece.piece import Dart, EdgeName, Mark, Piece

_NOTE = Note("test", "Drafted for a test.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Drafted:
    """What trousers are drafted to, mm: girths of the garment, heights below the waist."""

    waist: float = 760.0
    hip: float = 1010.0
    waist_to_hip: float = 205.0
    rise: float = 280.0
    length: float = 1020.0
    knee: float = 440.0
    hem: float = 380.0
    fork_front: float = 62.0
    fork_back: float = 118.0
    tilt: float = 38.0
    darts: int = 1


DRAFTED = Drafted()


def drafted_trousers(wanted: Drafted = DRAFTED) -> tuple[Piece, Piece]:
    """Front and back; the back's fork lies so much lower that its inseam is 4 mm shorter, to be stretched."""
    front, drop = _leg(wanted, back=False, drop=0.0), 12.0
    for _ in range(8):
        back = _leg(wanted, back=True, drop=drop)
        drop += length_of(back.edge("inseam").points) - length_of(front.edge("inseam").points) + 4.0
    return front, back


def _leg(d: Drafted, *, back: bool, drop: float) -> Piece:
    sign = 10.0 if back else -10.0
    hip = d.hip / 4 + sign
    fork = np.array([-(d.fork_back if back else d.fork_front), -d.rise - drop])
    middle = hip / 2 - (0.28 if back else 0.2) * -fork[0]
    half_knee, half_hem = (d.knee / 2 + sign) / 2, (d.hem / 2 + sign) / 2
    knee_level = -d.rise - (d.length - d.rise) / 2 + (50.0 if d.length - d.rise > 400.0 else 0.0)
    short = min(1.0, (fork[1] - knee_level) / 320.0)
    lean, up = (d.tilt, 24.0) if back else (8.0, -6.0)
    top, side = np.array([lean, up]), np.array([0.0, 8.0])
    count = (2 if back else 1) * d.darts
    intake = 16.0 * count
    side[0] = _side_of(top, d.waist / 4 + sign / 2 + intake)
    knees = [np.array([middle + way * half_knee, knee_level]) for way in (-1, 1)]
    feet = [np.array([middle + way * half_hem, -d.length]) for way in (-1, 1)]
    waist = cubic([side, side + [-60.0, -4.0], top + [60.0, -4.0 if back else 0.0], top])
    waist, darts = _with_darts(waist, count)
    at_hip = np.array([hip, -d.waist_to_hip])
    outer = np.vstack(
        [
            feet[1][None],
            cubic([knees[1], knees[1] + [2.0 * short, 120.0 * short], at_hip - [0.0, 140.0], at_hip]),
            cubic([at_hip, at_hip + [0.0, 80.0], side + [12.0, -70.0], side])[1:],
        ]
    )
    begin = np.array([-1.0 if back else 0.0, -d.waist_to_hip - 6.0])
    way = (begin - top) / np.hypot(*(begin - top))
    crotch = np.vstack([top[None], cubic([begin, begin + 45.0 * way, fork + [0.55 * -fork[0], 4.0], fork])])
    away, towards = short * np.array([28.0, -90.0]), short * np.array([-3.0, 130.0])
    inner = np.vstack([cubic([fork, fork + away, knees[0] + towards, knees[0]]), feet[0][None]])
    edges: dict[EdgeName, Points] = {
        "hem": np.array(feet),
        "side seam": outer,
        "waist": waist,
        "crotch seam": crotch,
        "inseam": inner,
    }
    marks = [Mark(kind="notch", at=knees[1], on="side seam", meaning="single")]
    return drafted_piece(
        "trousers back" if back else "trousers front",
        edges,
        note=_NOTE,
        darts=darts,
        marks=marks,
        grainline=np.array([[middle, knee_level], [middle, -d.waist_to_hip]]),
        uncertainty_mm=0.2,
    )


def _side_of(top: Points, long: float) -> float:
    return float(top[0] + np.sqrt(long**2 - (top[1] - 8.0) ** 2))


def _with_darts(waist: Points, count: int) -> tuple[Points, tuple[Dart, ...]]:
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(waist, axis=0).T))])
    darts = []
    for k in range(count):
        centre = along[-1] * (k + 1) / (count + 1)
        ends = np.array([[np.interp(centre + s, along, waist[:, a]) for a in (0, 1)] for s in (-8.0, 8.0)])
        apex = ends.mean(0) - [0.0, 95.0 if count == 1 else 110.0]
        darts.append(Dart(on="waist", apexes=apex[None], legs=ends, evidence="measured"))
    return waist, tuple(darts)
