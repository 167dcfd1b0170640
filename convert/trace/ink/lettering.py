"""Whether the letters printed on a piece are seen from the front or through the paper, mirrored."""

from functools import cache
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw, ImageFont
from scipy.spatial import cKDTree

from convert.trace.ink.ink import Ink

Patch = npt.NDArray[np.float32]

_HIGH_MM = (2.0, 14.0)  # letters on patterns are so high; smaller ones don't resolve
_INKED = 0.35
_CELL = 24  # side of the square that a letter is compared in, px
_BESIDE = 1.7  # neighbours in a word stand nearer than so many times their height
_LETTERS = (
    "ABCDEFGHJKLNPQRSTZ1234579abdefghknpqrstyz"  # some look alike from both sides: they tell nothing, as they should
)
_ALIKE = 0.72  # correlation from which a shape is taken for a letter
_SLIM = 0.04  # a stroke's variance across itself, as a share of that along it
_TELLS = 0.06  # by so much of correlation a letter that tells is likelier one way round than the other
_LEAST = 4  # letters that tell
_SURE = 1.4  # sum of what letters tell over the root of its squares: standard errors by which it differs from nothing


def seen_mirrored(ink: Ink) -> float:
    """How surely the lettering is seen mirrored, -1 (surely the right way round) to 1; 0 if it can't be told.

    Every letter-sized patch of ink is compared with plain letters, upright and on its head, as it is and mirrored, all
    of them the same way. Thin paper shows its print from the back too; card lying face down shows none.
    """
    patches = _letters(ink)
    if len(patches) < _LEAST:
        return 0.0
    shapes = np.array([_ways(patch) for patch in patches]).reshape(len(patches), 4, -1)
    alike = (shapes @ _alphabet().T).max(2)  # upright, on its head, mirrored, both
    known = alike.max(1) > _ALIKE
    alike = alike[known]
    if known.sum() < _LEAST:
        return 0.0
    mean = alike.mean(0)
    front, back = int(np.argmax(mean[:2])), 2 + int(np.argmax(mean[2:]))
    gap = alike[:, back] - alike[:, front]
    votes = np.sign(gap)[np.abs(gap) > _TELLS]
    sure = float(gap.sum() / np.sqrt((gap**2).sum() + _TELLS**2))
    if len(votes) < _LEAST or abs(sure) < _SURE or sure * votes.sum() <= 0:
        return 0.0
    return float(np.clip(sure / (2.0 * _SURE), -1.0, 1.0))


def _letters(ink: Ink) -> list[Patch]:
    """Patches of ink that stand in rows like letters, each turned so that its row is level."""
    inked = (ink.share > _INKED).astype(np.uint8)
    count, labels, stats, centres = cv2.connectedComponentsWithStats(inked, connectivity=8)
    size = stats[:, [cv2.CC_STAT_WIDTH, cv2.CC_STAT_HEIGHT]].max(1) * ink.mm_per_px
    own = [k for k in range(1, count) if _HIGH_MM[0] < size[k] < _HIGH_MM[1] and not _is_dash(labels, stats[k], k)]
    if len(own) < _LEAST:
        return []
    at = centres[own]
    gap, near = cKDTree(at).query(at, k=2)
    high = size[own]
    beside = (gap[:, 1] * ink.mm_per_px < _BESIDE * high) & (np.abs(np.log(high / high[near[:, 1]])) < 0.45)
    if beside.sum() < _LEAST:
        return []
    way = at[near[:, 1]] - at
    turn = np.degrees(_commonest(np.arctan2(way[beside, 1], way[beside, 0])))
    return [_patch(labels, ink, own[k], stats[own[k]], float(turn)) for k in np.flatnonzero(beside)]


def _is_dash(labels: npt.NDArray[Any], stat: npt.NDArray[Any], label: int) -> bool:
    """Whether a patch of ink is a straight stroke, which looks the same from either side."""
    x, y, w, h = (int(v) for v in stat[:4])
    rows, columns = np.nonzero(labels[y : y + h, x : x + w] == label)
    if len(rows) < 6:
        return True
    spread = np.linalg.eigvalsh(np.cov(np.array([columns, rows], float)))
    return bool(spread[0] < _SLIM * spread[1])


