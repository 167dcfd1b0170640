"""What speaks against parts belonging together, said where it shows."""

from calibration.ground.errors import Note
from convert.piece.together.evidence import SeamLaid
from convert.piece.together.laid import Laid
from convert.piece.width_words import Unit, format_paper_mm

MOST_MM = 3.0
"""What two seams neither fit nor gap by more than this is eased in sewing; more is asked about (common practice)."""


def doubts_of(laid: Laid, unit: Unit) -> tuple[Note, ...]:
    """A sentence for each seam that does not fit as seams do that are sewn together."""
    return tuple(note for seam in laid.seams for note in _of(seam, unit))


def _of(seam: SeamLaid, unit: Unit) -> list[Note]:
    first, second = seam.parts
    faults = []
    if seam.gap_most_mm > MOST_MM:
        faults.append(
            f"they lie {format_paper_mm(seam.gap_most_mm, unit)} apart, {format_paper_mm(seam.gap_most_at_mm, unit)} "
            f"from {_end(seam)}"
        )
    worst = max(seam.notches, key=lambda met: met.apart_mm, default=None)
    if worst is not None and worst.apart_mm > MOST_MM:
        faults.append(
            f"their notches {format_paper_mm(worst.from_end_mm, unit)} from {_end(seam)} miss one another by "
            f"{format_paper_mm(worst.apart_mm, unit)}"
        )
    if faults:
        text = (
            f"Laid together at the {seam.seam}, the {first} and the {second} do not fit: {' and '.join(faults)}. Do "
            "they belong together, in one size, and lie the right way round?"
        )
        return [Note("parts-apart", text)]
    if abs(seam.eased_mm) > MOST_MM:
        longer, shorter = (second, first) if seam.eased_mm > 0 else (first, second)
        text = (
            f"At the {seam.seam} the {longer} is {format_paper_mm(abs(seam.eased_mm), unit)} longer than the {shorter} "
            "where the two touch: that is eased in."
        )
        return [Note("parts-eased", text)]
    return []


def _end(seam: SeamLaid) -> str:
    return "the centre" if seam.seam == "yoke seam" else "the seam's upper end"
