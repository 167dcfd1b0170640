"""What each body measurement means: its definition in our own words, where it sits, its limits, what needs it.

The names follow ISO 8559-1:2017 (in lower case, as the trade says them); the data lie in ``definitions.toml``.
"""

import difflib
import tomllib
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Literal

from calibration.ground.errors import InputError

Kind = Literal["girth", "length", "breadth", "height", "wish"]
Part = Literal["bodice", "sleeve", "skirt", "dress", "trousers"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Definition:
    """One body measurement: ``how`` to take it, ``where`` it sits, limits of any grown body, parts that need it."""

    name: str
    kind: Kind
    where: str
    how: str
    low_mm: float
    high_mm: float
    parts: tuple[Part, ...]
    aliases: tuple[str, ...]
    source: str


@cache
def definitions() -> Mapping[str, Definition]:
    """Every measurement that a card may hold, by name, in the order a card lists them."""
    data = tomllib.loads(files("convert.body").joinpath("definitions.toml").read_text(encoding="utf-8"))
    return MappingProxyType(
        {
            name: Definition(
                name=name,
                kind=entry["kind"],
                where=entry["where"],
                how=entry["how"],
                low_mm=10.0 * entry["low"],
                high_mm=10.0 * entry["high"],
                parts=tuple(entry["parts"]),
                aliases=tuple(entry["aliases"]),
                source=entry["source"],
            )
            for name, entry in data.items()
        }
    )


def plain(text: str) -> str:
    """Text as names are compared: lower case, single spaces, no underscores or hyphens."""
    return " ".join(text.lower().replace("_", " ").replace("-", " ").split())


def closest(text: str, known: Collection[str], *, at_least: float = 0.6) -> str | None:
    """The known name that ``text`` was most likely meant to be, or None if nothing comes near."""
    wanted = plain(text)
    for one in known:
        if sorted(one) == sorted(wanted):  # letters swapped, the commonest slip
            return one
    found = difflib.get_close_matches(wanted, list(known), n=1, cutoff=at_least)
    return found[0] if found else None


@cache
def _names() -> Mapping[str, str]:
    """Every spelling that is understood, and the measurement it means."""
    return {plain(spelling): one.name for one in definitions().values() for spelling in (one.name, *one.aliases)}


def measurement_name(text: str) -> str:
    """The measurement that a maker's spelling means.

    Raises
    ------
    InputError
        If it is none, with the name that was most likely meant.

    Examples
    --------
    >>> measurement_name("Nape to waist")
    'back waist length'
    """
    wanted = plain(text)
    if wanted in _names():
        return _names()[wanted]
    if wanted == "chest":
        raise InputError(
            "“chest” can mean two measurements.",
            "Write bust for the fullest part, or high bust for the part above the breasts.",
        )
    near = closest(text, _names())
    if near is None:
        raise InputError(f"unknown measurement “{text}”.", f"Measurements that are known: {', '.join(definitions())}.")
    name = _names()[near]
    raise InputError(f"unknown measurement “{text}”: did you mean {name}?", f"Write {name} in its place.")


_OF_GARMENTS: Mapping[str, str] = MappingProxyType(
    {"skirt waist": "waist", "trousers waist": "waist", "trousers hip": "hip"}
)


def body_name(level: str) -> str:
    """The body measurement that a garment's level is cut to.

    Examples
    --------
    >>> body_name("trousers waist"), body_name("hip")
    ('waist', 'hip')
    """
    return _OF_GARMENTS.get(level, level)


def needed_for(parts: Iterable[str]) -> tuple[str, ...]:
    """Names of the measurements that these parts of a block need, in the card's order.

    Examples
    --------
    >>> needed_for(["sleeve"])
    ('arm length', 'upper arm', 'elbow', 'wrist', 'height')
    """
    wanted = set(parts)
    return tuple(one.name for one in definitions().values() if wanted & set(one.parts))
