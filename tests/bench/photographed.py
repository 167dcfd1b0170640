"""Invented paper photographed: on a gridded mat, lifted a little, lit, seen through a lens; the exact truth."""

from dataclasses import dataclass, fields, replace

import cv2
import numpy as np
import numpy.typing as npt
from shapely.affinity import rotate
from shapely.geometry import MultiPolygon, Polygon
from shapely.ops import unary_union

from calibration.ground.points import Points
from calibration.view.view import MatView
from tests.bench.invented import Invented, Stroke, TrueDart, invent
from tests.calibration.render_mat import Rgb, Scene, as_photographed, bare_mat, camera_view, mat_map
from tests.render_lines import dashes

Grey = npt.NDArray[np.float32]
_GAMMA = np.float32(2.2)  # of the numbers in a file, about as sRGB has it (IEC 61966-2-1)
_FINE_MM = 0.1  # of the raster the paper is drawn on
_COARSE_MM = 1.0  # of light and lift
_STRIPE_PX = 500
_MARGIN_MM = 32.0
_MATS: tuple[tuple[str, Rgb], ...] = (
    ("green", (30, 120, 105)),
    ("blue", (35, 70, 140)),
    ("pink", (214, 128, 160)),
    ("black", (34, 34, 38)),
    ("cream", (206, 192, 160)),
    ("grey", (120, 125, 135)),
    ("red", (168, 58, 55)),
)
# rings of a fabric weight: share of its radius, colour
_WEIGHT = ((1.05, (60, 58, 60)), (1.0, (172, 170, 178)), (0.72, (188, 186, 192)), (0.3, (120, 118, 124)))
# pitch, cells, heavier line every
_RULED = ((10.0, (57, 42), 5), (10.0, (86, 56), 5), (10.0, (112, 82), 5), (25.4, (23, 17), 0), (25.4, (35, 23), 4))


@dataclass(frozen=True, kw_only=True)
class Photographed:
    """A picture and all that is true of it; papers lie in the true mat's frame."""

    seed: int
    jpeg: npt.NDArray[np.uint8]
    view: MatView
    papers: tuple[Invented, ...]
    weights: tuple[tuple[Points, float], ...]
    lift: Grey
    pitch_mm: float
    hard: bool
    about: str
    camera_mm: Points

    def seen_at(self, mm: Points) -> Points:
        """Where on the mat (N, 2) places of the paper seem to lie, because it stands off the mat."""
        height = _at(self.lift, mm)[:, None]
        share = height / self.camera_mm[2]
        return (mm - self.camera_mm[:2] * share) / (1 - share)


def photograph(seed: int) -> Photographed:
    """The picture of a seed."""
    rng = np.random.default_rng([seed, 7])
    papers, pitch, cells, every = _laid(seed, rng)
    mat_name, mat = _mat_for(papers[0], rng)
    crumple = papers[0].material.crumple
    tilt = float(rng.uniform(0, 15) if rng.random() < 0.8 else rng.uniform(15, 27))
    large = cells[0] * pitch > 700
    size = (4000, 3000) if large else (3200, 2400)
    scene = Scene(
        size_px=size,
        focal_px=size[0] * float(rng.uniform(0.72, 1.0)),
        tilt_deg=tilt,
        tilt_towards_deg=float(rng.uniform(0, 360)),
        turn_deg=float(rng.choice([0, 180, 90, 270], p=[0.44, 0.44, 0.06, 0.06]) + rng.normal(0, 3)),
        fill=float(rng.uniform(0.82, 0.95)),
        lens=(float(rng.normal(0.02, 0.02)), float(rng.normal(-0.02, 0.02)), 0.0002, -0.0001),
        pitch_mm=pitch,
        cells=cells,
        heavy_every=every,
        diagonals=bool(rng.random() < 0.4),
        ticks=10 if pitch == 10 else 8,
        numerals=bool(rng.random() < 0.5),
        scratches=int(rng.integers(0, 12)),
        mat=mat,
        ink=_ink_of(mat, float(rng.uniform(60, 140))),
        shadow=float(rng.uniform(0.0, 0.4)),
        glare=float(rng.choice([0, 0, 0, 0.3])),
        warm=float(rng.choice([0, 0, 0.2, 0.5])),
        blur_px=float(rng.uniform(0.5, 1.1)),
        noise=float(rng.uniform(1.5, 5)),
        jpeg=int(rng.integers(80, 96)),
        seed=seed,
    )
    scene = _whole_in(scene, papers)
    blur_px, scene = scene.blur_px, replace(scene, blur_px=0.0)
    picture, view, chance = bare_mat(scene)
    picture = _as_light(picture)  # paper, shadow and the lens mix light, not the numbers that a file holds
    span = np.array(cells) * pitch + 2 * _MARGIN_MM
    lift = _lift(span, crumple, rng)
    camera = _camera(scene, view)
    weights = _weights(papers[0], rng)
    shade = _shading(span, papers[0], rng)
    for paper in papers:
        _lay(picture, scene, view, paper, lift, shade, camera, rng)
    _put(picture, view, weights, papers[0], rng)
    cv2.GaussianBlur(picture, (0, 0), blur_px, dst=picture)
    picture = _as_numbers(picture)
    near = float(np.abs(np.log(np.array(papers[0].material.rgb) + 30) - np.log(np.array(mat) + 30)).max())
    hard = bool(crumple or tilt > 18 or weights or near < 0.35)
    about = f"{papers[0].family}, {papers[0].kind}, {papers[0].material.name} on {mat_name}, {tilt:.0f}°"
    about += ", crumpled" * bool(crumple) + f", {len(weights)} weights" * bool(weights)
    return Photographed(
        seed=seed,
        jpeg=as_photographed(picture, scene, chance),
        view=view,
        papers=tuple(_hidden(paper, weights) for paper in papers),
        weights=weights,
        lift=lift,
        pitch_mm=pitch,
        hard=hard,
        about=about,
        camera_mm=camera,
    )


