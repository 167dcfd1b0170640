"""The way back: what is told in millimetres on the sheet, turned into pixels of the pictures and written down."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from calibration.ground.points import Points
from calibration.sheet.on_sheet import PictureOnSheet
from convert.job.tellable import TELLABLE, Shape
from convert.job.write import Document, picture_names, piece_table, tell


def tell_on_sheet(document: Document, number: int, told: Mapping[str, Any], pictures: Sequence[PictureOnSheet]) -> None:
    """What is told of piece ``number`` in mm on its sheet, written on the pictures that show it best.

    Parameters
    ----------
    told
        Keys as in :data:`convert.job.tellable.TELLABLE` that lie on the sheet; points (N, 2) in the sheet's mm. A key
        that is given replaces what was told under it on all of the piece's pictures; None takes it back; ``edges``
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
        if key not in TELLABLE or TELLABLE[key].frame != "sheet":
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
    shape = TELLABLE[key].shape
    if shape == "whole":
        best = _best(value, pictures)
        split[best][key] = pictures[best].to_px(_rows(value))
        return
    items = list(_rows(value)) if shape == "points" else list(value)
    if not items:  # told that there are none
        split[0][key] = False if shape == "darts" else []
    for item in items:
        best = _best(_places(item, shape), pictures)
        split[best][key] = [*(split[best][key] or []), _item_px(item, shape, pictures[best])]


def _places(item: Any, shape: Shape) -> Points:
    """All points (N, 2) of one thing told."""
    if shape == "darts":
        return np.vstack([_rows(item["legs"]), _rows(item["apexes"])])
    return _rows(item["at"] if shape == "holes" else item)


def _item_px(item: Any, shape: Shape, picture: PictureOnSheet) -> Any:
    """One thing told, in a picture's pixels."""
    if shape == "darts":
        return {part: picture.to_px(_rows(item[part])) for part in ("legs", "apexes")}
    if shape == "holes":
        return {"at": picture.to_px(_rows(item["at"])), "means": item["means"]}
    px = picture.to_px(_rows(item))
    return px[0] if shape == "points" else px


def _rows(points: Any) -> Points:
    return np.asarray(points, float).reshape(-1, 2)


def _best(points: Any, pictures: Sequence[PictureOnSheet]) -> int:
    """The picture in which all of some points lie best inside."""
    return int(np.argmax([picture.inside_px(_rows(points)).min() for picture in pictures]))
