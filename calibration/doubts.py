"""What a calibrated picture says against itself: the pitch told, the mat's evenness."""

from calibration.errors import Note
from calibration.levels import Level
from calibration.mat import Lattice
from calibration.photo import Photo
from calibration.units import MM_PER_INCH
from calibration.view import MatView

_NOT_EVEN_MM = 0.25
# heavier lines stand by fives and tens of centimetres, by fours, sixes and dozens of inches: common practice
_DECIMAL_STEPS = (5, 10)
_INCH_STEPS = (4, 6, 8, 12)


def doubts(photo: Photo, view: MatView, level: Level, shared_mm: float) -> tuple[Note, ...]:
    """Notes on the pitch and on the mat; ``shared_mm`` is what neighbouring residuals have in common."""
    notes, lattice = [], view.lattice
    if level.doubt:
        notes.append(
            Note(
                "pitch-doubtful",
                f"{photo.name} shows lines of more than one spacing. "
                f"Neighbouring lines were taken to be {lattice.pitch_mm:g} mm apart: check the size of the piece.",
            )
        )
    unlike = _heavy_step_doubt(lattice)
    if unlike:
        notes.append(Note("pitch-doubtful", f"In {photo.name} {unlike}"))
    if shared_mm > _NOT_EVEN_MM:
        notes.append(
            Note(
                "mat-not-even",
                f"The grid in {photo.name} bends by about {2 * shared_mm:.1f} mm in places. "
                "Lay the mat on a flat table, let it warm until it lies flat, and photograph it again.",
            )
        )
    return tuple(notes)


def _heavy_step_doubt(lattice: Lattice) -> str:
    """What the step between heavier lines says against the pitch told: tens are centimetres, dozens inches."""
    inches = lattice.pitch_mm / (MM_PER_INCH / 4)
    told_inches = abs(inches - round(inches)) < 1e-3 * inches
    if told_inches and lattice.heavy_every in _DECIMAL_STEPS:
        kind, other = "a centimetre mat", "1 cm"
    elif not told_inches and lattice.heavy_every in _INCH_STEPS:
        kind, other = "an inch mat", "1 inch"
    else:
        return ""
    return (
        f"every {lattice.heavy_every}th line is heavier, which is usual on {kind}, but the grid was said to be "
        f"{lattice.pitch_mm:g} mm. Measure it with a rule: is it {other}?"
    )
