"""Where measurements leave no fair line: what was kept, where to look, and what to measure again."""

from collections.abc import Sequence

from calibration.ground.errors import Note
from convert.block.block import Check
from convert.body.wording import listed

_LENGTHS = ("body and ease", "equal", "waists agree", "crosses itself")  # checks of lengths, which are kept exactly
# words of a check or its place, the line that is meant, and the measurements that draw it; the first that fits counts
_LINES = (
    ("armhole", "armhole", ("shoulder length", "across back", "across chest", "armhole depth")),
    ("neckline", "neckline", ("neck", "shoulder length")),
    ("shoulder", "shoulder", ("shoulder length", "neck")),
    ("cap", "sleeve's cap", ("upper arm", "armhole depth")),
    ("sleeve", "sleeve", ("upper arm", "wrist", "arm length")),
    ("trousers", "trousers", ("waist", "hip", "body rise")),
    ("skirt", "skirt", ("waist", "hip", "waist to hip")),
    ("dart", "darts", ("bust", "waist", "bust height")),
    ("waist", "waist", ("waist", "front waist length", "back waist length")),
    ("side seam", "side seam", ("bust", "waist", "armhole depth")),
)


def strained(checks: Sequence[Check]) -> tuple[Note, ...]:
    """A note for each line whose shape was given up so that every measurement could be kept."""
    places: dict[str, list[str]] = {}
    again: dict[str, tuple[str, ...]] = {}
    for check in checks:
        if check.sound or any(word in check.check for word in _LENGTHS):
            continue
        said = f"{check.check} {check.where}"
        line, measured = next(((one, two) for word, one, two in _LINES if word in said), ("lines", ("bust", "waist")))
        places.setdefault(line, []).append(check.where)
        again[line] = measured
    return tuple(
        Note(
            "line-strained",
            f"No fair line of the {line} meets all these measurements ({_listed(where)}). Every measurement was kept, "
            f"so the line turns more there than a cutter would draw it. Take {listed(again[line])} again; if they are "
            "right, draw it smooth on the toile.",
        )
        for line, where in places.items()
    )


def _listed(where: list[str]) -> str:
    """Places in a row, each once: ``armhole of the bodice back`` for ``bodice back, armhole``."""
    parted = [one.partition(", ") for one in dict.fromkeys(where)]
    return listed([f"{edge} of the {piece}" if edge else piece for piece, _, edge in parted])
