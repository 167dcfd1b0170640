"""How the edges of parts usually run: panels, yokes, what hangs from them, two-part sleeves, gores.

A part may be cut in several ways. The figures come from cutting an ordinary block (common practice); they only rank
guesses, and are wider than those of whole pieces because a seam may lie anywhere.
"""

from collections.abc import Mapping

from convert.piece.names.edge_shapes import EdgeShape, KindShape
from convert.piece.piece import EdgeName

_ANYWHERE = 0.55  # standard deviation of the logarithm of a share: a seam may lie where it likes
_ANCHOR_SD_DEG = 10.0  # a panel seam leans against the grain


def _edge(
    name: EdgeName, share: float, heading: float, *, sd: float = 13.0, bow: float = 0.0, bow_sd: float = 0.05
) -> EdgeShape:
    return EdgeShape(
        name=name, share=share, heading_deg=heading, heading_sd_deg=sd, bow=bow, bow_sd=bow_sd, share_sd=_ANYWHERE
    )


def _straight(centre: EdgeName, share: float) -> EdgeShape:
    return EdgeShape(
        name=centre, share=share, heading_deg=-90, heading_sd_deg=4, bow=0.0, bow_sd=0.006, share_sd=_ANYWHERE
    )


def centre_panels(centre: EdgeName, *, back: bool) -> tuple[KindShape, ...]:
    """A bodice's centre panel, its seam running up to the shoulder, the armhole or the neckline."""
    neck = (-162.0, -0.09) if back else (-132.0, -0.15)
    inner_neck = (-175.0, -0.05) if back else (-155.0, -0.08)
    shoulder = _edge("shoulder", 0.06, 159, sd=10, bow_sd=0.02)
    return (
        KindShape(
            edges=(
                _edge("waist", 0.08, 1, bow_sd=0.02),
                _edge("panel seam", 0.40, 83, sd=8),
                shoulder,
                _edge("neckline", 0.08 if back else 0.12, neck[0], sd=18, bow=neck[1], bow_sd=0.06),
                _straight(centre, 0.36),
            ),
            anchor=centre,
        ),
        KindShape(
            edges=(
                _edge("waist", 0.075, 1, bow_sd=0.02),
                _edge("panel seam", 0.28, 71, sd=9, bow=-0.07, bow_sd=0.07),
                _edge("armhole", 0.10, 84, sd=14, bow=-0.03),
                _edge("shoulder", 0.12, 159, sd=10, bow_sd=0.02),
                _edge("neckline", 0.07 if back else 0.115, neck[0], sd=18, bow=neck[1], bow_sd=0.06),
                _straight(centre, 0.35),
            ),
            anchor=centre,
        ),
        KindShape(
            edges=(
                _edge("waist", 0.095, 1, bow_sd=0.02),
                _edge("panel seam", 0.42, 95, sd=9),
                _edge("neckline", 0.075, inner_neck[0], sd=20, bow=inner_neck[1], bow_sd=0.06),
                _straight(centre, 0.41),
            ),
            anchor=centre,
        ),
    )


_LOWER_SIDE = (_edge("waist", 0.125, 3, bow_sd=0.03), _edge("side seam", 0.185, 90, sd=10, bow_sd=0.03))
_ARMHOLE = _edge("armhole", 0.22, 108, sd=12, bow=-0.21, bow_sd=0.07)

SIDES: tuple[KindShape, ...] = (
    KindShape(
        edges=(
            *_LOWER_SIDE,
            _ARMHOLE,
            _edge("shoulder", 0.06, 159, sd=12, bow_sd=0.02),
            _edge("panel seam", 0.40, -93, sd=9, bow=0.04),
        ),
        anchor="panel seam",
        anchor_sd_deg=_ANCHOR_SD_DEG,
    ),
    KindShape(
        edges=(
            _edge("waist", 0.155, 3, bow_sd=0.03),
            _edge("side seam", 0.265, 90, sd=10, bow_sd=0.03),
            _edge("armhole", 0.165, 127, sd=12, bow=-0.15, bow_sd=0.07),
            _edge("panel seam", 0.41, -109, sd=10, bow=0.09, bow_sd=0.06),
        ),
        anchor="panel seam",
        anchor_sd_deg=_ANCHOR_SD_DEG,
    ),
    KindShape(
        edges=(
            *_LOWER_SIDE,
            _ARMHOLE,
            _edge("shoulder", 0.115, 159, sd=12, bow_sd=0.02),
            _edge("neckline", 0.06, -115, sd=20, bow=-0.06),
            _edge("panel seam", 0.33, -87, sd=9, bow=0.04),
        ),
        anchor="panel seam",
        anchor_sd_deg=_ANCHOR_SD_DEG,
    ),
)
"""A bodice's side panel: seam to the shoulder, the armhole, the neckline."""


