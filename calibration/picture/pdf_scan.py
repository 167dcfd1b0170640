"""Reading a scanned page out of a PDF: the scan's own pixels, at the resolution the page gives them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from calibration.ground.errors import InputError
from calibration.picture.photo import Pixels, as_rgb, check_size

if TYPE_CHECKING:
    import pypdfium2


_POINTS_PER_INCH = 72.0
_WHOLE_PAGE = 0.5  # of the page that the one scan must cover to be taken as it is, not drawn again
_SQUARE = 1e-3  # a scan turned on its page by more than this (radians) is drawn again
_EMPTY = "Scan the piece again and save it as JPEG, PNG or PDF."


def pages_of(data: bytes, name: str) -> int:
    """How many pages a PDF has."""
    document = _opened(data, name)
    try:
        return len(document)
    finally:
        document.close()


def read_page(data: bytes, name: str, page: int) -> tuple[Pixels, tuple[float, float]]:
    """Pixels (height, width, 3) of one scanned page, counted from 1, and dots per inch in x and y.

    A page that is one scan gives that scan's own pixels; one made of strips or layers is drawn at the finest
    resolution found in it.

    Raises
    ------
    InputError
        If the PDF can't be read, has no such page, or has no scan on it.
    """
    import pypdfium2

    document = _opened(data, name)
    try:
        if not 1 <= page <= len(document):
            raise InputError(f"{name} has {len(document)} page(s), not {page}.", "Name a page that it has.")
        sheet = document[page - 1]
        scans = [item for item in sheet.get_objects(max_depth=8) if isinstance(item, pypdfium2.PdfImage)]
        if not scans:
            raise InputError(f"{name} holds no scanned picture, only drawn lines or text.", _EMPTY)
        return _one_scan(sheet, scans, name) or _drawn(sheet, scans, name)
    except pypdfium2.PdfiumError as err:
        raise InputError(f"{name} is damaged: its page {page} can't be drawn.", _EMPTY) from err
    finally:
        document.close()


def _opened(data: bytes, name: str) -> pypdfium2.PdfDocument:
    import pypdfium2

    try:
        return pypdfium2.PdfDocument(data)
    except pypdfium2.PdfiumError as err:
        if "assword" in str(err):
            raise InputError(f"{name} is locked with a password.", "Save it without a password.") from err
        raise InputError(f"{name} is a PDF that can't be opened: cut short or damaged.", _EMPTY) from err


def _resolution(scan: pypdfium2.PdfImage) -> tuple[float, float]:
    """Dots per inch along the picture's own two sides."""
    a, b, c, d, _, _ = scan.get_matrix().get()
    width, height = scan.get_px_size()
    return (
        _POINTS_PER_INCH * width / max(float(np.hypot(a, b)), 1e-6),
        _POINTS_PER_INCH * height / max(float(np.hypot(c, d)), 1e-6),
    )


def _one_scan(
    sheet: pypdfium2.PdfPage, scans: list[pypdfium2.PdfImage], name: str
) -> tuple[Pixels, tuple[float, float]] | None:
    """The scan's own pixels, turned as the page shows them; None if the page is more than one upright scan."""

    scan = scans[0]
    a, b, c, d, _, _ = scan.get_matrix().get()
    page_area = float(np.prod(sheet.get_size()))
    turned = sheet.get_rotation() // 90
    spin = np.linalg.matrix_power(np.array([[0, 1], [-1, 0]]), turned)  # a page's rotation is clockwise, y up here
    right, down = spin @ [a, b], spin @ [-c, -d]
    leans = min(abs(right)) > _SQUARE * max(abs(right)) or min(abs(down)) > _SQUARE * max(abs(down))
    if len(scans) > 1 or leans or abs(a * d - b * c) < _WHOLE_PAGE * page_area:
        return None
    check_size(scan.get_px_size(), name)
    pixels = as_rgb(scan.get_bitmap().to_pil())
    dpi = _resolution(scan)
    if abs(right[1]) > abs(right[0]):
        pixels, dpi = pixels.transpose(1, 0, 2), (dpi[1], dpi[0])
        right, down = down, right
    pixels = pixels[:, ::-1] if right[0] < 0 else pixels
    pixels = pixels[::-1] if down[1] > 0 else pixels
    return np.ascontiguousarray(pixels), dpi


def _drawn(sheet: pypdfium2.PdfPage, scans: list[pypdfium2.PdfImage], name: str) -> tuple[Pixels, tuple[float, float]]:
    """The page drawn at the finest resolution of the pictures in it."""

    dpi = round(max(max(_resolution(scan)) for scan in scans if min(scan.get_px_size()) > 1))
    width, height = (int(side / _POINTS_PER_INCH * dpi) for side in sheet.get_size())
    check_size((width, height), name)
    bitmap = sheet.render(scale=dpi / _POINTS_PER_INCH, rev_byteorder=True)
    pixels = np.ascontiguousarray(bitmap.to_numpy()[..., :3])
    return pixels, (float(dpi), float(dpi))
