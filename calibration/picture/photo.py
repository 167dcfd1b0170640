"""Reading a picture: upright pixels, and the resolution the file states, if any."""

from __future__ import annotations

import io
import struct
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from calibration.ground.errors import InputError
from calibration.picture.pdf_scan import pages_of, read_page
from calibration.picture.pixels import MOST_MEGAPIXELS, Pixels, as_rgb, check_size, smaller

if TYPE_CHECKING:
    from PIL import Image

_BIGGEST_FILE = 600_000_000  # bytes: 100 megapixels at 16 bits a channel
_SEVERAL_PAGES = {"TIFF", "MPO"}  # further pictures in these are pages, thumbnails or depth maps, not a film
_HEIF_BRANDS = {b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1", b"heif"}
_DNG_VERSION = 50706  # TIFF tag that only a camera's raw file has
_GOOD_FORMATS = "Give a picture saved as JPEG, HEIC, PNG, TIFF or WebP, or a scanned PDF page."
_SEND_AGAIN = "Copy or export the picture again and give the new copy."


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Photo:
    """An upright picture.

    Attributes
    ----------
    pixels : (height, width, 3) uint8
        Red, green, blue.
    dpi : (x, y) or None
        What the file says: a hint, never a scale.
    name : str
        Where it came from, for messages.
    """

    pixels: npt.NDArray[np.uint8]
    dpi: tuple[float, float] | None = None
    name: str = "picture"

    def __post_init__(self) -> None:
        if self.pixels.ndim != 3 or self.pixels.shape[2] != 3 or self.pixels.dtype != np.uint8:
            raise ValueError("pixels must be uint8 of shape (height, width, 3)")
        view = self.pixels.view()
        view.setflags(write=False)
        object.__setattr__(self, "pixels", view)

    @property
    def size_px(self) -> tuple[int, int]:
        """Width and height."""
        return self.pixels.shape[1], self.pixels.shape[0]


def read_photo(path: Path | str, *, rotate_deg: int = 0, page: int = 1) -> Photo:
    """Read a photograph or a scan, upright as its file means it.

    JPEG, PNG, TIFF, WebP, HEIC, or one page of a scanned PDF. What an EXIF orientation asks for is done once;
    16-bit, grey, CMYK and palette pictures become 8-bit red, green, blue; transparency becomes white.

    Parameters
    ----------
    rotate_deg : int
        A further turn told by the maker: 0, 90, 180 or 270 degrees clockwise.
    page : int
        Page of a PDF or of a TIFF with several, counted from 1.

    Raises
    ------
    InputError
        If the file can't be read, is no picture, is cut short, moves, or is far too small or too large.

    Examples
    --------
    >>> photo = read_photo("sample_scans/wardrobe/s1_front/photo.jpg")
    >>> photo.size_px
    (4000, 3000)
    """
    place = Path(path)
    turns, rest = divmod(rotate_deg, 90)
    if rest:
        raise InputError(f"A picture can't be turned by {rotate_deg} degrees.", "Turn it by 90, 180 or 270 degrees.")
    data = _bytes_of(place)
    pixels, dpi = _reader_for(data, place.name)(data, place.name, page)
    if turns % 4:
        pixels = np.ascontiguousarray(np.rot90(pixels, -turns))
        dpi = (dpi[1], dpi[0]) if dpi and turns % 2 else dpi
    return Photo(pixels=pixels, dpi=dpi, name=place.name)


def count_pages(path: Path | str) -> int:
    """How many pages a scanned PDF or a TIFF has; 1 for any other picture.

    Raises
    ------
    InputError
        If the file can't be read.
    """
    place = Path(path)
    data = _bytes_of(place)
    if data.startswith(b"%PDF"):
        return pages_of(data, place.name)
    if _is_heif(data) or data.startswith(b"\xff\xd8"):
        return 1
    image = _opened(data, place.name)
    return int(getattr(image, "n_frames", 1)) if image.format == "TIFF" else 1


Hint = tuple[float, float] | None
Reader = Callable[[bytes, str, int], tuple[Pixels, Hint]]


def _bytes_of(place: Path) -> bytes:
    """The file's bytes, or why there are none."""
    if place.is_dir():
        raise InputError(f"{place} is a folder, not a picture.", "Name the picture inside it.")
    if not place.exists():
        raise InputError(f"{place} is not there.", "Check the file's name and the folder it lies in.")
    try:
        if not place.is_file() or place.stat().st_size > _BIGGEST_FILE:
            raise InputError(f"{place.name} is far too big to be a picture of a pattern piece.", _GOOD_FORMATS)
        data = place.read_bytes()
    except OSError as err:
        raise InputError(
            f"{place} could not be opened: {err.strerror or err}.", "Check that you are allowed to read it."
        ) from err
    if not data:
        raise InputError(f"{place.name} is empty (0 bytes).", _SEND_AGAIN)
    return data


def _reader_for(data: bytes, name: str) -> Reader:
    """Who reads these bytes: by what they are, never by the name's ending."""
    if data.startswith(b"\xff\xd8"):
        return _read_jpeg
    if _is_heif(data):
        return _read_heif
    if data.startswith(b"%PDF"):
        return read_page
    head = data[:4096].lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    if head.startswith((b"<svg", b"<?xml", b"<!doctype svg")) and b"<svg" in head:
        raise InputError(f"{name} is a drawing (SVG), not a photograph or a scan.", _GOOD_FORMATS)
    return _read_other


def _is_heif(data: bytes) -> bool:
    return data[4:8] == b"ftyp" and data[8:12] in _HEIF_BRANDS


def _read_jpeg(data: bytes, name: str, _page: int) -> tuple[Pixels, Hint]:
    """A JPEG by OpenCV, which is twice as fast; what OpenCV would pass over in silence by Pillow."""
    import cv2

    image = _opened(data, name)
    ends_whole = data.rstrip(b"\x00").endswith(b"\xff\xd9")  # OpenCV fills what is missing with grey
    if image.mode not in ("RGB", "L") or not ends_whole:
        return _decoded(image, name)
    bgr = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR | cv2.IMREAD_IGNORE_ORIENTATION)
    if bgr is None or bgr.shape[:2] != (image.height, image.width):
        return _decoded(image, name)
    rgb: Pixels = np.asarray(cv2.cvtColor(bgr, cv2.COLOR_BGR2RGB, dst=bgr), np.uint8)
    orientation = _orientation(image)
    dpi = _stated_dpi(image)
    return _upright(rgb, orientation), (dpi[1], dpi[0]) if dpi and orientation >= 5 else dpi


