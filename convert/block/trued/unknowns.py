"""Named unknowns of a drawing, many trials at once, and the rows that say what the drawing shall be."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from convert.block.trued.curve import Real

Trial = Mapping[str, Real]
"""Value (B,) of every unknown."""


@dataclass(slots=True, kw_only=True)
class Unknowns:
    """Unknowns with where they start and how far each may go at the price of one (its scale)."""

    names: list[str] = field(default_factory=list)
    start: list[float] = field(default_factory=list)
    scale: list[float] = field(default_factory=list)

    def add(self, name: str, start: float, scale: float) -> None:
        """One more unknown."""
        self.names.append(name)
        self.start.append(float(start))
        self.scale.append(float(scale))

    def trial(self, values: Real) -> dict[str, Real]:
        """Values (B, N) as a trial."""
        return {name: values[:, i] for i, name in enumerate(self.names)}


@dataclass(slots=True, kw_only=True)
class Rows:
    """Residuals (B,) or (B, K) collected while a trial is looked at; the sum of their squares is made least."""

    blocks: list[Real] = field(default_factory=list)

    def near(self, value: Real, goal: Real | float, per: float) -> None:
        """``value`` shall be ``goal``; a miss of ``per`` costs one."""
        self.blocks.append(np.atleast_2d((value - goal) / per).reshape(len(value), -1))

    def within(self, value: Real, low: float, high: float, per: float) -> None:
        """``value`` shall lie between two ends; a miss of ``per`` costs one."""
        over = np.maximum(value - high, 0.0) - np.maximum(low - value, 0.0)
        self.blocks.append((over / per).reshape(len(value), -1))

    def stacked(self) -> Real:
        """All residuals (B, R)."""
        return np.concatenate(self.blocks, axis=1)
