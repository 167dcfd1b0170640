"""The maker's measurement card."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

Source = Literal["told", "estimated"]
LengthUnit = Literal["cm", "in"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BodyMeasurement:
    """One body measurement: millimetres, and whether the maker told it or a size chart filled it in.

    An estimate carries ``uncertainty_mm``, the half-width of its 95 % interval, and ``why``: what it comes from.
    """

    mm: float
    source: Source = "told"
    uncertainty_mm: float = 0.0
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Card:
    """A maker's measurements by name (see :mod:`convert.body.definitions`); ``unit`` is the one she reads.

    ``answered`` names the rows of which she said "it is right" when asked; they are not asked about again.
    """

    name: str
    measurements: Mapping[str, BodyMeasurement] = field(default_factory=dict)
    unit: LengthUnit = "cm"
    answered: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "measurements", MappingProxyType(dict(self.measurements)))

    def mm(self, name: str) -> float | None:
        """A measurement in mm, or None if the card has none."""
        found = self.measurements.get(name)
        return None if found is None else found.mm

    def told(self) -> dict[str, float]:
        """What the maker told, in mm by name."""
        return {name: one.mm for name, one in self.measurements.items() if one.source == "told"}
