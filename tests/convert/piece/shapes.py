"""Invented pattern pieces with known seam lines, laid down any way round as a tracing would see them."""

import itertools
from dataclasses import dataclass, field

import numpy as np

from calibration.ground.points import Points, closed, lengths_along, resample
from convert.piece.allowance.offset import add_allowance
from convert.piece.outline.path import Cubic
from convert.piece.piece import Allowance, Dart, Edge, EdgeName, Piece, PieceKind
from convert.trace.tracing import TracedLine, TracedMark, Tracing
from tests.convert.block import trousers_draft


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Drawn:
    """A piece as drafted and how it lies: ``laid`` takes its own frame (N, 2) to the mat."""

    piece: Piece
    tracing: Tracing
    turn_deg: float
    flipped: bool
    shift: Points = field(default_factory=lambda: np.array([310.0, 270.0]))

    def laid(self, points: Points) -> Points:
        """The piece's own frame to the mat."""
        return laid(points, self.turn_deg, self.flipped, self.shift)


def laid(points: Points, turn_deg: float, flipped: bool, shift: Points) -> Points:
    """Flipped (x to -x), turned, shifted."""
    a = np.radians(turn_deg)
    turn = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
    return np.asarray(points, float) * ([-1, 1] if flipped else [1, 1]) @ turn.T + shift


def curve(start: tuple[float, float], out: Points, inn: Points, end: tuple[float, float]) -> Points:
    """A cubic by its ends and handles."""
    nodes = np.array([start, np.add(start, out), np.add(end, inn), end])
    return resample(Cubic(nodes=nodes).at(np.linspace(0, 1, 400)), 0.4)


def straight(*points: tuple[float, float]) -> Points:
    """A polyline as dense points."""
    parts = [resample(np.array([a, b], float), 0.5) for a, b in itertools.pairwise(points)]
    return np.vstack([parts[0], *(part[1:] for part in parts[1:])])


def with_dart(line: Points, along: float, intake: float, deep: float) -> tuple[Points, Dart]:
    """An edge (left of it is inside) with the ends of a dart's legs as points and a straight mouth."""
    s = lengths_along(line)
    ends = [np.array([np.interp(t, s, line[:, k]) for k in (0, 1)]) for t in (along - intake / 2, along + intake / 2)]
    way = (ends[1] - ends[0]) / np.hypot(*(ends[1] - ends[0]))
    apex = (ends[0] + ends[1]) / 2 + deep * np.array([-way[1], way[0]])
    before, after = line[s < along - intake / 2 - 1e-6], line[s > along + intake / 2 + 1e-6]
    mouth = resample(np.array(ends), 0.5)
    return np.vstack([before, mouth, after]), Dart(on=None, apexes=apex, legs=np.array(ends), evidence="told")


Drafted = list[tuple[EdgeName, Points]]


def draft_bodice(rng: np.random.Generator, *, back: bool) -> Drafted:
    """A bodice half with its centre at x = 0, waist at y = 0."""
    k = rng.uniform(0.8, 1.35)
    waist, bust = k * rng.uniform(200, 240), k * rng.uniform(225, 260)
    under = k * rng.uniform(165, 215) if back else k * rng.uniform(170, 225)
    neck, high = k * rng.uniform(62, 82), k * rng.uniform(400, 440)
    across, drop = k * rng.uniform(165, 200), k * rng.uniform(30, 55)
    low = high - k * (rng.uniform(12, 26) if back else rng.uniform(65, 95))
    rise = float(rng.uniform(0, 9))
    snp, sp, up = (neck, high), (neck + across * 0.66, high - drop), (bust, under)
    wide = bust - sp[0]
    armhole = curve(
        up, np.array([-0.85 * max(wide, 40.0) - 8, 4]), np.array([-0.12 * across, -0.5 * (sp[1] - under)]), sp
    )
    centre: EdgeName = "centre back" if back else "centre front"
    return [
        ("waist", straight((0, 0), (waist, rise))),
        ("side seam", straight((waist, rise), up)),
        ("armhole", armhole),
        ("shoulder", straight(sp, snp)),
        ("neckline", curve(snp, np.array([-4, -0.55 * (high - low)]), np.array([0.6 * neck, 0]), (0, low))),
        (centre, straight((0, low), (0, 0))),
    ]


