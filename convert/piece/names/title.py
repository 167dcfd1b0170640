"""Which kind of piece a printed title means."""

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from convert.piece.names.kinds import KINDS, Garment, Part, Side
from convert.piece.names.naming import how_unlike
from convert.piece.piece import PieceKind
from convert.trace.tracing import Tracing

# words of the trade in six languages, without accents; from memory
_SIDES: Mapping[Side, str] = {
    "front": "front|vorderteil|vorderhose|devant|delantero|davanti|voorpand|framstykke",
    "back": "back|ruckenteil|rueckenteil|dos|espalda|trasero|dietro|achterpand|ryggstykke",
}
_GARMENTS: Mapping[Garment, str] = {
    "sleeve": "sleeve|armel|aermel|manche|manga|manica|mouw",
    "skirt": "skirt|rock|jupe|falda|gonna|rok|gore",
    "dress": "dress|gown|kleid|robe|vestido|abito|jurk",
    "bodice": "bodice|blouse|shirt|waist|jacket|top|oberteil|bluse|corsage|chemisier|blusa|corpino|corpetto|lijfje",
}
_PARTS: Mapping[Part, str] = {
    "yoke": "yoke|passe|empiecement|canesu|sprone|schouderstuk",
    "side": "side|seitenteil|seitliches|cote|costado|lato|zijpand",
    "centre": "centre|center|mittleres|milieu|centro|midden",
    "lower": "lower|unteres",
    "upper": "upper|top|oberarmel|oberaermel|dessus",
    "under": "under|lower|unterarmel|unteraermel|dessous",
}
_NAMING: Mapping[str, str] = {str(name): forms for group in (_SIDES, _GARMENTS) for name, forms in group.items()}
_LIKE_TITLE = 0.6  # of the highest letters that name a piece: smaller ones say where its edges are


@dataclass(frozen=True, slots=True, kw_only=True)
class Title:
    """A title as it is printed, and the kind of piece that it means."""

    text: str
    kind: PieceKind


def title_of(lines: Sequence[tuple[str, float]], tracing: Tracing) -> Title | None:
    """What printed lines (text, height of letters) call a piece; None where they call it nothing that is known.

    Where front or back is printed and no garment, the outline tells which.
    """
    named = [(text, high) for text, high in lines if _says(text, _NAMING)]
    if not named:
        return None
    highest = max(high for _, high in named)
    text = " ".join(text for text, high in named if high >= _LIKE_TITLE * highest)
    kinds = [name for name, kind in KINDS.items() if _fits(text, kind.garment, kind.side, kind.part)]
    if not kinds:
        return None
    return Title(text=text, kind=min(kinds, key=lambda kind: how_unlike(tracing, kind)))


def _fits(text: str, garment: Garment, side: Side | None, part: Part | None) -> bool:
    """Whether a title may mean a piece: every word of it that is known fits, and none that it needs is missing."""
    sides, garments = _says(text, _SIDES), _says(text, _GARMENTS)
    if side is not None and sides != {side}:
        return False
    if garment == "sleeve":
        parts = _says(text, {name: _PARTS[name] for name in ("upper", "under")})
        return "sleeve" in garments and parts == ({part} if part else set())
    if "sleeve" in garments:
        return False
    parts = _says(text, {name: _PARTS[name] for name in ("yoke", "side", "centre", "lower")})
    return parts == ({part} if part else set()) and (not garments or garment in garments)


def _says(text: str, words: Mapping[Any, str]) -> set[str]:
    """Which of some meanings a text holds a word for."""
    plain = unicodedata.normalize("NFKD", text.casefold())
    plain = "".join(letter for letter in plain if not unicodedata.combining(letter))
    return {name for name, forms in words.items() if re.search(rf"(?<![a-z])(?:{forms})s?(?![a-z])", plain)}
