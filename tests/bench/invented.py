"""Invented pieces of paper with everything on them known: what is cut, printed, punched, torn, and where.

All in the mat's mm, y up. Nothing is a real pattern; a seed gives the same paper again.
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
from shapely.geometry import Polygon

from calibration.ground.points import Points, closed, lengths_along, resample
from convert.piece.allowance.offset import add_allowance
from convert.piece.piece import Piece, PieceKind
from tests.convert.piece.shapes import draw

Rgb = tuple[float, float, float]
Family = Literal["printed", "plain", "punched", "drawn", "uncut", "nested", "torn", "two"]
FAMILIES: tuple[tuple[Family, float], ...] = (
    ("printed", 0.34),
    ("plain", 0.12),
    ("punched", 0.15),
    ("drawn", 0.15),
    ("uncut", 0.08),
    ("nested", 0.06),
    ("torn", 0.05),
    ("two", 0.05),
)
NEST_STYLES: tuple[tuple[float, ...], ...] = ((3.2, 2.0), (), (7.0, 1.8, 0.9, 1.8), (10.0, 3.0), (0.3, 1.8))
_KINDS: tuple[PieceKind, ...] = (
    "bodice front",
    "bodice back",
    "sleeve",
    "skirt front",
    "skirt back",
    "dress front",
    "dress back",
)


@dataclass(frozen=True, kw_only=True)
class Stroke:
    """A line printed or drawn; ``pattern`` is dash, gap, dash, gap ... in mm."""

    points: Points
    width_mm: float = 0.6
    pattern: tuple[float, ...] = ()


@dataclass(frozen=True, kw_only=True)
class TrueDart:
    """A dart's leg ends on the seam line (2, 2), its point (2,), and whether anything but its peak shows it."""

    legs: Points
    apex: Points
    visible: bool


@dataclass(frozen=True, kw_only=True)
class Material:
    """What the paper is: its colour, how much of the mat it hides, how it lies."""

    name: str
    rgb: Rgb
    opacity: float = 1.0
    texture: float = 0.012
    crumple: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Invented:
    """One piece of paper: what it looks like, and the truth.

    ``cut`` is the cut line without notches; ``paper`` the ring where the paper really ends; ``cuts`` and ``tabs`` what
    is cut out of it and stands out of it, ``holes`` what is punched (place, diameter). ``damage`` are places (centre,
    radius) where the truth is gone. ``allowances`` hold for each edge its width and its seam points, where a stitching
    line is printed; ``told`` the same as an instruction sheet would say it.
    """

    kind: PieceKind
    family: Family
    material: Material
    cut: Points
    paper: Points
    cuts: tuple[Points, ...] = ()
    tabs: tuple[Points, ...] = ()
    holes: tuple[tuple[Points, float], ...] = ()
    strokes: tuple[Stroke, ...] = ()
    fills: tuple[Points, ...] = ()
    rim_mm: float = 0.0
    dots_mm: float = 0.0
    ink: Rgb = (52.0, 48.0, 50.0)
    tape: tuple[Points, ...] = ()
    notches: Points = field(default_factory=lambda: np.zeros((0, 2)))
    darts: tuple[TrueDart, ...] = ()
    grain: Points | None = None
    allowances: dict[str, tuple[float, Points]] = field(default_factory=dict)
    told: dict[str, float] = field(default_factory=dict)
    fold: str = "none"
    size: int | None = None
    damage: tuple[tuple[Points, float], ...] = ()


def family_of(seed: int) -> Family:
    """The family that a seed belongs to, in the shares given."""
    at, total = np.random.default_rng([seed, 1]).random(), 0.0
    for name, share in FAMILIES:
        total += share
        if at < total:
            return name
    return "printed"


def material_of(family: Family, rng: np.random.Generator) -> Material:
    """A paper that such a piece could be made of."""
    tan = Material(name="tan tissue", rgb=(224, 194, 146), opacity=float(rng.uniform(0.66, 0.82)), texture=0.02)
    white = Material(name="white tissue", rgb=(240, 238, 230), opacity=float(rng.uniform(0.8, 0.92)))
    kraft = Material(name="kraft", rgb=(180, 140, 98), texture=0.02)
    card = Material(name="card", rgb=(214, 202, 178), texture=0.01)
    drafting = Material(name="drafting paper", rgb=(243, 243, 239), texture=0.01)
    choice = {
        "plain": (card, kraft, drafting),
        "punched": (tan, tan, white),
        "drawn": (drafting, kraft, card),
        "torn": (tan, white),
    }.get(family, (tan, white))
    one = choice[rng.integers(len(choice))]
    return replace(one, crumple=1.0) if rng.random() < 0.12 and one.opacity < 1 else one


