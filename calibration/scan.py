"""Flatbed scans: flat already, without a lattice. Their scale is only as good as what confirms it."""

from dataclasses import replace

import cv2
import numpy as np

from calibration.doubts.known_object import KnownObject, find_known_object
from calibration.ground.errors import InputError, Note
from calibration.ground.points import Points
from calibration.ground.units import MM_PER_INCH
from calibration.picture.photo import Photo
from calibration.sheet.flatten import FlatSheet
from calibration.sheet.scan_frame import ScanFrame

_SCANNER_DPI = (90.0, 2500.0)  # what flatbeds are set to; 72 is what programs write when they know nothing
_BIGGEST_PX = 60_000_000
_SAME_DPI = 1e-3  # two scales that differ by less are one
_AGREES = 0.004  # a known thing of 85.6 mm measured to 0.3 mm


def flatten_scan(
    photo: Photo, *, dpi: float | tuple[float, float] | None = None, stretch: tuple[float, float] = (1.0, 1.0)
) -> FlatSheet:
    """A scan in millimetres. Frame: x right, y up, origin at the centre of the bottom left pixel.

    The two directions have scales of their own: a scanner's carriage runs along one of them, and rarely at exactly the
    speed its file claims. What the file states is used only for want of anything better, and a note says so. A bank
    card, A4 or Letter sheet lying in the scan confirms or contradicts the scale; it never changes it.

    Parameters
    ----------
    dpi : float or (x, y), optional
        Dots per inch as told by the maker.
    stretch : (x, y)
        True length by length read along each direction, from a steel rule laid on the glass and scanned: a rule of
        200 mm that reads 199.4 mm across gives 200 / 199.4 for x.

    Returns
    -------
    FlatSheet
        ``lattice`` is None. ``notes`` hold ``scale-told``, ``scale-confirmed``, ``scale-unconfirmed`` or
        ``scale-doubtful``.

    Raises
    ------
    InputError
        If neither the file nor the maker tells a resolution that a scanner can have.
    """
    told = (dpi, dpi) if isinstance(dpi, int | float) else dpi
    across, down = _checked(told or photo.dpi, photo, told=told is not None)
    scale = np.array([MM_PER_INCH / across * stretch[0], MM_PER_INCH / down * stretch[1]])
    sheet = _even(photo, scale)
    known = find_known_object(sheet)
    was_told = told is not None or stretch != (1.0, 1.0)
    notes = (_note(known, across, down, told=was_told),)
    return replace(sheet, notes=notes)


def _checked(dpi: tuple[float, float] | None, photo: Photo, *, told: bool) -> tuple[float, float]:
    """A resolution that a scanner can have."""
    low, high = _SCANNER_DPI
    if dpi is None or not all(np.isfinite(d) and low <= d <= high for d in dpi):
        if told:
            found = f"{dpi[0]:g} dots per inch" if dpi else "nothing"
            problem = f"{photo.name} was said to have {found}, which no scanner gives."
        else:
            found = f"only {dpi[0]:g} dots per inch, which no scanner gives" if dpi else "no resolution"
            problem = f"{photo.name} states {found}: its scale is not known."
        raise InputError(problem, "Tell the resolution it was scanned at, for example 300 dots per inch.")
    return float(dpi[0]), float(dpi[1])


def _even(photo: Photo, scale: Points) -> FlatSheet:
    """The scan with the same scale both ways; its own pixels, untouched, if that is so already."""
    width, height = photo.size_px
    fine = float(scale.min())
    fine *= max(1.0, float(np.sqrt(width * height * np.prod(scale) / fine**2 / _BIGGEST_PX)))
    factor = scale / fine
    own = scale
    pixels = photo.pixels
    if np.abs(factor - 1).max() > _SAME_DPI:
        size = tuple(int(n) for n in np.floor((np.array([width, height]) - 1) * factor) + 1)
        affine = np.array([[1 / factor[0], 0.0, 0.0], [0.0, 1 / factor[1], 0.0]])
        source = cv2.GaussianBlur(pixels, (0, 0), 0.4 / factor.min()) if factor.min() < 0.8 else pixels
        pixels = np.asarray(
            cv2.warpAffine(source, affine, size, flags=cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP), np.uint8
        )
    else:
        fine = float(np.sqrt(np.prod(scale)))
        own = np.array([fine, fine])
    rows, columns = pixels.shape[:2]
    return FlatSheet(
        pixels=pixels,
        seen=np.ones((rows, columns), bool),
        mm_per_px=fine,
        origin_mm=np.array([0.0, (rows - 1) * fine]),
        scans=(ScanFrame(size_px=photo.size_px, mm_per_px=own, origin_mm=np.array([0.0, (rows - 1) * fine])),),
    )


def _note(known: KnownObject | None, across: float, down: float, *, told: bool) -> Note:
    """What is known of the scale."""
    stated = f"{across:g}" if abs(across - down) < 0.5 else f"{across:g} × {down:g}"
    if known is not None:
        thing = known.standard
        true = f"{thing.long_mm:g} × {thing.short_mm:g} mm is true"
        sizes = f"measures {known.long_mm:.1f} × {known.short_mm:.1f} mm ({true})"
        if _agrees(known):
            return Note("scale-confirmed", f"The {thing.name} in the scan {sizes}: the scale is right.")
        return Note(
            "scale-doubtful",
            f"At {stated} dots per inch the {thing.name} in the scan {sizes}. Tell the resolution that was scanned at, "
            "or what a steel rule reads along both directions.",
        )
    if told:
        return Note("scale-told", f"The scan's scale is as told: {stated} dots per inch.")
    return Note(
        "scale-unconfirmed",
        f"The scan's scale is only what its file states: {stated} dots per inch. Lay a bank card beside the piece and "
        "scan again, or tell the resolution, to be sure.",
    )


def _agrees(known: KnownObject) -> bool:
    """Whether both sides read true."""
    long, short = known.long_mm / known.standard.long_mm, known.short_mm / known.standard.short_mm
    slack = known.uncertainty_mm
    return abs(long - 1) < max(_AGREES, slack / known.standard.long_mm) and abs(short - 1) < max(
        _AGREES, slack / known.standard.short_mm
    )
