"""Numbers printed beside nested lines: small lone words of ink, read whichever way up they stand."""

import re
from dataclasses import dataclass
from functools import cache
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from calibration.ground.errors import InputError
from calibration.ground.points import Points, as_point
from convert.trace.ink.ink import Ink
from convert.trace.ink.models import LETTERS, model_file

_INKED = 0.4
_DIGIT_MM = (1.2, 9.0)  # the longer side of a digit
_WORD_MM = (1.8, 16.0)  # the longer side of a number
_BESIDE_MM = 14.0  # from a number's middle to its line, at most
_ON_LINE_MM = 0.6  # ink so near to a long line is that line
_ON_LINE_SHARE = 0.4
_SPACE = 0.2  # half the space between the digits of a number, of a digit's longer side
_LETTER_PX = 34.0  # height at which letters are shown to the reader, which works on rows of 48 pixels
_MARGIN_PX = 9
_TURNS_DEG = tuple(range(0, 360, 30))  # the reader allows for 15 degrees
_SURE = 0.6  # of a reading
_MOST_WORDS = 80  # looked at, those nearest to a line
_NUMBER = re.compile(r"[1-9][0-9]{0,2}")
_LETTERS = re.compile(r"X{0,3}[SL]|M|[1-9]X[SL]?")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PrintedNumber:
    """A number or size letter at ``at`` (2,), mat mm, as it was read, with how sure that is (0 to 1)."""

    text: str
    at: Points
    confidence: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "at", as_point(self.at))


def numbers_beside(
    ink: Ink, rings: tuple[Points, ...], lines: tuple[Points, ...], wanted: str
) -> tuple[str | None, ...]:
    """What is printed beside each nested line.

    Parameters
    ----------
    rings : tuple of (N, 2)
        The nested lines, the innermost first.
    lines : tuple of (N, 2)
        All long lines on the sheet, which are no letters.
    wanted : str
        What is looked for: numbers are read if it is one, else size letters (S, M, XL).

    Returns
    -------
    tuple of str or None
        For each ring; None where nothing could be read. All numbers stand on the same side of their lines and grow
        from the inside to the outside.

    Raises
    ------
    InputError
        If what reads printed letters is not whole on this machine.
    """
    return _assigned(read_numbers(ink, rings, lines, letters=not wanted.isdigit()), rings)


def read_numbers(
    ink: Ink, rings: tuple[Points, ...], lines: tuple[Points, ...], *, letters: bool = False
) -> tuple[PrintedNumber, ...]:
    """Numbers near the rings. They all stand the same way up on the sheet, or each the same way to its line."""
    points = np.vstack(rings)
    heading = np.vstack([np.roll(ring, -1, axis=0) - np.roll(ring, 1, axis=0) for ring in rings])
    tree = cKDTree(points)
    words = _words(ink, np.vstack([points, *lines]))
    centres = np.array([word.centre for word in words]).reshape(-1, 2)
    gap, nearest = tree.query(centres) if len(words) else (np.zeros(0), np.zeros(0, int))
    near = [k for k in np.argsort(gap)[:_MOST_WORDS] if gap[k] < _BESIDE_MM]
    if not near:
        return ()
    form = _LETTERS if letters else _NUMBER
    readings = [[_reading(ink, words[k], turn, form) for turn in _TURNS_DEG] for k in near]
    score = np.array([[sure if text else 0.0 for text, sure in row] for row in readings])
    steps = len(_TURNS_DEG)
    along = np.degrees(np.arctan2(heading[nearest[near], 1], heading[nearest[near], 0]))
    own = np.round(along / 360 * steps).astype(int)
    best: tuple[float, list[int]] = (-1.0, [])
    for share, base in ((1.0, np.zeros(len(near), int)), (0.95, own)):
        for turn in range(steps):
            at = (base + turn) % steps
            total = share * float(score[np.arange(len(near)), at].sum())
            if total > best[0]:
                best = (total, at.tolist())
    found = []
    for row, k, turn in zip(readings, near, best[1], strict=True):
        text, sure = max((row[(turn + off) % steps] for off in (-1, 0, 1)), key=lambda one: one[1] if one[0] else 0.0)
        if text and sure > _SURE:
            found.append(PrintedNumber(text=text, at=centres[k], confidence=sure))
    return tuple(found)