def invent(seed: int, attempt: int = 0) -> tuple[Invented, ...]:
    """The paper of a seed, one or two pieces, in their own frames (not yet laid on a mat)."""
    rng = np.random.default_rng([seed, 2, attempt] if attempt else [seed, 2])
    family = family_of(seed)
    if family == "two":
        material = material_of(family, rng)
        kinds: tuple[PieceKind, ...] = ("bodice front", "bodice back")
        return tuple(
            _one(kind, "two", material, np.random.default_rng([seed, 3, k, attempt])) for k, kind in enumerate(kinds)
        )
    kind = _KINDS[rng.integers(5 if family in ("nested", "uncut") else 7)]
    return (_one(kind, family, material_of(family, rng), rng),)


def _one(kind: PieceKind, family: Family, material: Material, rng: np.random.Generator) -> Invented:
    centre = "fold" if family == "nested" or rng.random() < 0.6 else "seam"
    piece = draw(kind, rng, centre=centre, darts=True).piece
    cut = add_allowance(piece)
    bare = Invented(
        kind=kind,
        family=family,
        material=material,
        cut=cut,
        paper=cut,
        told={edge.name: edge.allowance.mm for edge in piece.edges if not edge.on_fold},
        fold=next((edge.name for edge in piece.edges if edge.on_fold), "none"),
        ink=((52, 48, 50), (60, 60, 96), (150, 44, 50))[rng.integers(3)],
    )
    how: dict[str, Callable[[Invented, Piece, np.random.Generator], Invented]] = {
        "plain": _plain,
        "punched": _punched,
        "drawn": _drawn,
        "uncut": _uncut,
        "nested": _nested,
    }
    made = how.get(family, _printed)(bare, piece, rng)
    return _torn(made, rng) if family == "torn" else made


# ---------------------------------------------------------------- families


def _plain(bare: Invented, piece: Piece, rng: np.random.Generator) -> Invented:
    return _with_darts(_notched(bare, piece, rng, ("v", "v", "slit")), piece, visible=False)


def _printed(bare: Invented, piece: Piece, rng: np.random.Generator) -> Invented:
    made = _notched(replace(bare, rim_mm=float(rng.choice([0.0, 0.35, 0.6]))), piece, rng, ("v", "v", "slit", "out"))
    made = _with_darts(made, piece, visible=True)
    solid = rng.random() < 0.3
    legs = [
        Stroke(points=np.array([leg, dart.apexes[0]]), pattern=() if solid else (4.0, 2.0))
        for dart in piece.darts
        for leg in dart.legs
    ]
    return _grained(_stitched(replace(made, strokes=tuple(legs)), piece), piece, rng)


def _drawn(bare: Invented, piece: Piece, rng: np.random.Generator) -> Invented:
    made = _with_darts(_notched(bare, piece, rng, ("v", "slit", "mark")), piece, visible=True)
    legs = tuple(Stroke(points=np.array([leg, d.apexes[0]]), width_mm=0.5) for d in piece.darts for leg in d.legs)
    made = replace(
        made, strokes=(*made.strokes, *legs), dots_mm=25.0 if bare.material.name == "drafting paper" else 0.0
    )
    return _grained(made, piece, rng)


def _punched(bare: Invented, piece: Piece, rng: np.random.Generator) -> Invented:
    made = _with_darts(_notched(bare, piece, rng, ("v", "out")), piece, visible=True)
    small, large = float(rng.uniform(3.6, 4.8)), float(rng.uniform(6.2, 7.5))
    holes: list[tuple[Points, float]] = []
    for dart in piece.darts:
        middles = (dart.legs + dart.apexes[0]) / 2
        holes += [(at, small) for at in (*dart.legs, *middles, dart.apexes[0])]
    grain = _grain_ends(piece)
    centre = next((edge for edge in piece.edges if edge.on_fold), None)
    if centre is not None:
        along = lengths_along(centre.points)
        for share in (0.3, 0.5, 0.7):
            at = np.array([np.interp(share * along[-1], along, centre.points[:, k]) for k in (0, 1)])
            holes.append((at + [12.0, 0.0], large))
    inner = Polygon(piece.seam_line).buffer(-8.0)
    rows = [grain[0] + share * (grain[1] - grain[0]) for share in (0.0, 0.5, 1.0)]
    free = all(min((float(np.hypot(*(at - h))) for h, _ in holes), default=99.0) > 14.0 for at in rows)
    if free and all(inner.contains(Polygon([at, at + [0.1, 0], at + [0, 0.1]])) for at in rows):
        holes += [(at, large) for at in rows]
        made = replace(made, grain=grain)
    return replace(made, holes=tuple(holes))


