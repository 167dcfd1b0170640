"""Grade of a published size chart: python -m tests.bench.grade.

A block for size n made from a pattern of size m must be row n of the chart plus ease, in girths and back waist length,
for all pairs. Source of the rows: the pattern industry's misses chart, in force since 1967-68 (sizes 6 to 24).
"""

import json
import sys
from collections.abc import Sequence
from itertools import product
from typing import Any

from calibration.ground.errors import OwnblockError
from convert.block.record import to_record
from convert.block.solved.solve import suggest
from convert.body.charts import chart, row
from convert.piece.piece import Piece
from tests.bench.measuring import measured
from tests.convert.block.makers import card_of
from tests.lab import truth_of
from tests.lab_pieces import body, lab_piece

CHART = "misses 1968"
SET = ("s1_front", "s2_back", "s3_sleeve", "s4_skirt-front", "s5_skirt-back")
EASE = {"bust": 60.0, "waist": 25.0, "hip": 55.0, "upper arm": 50.0, "back waist length": 0.0}
HIP_MM = 203.2
LEVELS = ("bust", "waist", "hip", "back waist length")


def sizes() -> tuple[str, ...]:
    """The chart's sizes."""
    return tuple(chart(CHART).sizes)


def size_row(size: str) -> dict[str, float]:
    """What one size is drafted for, mm; the hip lies 8 in below the waist."""
    return {**row(chart(CHART), size), "waist to hip": HIP_MM}


def pattern_of(size: str, pieces: Sequence[Piece], drafted_for: dict[str, float]) -> tuple[Piece, ...]:
    """A pattern of one size: the demo set graded to it."""
    return suggest(pieces, card=card_of(size_row(size)), drafted_for=drafted_for, ease=EASE).pieces


def off_target(pattern: Sequence[Piece], made_for: str, size: str) -> dict[str, float]:
    """How far the block for a size, made from a pattern of another, lies off the chart row plus ease, mm."""
    block = suggest(pattern, card=card_of(size_row(size)), drafted_for=size_row(made_for), ease=EASE)
    record: dict[str, Any] = json.loads(json.dumps(to_record(block, curves=False)))
    found, wanted = measured(record, HIP_MM).lengths, size_row(size)
    return {name: found[name] - wanted[name] - EASE[name] for name in LEVELS}


def demo() -> tuple[list[Piece], dict[str, float]]:
    """The demo set and the body it was drafted for."""
    return [lab_piece(scene) for scene in SET], body(truth_of("s1_front")["inputs"]["pattern_size_body"])


def main(named: Sequence[str]) -> None:
    """All pairs of sizes, or those between the sizes named."""
    pieces, drafted_for = demo()
    wanted = tuple(named) or sizes()
    patterns = {size: pattern_of(size, pieces, drafted_for) for size in wanted}
    worst: dict[str, float] = dict.fromkeys(LEVELS, 0.0)
    failed = []
    for made_for, size in product(wanted, wanted):
        try:
            off = off_target(patterns[made_for], made_for, size)
        except OwnblockError as refusal:
            failed.append((made_for, size))
            print(f"{made_for} to {size}: {refusal.problem}", flush=True)
            continue
        worst = {name: max(worst[name], abs(mm)) for name, mm in off.items()}
    print(f"{len(wanted) ** 2} pairs, {len(failed)} refused: {failed}")
    print("largest deviation, mm:", {name: round(mm, 3) for name, mm in worst.items()})


if __name__ == "__main__":
    main(sys.argv[1:])
