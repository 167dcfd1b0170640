"""What is printed on a piece in words: its title, read whichever way up it stands."""

from dataclasses import dataclass
from functools import cache
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from calibration.ground.errors import InputError
from calibration.ground.points import Points
from calibration.sheet.flatten import FlatSheet
from convert.trace.ink.models import LETTERS, PLACES, model_file

_MM_PER_PX = 0.45  # a title's letters, 6 mm or more, are then thirteen pixels high; finer takes long
_SURE = 0.9  # of one reading; words that stand on their head or aside are read as less
_ENOUGH = 3  # lines so surely read end the turning


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedLine:
    """A line of print: its text, its letters' height in mm, and how surely it was read (0 to 1)."""

    text: str
    high_mm: float
    confidence: float


def printed_lines(
    sheet: FlatSheet, outline: Points, *, up_deg: float = 0.0, mirrored: bool = False
) -> list[PrintedLine]:
    """Lines of print inside an outline (N, 2), the highest letters first.

    ``up_deg`` is about which way the piece's grain runs: print stands along it or square to it. ``mirrored`` paper lies
    printed side down. The reader is loaded when this is first called; it has its models with it and fetches nothing.

    Raises
    ------
    InputError
        If what reads print is not whole on this machine.
    """
    picture = _cut_out(sheet, outline, up_deg)
    picture = picture[:, ::-1] if mirrored else picture
    best: list[PrintedLine] = []
    for quarter in (0, 1, 3, 2):  # words stand along the grain or square to it, seldom on their heads
        found = _read(np.ascontiguousarray(np.rot90(picture, quarter)))
        sure = [line for line in found if line.confidence > _SURE]
        if sum(len(line.text) for line in sure) > sum(len(line.text) for line in best):
            best = sure
        if len(sure) >= _ENOUGH:
            break
    return sorted(best, key=lambda line: -line.high_mm)


def _cut_out(sheet: FlatSheet, outline: Points, up_deg: float) -> npt.NDArray[np.uint8]:
    """The piece alone, its grain upright, at an even scale; what lies outside its outline is as bare paper."""
    turn = np.radians(90.0 - up_deg)
    spin = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    upright = outline @ spin.T
    low, high = upright.min(0), upright.max(0)
    width, height = np.ceil((high - low) / _MM_PER_PX).astype(int).tolist()
    corners = np.array([[low[0], high[1]], [high[0], high[1]], [low[0], low[1]]])  # of the picture: y runs down
    there = np.array([[0, 0], [width, 0], [0, height]], np.float32)
    onto = cv2.getAffineTransform(sheet.to_px(corners @ spin).astype(np.float32), there)
    blurred = cv2.GaussianBlur(sheet.pixels, (0, 0), max(0.35 * _MM_PER_PX / sheet.mm_per_px, 0.1))
    picture = cv2.warpAffine(blurred, onto, (width, height), flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    inside = np.zeros((height, width), np.uint8)
    ring = np.column_stack([upright[:, 0] - low[0], high[1] - upright[:, 1]]) / _MM_PER_PX
    cv2.fillPoly(inside, [np.round(ring).astype(np.int32)], 1)
    out = np.array(picture, np.uint8)
    out[inside == 0] = np.median(out[inside > 0], axis=0)
    return out


def _read(picture: npt.NDArray[np.uint8]) -> list[PrintedLine]:
    result = _reader()(picture[:, :, ::-1], use_det=True, use_cls=False, use_rec=True)
    if not result.txts:
        return []
    out = []
    for text, sure, box in zip(result.txts, result.scores, result.boxes, strict=True):
        corners = np.asarray(box, float)
        high = float(np.hypot(*(corners[3] - corners[0]))) * _MM_PER_PX
        out.append(PrintedLine(text=str(text).strip(), high_mm=high, confidence=float(sure)))
    return out


@cache
def _reader() -> Any:
    """The reader of print, told its models' files so that it has nothing to fetch."""
    for name in (LETTERS, PLACES):
        if not model_file(name).is_file():
            raise InputError(
                f"What is printed on the paper can't be read: the file {name} is missing on this machine.",
                "Say which piece it is; or install ownblock anew.",
            )
    from rapidocr import RapidOCR

    return RapidOCR(
        params={
            "Global.log_level": "critical",
            "Det.model_path": str(model_file(PLACES)),
            "Rec.model_path": str(model_file(LETTERS)),
            "EngineConfig.onnxruntime.intra_op_num_threads": 1,
        }
    )
