"""Every sentence that the page's server says, in one place."""

import re
from collections.abc import Mapping

from convert.body.card import LengthUnit
from convert.body.wording import format_paper_mm

_FILE_KINDS: Mapping[str, str] = {
    "block": "block, full size",
    "toile": "block with seam allowance, for the toile",
    "practice": "block, quarter size",
    "steps": "changes one by one",
    "report": "report",
    "fitting": "what the toile changed",
    "drawing": "drawing of all pieces",
    "cutting-room": "for a cutting room",
    "picture": "small picture",
    "numbers": "for other programs",
    "test": "printer test",
}
_SIZES = {"half": "half size", "quarter": "quarter size"}

CHARTS: Mapping[str, str] = {
    "misses since 1968": "Pattern envelopes since 1968: misses",
    "miss petite since 1968": "Pattern envelopes since 1968: miss petite",
    "women's since 1968": "Pattern envelopes since 1968: women’s",
    "misses 1956-67": "Pattern envelopes from 1956 to 1967",
    "misses 1945-56": "Pattern envelopes from 1945 to 1956",
    "german": "German sizes",
    "astm d5585-11 straight": "American ready-made sizes, straight waist",
    "astm d5585-11 curvy": "American ready-made sizes, curvy waist",
}
"""What the size tables are called, in the order in which they are offered."""

LIKELY_GRIDS: Mapping[str, str] = {
    "if the grid were 1 inch ": "1in",
    "if the grid were 1/2 inch ": "1/2in",
    "if the grid were 1 cm": "1cm",
    "if the grid were 2 cm": "2cm",
    "if the grid were 5 mm": "5mm",
}
"""How a doubt about the grid says which it would be, and what is then told."""


def kind_of_file(file: str, what: str, *, paper: str) -> str:
    """What a file is, in a few words, as part of its name."""
    stem = file.rpartition(".")[0]
    if what == "piece":
        return f"drawing of {stem.replace('-', ' ')}"
    if what == "print":
        size = next((words for word, words in _SIZES.items() if f"-{word}" in stem), "full size")
        return f"block, {size}{', with seam allowance' if stem.endswith('-to-sew') else ''}, {paper}"
    return f"{_FILE_KINDS[what]}, {paper}" if what in ("block", "toile") else _FILE_KINDS[what]


def file_name(maker: str, kind: str, state: int, ending: str) -> str:
    """What a file is called when it is kept: whose, what, of which state."""
    plain = (
        "".join(char if char.isprintable() and char not in '\\/:*?"<>|' else " " for char in maker).strip() or "block"
    )
    return f"{plain}, {kind}, {state_words(state)}{ending}"


def state_words(state: int) -> str:
    """A state of the block in a few words."""
    return f"after fitting {state}" if state else "as made"


def no_such_square(typed: str, low_mm: float, high_mm: float, unit: LengthUnit) -> tuple[str, str]:
    """A test square that no printer draws."""
    low, high = format_paper_mm(low_mm, unit), format_paper_mm(high_mm, unit)
    return (
        f"A side of “{typed}” can't be right: the square lies between {low} and {high} on every printer.",
        "Set the print window to 100 %, print the test sheet again and measure one side of its square.",
    )


def which_piece(kind: str, count: int) -> tuple[str, str]:
    """Several pieces in one picture, and nobody said which."""
    return f"{count} pieces lie in this picture.", f"Tap the {kind} in it."


NOTHING_TAKEN_OUT = ("Nothing was taken out that could come back.", "Go on as it is.")


def there_already(kind: str) -> tuple[str, str]:
    """A piece of a kind that there is already."""
    return f"There is a {kind} already.", "Give that one this picture too, or take it out first."


def picture_not_kept(name: str) -> tuple[str, str]:
    """A picture that could not be put among the others."""
    return f"{name} could not be kept.", "Look whether the disk is full."


def which_size(kind: str, count: int) -> tuple[str, str]:
    """Several sizes inside one another, and nobody said which."""
    return f"{count} sizes of the {kind} lie inside one another.", "Tap the line of yours in the picture."


ADDRESS_USED = "This address was used before, or belongs to an earlier start of ownblock."

A_FAULT = "This is a fault of ownblock, not yours."
AFTER_A_FAULT = "Load the page again. What was kept before is safe; look whether your last change is there."


# What other rooms say in the words of files and of the command line, as it is said here. In order; the first ones are
# the narrower ones.
_PLAIN: tuple[tuple[str, str], ...] = (
    (
        r"^size = \d+ is line (\d+) of (\d+), counted from the inside.*",
        r"Line \1 of \2 is followed, counted from the inside.",
    ),
    (r"Say which to follow with size = 1.*", "Tap the line of yours in the picture."),
    (r"Say which one: at = .*", "Point at it in the picture."),
    (r" \([^()]*mm on the mat\)", ""),
    (r"Near -?\d+ cm across, -?\d+ cm up,? the", "In one place the"),
    (r"\bnear -?\d+ cm across, -?\d+ cm up", "in one place"),
    (r"The lattice points told", "The crossings that you put right"),
    (r"The outline (as )?told", "The edge as you drew it"),
    (r"A stretch of the outline was told by one point\.", "A stretch of the edge has only one point."),
    (r"A stretch of the outline was told whose", "A stretch of the edge was drawn whose"),
    (r"The dart told with its point at [^.]*? does not", "The dart as you drew it does not"),
    (r"The grid was said to be", "The lines were said to be"),
    (r" ?Write grid = [^.]*\.", " Say how far apart the lines on the mat are, at “The mat”."),
    (r"(the names of its edges|the edges of this piece) in job\.toml", r"\1 at “The piece”"),
    (r"under \[pattern\] in job\.toml", "at “You”, where the pattern’s size is asked for"),
    (r"say the allowance in job\.toml", "say the allowance at “Seams”"),
    (r"take that move out of job\.toml", "take that change back at “The block”"),
    (r"one piece of each kind in job\.toml", "one piece of each kind at “Pictures”"),
    (r", or correct its name in job\.toml", ""),
    (r"\bjob\.toml: ", ""),
    (r"\b(maker|toile)\.toml: ", ""),
    (r", or add --overwrite to replace it", ""),
    (r" with --undo", " at “After the toile”"),
    (r" in /\S+", ""),
    (r" \((?:ISO|ASTM|EN|DIN)\b[^)]*\)", ""),
    (r"\b(?:ISO|ASTM|EN|DIN) [A-Z]?\d[\d-]*(?::\d+)?,? ?", ""),
    (r"(inch(?:es)?) \([\d.]+ mm\)", r"\1"),
    (r"\(told\)", "(you said so)"),
    (r"\bis told\b", "is known"),
    (r"\bwas told\b", "was said"),
    (r"\btold\b", "said"),
)
_PATTERNS = tuple((re.compile(found), said) for found, said in _PLAIN)


def plainly(text: str) -> str:
    """A sentence of another room in the words of the page: no file's or program's word, no co-ordinates."""
    plain = text
    for found, said in _PATTERNS:
        plain = found.sub(said, plain)
    plain = plain.strip()
    return plain if plain[:1] == text[:1] else plain[:1].upper() + plain[1:]
