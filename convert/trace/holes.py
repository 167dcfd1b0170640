"""Holes punched in the paper: small round places where the mat shows through."""

from dataclasses import replace

import cv2
import numpy as np
import numpy.typing as npt

from convert.trace.paper import Paper
from convert.trace.tracing import TracedMark

SMALLEST_MM, LARGEST_MM = 2.0, 12.0  # diameter
_ROUND = 0.55  # least share of the smallest circle round a hole that it fills
_SHADE = 0.5  # log colour by which a hole may be darker than mat and paper; what is darker is print
_TINT = 0.3  # and by which its tint may differ
_FROM_EDGE_MM = 1.5
_LINE_MM = 1.2  # width of the widest line of a mat


def find_holes(paper: Paper, mask: npt.NDArray[np.bool_]) -> tuple[TracedMark, ...]:
    """The holes in one piece of paper, with their diameters."""
    scale = paper.work.mm_per_px
    deep = np.asarray(cv2.erode(mask.astype(np.uint8), paper.work.disc(_FROM_EDGE_MM)), bool)
    through = (paper.share < 0.5) & deep
    count, labels, stats, centres = cv2.connectedComponentsWithStats(through.astype(np.uint8), connectivity=4)
    marks = []
    for label in range(1, count):
        area = stats[label, cv2.CC_STAT_AREA] * scale**2
        width, height = stats[label, cv2.CC_STAT_WIDTH] * scale, stats[label, cv2.CC_STAT_HEIGHT] * scale
        if max(width, height) > LARGEST_MM or area < SMALLEST_MM**2 * np.pi / 4:
            continue
        rows, columns = np.nonzero(labels == label)
        clear = float(np.min(np.abs(paper.share[rows, columns])))
        inner = paper.share[rows, columns] <= np.median(paper.share[rows, columns])
        off = np.median((paper.colour - paper.mat)[rows[inner], columns[inner]], axis=0)
        box = np.s_[max(rows.min() - 3, 0) : rows.max() + 4, max(columns.min() - 3, 0) : columns.max() + 4]
        darkest = float((paper.colour[box] - paper.mat[box]).mean(2).min())
        print_beside = darkest < min(-_SHADE, float((paper.paper[box] - paper.mat[box]).mean()) - _SHADE)
        if clear > 0.3 or print_beside or np.abs(off - off.mean()).max() > _TINT:
            continue
        if area < _ROUND * np.pi / 4 * max(width, height) ** 2:
            continue
        marks.append(
            TracedMark(
                kind="hole",
                at=paper.work.to_mm([centres[label]])[0],
                size_mm=2 * float(np.sqrt(area / np.pi)),
                confidence=float(np.clip(1.2 - 2 * clear, 0.3, 1.0)),
            )
        )
    return tuple(_whole(marks))


def _whole(marks: list[TracedMark]) -> list[TracedMark]:
    """Holes that a line of the mat, seen through them, cut in two are made one again."""
    out: list[TracedMark] = []
    for mark in sorted(marks, key=lambda one: -one.size_mm):
        near = next((k for k, one in enumerate(out) if _touch(one, mark)), None)
        if near is None:
            out.append(mark)
            continue
        other = out[near]
        share = mark.size_mm**2 / (mark.size_mm**2 + other.size_mm**2)
        at = other.at + share * (mark.at - other.at)
        reach = float(np.hypot(*(mark.at - other.at))) + (mark.size_mm + other.size_mm) / 2
        out[near] = replace(other, at=at, size_mm=min(reach, LARGEST_MM))
    return out


def _touch(one: TracedMark, other: TracedMark) -> bool:
    gap = float(np.hypot(*(one.at - other.at))) - (one.size_mm + other.size_mm) / 2
    return gap < _LINE_MM
