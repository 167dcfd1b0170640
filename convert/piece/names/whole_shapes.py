"""How the edges of whole pieces usually run; the figures only rank guesses (common practice)."""

from convert.piece.names.edge_shapes import EdgeShape, KindShape
from convert.piece.piece import EdgeName


def bodice(centre: EdgeName, *, back: bool) -> KindShape:
    """A half bodice."""
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
    )


def dress(centre: EdgeName, *, back: bool) -> KindShape:
    """A half dress, bodice and skirt in one."""
    share = {"hem": 0.13, "side seam": 0.33, "armhole": 0.09, "shoulder": 0.052, "neckline": 0.045}
    like = bodice(centre, back=back).edges[2:5]
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
    )


def skirt(centre: EdgeName) -> KindShape:
    """A half skirt."""
    return KindShape(
        edges=(
            EdgeShape(name="hem", share=0.165, heading_deg=1, bow=0.004),
            EdgeShape(name="side seam", share=0.35, heading_deg=96, bow=0.016, bow_sd=0.02),
            EdgeShape(name="waist", share=0.13, heading_deg=-177, bow=-0.007),
            EdgeShape(name=centre, share=0.345, heading_deg=-90, heading_sd_deg=4, bow_sd=0.006),
        ),
        anchor=centre,
    )


def trousers(*, back: bool) -> tuple[KindShape, ...]:
    """One leg of trousers, long or short; the crotch lies where other pieces have their centre."""
    crotch, bow = (-118.0, -0.14) if back else (-105.0, -0.10)
    return tuple(
        KindShape(
            edges=(
                EdgeShape(name="hem", share=hem, heading_deg=0, share_sd=0.5),
                EdgeShape(name="side seam", share=side, heading_deg=86 if back else 88, bow_sd=0.025, share_sd=wide),
                EdgeShape(name="waist", share=waist, heading_deg=175 if back else -177, share_sd=0.5),
                EdgeShape(
                    name="crotch seam",
                    share=waist * (1.7 if back else 1.35),
                    heading_deg=crotch,
                    heading_sd_deg=6.0,
                    bow=bow,
                    bow_sd=0.04,
                    share_sd=0.3,
                ),
                EdgeShape(
                    name="inseam",
                    share=inner,
                    heading_deg=inner_way - (3 if back else 0),
                    heading_sd_deg=14,
                    bow=-0.03 if back else -0.015,
                    bow_sd=0.03,
                    share_sd=wide,
                ),
            ),
            anchor="side seam",
            anchor_sd_deg=5.0,
        )
        for hem, side, waist, inner, inner_way, wide in (
            (0.075, 0.41, 0.085, 0.30, -84.0, 0.25),
            (0.20, 0.32, 0.15, 0.10, -75.0, 0.6),
        )
    )


SLEEVE = KindShape(
    edges=(
        EdgeShape(name="wrist", share=0.19, heading_deg=0),
        EdgeShape(name="underarm seam front", share=0.23, heading_deg=82),
        EdgeShape(name="cap", share=0.35, heading_deg=180, heading_sd_deg=6, bow=0.19, bow_sd=0.06),
        EdgeShape(name="underarm seam back", share=0.23, heading_deg=-82),
    ),
    anchor="cap",
    anchor_sd_deg=6.0,
)