def draft_skirt(rng: np.random.Generator, *, back: bool) -> Drafted:
    """A skirt half with its centre at x = 0, waist at y = 0, hem below."""
    k = rng.uniform(0.8, 1.4)
    waist, hip, deep = k * rng.uniform(185, 225), k * rng.uniform(240, 275), k * rng.uniform(180, 215)
    long, flare = rng.uniform(450, 760), rng.uniform(-25, 80)
    rise = rng.uniform(4, 14)
    side = np.vstack(
        [
            straight((hip + flare, -long + 4), (hip, -deep))[:-1],
            curve((hip, -deep), np.array([-0.1 * flare, 0.45 * deep]), np.array([0.25 * (hip - waist), -0.35 * deep]),
                  (waist, rise)),
        ]
    )  # fmt: skip
    centre: EdgeName = "centre back" if back else "centre front"
    return [
        ("hem", straight((0, -long), (hip + flare, -long + 4))),
        ("side seam", side),
        ("waist", curve((waist, rise), np.array([-0.3 * waist, -0.8 * rise]), np.array([0.3 * waist, 0]), (0, 0))),
        (centre, straight((0, 0), (0, -long))),
    ]


def draft_sleeve(rng: np.random.Generator) -> Drafted:
    """A sleeve with its underarm points at y = 0, front to the right."""
    k = rng.uniform(0.8, 1.35)
    half, cap = k * rng.uniform(150, 180), k * rng.uniform(105, 155)
    long = rng.uniform(90, 140) if rng.random() < 0.4 else rng.uniform(330, 470)
    low = half - (rng.uniform(8, 26) if long < 200 else rng.uniform(40, 75))
    hollow = rng.uniform(0.36, 0.5)
    front = curve((half, 0), np.array([-hollow * half, 0]), np.array([0.55 * half, 0]), (0, cap))
    backs = curve((0, cap), np.array([-0.6 * half, 0]), np.array([(hollow - 0.07) * half, 0]), (-half, 0))
    return [
        ("wrist", straight((-low, -long), (low, -long))),
        ("underarm seam front", straight((low, -long), (half, 0))),
        ("cap", np.vstack([front[:-1], backs])),
        ("underarm seam back", straight((-half, 0), (-low, -long))),
    ]


def draft_dress(rng: np.random.Generator, *, back: bool) -> Drafted:
    """A dress half in one piece: a bodice on a skirt."""
    upper = dict(draft_bodice(rng, back=back))
    waist_at, up = upper["side seam"][0], upper["side seam"][-1]
    long, hip = rng.uniform(450, 650), waist_at[0] + rng.uniform(25, 60)
    low = (hip + rng.uniform(10, 70), -long + 3)
    side = np.vstack(
        [
            straight(low, (hip, -200))[:-1],
            curve((hip, -200), np.array([0, 90]), np.array([4, -60]), (waist_at[0], 0))[:-1],
            curve((waist_at[0], 0), np.array([-2, 50]), np.array([0, -50]), tuple(up)),
        ]
    )
    centre: EdgeName = "centre back" if back else "centre front"
    neck = upper["neckline"][-1]
    return [
        ("hem", straight((0, -long), low)),
        ("side seam", side),
        ("armhole", upper["armhole"]),
        ("shoulder", upper["shoulder"]),
        ("neckline", upper["neckline"]),
        (centre, straight(tuple(neck), (0, -long))),
    ]


def draft_trousers(rng: np.random.Generator, *, back: bool) -> Drafted:
    """A leg of trousers with the centre of its waist near x = 0, hem below."""
    k = rng.uniform(0.87, 1.25)
    wanted = trousers_draft.Drafted(
        waist=760.0 * k,
        hip=1010.0 * k,
        rise=280.0 * rng.uniform(0.94, 1.1),
        length=rng.uniform(600.0, 1060.0),
        knee=460.0 * k,
        hem=400.0 * k,
        fork_front=62.0 * k,
        fork_back=118.0 * k,
        darts=0,
    )
    return [(edge.name, resample(edge.points, 0.5)) for edge in trousers_draft.drafted_trousers(wanted)[back].edges]


