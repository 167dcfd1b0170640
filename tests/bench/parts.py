"""Darted fronts and backs cut into panels at random and laid together again: python -m tests.bench.parts [COUNT].

Where the seam begins, its bend, the dart, the allowances and how the paper lies are drawn at random; so is noise on the
outline as tracing leaves it. Each cut is laid together as it should be, with one part lying printed side down, and with
the two names swapped. The piece it was cut from is the truth; lengths and areas are measured by shapely.
"""

import sys
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely import LineString, Polygon

from calibration.ground.errors import InputError, OwnblockError
from convert.piece.names.told import Told
from convert.piece.piece import EdgeName, Piece, PieceKind
from convert.piece.read import piece_from
from convert.piece.together.agreeing import seams_from
from convert.piece.together.swapped import likely_swapped
from convert.piece.together.together import together
from convert.trace.tracing import Tracing
from tests.convert.piece.together.cut_up import apart_mm, cut_up

SEAM_MM = 0.2  # RMS; a pencil line is half a millimetre wide
WRONG = {"part-turned-over", "part-swapped", "parts-apart"}  # each asks the maker to look


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """One cut laid together: RMS of its seam line, mm (None if refused); its outline's length and area, relative."""

    seed: int
    seam_mm: float | None
    length: float = 0.0
    area: float = 0.0
    intake_mm: float = 0.0
    turned_said: bool = False
    swapped_said: bool = False
    problem: str = ""


def read(tracings: Sequence[Tracing], kinds: Sequence[PieceKind], known: Sequence[Piece | None]) -> list[Piece]:
    """Both panels read, as far as they are not known, and named so that their seams begin on one edge."""

    def named(place: int, begins_on: EdgeName) -> Piece:
        return piece_from(tracings[place], kinds[place], Told(seam_from=begins_on))

    pieces = [
        piece_from(tracing, kind) if own is None else own
        for tracing, kind, own in zip(tracings, kinds, known, strict=True)
    ]
    for place, begins_on in seams_from(pieces, named).items():
        pieces[place] = named(place, begins_on)
    return pieces


def said(tracings: Sequence[Tracing], kinds: Sequence[PieceKind], known: Sequence[Piece | None]) -> bool:
    """Whether something is said of parts that lie wrongly; a refusal says it too."""
    try:
        (found,) = together(read(tracings, kinds, known))
    except InputError:
        return True
    return bool(WRONG & {note.code for note in found.piece.notes})


def laid_again(seed: int) -> Cut:
    """One cut, laid together as it should be and wrongly."""
    cut = cut_up(np.random.default_rng(seed))
    kinds = [panel.kind for panel in cut.panels]
    alone = [piece_from(tracing, kind) for tracing, kind in zip(cut.tracings, kinds, strict=True)]
    over = cut_up(np.random.default_rng(seed), flipped=(False, True)).tracings
    swapped = any(likely_swapped(one, kind) for one, kind in zip(cut.tracings, kinds[::-1], strict=True))
    wrong = {
        "turned_said": said(over, kinds, (alone[0], None)),
        "swapped_said": swapped or said(cut.tracings, kinds[::-1], (None, None)),
    }
    try:
        (found,) = together(read(cut.tracings, kinds, alone))
    except OwnblockError as err:
        return Cut(seed=seed, seam_mm=None, problem=err.problem, **wrong)
    mine, true = found.piece.seam_line, cut.whole.seam_line
    darts = {dart.on: dart.intake for dart in found.piece.darts}
    return Cut(
        seed=seed,
        seam_mm=apart_mm(mine, true),
        length=LineString(mine).length / LineString(true).length - 1.0,
        area=Polygon(mine).area / Polygon(true).area - 1.0,
        intake_mm=darts.get("waist", 0.0) - cut.whole.darts[0].intake,
        **wrong,
    )


def summary(cuts: Sequence[Cut]) -> list[str]:
    """How many hold, the worst, and those by their seed that do not."""
    good = [cut for cut in cuts if cut.seam_mm is not None]
    off = np.array([cut.seam_mm for cut in good if cut.seam_mm is not None])
    lines = [
        f"{int((off <= SEAM_MM).sum())} of {len(cuts)} within {SEAM_MM} mm RMS of the piece they were cut from; "
        f"median {np.median(off):.3f}, 95 % {np.quantile(off, 0.95):.3f}, worst {off.max():.3f} mm",
        f"outline's length within {max(abs(cut.length) for cut in good):.3%}, area within "
        f"{max(abs(cut.area) for cut in good):.3%}, dart within {max(abs(cut.intake_mm) for cut in good):.2f} mm",
        f"turned over and said: {sum(cut.turned_said for cut in cuts)}; swapped and said: "
        f"{sum(cut.swapped_said for cut in cuts)}",
    ]
    for cut in cuts:
        if cut.seam_mm is None or cut.seam_mm > SEAM_MM or not (cut.turned_said and cut.swapped_said):
            seam = cut.problem if cut.seam_mm is None else f"{cut.seam_mm:.3f} mm"
            lines.append(f"  seed {cut.seed}: {seam}, turned said {cut.turned_said}, swapped said {cut.swapped_said}")
    return lines


def main(words: Sequence[str]) -> int:
    """As many cuts as asked for, else 100; 1 if fewer than 95 in 100 hold, or a wrong part goes unsaid."""
    count = int(words[0]) if words else 100
    cuts = []
    for seed in range(count):
        cuts.append(laid_again(seed))
        print(f"{seed + 1} of {count}", "" if cuts[-1].seam_mm is None else f"{cuts[-1].seam_mm:.3f}", file=sys.stderr)
    print("\n".join(summary(cuts)))
    good = sum(cut.seam_mm is not None and cut.seam_mm <= SEAM_MM for cut in cuts)
    return int(good < 0.95 * count or not all(cut.turned_said and cut.swapped_said for cut in cuts))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
