"""What is printed on a drawn mat: lines, dots and crosses, border marks, numerals, scratches."""

from __future__ import annotations

from typing import TYPE_CHECKING

import cv2
import numpy as np
import numpy.typing as npt

from calibration.view.view import MatView

if TYPE_CHECKING:
    from tests.calibration.render_mat import Scene

Picture = npt.NDArray[np.float32]
Worn = tuple[npt.NDArray[np.bool_], npt.NDArray[np.bool_]]

_TICK_MM = (1.6, 2.6, 3.6)  # how far border marks stick out: plain, half-way, at a line
_NUMERAL_MM = 5.0
_DASH_MM = (1.6, 0.9)


def printed(scene: Scene, mm: Picture, span: Picture, worn: Worn) -> Picture:
    """How much of each pixel is inked (H, W); ``mm`` and ``span`` (H, W, 2): place, and mm across a pixel each way."""
    size = np.array(scene.cells, np.float32) * np.float32(scene.pitch_mm)
    inked = _dots(scene, mm, span) if scene.kind == "dots" else _lines(scene, mm, span, worn)
    inked *= ((mm > -0.5) & (mm < size + 0.5)).all(-1)
    if scene.ticks:
        inked = np.maximum(inked, _ticks(scene, mm, span))
    return inked


def _coverage(distance: Picture, width: Picture | float, span: Picture) -> Picture:
    """How much of a pixel a line covers: distance from its middle and width (mm), mm that the pixel spans across it."""
    half = np.asarray(width, np.float32) / 2
    inside = np.minimum(distance + half, span / 2) - np.maximum(distance - half, -span / 2)
    return np.clip(inside / span, 0, 1).astype(np.float32)


def _lines(scene: Scene, mm: Picture, span: Picture, worn: Worn) -> Picture:
    inked = np.zeros(mm.shape[:2], np.float32)
    pitch = np.float32(scene.pitch_mm)
    for axis in (0, 1):
        cell, across = mm[..., axis] / pitch, span[..., axis]
        number = np.rint(cell).astype(np.int32)
        heavy = (number % scene.heavy_every == 0) if scene.heavy_every else np.zeros(number.shape, bool)
        width = np.where(heavy, np.float32(scene.heavy_mm), np.float32(scene.line_mm))
        line = _coverage(np.abs(cell - number) * pitch, width, across)
        if scene.dashed:
            drawn = np.mod(mm[..., 1 - axis], sum(_DASH_MM)) < _DASH_MM[0]
            line = np.where(heavy | drawn, line, 0)
        inked = np.maximum(inked, line * ~worn[axis][number.clip(0, scene.cells[axis])])
        if scene.half_lines:
            off = np.abs(cell - np.floor(cell) - np.float32(0.5)) * pitch
            inked = np.maximum(inked, np.float32(0.5) * _coverage(off, scene.line_mm * 0.7, across))
    if scene.diagonals:
        for slope in (1.0, 1.7):
            off = np.abs(mm[..., 1] - np.float32(slope) * mm[..., 0]) / np.float32(np.hypot(1, slope))
            inked = np.maximum(inked, _coverage(off, scene.line_mm, span.mean(-1)))
    return inked


def _dots(scene: Scene, mm: Picture, span: Picture) -> Picture:
    pitch = np.float32(scene.pitch_mm)
    cell = mm / pitch
    number = np.rint(cell)
    off = np.abs(cell - number) * pitch
    spot = _coverage(np.hypot(off[..., 0], off[..., 1]), 3 * scene.line_mm, span.mean(-1))
    if not scene.heavy_every:
        return spot
    cross = (number % scene.heavy_every == 0).all(-1)
    arms = [
        _coverage(off[..., k], scene.line_mm, span[..., k]) * _coverage(off[..., 1 - k], 5.0, span[..., 1 - k])
        for k in (0, 1)
    ]
    return np.where(cross, np.maximum(spot, np.maximum(*arms)), spot)