def draft(kind: PieceKind, rng: np.random.Generator) -> Drafted:
    """Edges of a kind on the seam line, counter-clockwise from the lower one, each beginning where the last ended."""
    what, _, side = kind.partition(" ")
    if what == "sleeve":
        edges = draft_sleeve(rng)
    else:
        drafts = {"bodice": draft_bodice, "skirt": draft_skirt, "dress": draft_dress, "trousers": draft_trousers}
        edges = drafts[what](rng, back=side == "back")
    return [(name, np.vstack([edges[k - 1][1][-1:], points[1:]])) for k, (name, points) in enumerate(edges)]


DARTS: dict[str, tuple[tuple[EdgeName, tuple[float, float], tuple[float, float], tuple[float, float]], ...]] = {
    # edge, where along it (share), intake, depth
    "bodice front": (("waist", (0.38, 0.5), (18, 42), (110, 150)), ("side seam", (0.55, 0.75), (16, 34), (90, 130))),
    "bodice back": (("waist", (0.4, 0.52), (18, 40), (130, 170)), ("shoulder", (0.45, 0.6), (10, 16), (70, 90))),
    "skirt front": (("waist", (0.45, 0.6), (12, 24), (80, 110)),),
    "skirt back": (("waist", (0.28, 0.38), (12, 22), (110, 140)), ("waist", (0.62, 0.72), (12, 22), (100, 130))),
    "dress front": (("side seam", (0.82, 0.88), (16, 30), (90, 120)),),
    "dress back": (("shoulder", (0.45, 0.6), (10, 16), (70, 90)),),
    "trousers front": (("waist", (0.42, 0.55), (12, 22), (80, 105)),),
    "trousers back": (("waist", (0.42, 0.55), (16, 28), (100, 125)),),
    "sleeve": (),
}


def draw(
    kind: PieceKind,
    rng: np.random.Generator,
    *,
    darts: bool = True,
    centre: str = "fold",
    flipped: bool = False,
    noise_mm: float = 0.1,
    corners: bool = True,
    stitching: bool = False,
    printed: bool = True,
) -> Drawn:
    """A random piece of a kind, and the tracing of it lying at a random angle.

    ``centre`` is fold, seam or wrap. ``printed`` gives dart legs and grain, ``stitching`` the stitching line.
    """
    drafted = draft(kind, rng)
    made: list[Dart] = []
    edges: list[Edge] = []
    usual = float(rng.choice([9.525, 12.7, 15.0, 15.875, 19.05]))
    for name, points in drafted:
        mm, on_fold = _width(name, usual, centre, rng)
        for edge, share, intake, deep in DARTS[kind][::-1] if name == "waist" and kind == "skirt back" else DARTS[kind]:
            if darts and edge == name:
                at = rng.uniform(*share) * lengths_along(points)[-1]
                points, dart = with_dart(points, at, rng.uniform(*intake), rng.uniform(*deep))
                made.append(Dart(on=name, apexes=dart.apexes, legs=dart.legs, evidence="told"))
        edges.append(
            Edge(
                name=name,
                points=points,
                cut_points=points,
                allowance=Allowance(mm=mm, evidence="told"),
                on_fold=on_fold,
            )
        )
    order = {id(d): lengths_along_of(edges, d) for d in made}
    piece = Piece(kind=kind, edges=tuple(edges), darts=tuple(sorted(made, key=lambda d: order[id(d)])))
    turn = float(rng.uniform(0, 360))
    shift = np.array([310.0, 270.0])
    return Drawn(
        piece=piece,
        tracing=_traced(piece, turn, flipped, shift, rng, noise_mm, corners, stitching, printed),
        turn_deg=turn,
        flipped=flipped,
        shift=shift,
    )


def lengths_along_of(edges: list[Edge], dart: Dart) -> float:
    """Where along its edge a dart opens."""
    points = next(edge.points for edge in edges if edge.name == dart.on)
    return float(lengths_along(points)[np.argmin(np.hypot(*(points - dart.legs[0]).T))])