# ---------------------------------------------------------------- words of ink


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Word:
    """Ink of a few digits that stand together: its cover (h, w) with the crop's first pixel, and its middle, mat mm."""

    cover: npt.NDArray[np.uint8]
    corner_px: tuple[int, int]
    centre: Points


def _words(ink: Ink, lines: Points) -> list[_Word]:
    """Lone groups of patches of ink as large as digits, without what lies on a long line."""
    inked = (ink.share > _INKED).astype(np.uint8)
    line = np.zeros_like(inked)
    px = np.round(ink.to_px(lines)).astype(int)
    px = px[((px >= 0) & (px < np.array(line.shape[::-1]))).all(1)]
    line[px[:, 1], px[:, 0]] = 1
    wide = 2 * max(1, round(_ON_LINE_MM / ink.mm_per_px)) + 1
    line = np.asarray(cv2.dilate(line, np.ones((wide, wide), np.uint8)), np.uint8)
    count, label, stats, _ = cv2.connectedComponentsWithStats(inked, connectivity=8)
    on_line = np.bincount(label[line > 0], minlength=count)
    longer = stats[:, 2:4].max(1) * ink.mm_per_px
    fits = (longer > _DIGIT_MM[0]) & (longer < _DIGIT_MM[1]) & (on_line < _ON_LINE_SHARE * stats[:, 4])
    fits[0] = False
    grown = np.zeros_like(inked)
    for k in np.flatnonzero(fits).tolist():
        reach = max(1, round(_SPACE * longer[k] / ink.mm_per_px))
        x, y, w, h = (int(v) for v in stats[k, :4])
        rows = slice(max(y - reach, 0), y + h + reach)
        columns = slice(max(x - reach, 0), x + w + reach)
        disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * reach + 1, 2 * reach + 1))
        patch = cv2.dilate((label[rows, columns] == k).astype(np.uint8), disc)
        grown[rows, columns] = cv2.bitwise_or(grown[rows, columns], patch)
    groups, label, stats, middle = cv2.connectedComponentsWithStats(grown, connectivity=8)
    words = []
    for k in range(1, groups):
        x, y, w, h = (int(v) for v in stats[k, :4])
        if _WORD_MM[0] < max(w, h) * ink.mm_per_px < _WORD_MM[1]:
            cover = (label[y : y + h, x : x + w] == k).astype(np.uint8)
            words.append(_Word(cover=cover, corner_px=(x, y), centre=ink.to_mm(middle[k])[0]))
    return words


# ---------------------------------------------------------------- reading


@cache
def _reader() -> Any:
    """The recogniser of printed text, loaded when first needed.

    It is told its model's file: a package that knows where its model lies has nothing to fetch. Left to itself it would
    download what is missing, and no picture's reading may depend on a network.
    """
    model = model_file(LETTERS)
    if not model.is_file():
        raise InputError(
            f"The numbers printed beside the lines can't be read: the file {model.name} is missing on this machine.",
            "Count the lines instead, size = 1 is the innermost; or install ownblock anew.",
        )
    from rapidocr import RapidOCR

    return RapidOCR(
        params={
            "Global.log_level": "critical",
            "Rec.model_path": str(model),
            "EngineConfig.onnxruntime.intra_op_num_threads": 1,
        }
    )


def _reading(ink: Ink, word: _Word, turn_deg: float, form: re.Pattern[str]) -> tuple[str, float]:
    """What a word says if the sheet is turned clockwise by an angle, and how sure that is; "" if it is no number."""
    shown = _shown(ink, word, turn_deg)
    if shown is None:
        return "", 0.0
    result = _reader()(cv2.cvtColor(shown, cv2.COLOR_GRAY2BGR), use_det=False, use_cls=False, use_rec=True)
    if not result.txts:
        return "", 0.0
    text = str(result.txts[0]).strip()
    return (text if form.fullmatch(text) else ""), float(result.scores[0])