def _as_light(numbers: npt.ArrayLike) -> Grey:
    """Numbers 0 to 255 as a file holds them -> light, 0 to 255."""
    return np.asarray(255 * (np.clip(np.asarray(numbers, np.float32), 0, None) / 255) ** _GAMMA, np.float32)


def _as_numbers(light: Grey) -> Grey:
    return np.asarray(255 * (np.clip(light, 0, None) / 255) ** (1 / _GAMMA), np.float32)


# ---------------------------------------------------------------- laying down


def _whole_in(scene: Scene, papers: tuple[Invented, ...]) -> Scene:
    """The scene from so far off that all paper and a hand's breadth round it is in the picture."""
    low, high = (
        np.min([paper.paper.min(0) for paper in papers], axis=0) - 25,
        np.max([paper.paper.max(0) for paper in papers], axis=0) + 25,
    )
    corners = np.array([low, [high[0], low[1]], high, [low[0], high[1]]])
    while True:
        px = camera_view(scene).to_px(corners)
        if ((px > 10) & (px < np.array(scene.size_px) - 10)).all():
            return scene
        scene = replace(scene, fill=scene.fill * 0.94)


def moved_paper(paper: Invented, turn_deg: float, shift: Points) -> Invented:
    """The paper turned and shifted with all that is known of it."""
    a = np.radians(turn_deg)
    spin = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])

    def there(value: object) -> object:
        if isinstance(value, np.ndarray):
            return value @ spin.T + shift
        if isinstance(value, Stroke):
            return replace(value, points=there(value.points))
        if isinstance(value, TrueDart):
            return replace(value, legs=there(value.legs), apex=there(value.apex))
        if isinstance(value, tuple):
            return tuple(there(one) for one in value)
        if isinstance(value, dict):
            return {key: there(one) for key, one in value.items()}
        return value

    same = ("kind", "family", "material", "ink", "told")
    return replace(
        paper,
        **{f.name: there(getattr(paper, f.name)) for f in fields(paper) if f.name not in same},  # type: ignore[arg-type]
    )


def _laid(seed: int, rng: np.random.Generator) -> tuple[tuple[Invented, ...], float, tuple[int, int], int]:
    """A seed's papers side by side on a mat they fit on, at an angle if there is room; others if none is so large."""
    first = int(rng.integers(0, 2)) * 3
    turns = (rng.uniform(0, 360), rng.normal(0, 4), 90 + rng.normal(0, 4), 90.0, 0.0)
    for attempt in range(20):
        papers = invent(seed, attempt)
        for pitch, cells, every in (*_RULED[first:], _RULED[2]):
            for turn in turns:
                laid = _side_by_side(papers, float(turn), np.array(cells) * pitch, rng)
                if laid is not None:
                    return laid, pitch, cells, every
    raise ValueError(f"nothing of seed {seed} fits on any mat")


