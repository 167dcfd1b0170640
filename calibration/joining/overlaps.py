"""Which of several sheets overlap, and how they lie: found, or told, and settled over all of them together."""

from collections.abc import Mapping, Sequence
from itertools import combinations

import numpy as np
import numpy.typing as npt

from calibration.ground.errors import InputError, Note
from calibration.ground.points import Points, as_points
from calibration.joining.aligning import align
from calibration.joining.matching import Mask, Matches, Matrix, best_rigid, find_features, match, moved
from calibration.joining.placing import Pair, Placement, connected, place
from calibration.sheet.flatten import FlatSheet

Told = Mapping[Pair, tuple[npt.ArrayLike, npt.ArrayLike]]

DOUBTFUL_MM = 0.3  # seams that disagree by more are said: a fifth of what a cutter works to
_WRONG_MM = 2.0  # a seam that disagrees by more, though the others agree, was none
_SAME_GLASS_MM = 1.5  # dust and scratches on a scanner's glass are at the same place on every tile
_SEED = 201  # of the random tries: the same pictures always join in the same way


def find_overlaps(
    sheets: Sequence[FlatSheet], where: Sequence[Mask | None], *, told: Told | None = None, same_glass: bool = False
) -> dict[Pair, Matches]:
    """What each two sheets share, within the masks given; what was told goes before what is found.

    ``same_glass`` leaves out what did not move between two scans: that is on the scanner, not on the paper.
    """
    rng = np.random.default_rng(_SEED)
    features = [find_features(sheet, mask) for sheet, mask in zip(sheets, where, strict=True)]
    found: dict[Pair, Matches] = {}
    for i, j in combinations(range(len(sheets)), 2):
        rough = _told_for(told, i, j) or match(features[i], features[j], rng)
        if rough is None or (same_glass and told is None and _stayed(sheets[j], rough.move)):
            continue
        try:
            found[i, j] = align(sheets[i], sheets[j], rough.move, where[i], where[j])
        except ValueError:
            found[i, j] = rough
    return found


def settle(count: int, found: Mapping[Pair, Matches]) -> Placement:
    """All sheets placed; a seam that only disagrees with the others is left out.

    Raises
    ------
    InputError
        If some picture shares nothing sure with the others.
    """
    require_connected(count, found)
    seams = dict(found)
    placement = place(count, seams)
    while placement.worst_mm > _WRONG_MM:
        worst = max(placement.seams, key=lambda seam: seam.disagreement_mm)
        fewer = {pair: both for pair, both in seams.items() if pair != (worst.first, worst.second)}
        if len(connected(count, list(fewer))) < count:
            break
        seams, placement = fewer, place(count, fewer)
    return placement


def require_connected(count: int, found: Mapping[Pair, Matches]) -> None:
    """Raise an InputError that names the pictures which share nothing sure with the first."""
    reached = connected(count, list(found))
    if len(reached) == count:
        return
    alone = [str(k + 1) for k in range(count) if k not in reached]
    which = f"picture {alone[0]} shares" if len(alone) == 1 else f"pictures {', '.join(alone)} share"
    raise InputError(
        f"The {count} pictures can't be joined: {which} too little with picture 1 and those that join it.",
        "Take them again so that neighbours share a strip at least 5 cm wide with some printing or the paper's edge "
        "in it; on plain paper draw a few pencil crosses there first.",
    )


def seam_notes(placement: Placement) -> tuple[Note, ...]:
    """How well the pictures fit together, said; as a doubt if they do not."""
    worst = placement.worst_mm
    if worst > DOUBTFUL_MM:
        seam = max(placement.seams, key=lambda one: one.disagreement_mm)
        text = (
            f"Pictures {seam.first + 1} and {seam.second + 1} disagree by {worst:.1f} mm where they overlap: the paper "
            "may have been creased, lifted or moved. Press it flat and take the pictures again if that matters here."
        )
        return (Note("join-doubtful", text),)
    return (Note("joined", f"The pictures fit together within {max(worst, 0.05):.2f} mm where they overlap."),)


def all_notes(sheets: Sequence[FlatSheet]) -> tuple[Note, ...]:
    """What is to be said of the sheets, each thing once."""
    return tuple(dict.fromkeys(note for sheet in sheets for note in sheet.notes))


def _told_for(told: Told | None, i: int, j: int) -> Matches | None:
    """What was told of two sheets, whichever was named first."""
    for first, second in ((i, j), (j, i)):
        if told and (first, second) in told:
            a, b = (as_points(side) for side in told[first, second])
            if len(a) != len(b) or len(a) < 2:
                raise InputError(
                    f"Pictures {first + 1} and {second + 1} have {len(a)} and {len(b)} matching points told.",
                    "Tell at least two places, each on both pictures.",
                )
            a, b = (a, b) if first == i else (b, a)
            return Matches(a_mm=a, b_mm=b, move=best_rigid(b, a))
    return None


def _stayed(sheet: FlatSheet, move: Matrix) -> bool:
    """Whether a move leaves the sheet where it is."""
    height, width = sheet.seen.shape
    corners: Points = sheet.to_mm([[0, 0], [width - 1, 0], [width - 1, height - 1], [0, height - 1]])
    return bool(np.hypot(*(moved(corners, move) - corners).T).max() < _SAME_GLASS_MM)
