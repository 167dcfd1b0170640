"""Blocks for makers of all shapes: python -m tests.bench.makers [COUNT] [FIRST] [traced].

Bodies are rows of a published survey of 1,986 women (ANSUR II, NATICK/TR-15/007; the file that OWNBLOCK_DATA names, or
bodies drawn from its statistics), with a cup difference from 0 to 20 cm drawn evenly and the few measurements that the
survey has not (:mod:`tests.convert.block.makers`). The pattern is the demo set, from its truth, or as traced from its
pictures. Every block is written as block.json and measured again from its points alone (:mod:`tests.bench.measuring`).
"""

import csv
import importlib.util
import json
import os
import sys
import time
from collections import Counter, defaultdict
from pathlib import Path
from typing import Any

import numpy as np

from calibration.ground.errors import OwnblockError
from convert.block.compared.ease import block_ease
from convert.block.record import to_record
from convert.block.solved.solve import suggest
from convert.job.job import read_job
from convert.piece.piece import Piece
from convert.pipeline.together import read_job_pieces
from tests.bench.measuring import Found, measured
from tests.convert.block.makers import body_of, card_of, random_makers
from tests.lab import LAB, SAMPLES, truth_of
from tests.lab_pieces import body, lab_piece

SET = ("s1_front", "s2_back", "s3_sleeve", "s4_skirt-front", "s5_skirt-back")
LENGTH_MM, PAIR_MM, LEGS_MM, BEND_DEG, AGREE_MM = 0.5, 0.5, 0.2, 5.0, 0.05
AS_IT_WAS_DEG = 1.0
COLUMNS = {
    "stature": "stature",
    "bust": "chestcircumference",
    "waist": "waistcircumference",
    "hip": "buttockcircumference",
    "shoulder": "shoulderlength",
    "back": "interscyei",
    "nape to waist": "waistbacklength",
    "sleeve": "sleeveoutseam",
    "neck": "neckcircumferencebase",
    "arm": "bicepscircumferenceflexed",
    "wrist": "wristcircumference",
}


def survey_makers(count: int, seed: int) -> list[dict[str, float]]:
    """Bodies of ``count`` women of the survey, mm."""
    file = Path(os.environ.get("OWNBLOCK_DATA", "")) / "ansur2" / "female_measures_mm.csv"
    if not file.is_file():
        return random_makers(count, seed)
    rng = np.random.default_rng(seed)
    with file.open() as stream:
        rows = list(csv.DictReader(stream))
    chosen = rng.choice(len(rows), size=count, replace=False)
    return [body_of({name: float(rows[i][column]) for name, column in COLUMNS.items()}, rng) for i in chosen]


def pattern(traced: bool) -> tuple[list[Piece], dict[str, float]]:
    """The demo set and the body it was drafted for."""
    size = body(truth_of("s1_front")["inputs"]["pattern_size_body"])
    if traced:
        return [one.piece for one in read_job_pieces(read_job(SAMPLES / "wardrobe"))], size
    return [lab_piece(scene) for scene in SET], size


def faults(record: dict[str, Any], before: Found, hip: float) -> list[str]:
    """What does not hold of a written block."""
    found = measured(record, hip)
    targets = {one["name"]: one["target_mm"] for one in record["measurements"] if one["target_mm"] is not None}
    out = []
    for name, mm in targets.items():
        if name in found.lengths and abs(found.lengths[name] - mm) > LENGTH_MM:
            out.append(f"{name} off target")
    for name, mm in found.pairs.items():
        limit = 4 * PAIR_MM if name == "waists" else PAIR_MM
        if abs(mm) > limit and not (name == "shoulders" and 0 < mm < 13):
            out.append(f"{name} unequal")
    out += [f"{name} legs" for name, mm in found.legs.items() if abs(mm) > LEGS_MM]
    for name, bend in found.bends.items():
        if abs(bend) > max(BEND_DEG, abs(before.bends.get(name, 0.0)) + AS_IT_WAS_DEG):
            out.append(f"{name} bends")
    out += [f"{kind} crosses itself" for kind in found.crossing]
    return out + _against_other_script(record, found, hip)


def _against_other_script(record: dict[str, Any], found: Found, hip: float) -> list[str]:
    """Where a second measuring script lies beside the practice pictures, it must find the same."""
    file = LAB.parent / "score_block.py"
    if not file.is_file():
        return []
    spec = importlib.util.spec_from_file_location("score_block", file)
    assert spec is not None
    assert spec.loader is not None
    other = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(other)
    lengths, _ = other.measure([other.Piece(piece) for piece in record["pieces"]], hip)
    return [
        f"{name} measured otherwise"
        for name, mm in lengths.items()
        if name in found.lengths and abs(mm - found.lengths[name]) > AGREE_MM
    ]


def main(count: int, first: int, traced: bool) -> None:
    """Blocks for ``count`` makers; a table of what holds, and why some have none."""
    pieces, size = pattern(traced)
    before = measured(to_record_of(pieces), size["waist to hip"])
    tally: Counter[str] = Counter()
    why: defaultdict[str, list[int]] = defaultdict(list)
    worst: dict[str, float] = {}
    seconds = []
    for number, maker in enumerate(survey_makers(count, first), first):
        start = time.process_time()
        try:
            block = suggest(pieces, card=card_of(maker), drafted_for=size, ease=block_ease("usual").mm)
        except OwnblockError as refusal:
            tally["refused"] += 1
            why[f"REFUSED {refusal.problem.split(':')[0][:90]}"].append(number)
            print(number, "REFUSED", refusal.problem, {k: round(v) for k, v in maker.items()}, flush=True)
            continue
        seconds.append(time.process_time() - start)
        tally["solved"] += 1
        record = json.loads(json.dumps(to_record(block, curves=False)))
        bad = faults(record, before, maker["waist to hip"])
        missed = [note.text for note in block.notes if note.code == "target-missed"]
        tally["a target missed, and said"] += bool(missed)
        tally["every check of our own holds"] += block.sound
        tally["faultless by the other measuring"] += not bad
        for one in bad:
            why[one].append(number)
        _keep_worst(worst, record, maker["waist to hip"])
        if bad or missed:
            print(number, bad, missed, flush=True)
    print("\n".join(f"{what:45s} {n:5d}  {n / count:6.1%}" for what, n in tally.items()))
    print(
        "\n".join(f"{what:70s} {len(who):4d}  {who[:6]}" for what, who in sorted(why.items(), key=lambda x: -len(x[1])))
    )
    print("largest deviations, mm:", {name: round(mm, 3) for name, mm in worst.items()})
    print(f"{np.median(seconds):.3f} s of a core each (median), {np.max(seconds):.3f} s at most")


def _keep_worst(worst: dict[str, float], record: dict[str, Any], hip: float) -> None:
    found = measured(record, hip)
    targets = {one["name"]: one["target_mm"] for one in record["measurements"] if one["target_mm"] is not None}
    seen = {name: found.lengths[name] - mm for name, mm in targets.items() if name in found.lengths} | found.pairs
    seen["dart legs"] = max(found.legs.values(), key=abs)
    for name, mm in seen.items():
        worst[name] = max(worst.get(name, 0.0), abs(mm))


def to_record_of(pieces: list[Piece]) -> dict[str, Any]:
    """The pattern's own pieces as a block's would be written."""
    from convert.piece.record import to_record as piece_record

    return {"pieces": [piece_record(piece, curves=False) for piece in pieces]}


if __name__ == "__main__":
    words = sys.argv[1:]
    main(
        int(words[0]) if words else 500,
        int(words[1]) if len(words) > 1 else 0,
        "traced" in words,
    )
