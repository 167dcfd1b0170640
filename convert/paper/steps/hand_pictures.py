"""The picture of one step by hand: the paper as it lies, what is added and taken away, each amount at its place."""

from collections.abc import Callable, Sequence
from itertools import count

import numpy as np
from shapely import Polygon, box, transform

from calibration.ground.points import Points
from convert.body.card import LengthUnit
from convert.body.wording import format_fine_mm
from convert.paper.draw.draw_piece import simplified, upright
from convert.paper.draw.drawing import turn
from convert.paper.draw.lettering import width
from convert.paper.draw.svg import number, path_data
from convert.paper.steps.by_hand import HandStep
from convert.paper.steps.marked import LEAST_MM
from convert.paper.steps.pictures import (
    ADDED,
    INK,
    LOST,
    PICTURE_KEEP_MM,
    dart_lines,
    drawn_line,
    hatched,
    lettered,
    patterns,
    svg_picture,
    without_slivers,
)

LETTER = 0.056  # of the picture's longer side: about 12 point where the picture is 75 mm high
_GROWN_MM = 1.0  # a dart that changes by less than a pencil line has not grown
_ARROW = 0.075
_ROOM = 0.14  # beside the piece, for words
_BEHIND = "var(--card,#ffffff)"
_numbers = count(1)
Down = Callable[[Points], Points]


def step_picture(step: HandStep, unit: LengthUnit = "cm") -> str:
    """One step as inline SVG: dashed before, full after, paper added and taken away, arrows, hinges, amounts."""
    angle = upright(step.after)
    rings = [step.before.seam_line, step.after.seam_line]
    rings += [np.array(part.exterior.coords) for part in (step.laid.parts if step.laid else ())]
    spread = turn(np.vstack(rings), angle)
    long = float(np.ptp(spread, axis=0).max())
    low, high = spread.min(0) - [_ROOM * long, 0.06 * long], spread.max(0) + [_ROOM * long, 0.06 * long]

    def down(points: Points) -> Points:
        return np.asarray((turn(points, angle) - [low[0], high[1]]) * [1.0, -1.0])

    wide, tall = high - low
    key, line = f"h{next(_numbers)}", long / 300.0
    parts = [patterns(key), *_paper(step, down, key, line)]
    labels = _Labels(wide=float(wide), tall=float(tall), size=LETTER * long)
    for one in step.marked:
        parts.append(_pointed(down(np.array([one.start, one.end])), long, one.words.split(", "), labels))
    if step.laid is not None:
        parts += _openings(step, down, long, unit, labels)
        parts += [
            _arrowed(down(np.array(part.centroid.coords)), down(np.array(part.centroid.coords) + shift), long)
            for part, shift in zip(step.laid.parts, step.laid.shifts, strict=True)
            if np.hypot(*shift) >= LEAST_MM[unit]
        ]
    return svg_picture(float(wide), float(tall), f"{step.piece}: {step.title}", "".join(parts))


def _paper(step: HandStep, down: Down, key: str, line: float) -> list[str]:
    old, new = (down(simplified(piece.seam_line, PICTURE_KEEP_MM)) for piece in (step.before, step.after))
    if step.laid is None:
        was, now = Polygon(old).buffer(0), Polygon(new).buffer(0)
        added, lost, lines = without_slivers(now.difference(was)), without_slivers(was.difference(now)), [old]
    else:
        added, lost = (
            transform(without_slivers(shape), lambda xy: down(np.asarray(xy)))
            for shape in (step.laid.added, step.laid.lapped)
        )
        lines = [down(simplified(np.array(part.exterior.coords)[:-1], PICTURE_KEEP_MM)) for part in step.laid.parts]
    return [
        hatched(added, f"{key}a", ADDED),
        hatched(lost, f"{key}l", LOST),
        *(
            drawn_line(ring, INK, 1.0 * line, closed=True, dashes=f"{number(5 * line)} {number(4 * line)}")
            for ring in lines
        ),
        drawn_line(new, INK, 2.0 * line, closed=True),
        *([dart_lines(down, step.before, "5 4")] if step.laid is None else []),
        dart_lines(down, step.after, ""),
    ]


