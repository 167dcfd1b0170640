"""How edges usually run: what a guess at an outline's names is ranked by."""

from dataclasses import dataclass

from convert.piece.piece import CENTRES, EdgeName

SHARE_SD = 0.4
"""Of the natural logarithm of an edge's share of the outline, where nothing else is said (common practice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeShape:
    """How an edge usually runs on an upright piece whose centre lies to the left, counter-clockwise.

    ``share`` of the whole outline's length; ``heading_deg`` of the chord from its first to its last corner;
    ``bow`` is the area between chord and edge over the chord squared, positive outward.
    """

    name: EdgeName
    share: float
    heading_deg: float
    heading_sd_deg: float = 12.0
    bow: float = 0.0
    bow_sd: float = 0.02
    share_sd: float = SHARE_SD


@dataclass(frozen=True, slots=True, kw_only=True)
class KindShape:
    """The edges of a kind, counter-clockwise from its lower edge; ``anchor`` is the edge that says which way is up.

    ``anchor_sd_deg`` is how far the anchor may turn from its usual direction against the grain.
    """

    edges: tuple[EdgeShape, ...]
    anchor: EdgeName
    anchor_sd_deg: float = 3.0

    @property
    def names(self) -> tuple[EdgeName, ...]:
        """Names of the edges in order."""
        return tuple(edge.name for edge in self.edges)

    @property
    def centre(self) -> EdgeName | None:
        """The edge on the body's middle line, if it has one."""
        return next((name for name in self.names if name in CENTRES), None)

    @property
    def seam_from(self) -> EdgeName | None:
        """The edge on which a panel seam begins at its upper end; None without a panel seam."""
        if "panel seam" not in self.names:
            return None
        k = self.names.index("panel seam")
        beside = (self.names[(k + 1) % len(self.names)], self.names[k - 1])
        return next(name for name in beside if name != self.names[0])

    @property
    def upright(self) -> EdgeShape:
        """The anchor edge's shape."""
        return next(edge for edge in self.edges if edge.name == self.anchor)
