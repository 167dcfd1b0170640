"""A picture of parts laid together: seams touching, darts hatched; and what there is to say of each seam."""

import numpy as np

from calibration.ground.points import Points, closed
from convert.body.card import LengthUnit
from convert.body.wording import format_paper_mm
from convert.paper.draw.sketch import ON_PAGE, Colours, hatching, inline, line
from convert.piece.together.evidence import SeamLaid
from convert.piece.together.laid import Laid

_EDGE = 12.0  # mm of room round the pieces, at full size
_THIN, _FULL, _SEAM = 1.4, 2.6, 5.0  # line widths at full size: the picture is shown at about a fifth
_HATCH_MM = 7.0


def together_picture(laid: Laid, colours: Colours = ON_PAGE) -> str:
    """The parts as they lie on one another, as inline SVG at full size."""
    rings = [closed(part.seam_line) for part in laid.parts if len(part.edges) > 2]
    whole = closed(laid.piece.seam_line)
    every = np.vstack([whole, *rings])
    low, high = every.min(0), every.max(0)
    wide, tall = (high - low + 2 * _EDGE).tolist()

    def at(points: Points) -> Points:
        return np.column_stack([points[:, 0] - low[0] + _EDGE, high[1] - points[:, 1] + _EDGE])

    key = f"together-{laid.piece.kind.replace(' ', '-')}"
    parts = [f"<defs>{hatching(key, colours.strong, apart=_HATCH_MM, width=1.2)}</defs>"]
    for dart in laid.piece.darts:
        if dart.on is not None:
            ring = np.vstack([dart.legs[0], dart.apexes[0], dart.legs[1]])
            parts.append(line(at(ring), colours.ink, _THIN, closed=True, fill=f"url(#{key})"))
    parts += [line(at(ring), colours.faint, _THIN, dashes="9 6") for ring in rings]
    parts.append(line(at(whole), colours.ink, _FULL))
    parts += [line(at(seam.line), colours.strong, _SEAM) for seam in laid.seams]
    return inline(wide, tall, f"The parts of the {laid.piece.kind} laid together", "".join(parts))


def seam_sentences(laid: Laid, unit: LengthUnit) -> tuple[str, ...]:
    """How well each seam fits, what was met and eased, and what opens."""
    return tuple(" ".join(_sentences(seam, unit)) for seam in laid.seams)


def _sentences(seam: SeamLaid, unit: LengthUnit) -> list[str]:
    first, second = seam.parts
    touches = format_paper_mm(seam.touches_mm[1] - seam.touches_mm[0], unit)
    said = [
        f"The {seam.seam} of {first} and {second}: they touch over {touches}{_no_gap(seam.gap_most_mm, unit)}.",
    ]
    if seam.notches:
        worst = max(met.apart_mm for met in seam.notches)
        count = "One pair of notches meets" if len(seam.notches) == 1 else f"{len(seam.notches)} pairs of notches meet"
        said.append(f"{count}{_no_gap(worst, unit, 'to')}.")
    else:
        said.append("No notches were read on both.")
    for what, mm in seam.becomes:
        said.append(f"{what.capitalize()}: {format_paper_mm(mm, unit)}.")
    return said


def _no_gap(mm: float, unit: LengthUnit, word: str = "and lie nowhere farther apart than") -> str:
    """A distance, or that there is none to speak of."""
    if mm < 1.0:
        return " exactly" if word == "to" else " with no gap of a millimetre or more"
    return f" {word} {format_paper_mm(mm, unit)}"