def _commonest(ways: npt.NDArray[np.float64]) -> float:
    """The direction, to half a turn, that most of some directions have, in radians."""
    apart = np.abs((ways[:, None] - ways[None] + np.pi / 2) % np.pi - np.pi / 2)
    best = int((apart < np.radians(12.0)).sum(1).argmax())
    mine = ways[apart[best] < np.radians(12.0)]
    return float(np.angle(np.exp(2j * mine).mean()) / 2)


def _patch(labels: npt.NDArray[Any], ink: Ink, label: int, stat: npt.NDArray[Any], turn_deg: float) -> Patch:
    """One letter by itself, its row level, fitted into the square."""
    x, y, w, h = (int(v) for v in stat[:4])
    half = int(np.ceil(np.hypot(w, h) / 2)) + 1
    lone = np.where(labels[y : y + h, x : x + w] == label, ink.share[y : y + h, x : x + w], 0.0).astype(np.float32)
    wide = np.zeros((2 * half, 2 * half), np.float32)
    top, left = half - h // 2, half - w // 2
    wide[top : top + h, left : left + w] = lone
    turn = cv2.getRotationMatrix2D((half - 0.5, half - 0.5), turn_deg, 1.0)
    return _fitted(cv2.warpAffine(wide, turn, (2 * half, 2 * half), flags=cv2.INTER_LINEAR))


def _fitted(picture: npt.NDArray[Any]) -> Patch:
    """A shape cut to its rim and drawn into the square, as high and wide as it is."""
    rows, columns = np.nonzero(picture > 0.3 * max(float(picture.max()), 1e-6))
    out = np.zeros((_CELL, _CELL), np.float32)
    if not len(rows):
        return out
    cut = picture[rows.min() : rows.max() + 1, columns.min() : columns.max() + 1].astype(np.float32)
    scale = (_CELL - 4) / max(cut.shape)
    w, h = max(1, round(cut.shape[1] * scale)), max(1, round(cut.shape[0] * scale))
    small = cv2.resize(cut, (w, h), interpolation=cv2.INTER_AREA)
    out[(_CELL - h) // 2 : (_CELL - h) // 2 + h, (_CELL - w) // 2 : (_CELL - w) // 2 + w] = small
    return out


def _ways(patch: Patch) -> npt.NDArray[np.float32]:
    return np.array([_plain(way) for way in (patch, patch[::-1, ::-1], patch[:, ::-1], patch[::-1])], np.float32)


def _plain(patch: npt.NDArray[Any]) -> npt.NDArray[np.float32]:
    """Blurred a little, for letters differ from press to press; mean 0, length 1."""
    soft = cv2.GaussianBlur(np.ascontiguousarray(patch, np.float32), (0, 0), 1.2).ravel()
    soft = soft - soft.mean()
    return np.asarray(soft / max(float(np.linalg.norm(soft)), 1e-6), np.float32)


@cache
def _alphabet() -> npt.NDArray[np.float32]:
    """Plain letters (K, cells) in a text face, thin and bold, and drawn with a single stroke."""
    shapes = []
    for letter in _LETTERS:
        for bold in (0, 3):
            page = Image.new("L", (120, 120))
            font = ImageFont.load_default(64)
            ImageDraw.Draw(page).text((24, 16), letter, fill=255, font=font, stroke_width=bold)
            shapes.append(_plain(_fitted(np.asarray(page, np.float32) / 255)))
        for thick in (4, 8):
            drawn = np.zeros((120, 120), np.uint8)
            cv2.putText(drawn, letter, (24, 84), cv2.FONT_HERSHEY_SIMPLEX, 2.4, 255, thick, cv2.LINE_AA)
            shapes.append(_plain(_fitted(drawn.astype(np.float32) / 255)))
    return np.array(shapes, np.float32)
