"""The report's first words: what this pattern lacks for this maker, and what to look at in the toile."""

from collections.abc import Mapping, Sequence

from convert.block.block import Block
from convert.block.compared.compare import Compared, Comparison
from convert.block.compared.words import place
from convert.body.card import LengthUnit
from convert.body.wording import format_body_mm, listed

_FIRST = 3
_TOILE_LINES = 4
# what to look at first where a measurement was changed most or was only estimated; common practice of fitting
_TOILE: Mapping[str, str] = {
    "bust": "Bust: does it lie smooth, with no drag lines from the bust to the side seam?",
    "waist": "Waist: does it lie level all round, and can you breathe and sit?",
    "skirt waist": "Waist of the skirt: does it lie level all round, and can you sit?",
    "trousers waist": "Waist of the trousers: does it lie level all round, and stay up behind when you sit?",
    "trousers hip": "Seat: sit down and stand up. Does it pull across, or hang in folds below?",
    "body rise": "Crotch: sit, and lift a knee. Does it cut in, or hang below you?",
    "crotch length": "Crotch: do lines run from it, up to the hip or down the leg? Is it tight in front or behind?",
    "thigh": "Thigh: sit down. Does it bind, or pull across in front?",
    "knee": "Knee: sit down. Does the leg slide over the knee?",
    "ankle": "Hem: does your foot go through?",
    "outside leg": "Leg: do the creases hang straight to the middle of the foot, and is the hem where you want it?",
    "hip": "Hip: sit down and stand up. Does it ride up or pull across?",
    "neck": "Neck: does the neckline lie close, without pulling or gaping?",
    "across back": "Back: reach forward with both arms. Does it pull between the armholes?",
    "across chest": "Chest: does it lie flat above the bust, from armhole to armhole?",
    "shoulder length": "Shoulder: does the seam end on the shoulder’s bone?",
    "armhole depth": "Armhole: raise your arms a little. Does the whole bodice go up with them?",
    "armhole": "Armhole: does it lie close, without cutting in?",
    "upper arm": "Sleeve: bend your arm. Does it bind at the upper arm?",
    "wrist": "Wrist: does your hand go through?",
    "arm length": "Sleeve: does it end at the wrist bone with the arm bent?",
    "bust height": "Darts: do they point at the bust, at its height, and stop short of it?",
    "bust point distance": "Darts: do they point at the bust, and stop 2 to 3 cm short of it?",
    "back waist length": "Back: does the waist lie at your waist, without a fold above it?",
    "front waist length": "Front: does the waist lie at your waist, and not ride up?",
}
_DARTS_IN_INCHES = "Darts: do they point at the bust, and stop about 1 in short of it?"


def answer(block: Block, comparison: Comparison | None, unit: LengthUnit) -> tuple[str, ...]:
    """Two to four sentences: where the pattern and the maker differ most, and what the block is."""
    told = () if comparison is None else _told(comparison, unit)
    pieces = listed([piece.kind for piece in block.pieces])
    return (*told, f"Your block has what you need: {pieces}. It has no seam allowance and no style, only ease.")


def _told(comparison: Comparison, unit: LengthUnit) -> tuple[str, ...]:
    apart = [level for level in differing(comparison) if level.name != "skirt waist" or not _bodice(comparison)]
    if not apart:
        return ("The pattern fits you: no measurement differs by more than a tape can tell.",)
    said = tuple(_needs(level, unit) for level in apart[:_FIRST])
    if len(apart) > _FIRST:
        most = format_body_mm(abs(apart[_FIRST].difference_mm or 0.0), unit)
        return (*said, f"Everything else differs by {most} or less.")
    return (*said, "Everything else is right, or too close to call.")


def differing(comparison: Comparison) -> list[Compared]:
    """The levels that differ by more than can be doubted, the largest difference first."""
    return sorted(
        (level for level in comparison.levels if level.difference_mm is not None and not level.too_close),
        key=lambda level: -abs(level.difference_mm or 0.0),
    )


def _bodice(comparison: Comparison) -> bool:
    """Whether a bodice is there, whose waist says what the skirt's would."""
    return any(level.name == "waist" for level in comparison.levels)


def _needs(level: Compared, unit: LengthUnit) -> str:
    difference = level.difference_mm or 0.0
    amount, where = format_body_mm(abs(difference), unit), place(level.name)
    guess = ", if your measurement is as estimated" if level.body_is_estimated else ""
    if difference < 0:
        return f"You need {amount} more {where} than this size gives{guess}."
    style = level.style_mm if not level.drafted_is_assumed else None
    if style is not None and style > 0.5 * difference:
        whole = "All" if style >= difference else "Most"
        return f"This size has {amount} more {where} than a block for you needs{guess}. {whole} of it is style."
    return f"You need {amount} less {where} than this size gives{guess}."


def look_at(block: Block, comparison: Comparison | None, unit: LengthUnit = "cm") -> tuple[str, ...]:
    """What to look at first in the toile: what was only estimated, then where most was changed."""
    estimated = [level.name for level in block.levels if level.body_is_estimated]
    changed: Sequence[str] = [] if comparison is None else [level.name for level in differing(comparison)]
    names = dict.fromkeys((*estimated, *changed, "bust", "hip", "upper arm"))
    there = {level.name for level in block.levels}
    lines = [_TOILE[name] for name in names if name in _TOILE and name in there]
    if unit == "in":
        lines = [_DARTS_IN_INCHES if "2 to 3 cm" in line else line for line in lines]
    return tuple(dict.fromkeys(lines))[:_TOILE_LINES]