def _upright(pixels: Pixels, orientation: int) -> Pixels:
    """As EXIF's orientation 1 to 8 asks. Source: CIPA DC-008 (EXIF 2.32), tag 274."""
    if orientation >= 5:
        pixels = pixels.transpose(1, 0, 2)
    if orientation in (3, 4, 7, 8):
        pixels = pixels[::-1]
    if orientation in (2, 3, 6, 7):
        pixels = pixels[:, ::-1]
    return np.ascontiguousarray(pixels)


def _read_heif(data: bytes, name: str, _page: int) -> tuple[Pixels, Hint]:
    """HEIC as phones save it; the file's own turns are done by the decoder, its EXIF orientation is void."""
    import pillow_heif

    try:
        heif = pillow_heif.open_heif(io.BytesIO(data), convert_hdr_to_8bit=True)
        check_size(heif.size, name)
        image = heif.to_pillow()
    except (OSError, ValueError, RuntimeError, EOFError, SyntaxError) as err:
        raise InputError(f"{name} is cut short or damaged: it can't be read to its end.", _SEND_AGAIN) from err
    return as_rgb(image), _stated_dpi(image)


def _read_other(data: bytes, name: str, page: int) -> tuple[Pixels, Hint]:
    """PNG, TIFF, WebP and whatever else Pillow knows."""
    image = _opened(data, name)
    frames = int(getattr(image, "n_frames", 1))
    if frames > 1 and image.format not in _SEVERAL_PAGES:
        raise InputError(f"{name} moves: it holds {frames} pictures.", "Save the one you want as JPEG or PNG.")
    if image.format == "TIFF" and _DNG_VERSION in getattr(image, "tag_v2", {}):
        raise InputError(f"{name} is a camera's raw file.", "Export it as JPEG or TIFF and give that.")
    if image.format == "TIFF" and page > 1:
        if page > frames:
            raise InputError(f"{name} has {frames} page(s), not {page}.", "Name a page that it has.")
        image.seek(page - 1)
        check_size(image.size, name)
    return _decoded(image, name)


def _opened(data: bytes, name: str) -> Image.Image:
    """The picture's head, its size checked, nothing decoded yet."""
    from PIL import Image, UnidentifiedImageError

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # Pillow's doubts about sizes and tags: ours come as errors below
            image = Image.open(io.BytesIO(data))
    except Image.DecompressionBombError as err:
        raise InputError(
            f"{name} says it has more than {MOST_MEGAPIXELS:.0f} megapixels.", smaller("that size")
        ) from err
    except UnidentifiedImageError as err:
        raise InputError(f"{name} is not a picture that can be read here.", _GOOD_FORMATS) from err
    except (OSError, ValueError, SyntaxError, EOFError, struct.error, TypeError, KeyError, OverflowError) as err:
        raise InputError(f"{name} is damaged: its head can't be read.", _SEND_AGAIN) from err
    check_size(image.size, name)
    return image


def _decoded(image: Image.Image, name: str) -> tuple[Pixels, Hint]:
    """Pixels by Pillow, upright."""
    from PIL import ImageOps

    dpi, stated = _stated_dpi(image), _orientation(image)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            image.load()  # which turns a TIFF by itself: the orientation left over is asked for again
            pixels = as_rgb(ImageOps.exif_transpose(image) if _orientation(image) != 1 else image)
    except (OSError, ValueError, SyntaxError, EOFError, struct.error, IndexError, OverflowError) as err:
        raise InputError(f"{name} is cut short or damaged: it can't be read to its end.", _SEND_AGAIN) from err
    return pixels, (dpi[1], dpi[0]) if dpi and stated >= 5 else dpi


def _orientation(image: Image.Image) -> int:
    """EXIF's orientation, 1 where none is stated or the tag can't be read."""
    try:
        stated = image.getexif().get(274, 1)
        return int(stated) if stated in range(1, 9) else 1
    except (OSError, ValueError, SyntaxError, EOFError, struct.error, TypeError, KeyError, AttributeError):
        return 1


def _stated_dpi(image: Image.Image) -> Hint:
    """What the file says of its resolution, if it says anything that can be meant."""
    try:
        x, y = (float(value) for value in image.info["dpi"])
    except (KeyError, TypeError, ValueError, ZeroDivisionError):
        return None
    return (x, y) if 10.0 <= x <= 20_000.0 and 10.0 <= y <= 20_000.0 else None
