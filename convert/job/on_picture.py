"""The way back: what is told in millimetres on the sheet, turned into pixels of the pictures and written down."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from calibration.ground.points import Points
from calibration.sheet.on_sheet import PictureOnSheet
from convert.job.write import ON_PICTURE, Document, picture_names, piece_table, tell

_WHOLE = ("outline", "grain", "centre_line")  # one thing, told on one picture
_SCATTERED = ("corners", "notches", "add_notches", "holes", "add_holes", "remove")  # each point by itself
_DARTS = ("darts", "add_darts")
_HOLES = "hole_meanings"


def tell_on_sheet(document: Document, number: int, told: Mapping[str, Any], pictures: Sequence[PictureOnSheet]) -> None:
    """What is told of piece ``number`` in mm on its sheet, written on the pictures that show it best.

    Parameters
    ----------
    told
        Keys as in :data:`convert.job_write.ON_PICTURE` but ``lattice`` and ``crop``; points (N, 2) in the sheet's mm. A
        key that is given replaces what was told under it on all of the piece's pictures; None takes it back; ``edges``
        change by name.
    pictures
        The sheet's, from :func:`calibration.on_sheet.pictures_on`, in the order of the piece's pictures.
    """
    names = picture_names(piece_table(document, number))
    if len(names) != len(pictures):
        raise ValueError(f"{len(names)} pictures are written, {len(pictures)} were read")
    split = in_pixels(told, pictures)
    for name, own in zip(names, split, strict=True):
        tell(document, number, name, own)


def in_pixels(told: Mapping[str, Any], pictures: Sequence[PictureOnSheet]) -> list[dict[str, Any]]:
    """For each picture what is to be told on it, in its pixels; None where nothing is."""
    split: list[dict[str, Any]] = [dict.fromkeys(key for key in told if key != "edges") for _ in pictures]
    for key, value in told.items():
        if key not in ON_PICTURE or key in ("lattice", "crop"):
            raise ValueError(f"{key} can't be told in millimetres")
        if key == "edges":
            for name, points in (value or {}).items():
                best = -1 if points is None else _best(points, pictures)
                for k, (own, picture) in enumerate(zip(split, pictures, strict=True)):
                    own.setdefault("edges", {})[name] = picture.to_px(_rows(points)) if k == best else None
        elif isinstance(value, bool):
            split[0][key] = value
        elif value is not None:
            _split(key, value, pictures, split)
    return split


def _split(key: str, value: Any, pictures: Sequence[PictureOnSheet], split: list[dict[str, Any]]) -> None:
    """One key's value shared out among the pictures."""
    if key in _WHOLE:
        best = _best(value, pictures)
        split[best][key] = pictures[best].to_px(_rows(value))
        return
    if key == _HOLES:
        for one in value:
            best = _best(one["at"], pictures)
            own = {"at": pictures[best].to_px(_rows(one["at"])), "means": one["means"]}
            split[best][key] = [*(split[best][key] or []), own]
        return
    items = list(_rows(value)) if key in _SCATTERED else list(value)
    if not items:  # told that there are none
        split[0][key] = False if key in _DARTS else []
    for item in items:
        every = np.vstack([_rows(item["legs"]), _rows(item["apexes"])]) if key in _DARTS else _rows(item)
        best = _best(every, pictures)
        to_px = pictures[best].to_px
        px: Any = to_px(every)
        if key in _DARTS:
            px = {"legs": to_px(_rows(item["legs"])), "apexes": to_px(_rows(item["apexes"]))}
        elif key in _SCATTERED:
            px = px[0]
        split[best][key] = [*(split[best][key] or []), px]


def _rows(points: Any) -> Points:
    return np.asarray(points, float).reshape(-1, 2)


def _best(points: Any, pictures: Sequence[PictureOnSheet]) -> int:
    """The picture in which all of some points lie best inside."""
    return int(np.argmax([picture.inside_px(_rows(points)).min() for picture in pictures]))