def _ticks(scene: Scene, mm: Picture, span: Picture) -> Picture:
    """Marks along the outside of the border, ``ticks`` to a pitch, longer half-way and at the lines."""
    size = np.array(scene.cells, np.float32) * np.float32(scene.pitch_mm)
    step = np.float32(scene.pitch_mm / scene.ticks)
    inked = np.zeros(mm.shape[:2], np.float32)
    for axis in (0, 1):
        out = np.maximum(-mm[..., 1 - axis], mm[..., 1 - axis] - size[1 - axis])
        number = np.rint(mm[..., axis] / step).astype(np.int32)
        within = number % scene.ticks
        half = (within * 2 == scene.ticks) | (within == 0)
        reach = np.where(within == 0, _TICK_MM[2], np.where(half, _TICK_MM[1], _TICK_MM[0]))
        mark = _coverage(np.abs(mm[..., axis] - number * step), 0.25, span[..., axis])
        inked = np.maximum(
            inked, mark * (out > 0) * (out < reach) * (mm[..., axis] > -0.2) * (mm[..., axis] < size[axis] + 0.2)
        )
    return inked


def printed_extras(picture: Picture, scene: Scene, view: MatView, scratches: npt.NDArray[np.float64]) -> None:
    """Numerals outside the border and a few words inside it; scratches (N, 2, 2) mm."""
    for k, ends in enumerate(scratches):
        at = np.round(view.to_px(np.linspace(*ends, 30)) * 16).astype(np.int32)
        shade = np.array(scene.mat) + (25 if k % 2 else -20)
        cv2.polylines(picture, [at], False, shade.tolist(), max(1, round(picture.shape[1] / 2500)), cv2.LINE_AA, 4)
    if not scene.numerals:
        return
    wide, tall = np.array(scene.cells) * scene.pitch_mm
    every = scene.heavy_every or 5
    for number in range(0, scene.cells[0] + 1, every):
        _write(picture, scene, view, str(number), (number * scene.pitch_mm, -7.5))
        _write(picture, scene, view, str(number), (number * scene.pitch_mm, tall + 7.5))
    for number in range(0, scene.cells[1] + 1, every):
        _write(picture, scene, view, str(number), (-7.5, number * scene.pitch_mm))
    _write(picture, scene, view, "45 degrees", (0.2 * wide, 0.2 * wide + 4))
    _write(picture, scene, view, "60 x 45", (0.8 * wide, 0.07 * tall + 4))


def _write(picture: Picture, scene: Scene, view: MatView, words: str, at_mm: tuple[float, float]) -> None:
    (wide, tall), _ = cv2.getTextSize(words, cv2.FONT_HERSHEY_SIMPLEX, 1.3, 3)
    word = np.zeros((tall + 12, wide + 12), np.uint8)
    cv2.putText(word, words, (6, tall + 5), cv2.FONT_HERSHEY_SIMPLEX, 1.3, 255, 3, cv2.LINE_AA)
    per_mm = tall / (_NUMERAL_MM * 0.8)
    size = np.array(word.shape[::-1]) / per_mm
    corners = np.array(at_mm) + np.array([[-0.5, 0.5], [0.5, 0.5], [0.5, -0.5], [-0.5, -0.5]]) * size
    place = view.to_px(corners)
    low = np.floor(place.min(0)).astype(int).clip(0)
    high = np.ceil(place.max(0)).astype(int).clip(None, np.array(scene.size_px) - 1) + 1
    if (high - low < 3).any():
        return
    h, w = word.shape
    raster = np.array([[-0.5, -0.5], [w - 0.5, -0.5], [w - 0.5, h - 0.5], [-0.5, h - 0.5]], np.float32)
    matrix = cv2.getPerspectiveTransform(raster, (place - low).astype(np.float32))
    soft = cv2.GaussianBlur(
        word.astype(np.float32) / 255, (0, 0), max(0.3, 0.4 * per_mm * float(view.mm_per_px(place[:1])[0]))
    )
    laid = cv2.warpPerspective(soft, matrix, tuple(int(v) for v in high - low), flags=cv2.INTER_LINEAR)
    box = picture[low[1] : high[1], low[0] : high[0]]
    box += laid[..., None] * (np.float32(scene.ink) - box)