def _yokes(centre: EdgeName) -> tuple[KindShape, ...]:
    back = centre == "centre back"
    seam = _edge("yoke seam", 0.33, -4 if back else -18, sd=14)
    armhole = _edge("armhole", 0.16, 84 if back else 75, sd=14, bow=-0.03)
    shoulder = _edge("shoulder", 0.30, 159, sd=10, bow_sd=0.02)
    short = _edge("neckline", 0.16, -108, sd=16, bow=-0.08, bow_sd=0.06)
    whole_neck = -162 if back else -130
    to_centre = (
        _edge("yoke seam", 0.30, 0, sd=10),
        _edge("armhole", 0.15, 84, sd=14, bow=-0.04),
        _edge("shoulder", 0.22, 159, sd=10, bow_sd=0.02),
        _edge("neckline", 0.16, whole_neck, sd=18, bow=-0.12, bow_sd=0.06),
        _straight(centre, 0.16),
    )
    ways = (
        KindShape(edges=(seam, armhole, shoulder, short), anchor="shoulder", anchor_sd_deg=_ANCHOR_SD_DEG),
        KindShape(edges=to_centre, anchor=centre),
    )
    return ways[::-1] if back else ways


def _lowers(centre: EdgeName) -> tuple[KindShape, ...]:
    below = (
        _edge("waist", 0.21, 1, bow_sd=0.02),
        _edge("side seam", 0.17, 88, sd=10, bow_sd=0.03),
        _edge("armhole", 0.12, 118, sd=14, bow=-0.12, bow_sd=0.07),
    )
    ways = (
        KindShape(
            edges=(
                *below,
                _edge("yoke seam", 0.14, 160, sd=14),
                _edge("neckline", 0.06, -155, sd=18, bow=-0.06, bow_sd=0.06),
                _straight(centre, 0.30),
            ),
            anchor=centre,
        ),
        KindShape(edges=(*below, _edge("yoke seam", 0.19, 176, sd=12), _straight(centre, 0.30)), anchor=centre),
    )
    return ways[::-1] if centre == "centre back" else ways


YOKES: Mapping[EdgeName, tuple[KindShape, ...]] = {name: _yokes(name) for name in ("centre front", "centre back")}
"""A shoulder yoke: from neckline to armhole, or from the centre to the armhole."""
LOWERS: Mapping[EdgeName, tuple[KindShape, ...]] = {name: _lowers(name) for name in ("centre front", "centre back")}
"""What hangs from a shoulder yoke: up to the neckline, or not."""

SLEEVE_PARTS: tuple[KindShape, KindShape] = (
    KindShape(
        edges=(
            _edge("wrist", 0.10, 0, sd=14, bow_sd=0.03),
            _edge("front seam", 0.33, 85, sd=8),
            _edge("cap", 0.22, 175, sd=10, bow=0.35, bow_sd=0.1),
            _edge("back seam", 0.35, -86, sd=8),
        ),
        anchor="cap",
        anchor_sd_deg=_ANCHOR_SD_DEG,
    ),
    KindShape(
        edges=(
            _edge("wrist", 0.065, 0, sd=16, bow_sd=0.03),
            _edge("back seam", 0.41, 87, sd=8),
            _edge("cap", 0.13, -172, sd=12, bow=-0.2, bow_sd=0.1),
            _edge("front seam", 0.39, -87, sd=8),
        ),
        anchor="back seam",
        anchor_sd_deg=_ANCHOR_SD_DEG,
    ),
)
"""Upper and under sleeve, printed side up: the front seam lies to the right on the upper, to the left on the under."""


def skirt_centre(centre: EdgeName) -> KindShape:
    """A gored skirt's centre panel."""
    return KindShape(
        edges=(
            _edge("hem", 0.105, 1, bow_sd=0.02),
            _edge("panel seam", 0.41, 94, sd=6),
            _edge("waist", 0.075, -178, sd=10, bow_sd=0.02),
            _straight(centre, 0.41),
        ),
        anchor=centre,
    )


SKIRT_SIDE = KindShape(
    edges=(
        _edge("hem", 0.14, 1, bow_sd=0.02),
        _edge("side seam", 0.395, 97, sd=7, bow=0.015, bow_sd=0.025),
        _edge("waist", 0.075, -176, sd=10, bow_sd=0.02),
        _edge("panel seam", 0.39, -92, sd=6),
    ),
    anchor="panel seam",
    anchor_sd_deg=6.0,
)
"""A gored skirt's side panel."""
