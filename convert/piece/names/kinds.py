"""What each kind of piece looks like: its edges in order, and how each one usually runs.

The figures describe ordinary half pieces (common practice) and only rank guesses; they are wide on purpose.
"""

from dataclasses import dataclass

from convert.piece.piece import EdgeName, PieceKind


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


@dataclass(frozen=True, slots=True, kw_only=True)
class KindShape:
    """The edges of a kind, counter-clockwise from its lower edge; ``anchor`` is the edge that says which way is up."""

    edges: tuple[EdgeShape, ...]
    anchor: EdgeName
    centre: EdgeName | None

    @property
    def names(self) -> tuple[EdgeName, ...]:
        """Names of the edges in order."""
        return tuple(edge.name for edge in self.edges)


def _bodice(centre: EdgeName, *, back: bool) -> KindShape:
    return KindShape(
        edges=(
            EdgeShape(name="waist", share=0.18, heading_deg=1, bow=0.004),
            EdgeShape(name="side seam", share=0.165, heading_deg=86, bow=0.0),
            EdgeShape(name="armhole", share=0.16, heading_deg=103 if back else 110, bow=-0.21, bow_sd=0.06),
            EdgeShape(name="shoulder", share=0.115, heading_deg=160, heading_sd_deg=10),
            EdgeShape(
                name="neckline",
                share=0.07 if back else 0.09,
                heading_deg=-162 if back else -128,
                heading_sd_deg=14 if back else 20,
                bow=-0.09 if back else -0.15,
                bow_sd=0.06,
            ),
            EdgeShape(name=centre, share=0.31 if back else 0.27, heading_deg=-90, heading_sd_deg=4, bow_sd=0.006),
        ),
        anchor=centre,
        centre=centre,
    )


def _dress(centre: EdgeName, *, back: bool) -> KindShape:
    share = {"hem": 0.13, "side seam": 0.33, "armhole": 0.09, "shoulder": 0.052, "neckline": 0.045}
    like = _bodice(centre, back=back).edges[2:5]
    return KindShape(
        edges=(
            EdgeShape(name="hem", share=share["hem"], heading_deg=2),
            EdgeShape(name="side seam", share=share["side seam"], heading_deg=92, bow=-0.01, bow_sd=0.04),
            *(
                EdgeShape(
                    name=edge.name,
                    share=share[edge.name],
                    heading_deg=edge.heading_deg,
                    heading_sd_deg=edge.heading_sd_deg,
                    bow=edge.bow,
                    bow_sd=edge.bow_sd,
                )
                for edge in like
            ),
            EdgeShape(name=centre, share=0.36, heading_deg=-90, heading_sd_deg=4, bow_sd=0.01),
        ),
        anchor=centre,
        centre=centre,
    )


def _skirt(centre: EdgeName) -> KindShape:
    return KindShape(
        edges=(
            EdgeShape(name="hem", share=0.165, heading_deg=1, bow=0.004),
            EdgeShape(name="side seam", share=0.35, heading_deg=96, bow=0.016, bow_sd=0.02),
            EdgeShape(name="waist", share=0.13, heading_deg=-177, bow=-0.007),
            EdgeShape(name=centre, share=0.345, heading_deg=-90, heading_sd_deg=4, bow_sd=0.006),
        ),
        anchor=centre,
        centre=centre,
    )


_SLEEVE = KindShape(
    edges=(
        EdgeShape(name="wrist", share=0.19, heading_deg=0),
        EdgeShape(name="underarm seam front", share=0.23, heading_deg=82),
        EdgeShape(name="cap", share=0.35, heading_deg=180, heading_sd_deg=6, bow=0.19, bow_sd=0.06),
        EdgeShape(name="underarm seam back", share=0.23, heading_deg=-82),
    ),
    anchor="cap",
    centre=None,
)

KINDS: dict[PieceKind, KindShape] = {
    "bodice front": _bodice("centre front", back=False),
    "bodice back": _bodice("centre back", back=True),
    "sleeve": _SLEEVE,
    "skirt front": _skirt("centre front"),
    "skirt back": _skirt("centre back"),
    "dress front": _dress("centre front", back=False),
    "dress back": _dress("centre back", back=True),
}

DART_EDGES: dict[str, tuple[EdgeName, ...]] = {
    "bodice front": ("waist", "side seam", "shoulder", "neckline", "armhole"),
    "bodice back": ("waist", "shoulder", "neckline", "side seam", "armhole"),
    "dress front": ("side seam", "shoulder", "neckline", "armhole"),
    "dress back": ("shoulder", "neckline", "side seam", "armhole"),
    "skirt front": ("waist",),
    "skirt back": ("waist",),
    "sleeve": ("underarm seam back", "underarm seam front", "cap", "wrist"),
}
"""Edges that darts open on, the likeliest first (trade usage)."""