def _side_by_side(
    papers: tuple[Invented, ...], turn: float, mat: Points, rng: np.random.Generator
) -> tuple[Invented, ...] | None:
    """The papers turned and laid in a row; None if the mat is too small."""
    boxes = [np.array(rotate(Polygon(paper.paper), turn, origin=(0, 0)).bounds) for paper in papers]
    wide = sum(box[2] - box[0] for box in boxes) + 30.0 * (len(boxes) - 1)
    tall, room = max(box[3] - box[1] for box in boxes), mat - 2 * _MARGIN_MM
    if wide > room[0] or tall > room[1]:
        return None
    left, out = _MARGIN_MM + rng.uniform(0, room[0] - wide), []
    for paper, box in zip(papers, boxes, strict=True):
        low = _MARGIN_MM + rng.uniform(0, room[1] - (box[3] - box[1]))
        out.append(moved_paper(paper, turn, np.array([left - box[0], low - box[1]])))
        left += box[2] - box[0] + 30.0
    return tuple(out)


def _mat_for(paper: Invented, rng: np.random.Generator) -> tuple[str, Rgb]:
    """A mat that can be told from the paper, if only just."""
    for k in rng.permutation(len(_MATS)):
        name, mat = _MATS[k]
        if np.abs(np.log(np.array(paper.material.rgb) + 30) - np.log(np.array(mat) + 30)).max() > 0.2:
            return name, mat
    return _MATS[0]


def _ink_of(mat: Rgb, away: float) -> Rgb:
    away = away if sum(mat) < 450 else -away
    return (mat[0] + away, mat[1] + 1.1 * away, mat[2] + 0.9 * away)


def _lift(span: Points, crumple: float, rng: np.random.Generator) -> Grey:
    """How high (mm) the paper stands over the mat, on a coarse raster that begins a margin outside the mat."""
    shape = (round(span[1] / _COARSE_MM), round(span[0] / _COARSE_MM))
    rough = cv2.GaussianBlur(rng.standard_normal(shape, np.float32), (0, 0), 18.0)
    height = rng.uniform(0.3, 0.8) + (0.7 if crumple else 0.15) * rough / rough.std()
    return np.clip(height, 0.05, 4.0).astype(np.float32)


def _shading(span: Points, paper: Invented, rng: np.random.Generator) -> Grey:
    """How light falls on the paper: clouds, and creases where it was folded or crumpled."""
    shape = (round(span[1] / _COARSE_MM), round(span[0] / _COARSE_MM))
    light = np.ones(shape, np.float32)
    for sigma in (20.0, 5.0, 1.2):
        noise = cv2.GaussianBlur(rng.standard_normal(shape, np.float32), (0, 0), sigma)
        light += paper.material.texture * (2.0 if paper.material.crumple else 1.0) * noise / noise.std()
    y, x = np.mgrid[0 : shape[0], 0 : shape[1]].astype(np.float32)
    creases = 14 if paper.material.crumple else int(rng.integers(0, 5)) * (paper.material.opacity < 1)
    for _ in range(creases):
        angle, at = rng.uniform(0, np.pi), rng.uniform(0.2, 0.8, 2) * shape[::-1]
        off = (x - at[0]) * np.sin(angle) - (y - at[1]) * np.cos(angle)
        light += rng.uniform(0.03, 0.1) * np.sign(off) * np.exp(-np.abs(off) / 2.0)
    return light


def _camera(scene: Scene, view: MatView) -> Points:
    """Where the camera stands (3,), mat mm, z up."""
    width, height = scene.size_px
    centre = [(width - 1) / 2 + scene.centre_off_px[0], (height - 1) / 2 + scene.centre_off_px[1]]
    inner = np.array([[scene.focal_px, 0, centre[0]], [0, scene.focal_px, centre[1]], [0, 0, 1]])
    pose = np.linalg.inv(inner) @ view.to_straight
    pose /= np.sqrt(np.linalg.norm(pose[:, 0]) * np.linalg.norm(pose[:, 1]))
    turned = np.column_stack([pose[:, 0], pose[:, 1], np.cross(pose[:, 0], pose[:, 1])])
    at = -turned.T @ pose[:, 2]
    return at if at[2] > 0 else at * [1, 1, -1]


