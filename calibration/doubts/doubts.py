"""What a calibrated picture says against itself: the pitch told, the mat's evenness."""

import numpy as np
import numpy.typing as npt

from calibration.doubts.border_marks import border_marks
from calibration.ground.errors import Note
from calibration.ground.units import MM_PER_INCH
from calibration.lattice.levels import Level
from calibration.picture.photo import Photo
from calibration.view.view import MatView

_NOT_EVEN_MM = 0.25
# A cropped picture, whose middle is not the lens's, makes half of the first; the second is for lines that fit ill.
_NOT_SQUARE, _HARDLY_SQUARE = 0.03, 0.006
_ILL_FITTING = 0.018  # of a pitch, that lines are off on the average
_FOCAL_LENGTHS = np.geomspace(0.35, 4.0, 60)  # of the picture's longer side: ultra-wide to long, or cropped
# heavier lines stand by fives and tens of centimetres, by fours, sixes and dozens of inches: common practice
_DECIMAL_STEPS = (5, 10)
_INCH_STEPS = (4, 6, 8, 12)
# marks along a border stand a millimetre, or a quarter, an eighth or a sixteenth of an inch apart: common practice
_MARKS_APART_MM = (1.0, MM_PER_INCH / 4, MM_PER_INCH / 8, MM_PER_INCH / 16)
_SURE_MARKS_MM = (1.0, MM_PER_INCH / 8)  # half or twice as far apart they would be odd
_MARKS_USUAL = {
    4: "1 inch or half an inch",
    5: "5 mm",
    8: "1 inch or half an inch",
    10: "1 cm",
    16: "1 inch",
    20: "2 cm",
}
_SAME = 0.01
_LEAST_VIEW_MM = 180.0  # that a picture of a pattern piece shows at the very least, our choice: two hands wide
_LEAST_MAT_MM = 180.0  # and that the grid reaches on which one lies: the smallest mats have 28 cm (A4)


def doubts(
    photo: Photo, grey: npt.NDArray[np.uint8], view: MatView, level: Level, *, pitch_mm: float, shared_mm: float
) -> tuple[Note, ...]:
    """Notes on the pitch told and on the mat; ``shared_mm`` is what neighbouring residuals have in common."""
    lattice = view.lattice
    marks = border_marks(grey, view) if lattice.kind == "lines" else 0
    notes = []
    if level.doubt and not (marks and _near(pitch_mm / marks, _SURE_MARKS_MM)):
        notes.append(
            Note(
                "pitch-doubtful",
                f"{photo.name} shows lines of more than one spacing. " + _question(photo, view, level, pitch_mm),
            )
        )
    longer = _not_square(photo, view)
    if longer > (_HARDLY_SQUARE if view.rms_mm > _ILL_FITTING * lattice.pitch_mm else _NOT_SQUARE):
        notes.append(
            Note(
                "pitch-doubtful",
                f"The squares found in {photo.name} are {longer:.0%} longer one way than the other: lines may have "
                "been miscounted. Photograph the mat from higher up, in more light, with more bare grid.",
            )
        )
    across_mm = _across_mm(photo, view)
    if (across_mm < _LEAST_VIEW_MM or _lattice_mm(view) < _LEAST_MAT_MM) and not level.doubt:
        notes.append(
            Note(
                "pitch-doubtful",
                f"If the lines found in {photo.name} are {pitch_mm:g} mm apart, the picture shows only "
                f"{across_mm / 10:.0f} cm of the table from side to side, and {_lattice_mm(view) / 10:.0f} cm of the "
                "grid: little for a pattern piece. Are they the mat’s lines, and is every one of them counted? Lay the "
                "piece so that more bare grid shows beside it.",
            )
        )
    for unlike in (_heavy_step_doubt(lattice.heavy_every, pitch_mm), _marks_doubt(marks, pitch_mm)):
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


_WAYS = {1: "neighbouring lines", 2: "every second line", 4: "every fourth line", 5: "every fifth line"}