def _uncut(bare: Invented, piece: Piece, rng: np.random.Generator) -> Invented:
    made = _printed(replace(bare, rim_mm=0.0), piece, np.random.default_rng(rng.integers(1 << 31)))
    made = replace(made, cuts=(), tabs=(), rim_mm=0.0, paper=_hand_cut(bare.cut, rng))
    made = _notched(made, piece, rng, ("print",))
    return replace(made, strokes=(*made.strokes, Stroke(points=closed(bare.cut), width_mm=0.7)))


def _nested(bare: Invented, piece: Piece, rng: np.random.Generator) -> Invented:
    count, own = int(rng.integers(3, 6)), int(rng.integers(0, 3))
    styles = [NEST_STYLES[k] for k in rng.permutation(len(NEST_STYLES))[:count]]
    grade = float(rng.uniform(0.022, 0.035))
    made = _with_darts(_notched(bare, piece, rng, ("print",)), piece, visible=True)
    strokes: list[Stroke] = []
    still = np.array([0.0, bare.cut[:, 1].min() + 0.4 * np.ptp(bare.cut[:, 1])])  # on the fold, which all sizes share
    # sizes that grew from the waist would lie on one another there, where nobody could tell them apart
    fills = list(made.fills)
    for k, style in enumerate(styles):
        factor = 1.0 + grade * (k - own)
        strokes.append(Stroke(points=closed(still + (bare.cut - still) * factor), width_mm=0.55, pattern=style))
        for dart in piece.darts:
            strokes += [
                Stroke(points=still + (np.array([leg, dart.apexes[0]]) - still) * factor, width_mm=0.55, pattern=style)
                for leg in dart.legs
            ]
        fills += [still + (ring - still) * factor for ring in made.fills if k != own]
    outer = still + (bare.cut - still) * (1.0 + grade * (count - 1 - own))
    made = replace(made, strokes=tuple(strokes), fills=tuple(fills), paper=_hand_cut(outer, rng), size=own + 1)
    return _grained(made, piece, rng)


def _torn(made: Invented, rng: np.random.Generator) -> Invented:
    """A corner gone, and a tear under a strip of tape."""
    ring = resample(closed(made.cut), 1.0)[:-1]
    at = int(rng.integers(len(ring)))
    corner = ring[np.argmax((ring - ring.mean(0)) @ (ring[at] - ring.mean(0)))]
    size = float(rng.uniform(14, 26))
    around = np.linspace(0, 2 * np.pi, 40, endpoint=False)
    blob = corner + size * (1 + 0.15 * np.sin(3 * around + at))[:, None] * np.column_stack(
        [np.cos(around), np.sin(around)]
    )
    far = int(np.argmax(np.hypot(*(ring - corner).T)))
    place = ring[(far + 40) % len(ring)]
    way = ring[(far + 44) % len(ring)] - ring[(far + 36) % len(ring)]
    way = way / np.hypot(*way)
    inward = np.array([-way[1], way[0]])
    tear = np.array([place - 2.0 * way - 1.0 * inward, place + 2.0 * way - inward, place + 24.0 * inward])
    centre = place + 14.0 * inward
    tape = np.array([centre + a * 22.0 * way + b * 8.0 * inward for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))])
    return replace(
        made,
        cuts=(*made.cuts, blob, tear),
        tape=(tape,),
        damage=((corner, 1.3 * size), (place, 10.0)),
    )


# ---------------------------------------------------------------- marks


def _with_darts(made: Invented, piece: Piece, *, visible: bool) -> Invented:
    darts = tuple(TrueDart(legs=d.legs, apex=d.apexes[0], visible=visible) for d in piece.darts)
    return replace(made, darts=darts)


def _grain_ends(piece: Piece) -> Points:
    seam = piece.seam_line
    middle, tall = Polygon(seam).representative_point(), float(np.ptp(seam[:, 1]))
    at = np.array([middle.x, middle.y])
    return np.array([at - [0, 0.16 * tall], at + [0, 0.16 * tall]])