class _Labels:
    """Places for words, none over another."""

    def __init__(self, *, wide: float, tall: float, size: float) -> None:
        self.frame, self.size = (wide, tall), size
        self.taken: list[Polygon] = []

    def beside(self, at: Points, way: Points, lines: Sequence[str], far: float) -> str:
        """Words near a point, away from where ``way`` (2,) comes from; on white, so that they can be read."""
        need = np.array([max(width(text, self.size, True) for text in lines), 1.15 * self.size * len(lines)])
        angles = np.arctan2(way[1], way[0]) + np.radians([0, 35, -35, 70, -70, 110, -110, 145, -145, 180])
        spots = [(reach, angle) for reach in (far, 1.6 * far, 2.4 * far, 3.4 * far) for angle in angles]
        best = None
        for reach, angle in spots:
            aim = np.array([np.cos(angle), np.sin(angle)])
            middle = at + aim * (reach + np.abs(aim) @ need / 2)
            middle = np.clip(middle, need / 2 + 1.0, np.maximum(np.array(self.frame) - need / 2 - 1.0, need / 2 + 1.0))
            area = box(*(middle - need / 2), *(middle + need / 2))
            over = sum(area.intersection(one).area for one in self.taken)
            if best is None or over < best[0]:
                best = (over, middle, area)
            if over == 0.0:
                break
        assert best is not None
        _, middle, area = best
        self.taken.append(area)
        top = middle[1] - need[1] / 2
        ring = np.array(area.exterior.coords)[:-1]
        out = [f'<path d="{path_data(ring, closed=True)}" fill="{_BEHIND}" fill-opacity="0.85"/>']
        for k, text in enumerate(lines):
            base = top + (k + 0.85) * 1.15 * self.size
            out.append(lettered(float(middle[0]), float(base), text, bold=True, anchor="middle", size=self.size))
        return "".join(out)


def _pointed(ends: Points, long: float, lines: Sequence[str], labels: _Labels) -> str:
    """An arrow whose tip is the new place, as long as can be seen, and how far the point goes."""
    start, tip = ends
    way = (tip - start) / max(float(np.hypot(*(tip - start))), 1e-9)
    tail = tip - way * max(_ARROW * long, float(np.hypot(*(tip - start))))
    labels.taken.append(box(*np.minimum(tail, tip), *np.maximum(tail, tip)).buffer(0.01 * long))
    return _arrow(tail, tip, long) + labels.beside(tip, way, lines, 0.03 * long)


def _openings(step: HandStep, down: Down, long: float, unit: LengthUnit, labels: _Labels) -> list[str]:
    """Each cut's amount where it gapes most, said once at one place, and a ring at each hinge."""
    openings = step.laid.openings if step.laid else ()
    hinges = [down(one.hinge[None])[0] for one in openings if one.hinge is not None]
    labels.taken += [box(*(at - 0.02 * long), *(at + 0.02 * long)) for at in hinges]
    out: list[str] = [_ring(at, long) for at in hinges]
    said: list[Points] = []
    for one in openings:
        if max(one.gaps) < LEAST_MM[unit]:
            continue
        ends = down(one.ends)
        way = (ends[1] - ends[0]) / max(float(np.hypot(*(ends[1] - ends[0]))), 1e-9)
        at, aside = ends.mean(0), np.array([way[1], -way[0]])
        if one.hinge is not None:
            at, aside = ends[int(np.argmax(one.gaps))], np.array([1.0, 0.0])
        if step.told_once:  # the amount holds on the underarm line, whatever gapes elsewhere
            at = down(step.after.edge("cap").points[[0, -1]]).mean(0)
        if any(np.hypot(*(at - place)) < 0.12 * long for place in said):
            continue
        said.append(at)
        dart = _dart_change(step, at, down, 0.12 * long)
        gap = max(one.gaps) if dart is None else dart
        as_told = step.told_once or (len(openings) == 1 and one.hinge is None and dart is None)
        amount = step.amount if as_told and step.amount else format_fine_mm(gap, unit)
        out.append(labels.beside(at, aside, [amount], 0.03 * long))
    return out


def _dart_change(step: HandStep, at: Points, down: Down, near: float) -> float | None:
    """By how much the dart that gapes at a place has grown, mm; None where none has."""
    for old, new in zip(step.before.darts, step.after.darts, strict=False):
        grown = abs(new.intake - old.intake)
        if grown > _GROWN_MM and np.hypot(*(down(new.legs).mean(0) - at)) < near:
            return grown
    return None


def _ring(at: Points, long: float) -> str:
    return (
        f'<circle cx="{number(at[0])}" cy="{number(at[1])}" r="{number(0.014 * long)}" fill="{_BEHIND}" '
        f'stroke="{INK}" stroke-width="{number(long / 170)}"/>'
    )


def _arrowed(middle: Points, moved: Points, long: float) -> str:
    """The way a part has gone, in its middle."""
    way = (moved - middle)[0]
    way = way / np.hypot(*way)
    return _arrow(moved[0] - way * _ARROW * long / 2, moved[0] + way * _ARROW * long / 2, long)


def _arrow(tail: Points, tip: Points, long: float) -> str:
    way = (tip - tail) / max(float(np.hypot(*(tip - tail))), 1e-9)
    side = np.array([-way[1], way[0]])
    head = np.array(
        [tip, tip - 0.028 * long * way + 0.012 * long * side, tip - 0.028 * long * way - 0.012 * long * side]
    )
    return (
        drawn_line(np.array([tail, tip - 0.02 * long * way]), INK, long / 130)
        + f'<path d="{path_data(head, closed=True)}" fill="{INK}"/>'
    )