def _shown(ink: Ink, word: _Word, turn_deg: float) -> npt.NDArray[np.uint8] | None:
    """A word turned, dark on white, cropped to its ink and as large as the reader likes it; None where nothing is."""
    (x, y), (h, w) = word.corner_px, word.cover.shape
    share = np.clip(ink.share[y : y + h, x : x + w], 0.0, 1.0) * word.cover
    side = int(np.ceil(np.hypot(w, h))) + 4
    turn = cv2.getRotationMatrix2D(((w - 1) / 2, (h - 1) / 2), -turn_deg, 1.0)
    turn += np.array([[0, 0, (side - w) / 2], [0, 0, (side - h) / 2]])
    turned = cv2.warpAffine(share.astype(np.float32), turn, (side, side), flags=cv2.INTER_CUBIC)
    rows, columns = (np.flatnonzero((turned > _INKED).any(axis)) for axis in (1, 0))
    if len(rows) < 3 or len(columns) < 2:
        return None
    crop = turned[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    grow = _LETTER_PX / crop.shape[0]
    if crop.shape[1] * grow > 6 * _LETTER_PX or crop.shape[1] * grow < 0.2 * _LETTER_PX:
        return None  # lies flat, or is a stroke
    crop = cv2.resize(crop, None, fx=grow, fy=grow, interpolation=cv2.INTER_CUBIC)
    crop = np.pad(np.clip(crop, 0, 1), _MARGIN_PX)
    return np.asarray(np.round(255 * (1 - crop)), np.uint8)


# ---------------------------------------------------------------- which line a number belongs to


def _assigned(numbers: tuple[PrintedNumber, ...], rings: tuple[Points, ...]) -> tuple[str | None, ...]:
    """The number of each line, by whichever of inside, outside and nearest gives most lines a number of their own."""
    trees = [cKDTree(ring) for ring in rings]
    best: tuple[float, tuple[str | None, ...]] = (-1.0, (None,) * len(rings))
    for side in ("inside", "outside", "nearest"):
        votes: list[dict[str, float]] = [{} for _ in rings]
        gaps = []
        for number in numbers:
            gap = np.array([float(tree.query(number.at)[0]) for tree in trees])
            at = (float(number.at[0]), float(number.at[1]))
            inside = [cv2.pointPolygonTest(ring.astype(np.float32), at, False) > 0 for ring in rings]
            allowed = np.array([side == "nearest" or within == (side == "inside") for within in inside])
            gap[~allowed] = np.inf
            own = int(np.argmin(gap))
            if gap[own] < _BESIDE_MM:
                votes[own][number.text] = votes[own].get(number.text, 0.0) + number.confidence
                gaps.append(gap[own])
        texts = _growing([max(one, key=lambda text: one[text]) if one else None for one in votes])
        known = [text for text in texts if text is not None]
        strays = sum(len(one) - (text is not None) for one, text in zip(votes, texts, strict=True))
        quality = len(known) - 0.25 * strays - 0.01 * float(np.mean(gaps) if gaps else 0.0)
        if quality > best[0]:
            best = (quality, texts)
    return best[1]


def _growing(texts: list[str | None]) -> tuple[str | None, ...]:
    """The most of the numbers that grow from line to line; the others are misread. Letters are kept, each once."""
    if any(text is not None and not text.isdigit() for text in texts):
        return tuple(text if text is not None and texts.count(text) == 1 else None for text in texts)
    runs: list[list[int]] = [[]]
    for k, text in enumerate(texts):
        if text is not None:
            before = [run for run in runs if not run or int(texts[run[-1]] or 0) < int(text)]
            runs.append([*max(before, key=len), k])
    kept = max(runs, key=len)
    return tuple(text if k in kept else None for k, text in enumerate(texts))