def _at(field: Grey, mm: Points) -> npt.NDArray[np.float32]:
    """A coarse field at places (N, 2)."""
    px = ((np.asarray(mm) + _MARGIN_MM) / _COARSE_MM - 0.5).astype(np.float32).reshape(-1, 1, 2)
    return cv2.remap(field, px[..., 0], px[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)[:, 0]


# ---------------------------------------------------------------- drawing


def _raster(paper: Invented) -> tuple[npt.NDArray[np.uint8], npt.NDArray[np.uint8], Points]:
    """Cover and ink on the fine raster, and the mm of its lower left pixel's centre."""
    ends = Polygon(paper.paper).bounds
    origin = np.array(ends[:2]) - 12.0
    width, height = (np.ceil((np.array(ends[2:]) + 12.0 - origin) / _FINE_MM)).astype(int)
    cover, ink = np.zeros((height, width), np.uint8), np.zeros((height, width), np.uint8)

    def px(mm: Points) -> npt.NDArray[np.int32]:
        return np.round((np.asarray(mm) - origin) / _FINE_MM * 16).astype(np.int32)

    solid = unary_union([Polygon(paper.paper).buffer(0), *(Polygon(ring).buffer(0) for ring in paper.tabs)])
    gone = [Polygon(ring).buffer(0) for ring in paper.cuts]
    turn = np.linspace(0, 2 * np.pi, 48, endpoint=False)
    for at, diameter in paper.holes:
        gone.append(Polygon(at + diameter / 2 * np.column_stack([np.cos(turn), np.sin(turn)])))
    shape = solid.difference(unary_union(gone)) if gone else solid
    shape = shape.buffer(-0.5 * _FINE_MM, join_style="mitre")  # fillPoly fills its border as well
    for part in shape.geoms if isinstance(shape, MultiPolygon) else (shape,):
        rings = [px(np.asarray(ring.coords)[:-1]) for ring in (part.exterior, *part.interiors)]
        cv2.fillPoly(cover, rings, 255, cv2.LINE_8, 4)
    if paper.rim_mm:
        depth = cv2.distanceTransform(cover, cv2.DIST_L2, 5)
        edge = Polygon(paper.cut).buffer(0)
        near = np.zeros_like(cover)
        cv2.polylines(
            near, [px(np.asarray(edge.exterior.coords))], True, 255, round(2 * paper.rim_mm / _FINE_MM), shift=4
        )
        ink[(near > 0) & (depth > 0)] = 248
    for stroke in paper.strokes:
        for run in dashes(stroke.points, stroke.pattern):
            cv2.polylines(ink, [px(run)], False, 250, max(1, round(stroke.width_mm / _FINE_MM)), shift=4)
    for ring in paper.fills:
        cv2.fillPoly(ink, [px(ring)], 250, shift=4)
    if paper.dots_mm:
        low, high = paper.paper.min(0), paper.paper.max(0)
        for x in np.arange(low[0] + 7, high[0], paper.dots_mm):
            for y in np.arange(low[1] + 5, high[1], paper.dots_mm):
                cv2.circle(
                    ink, tuple(int(v) for v in px(np.array([x, y]))), round(0.6 / _FINE_MM * 16), 220, -1, shift=4
                )
    if paper.family in ("printed", "uncut", "two", "nested"):
        middle = np.array(Polygon(paper.cut).representative_point().coords[0])
        at = (px(middle + [18.0, -6.0]) // 16).tolist()
        cv2.putText(ink, paper.kind.split()[-1].upper(), tuple(at), 0, 2.0, 250, 8)
    return cover, ink, origin


def _lay(
    picture: Grey,
    scene: Scene,
    view: MatView,
    paper: Invented,
    lift: Grey,
    shade: Grey,
    camera: Points,
    rng: np.random.Generator,
) -> None:
    """The paper over the mat, stripe by stripe."""
    cover, ink, origin = _raster(paper)
    mm_per_px = float(np.median(view.mm_per_px(view.to_px(paper.cut[::50]))))
    soft = max(0.35 * mm_per_px / _FINE_MM, 0.5)
    cover, ink = cv2.GaussianBlur(cover, (0, 0), soft), cv2.GaussianBlur(ink, (0, 0), soft)
    dark = cv2.GaussianBlur(cv2.resize(cover, None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA), (0, 0), 1.2)
    angle, reach = rng.uniform(0, 2 * np.pi), rng.uniform(0.2, 1.0)
    away = reach * np.array([np.cos(angle), np.sin(angle)], np.float32)
    depth = float(rng.uniform(0.1, 0.4))
    colour, inked = _as_light(paper.material.rgb), _as_light(paper.ink)
    corners = np.vstack([paper.paper.min(0) - 15, paper.paper.max(0) + 15])
    box = np.array([corners[0], [corners[1][0], corners[0][1]], corners[1], [corners[0][0], corners[1][1]]])
    rows = view.to_px(box)[:, 1]
    for top in range(max(0, int(rows.min())), min(scene.size_px[1], int(rows.max()) + 1), _STRIPE_PX):
        count = min(_STRIPE_PX, scene.size_px[1] - top)
        mm, _ = mat_map(scene, view, top, count)
        coarse = (mm + np.float32(_MARGIN_MM)) / np.float32(_COARSE_MM) - np.float32(0.5)
        height = cv2.remap(lift, coarse[..., 0], coarse[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        light = cv2.remap(shade, coarse[..., 0], coarse[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        there = mm + (np.float32(camera[:2]) - mm) * (height / np.float32(camera[2]))[..., None]
        at = (there - np.float32(origin)) / np.float32(_FINE_MM)
        own = cv2.remap(cover, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderValue=0).astype(np.float32) / 255
        print_ = cv2.remap(ink, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderValue=0).astype(np.float32) / 255
        shadow = ((there - away - np.float32(origin)) / np.float32(_FINE_MM) + np.float32(0.5)) / 4 - np.float32(0.5)
        shaded = cv2.remap(dark, shadow[..., 0], shadow[..., 1], cv2.INTER_LINEAR, borderValue=0).astype(np.float32)
        part = picture[top : top + count]
        part *= (1 - depth * shaded / 255 * (1 - own))[..., None]
        sheet = colour * light[..., None]
        sheet = sheet + print_[..., None] * (inked - sheet)
        through = own * (paper.material.opacity + (1 - paper.material.opacity) * 0.5 * print_)
        part += through[..., None] * (sheet - part)
        for ring in paper.tape:
            inside = _inside(there, ring)
            part += (0.16 * inside * np.maximum(own, 0.6))[..., None] * (_as_light([238, 236, 222]) - part)


def _inside(mm: Grey, ring: Points) -> Grey:
    """1 inside a convex ring (K, 2), counter-clockwise."""
    out = np.ones(mm.shape[:2], np.float32)
    for a, b in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        side = (b - a)[0] * (mm[..., 1] - a[1]) - (b - a)[1] * (mm[..., 0] - a[0])
        out *= side > 0
    return out


# ---------------------------------------------------------------- weights and pins


def _weights(paper: Invented, rng: np.random.Generator) -> tuple[tuple[Points, float], ...]:
    """Fabric weights over the edge, away from corners."""
    if rng.random() > 0.22 or paper.family in ("nested", "uncut", "torn"):
        return ()
    out = []
    for _ in range(int(rng.integers(1, 3))):
        at = paper.cut[rng.integers(len(paper.cut))]
        out.append((at + rng.normal(0, 6, 2), float(rng.uniform(18, 28))))
    return tuple(out)


def _put(
    picture: Grey,
    view: MatView,
    weights: tuple[tuple[Points, float], ...],
    paper: Invented,
    rng: np.random.Generator,
) -> None:
    turn = np.linspace(0, 2 * np.pi, 90, endpoint=False)
    round_ = np.column_stack([np.cos(turn), np.sin(turn)])
    for at, radius in weights:
        for share, colour in (
            (1.05, (60, 58, 60)),
            (1.0, (172, 170, 178)),
            (0.72, (188, 186, 192)),
            (0.3, (120, 118, 124)),
        ):
            ring = np.round(view.to_px(at + share * radius * round_) * 16).astype(np.int32)
            cv2.fillPoly(picture, [ring], _as_light(colour).tolist(), cv2.LINE_AA, 4)
    if rng.random() < 0.15:
        for _ in range(int(rng.integers(1, 4))):
            at, angle = paper.cut[rng.integers(len(paper.cut))], rng.uniform(0, 2 * np.pi)
            way = np.array([np.cos(angle), np.sin(angle)])
            ends = np.round(view.to_px(np.array([at - 13 * way, at + 15 * way])) * 16).astype(np.int32)
            px = max(1, round(0.6 / float(view.mm_per_px(view.to_px(at[None]))[0])))
            cv2.polylines(picture, [ends], False, _as_light((196, 196, 200)).tolist(), px, cv2.LINE_AA, 4)
            head = _as_light((214, 60, 60)).tolist()
            cv2.circle(picture, tuple(ends[1].tolist()), 16 * px * 2, head, -1, cv2.LINE_AA, 4)


def _hidden(paper: Invented, weights: tuple[tuple[Points, float], ...]) -> Invented:
    """The paper's truth with what lies under a weight or was torn off no longer asked for."""
    gone = [*weights, *paper.damage]

    def open_at(at: Points, around: float = 4.0) -> bool:
        return all(np.hypot(*(at - centre)) > radius + around for centre, radius in gone)

    def shown(dart: TrueDart) -> bool:
        return all(open_at(at) for at in (*dart.legs, dart.apex))

    return replace(
        paper,
        notches=np.array([at for at in paper.notches if open_at(at)]).reshape(-1, 2),
        holes=tuple(one for one in paper.holes if open_at(one[0])),
        darts=tuple(replace(dart, visible=dart.visible and shown(dart)) for dart in paper.darts),
    )