def _grained(made: Invented, piece: Piece, rng: np.random.Generator) -> Invented:
    """A grain arrow where no dart lies, and a fold bracket on printed paper."""
    grain = _grain_ends(piece) + [float(rng.uniform(-12, 12)), 0.0]
    legs = [np.linspace(leg, d.apex, 60) for d in made.darts for leg in d.legs if d.visible]
    arrow = resample(grain, 2.0)
    clear = all(np.hypot(*(arrow[:, None] - leg[None]).transpose(2, 0, 1)).min() > 8.0 for leg in legs)
    if not clear or not Polygon(piece.seam_line).buffer(-8.0).contains(Polygon([*grain, grain[0] + [0.5, 0.0]])):
        return made
    way = (grain[1] - grain[0]) / np.hypot(*(grain[1] - grain[0]))
    across = np.array([-way[1], way[0]])
    heads = tuple(
        np.array([tip, tip + 7 * back + 2.3 * across, tip + 7 * back - 2.3 * across])
        for tip, back in ((grain[0], way), (grain[1], -way))
    )
    shaft = Stroke(points=np.array([grain[0] + 4 * way, grain[1] - 4 * way]), width_mm=0.7)
    return replace(made, grain=grain, strokes=(*made.strokes, shaft), fills=(*made.fills, *heads))


def _stitched(made: Invented, piece: Piece) -> Invented:
    """The stitching line, dashed, of every edge that is sewn."""
    strokes, widths = [], {}
    for edge in piece.edges:
        if edge.allowance.mm > 3:
            strokes.append(Stroke(points=edge.points, width_mm=0.5, pattern=(4.0, 2.2)))
            widths[edge.name] = (edge.allowance.mm, edge.points)
    return replace(made, strokes=(*made.strokes, *strokes), allowances=widths)


def _notched(made: Invented, piece: Piece, rng: np.random.Generator, styles: tuple[str, ...]) -> Invented:
    """Notches on armhole, cap and side seam, single and double, all cut or printed in one way."""
    style = styles[rng.integers(len(styles))]
    ring = resample(closed(made.cut), 0.1)[:-1]
    places = []
    for edge in piece.edges:
        along = lengths_along(edge.points)
        twice = 14.0 / along[-1]
        shares = {
            "armhole": [0.35] if piece.kind.endswith("front") else [0.35, 0.35 + twice],
            "cap": [0.27, 0.5, 0.71, 0.71 + twice],
            "side seam": [0.45] if rng.random() < 0.7 else [],
            "underarm seam front": [0.5],
            "underarm seam back": [0.5],
        }.get(edge.name, [])
        for share in shares:
            k = int(np.argmin(np.abs(along - share * along[-1])))
            way = edge.points[min(k + 1, len(along) - 1)] - edge.points[k - 1]
            way = way / np.hypot(*way)
            at = edge.points[k] + edge.allowance.mm * np.array([way[1], -way[0]])
            if all(np.hypot(*(edge.points[k] - leg)) > 20.0 for dart in piece.darts for leg in dart.legs):
                places.append(int(np.argmin(np.hypot(*(ring - at).T))))
    shapes = [_notch_shape(ring, k, style, rng) for k in places]
    at = ring[places] if places else np.zeros((0, 2))
    if style in ("v", "slit"):
        return replace(made, notches=at, cuts=(*made.cuts, *shapes))
    if style == "out":
        return replace(made, notches=at, tabs=(*made.tabs, *shapes))
    return replace(made, notches=at, fills=(*made.fills, *shapes))


def _notch_shape(ring: Points, k: int, style: str, rng: np.random.Generator) -> Points:
    """A triangle or a slit at a place of a fine ring."""
    deep, wide = {
        "v": (float(rng.uniform(4, 6)), float(rng.uniform(4.5, 7))),
        "slit": (float(rng.uniform(5, 7)), float(rng.uniform(0.9, 1.3))),
        "out": (-6.0, 9.0),
        "print": (4.5, 5.0),
        "mark": (5.0, 5.0),
    }[style]
    half = round(wide / 2 / 0.1)
    a, b = ring[(k - half) % len(ring)], ring[(k + half) % len(ring)]
    inward = np.array([-(b - a)[1], (b - a)[0]]) / np.hypot(*(b - a))
    over = 0.0 if style in ("print", "mark") else -0.6 * np.sign(deep)
    if style == "slit":
        return np.array([a + over * inward, b + over * inward, b + deep * inward, a + deep * inward])
    return np.array([a + over * inward, b + over * inward, (a + b) / 2 + deep * inward])


def _hand_cut(cut: Points, rng: np.random.Generator) -> Points:
    """Paper cut roughly, 15 to 40 mm outside a line."""
    ring = np.asarray(Polygon(cut).buffer(float(rng.uniform(18, 30)), join_style="mitre").simplify(6.0).exterior.coords)
    return resample(ring, 60.0)[:-1] + rng.normal(0, 2.0, (len(resample(ring, 60.0)) - 1, 2))