def _question(photo: Photo, view: MatView, level: Level, pitch_mm: float) -> str:
    """Which lines were taken to be the ones told of, and how large that makes what is seen; and the same otherwise."""
    taken = _WAYS.get(level.step, f"every {level.step}th line")
    said = f"Taking {taken} to be {pitch_mm:g} mm apart"
    if not level.other:
        return f"{said}: check the size of the piece."
    across_cm = _across_mm(photo, view) / 10
    other = _WAYS.get(round(level.other), f"every {level.other:.0f}th line")
    return (
        f"{said}, the picture shows about {across_cm:.0f} cm of the table from side to side; taking {other}, about "
        f"{across_cm * level.step / level.other:.0f} cm. Which is it? Measure the grid with a rule."
    )


def _across_mm(photo: Photo, view: MatView) -> float:
    """How much of the table the picture shows from side to side, along its longer side, at its middle."""
    middle = (np.array([view.size_px], float) - 1) / 2
    return max(photo.size_px) * float(view.mm_per_px(middle)[0])


def _lattice_mm(view: MatView) -> float:
    """How far the lattice found reaches, its longer way."""
    lattice = view.lattice
    ends = np.array([lattice.last_x - lattice.first_x, lattice.last_y - lattice.first_y])
    return float((ends * np.array(lattice.pitches_mm)).max())


def _near(value: float, usual: tuple[float, ...]) -> bool:
    return any(abs(value / one - 1) < _SAME for one in usual)


def _heavy_step_doubt(heavy_every: int, pitch_mm: float) -> str:
    """What the step between heavier lines says against the pitch told: tens are centimetres, dozens inches."""
    inches = pitch_mm / (MM_PER_INCH / 4)
    told_inches = abs(inches - round(inches)) < 1e-3 * inches
    if told_inches and heavy_every in _DECIMAL_STEPS:
        kind, other = "a centimetre mat", "1 cm"
    elif not told_inches and heavy_every in _INCH_STEPS:
        kind, other = "an inch mat", "1 inch"
    else:
        return ""
    return (
        f"every {heavy_every}th line is heavier, which is usual on {kind}, but the grid was said to be "
        f"{pitch_mm:g} mm. Measure it with a rule: is it {other}?"
    )


def _marks_doubt(marks: int, pitch_mm: float) -> str:
    """What the marks along the border say against the pitch told."""
    if not marks or _near(pitch_mm / marks, _MARKS_APART_MM):
        return ""
    usual = f": is it {_MARKS_USUAL[marks]}?" if marks in _MARKS_USUAL else "."
    return (
        f"the mat's border has {marks} small marks from line to line. If the grid is {pitch_mm:g} mm, as was said, "
        f"they are {pitch_mm / marks:.2g} mm apart, which is unusual. Measure the grid with a rule{usual}"
    )


def _not_square(photo: Photo, view: MatView) -> float:
    """By what share no camera can see the lattice as squares: the better of its sides and its angles.

    Whatever the focal length, two columns of the homography stay at right angles and of one length when both are seen
    through the camera's own matrix (Zhang 2000, A Flexible New Technique for Camera Calibration, equations 3 and 4).
    """
    width, height = photo.size_px
    to_middle = np.array([[1.0, 0.0, -(width - 1) / 2], [0.0, 1.0, -(height - 1) / 2], [0.0, 0.0, 1.0]])
    columns = (to_middle @ view.to_straight)[:, :2] * np.array(view.lattice.pitches_mm) / view.lattice.pitch_mm
    best = np.inf
    for focal_px in _FOCAL_LENGTHS * max(width, height):
        a, b = (columns / np.array([[focal_px], [focal_px], [1.0]])).T
        longer = abs(float(np.log(np.linalg.norm(a) / np.linalg.norm(b))))
        best = min(best, max(longer, abs(float(a @ b / (np.linalg.norm(a) * np.linalg.norm(b))))))
    return float(best)
