"""Everything that a block shall meet: levels, paired seams, and levels that stay as the pattern has them."""

from collections.abc import Mapping

import numpy as np

from calibration.ground.errors import Note
from convert.block.compared.targets import CAP_EASE_MM, HELD, PRIORITY, Row, Wanted
from convert.block.shape.shape import Shape
from convert.block.shape.trousers import SHARES
from convert.block.solved.problem import Problem
from convert.body.card import Card
from convert.body.definitions import body_name
from convert.body.wording import format_paper_mm

_PAIR_LIMIT_MM = 10.0  # a larger difference of paired seams is not trued away: something was read wrong
STRETCHED_MM = 10.0  # a back inseam up to this much shorter is stretched on to the front: common practice
_EASED_SHOULDER_MM = (1.6, 13.0)  # a back shoulder this much longer is eased in: 1/16 in is accuracy, 1/2 in the most


def rows_of(
    problem: Problem, shapes: Mapping[str, Shape], wanted: Wanted, card: Card, size: Mapping[str, float]
) -> tuple[list[Row], list[Note]]:
    """Everything the block shall meet: levels, pairs, and levels that stay."""
    now = problem.found(shapes)
    rows = [Row(name=name, mm=mm, weight=PRIORITY[name]) for name, mm in wanted.mm.items() if name in now]
    if "skirt waist" in now and "waist" not in now and card.mm("waist") is not None:
        skirt_ease = now["skirt waist"] - size["waist"] if "waist" in size else 20.0
        rows.append(
            Row(name="skirt waist", mm=(card.mm("waist") or 0.0) + float(np.clip(skirt_ease, 0, 25)), weight=1.0)
        )
    if "cap ease" in now:
        least, usual, most = CAP_EASE_MM
        own = now["cap ease"]
        rows.append(Row(name="cap ease", mm=own if least <= own <= most else usual, weight=PRIORITY["cap ease"]))
    for name, value in now.items():
        level, of, _ = name.partition(" of the ")
        body, drafted = card.mm(body_name(level)), size.get(body_name(level))
        if of and body is not None and drafted is not None:
            rows.append(Row(name=name, mm=value + (body - drafted) / SHARES.get(level, 4.0), weight=PRIORITY[level]))
    notes: list[Note] = []
    for name in now:
        if name.endswith("longer") or " minus " in name:
            mm, note = _pair_target(name, now[name])
            rows.append(Row(name=name, mm=mm, weight=1.0))
            notes += [note] if note else []
    done = {row.name for row in rows}
    held = [name for name in (*PRIORITY, *(n for n in now if " of the " in n)) if name in now and name not in done]
    if "back waist length" in done:
        held = [name for name in held if name != "front waist length"]  # the front goes with the back
    if "skirt waist minus bodice waist" in now:
        held = [name for name in held if name != "skirt waist"]
    return rows + [Row(name=name, mm=_kept(name, now, rows), weight=HELD) for name in held], notes


def _kept(name: str, now: Mapping[str, float], rows: list[Row]) -> float:
    """What a level that nobody told keeps: the pattern's own; thigh and crotch length go with hip and rise.

    Source: the survey's thigh grows 1.17 times as fast as its hip (ANSUR II, logarithms); a crotch seam is twice the
    rise and a sixth of the hip, common practice.
    """
    wanted = {row.name: row.mm for row in rows}
    hip = "trousers hip" if "trousers hip" in now else "hip"
    if name == "thigh" and hip in wanted:
        return float(now[name] * (wanted[hip] / now[hip]) ** 1.17)
    if name == "crotch length":
        grown = {one: wanted.get(one, now[one]) - now[one] for one in (hip, "body rise") if one in now}
        return now[name] + 2.0 * grown.get("body rise", 0.0) + grown.get(hip, 0.0) / 6.0
    return now[name]


def _pair_target(name: str, now: float) -> tuple[float, Note | None]:
    """What the difference of two paired seams shall be: nothing, the ease the pattern has, or left if it is absurd."""
    low, high = _EASED_SHOULDER_MM
    if name.endswith("waist minus bodice waist"):
        return 0.0, None
    if name.startswith("shoulder") and low <= now <= high:
        return now, None
    if name.startswith("inseam") and -STRETCHED_MM <= now < 0.0:
        return now, None
    if abs(now) <= _PAIR_LIMIT_MM:
        return 0.0, None
    seam = name.partition(",")[0]
    return now, Note(
        "pair-unequal",
        f"The {seam} of the pattern differs by {format_paper_mm(abs(now))} between front and back: look for a dart, "
        "a fold or an edge that was read wrong.",
    )