def _width(name: str, usual: float, centre: str, rng: np.random.Generator) -> tuple[float, bool]:
    if name.startswith("centre"):
        if centre == "fold":
            return 0.0, True
        return (usual if centre == "seam" else float(rng.uniform(25, 45))), False
    if name in ("hem", "wrist"):
        return float(rng.uniform(15, 50)), False
    if name == "neckline":
        return float(rng.choice([6.35, 10.0, usual])), False
    return usual, False


def _traced(
    piece: Piece,
    turn: float,
    flipped: bool,
    shift: Points,
    rng: np.random.Generator,
    noise_mm: float,
    corners: bool,
    stitching: bool,
    printed: bool,
) -> Tracing:
    cut = add_allowance(piece)
    loop = closed(cut)
    along = lengths_along(loop)
    count = int(along[-1] / 0.5)
    start = rng.uniform(0, along[-1])
    at = np.mod(start + np.arange(count) * along[-1] / count, along[-1])
    ring = np.column_stack([np.interp(at, along, loop[:, k]) for k in (0, 1)])
    wave = 2 * np.pi * np.arange(count) / count
    for _ in range(6):
        turns = rng.integers(2, 40)
        ring = ring + noise_mm / 3 * np.sin(turns * wave + rng.uniform(0, 6.3))[:, None] * rng.normal(size=2)

    def there(points: Points) -> Points:
        return laid(points, turn, flipped, shift)

    lines = []
    if printed:
        tall = np.ptp(cut[:, 1])
        middle = cut.mean(0)
        lines.append(
            TracedLine(kind="grainline", points=there(np.array([middle - [0, tall / 5], middle + [0, tall / 5]])))
        )
        for dart in piece.darts:
            lines += [TracedLine(kind="dart", points=there(np.array([leg, dart.apexes[0]]))) for leg in dart.legs]
    if stitching:
        lines += [
            TracedLine(kind="stitching", points=there(e.points[6:-6]), dashed=True)
            for e in piece.edges
            if e.allowance.mm > 0
        ]
    marks = [TracedMark(kind="notch", at=there(at[None])[0], size_mm=5.0) for at in _notches(piece)]
    true = [int(np.argmin(np.hypot(*(ring - c).T))) for c in _cut_corners(piece, cut)]
    ring = there(ring)
    if flipped:
        ring, true = ring[::-1], [count - 1 - k for k in true]
    return Tracing(
        outline=ring,
        corners=np.array(sorted(true) if corners else [], np.int64),
        inferred=np.zeros(count, bool),
        lines=tuple(lines),
        marks=tuple(marks),
        uncertainty_mm=0.2,
    )


def _cut_corners(piece: Piece, cut: Points) -> list[Points]:
    """Corners of the cut line: the farthest of its points beside each corner of the seam line, by bisector."""
    out = []
    for k, edge in enumerate(piece.edges):
        before = piece.edges[k - 1]
        corner = edge.points[0]
        u = corner - before.points[-8]
        v = edge.points[8] - corner
        u, v = u / np.hypot(*u), v / np.hypot(*v)
        a, b = before.allowance.mm, edge.allowance.mm
        p = corner + a * np.array([u[1], -u[0]])
        q = corner + b * np.array([v[1], -v[0]])
        cross = u[0] * v[1] - u[1] * v[0]
        guess = p + ((q - p)[0] * v[1] - (q - p)[1] * v[0]) / cross * u
        out.append(cut[np.argmin(np.hypot(*(cut - guess).T))])
    return out


def _notches(piece: Piece) -> list[Points]:
    """One notch in front, two at the back, on armhole or cap; one on the side seam."""
    out = []
    for edge in piece.edges:
        s = lengths_along(edge.points)
        shares: list[float] = []
        if edge.name == "armhole":
            shares = [0.35] if piece.kind.endswith("front") else [0.35, 0.40]
        if edge.name == "cap":
            shares = [0.27, 0.5, 0.71, 0.735]
        for share in shares:
            i = int(np.argmin(np.abs(s - share * s[-1])))
            way = edge.points[i + 1] - edge.points[i - 1]
            way = way / np.hypot(*way)
            out.append(edge.points[i] + edge.allowance.mm * np.array([way[1], -way[0]]))
    return out
