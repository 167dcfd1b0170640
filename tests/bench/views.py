"""Random views of random mats: is any one wrong in silence?

    python -m tests.bench.views [COUNT] [FIRST_SEED] [FOLDER]

Prints a line for each view that is not simply right, and at the end how many were right, refused, flagged, wrong where
nothing in the picture speaks against the pitch told, and silently wrong; how often the 95 % radius held the truth over
the piece; and how often a right pitch was doubted. FOLDER keeps the drawn pictures, so that another run is quicker.
"""

import sys
import time
from collections import Counter
from pathlib import Path

import cv2
import numpy as np

from calibration import Photo, calibrate
from calibration.ground.errors import OwnblockError
from calibration.view.view import MatView
from tests.calibration.render_mat import Cover, Scene, camera_view, render_jpeg

MATS = [(30, 120, 105), (35, 70, 140), (215, 130, 160), (28, 28, 30), (225, 215, 190), (120, 125, 135), (170, 60, 55)]
# pitch, cells, steps between heavier lines, marks to a pitch along the border
PITCHES = (
    (10.0, (57, 42), (0, 5, 10), 10),
    (10.0, (86, 56), (5, 10), 10),
    (25.4, (22, 16), (0, 2, 4, 6, 12), 8),
    (25.4, (34, 22), (4, 6, 12), 16),
    (12.7, (44, 32), (0, 2, 8), 8),
    (20.0, (28, 20), (0, 5), 20),
    (5.0, (80, 60), (2, 10), 5),
    (25.0, (24, 18), (0, 5), 0),
)
TOLD_MM = (10.0, 20.0, 25.4, 5.0, 12.7)
SIZES_PX = ((1700, 1275), (2400, 1800), (3200, 2400), (4000, 3000), (4000, 2250))
WRONG_MM = 0.5
DOUBTS = ("pitch-doubtful", "mat-not-even")


def random_scene(seed: int) -> tuple[Scene, float]:
    """A scene, and the pitch its user tells (wrong now and then)."""
    rng = np.random.default_rng(seed)
    pitch, cells, heavy, ticks = PITCHES[rng.integers(len(PITCHES))]
    dots = pitch == 25.0
    mat = MATS[rng.integers(len(MATS))]
    contrast = rng.uniform(30, 150) * (1 if sum(mat) < 450 else -1)
    size_px = SIZES_PX[rng.integers(len(SIZES_PX))] if rng.random() > 0.02 else (8160, 6120)
    focal = rng.uniform(0.62, 2.0)
    scene = Scene(
        size_px=size_px,
        focal_px=size_px[0] * focal,
        tilt_deg=rng.uniform(0, 45),
        tilt_towards_deg=rng.uniform(0, 360),
        turn_deg=rng.uniform(-180, 180),
        fill=rng.uniform(0.5, 1.25),
        lens=_lens(rng, 0.65 / focal),
        centre_off_px=(rng.normal(0, 0.003) * size_px[0], rng.normal(0, 0.003) * size_px[0]),
        kind="dots" if dots else "lines",
        pitch_mm=pitch,
        cells=cells,
        line_mm=rng.uniform(0.25, 0.5) * (1.4 if dots else 1),
        heavy_mm=rng.uniform(0.6, 1.0),
        heavy_every=int(rng.choice(heavy)),
        half_lines=pitch == 25.4 and rng.random() < 0.6,
        dashed=pitch < 20 and rng.random() < 0.15,
        diagonals=not dots and rng.random() < 0.6,
        ticks=ticks if rng.random() < 0.7 else 0,
        numerals=not dots and rng.random() < 0.7,
        scratches=int(rng.integers(0, 20)),
        mat=mat,
        ink=tuple(float(np.clip(c + contrast, 5, 250)) for c in mat),  # type: ignore[arg-type]
        covers=_cover(rng, cells[0] * pitch, cells[1] * pitch),
        missing=rng.choice([0.0, 0.0, 0.1]),
        wear=rng.choice([0.0, 0.3, 0.6]),
        shadow=rng.uniform(0, 0.5),
        glare=rng.choice([0.0, 0.4, 0.8]),
        warm=rng.uniform(0, 0.6),
        blur_px=rng.uniform(0.4, 2.0) * size_px[0] / 3000,
        noise=rng.uniform(1, 8),
        jpeg=int(rng.integers(70, 95)),
        seed=seed,
    )
    told = float(rng.choice([p for p in TOLD_MM if p != pitch])) if not dots and rng.random() < 0.15 else pitch
    return scene, told


def _lens(rng: np.random.Generator, reach: float) -> tuple[float, float, float, float]:
    """Distortion that a real lens may have: the picture's corner, ``reach`` from the middle, is not folded back."""
    while True:
        k1, k2 = rng.normal(0, 0.05), rng.normal(0, 0.03)
        if 1 + 3 * k1 * reach**2 + 5 * k2 * reach**4 > 0.6:
            return k1, k2, rng.normal(0, 3e-4), rng.normal(0, 3e-4)


def _cover(rng: np.random.Generator, wide: float, tall: float) -> tuple[Cover, ...]:
    """A sheet of 10 to 85 % of the lattice, opaque or like tissue."""
    share = np.sqrt(rng.uniform(0.1, 0.85))
    low = np.array([wide, tall]) * rng.uniform(0, 1 - share, 2)
    high = low + np.array([wide, tall]) * share
    ring = ((low[0], low[1]), (high[0], low[1] + 9), (high[0] - 7, high[1]), (low[0] + 5, high[1] - 4))
    return ((ring, (200.0, 165.0, 110.0), float(rng.choice([1.0, 1.0, 0.8]))),)


def speaks_against(scene: Scene, true: MatView, told_mm: float) -> bool:
    """Whether something printed on the mat, and to be seen in the picture, contradicts the pitch told."""
    tick = told_mm / scene.ticks if scene.ticks else 0.0
    known = (1.0, 25.4 / 4, 25.4 / 8, 25.4 / 16)
    ticks = bool(scene.ticks) and min(abs(tick / one - 1) for one in known) > 0.01 and marks_show(scene, true)
    inch = told_mm in (25.4, 12.7)
    heavy = scene.heavy_every in ((5, 10) if inch else (4, 6, 8))  # a mat has too few dozens to count them by
    return ticks or heavy


def marks_show(scene: Scene, true: MatView) -> bool:
    """Whether the border's marks are not blurred away along eight pitches of it."""
    size = np.array(scene.cells) * scene.pitch_mm
    for axis in (0, 1):
        along = np.arange(scene.cells[axis] + 1) * scene.pitch_mm
        for level in (-1.0, size[1 - axis] + 1.0):
            ends = np.column_stack([along, np.full(len(along), level)])[:, [axis, 1 - axis]]
            px = true.to_px(ends)
            inside = ((px > 5) & (px < np.array(scene.size_px) - 6)).all(1)
            mark_px = np.hypot(*np.diff(px, axis=0).T) / scene.ticks
            left = np.exp(-2 * (np.pi * scene.blur_px / np.maximum(mark_px, 0.1)) ** 2)  # of their contrast
            if (inside[1:] & (mark_px > 3.3) & (left > 0.2)).sum() >= 8:
                return True
    return False


def picture(scene: Scene, seed: int, kept: Path | None) -> tuple[Photo, MatView]:
    """The scene's photograph, drawn or read back, and its true view."""
    path = kept / f"{seed}.jpg" if kept else None
    if path and path.is_file():
        code, view = np.fromfile(path, np.uint8), camera_view(scene)
    else:
        code, view = render_jpeg(scene)
        if path:
            path.write_bytes(code.tobytes())
    seen = cv2.imdecode(code, cv2.IMREAD_COLOR_RGB)
    assert seen is not None
    return Photo(pixels=seen.astype(np.uint8, copy=False), name=f"view {seed}"), view


def errors_mm(found: MatView, true: MatView, scene: Scene) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Over the piece: distances after the best turn and shift, the radius claimed, and whether the place is trusted."""
    a, b, c, d = np.array(scene.covers[0][0])
    u, v = (one.reshape(-1, 1) for one in np.meshgrid(np.linspace(0, 1, 9), np.linspace(0, 1, 9)))
    grid = (1 - v) * ((1 - u) * a + u * b) + v * ((1 - u) * d + u * c)
    px = true.to_px(grid)
    inside = ((px > 0) & (px < np.array(scene.size_px) - 1)).all(1)
    mm = found.to_mm(px[inside])
    p, q = mm - mm.mean(0), grid[inside] - grid[inside].mean(0)
    left, _, right = np.linalg.svd(p.T @ q)
    turn = left @ np.diag([1.0, np.sign(np.linalg.det(left @ right))]) @ right
    return np.hypot(*(p @ turn - q).T), found.uncertainty_mm(mm), found.trusted(mm)


def main(count: int, first: int, kept: Path | None) -> None:
    """Survey ``count`` views."""
    tally: Counter[str] = Counter()
    held, asked, rms, seconds, doubted = 0, 0, [], [], 0
    for seed in range(first, first + count):
        scene, told = random_scene(seed)
        photo, true = picture(scene, seed, kept)
        words = (
            f"{seed} {scene.kind} {scene.pitch_mm:g} told {told:g} heavy {scene.heavy_every} half {scene.half_lines:d} "
            f"ticks {scene.ticks} {scene.size_px[0]}px tilt {scene.tilt_deg:.0f} fill {scene.fill:.2f} "
            f"cell {scene.fill * scene.size_px[0] / scene.cells[0]:.0f}px line {scene.line_mm:.2f} "
            f"ink {scene.ink[0] - scene.mat[0]:.0f} blur {scene.blur_px:.1f} noise {scene.noise:.0f} "
            f"wear {scene.wear} missing {scene.missing} dashed {scene.dashed:d}"
        )
        start = time.perf_counter()
        try:
            view = calibrate(photo, pitch_mm=told)
        except OwnblockError as refusal:
            tally["refused"] += 1
            print(words, "REFUSED", refusal.problem, flush=True)
            continue
        seconds.append(time.perf_counter() - start)
        off, radius, trusted = errors_mm(view, true, scene)
        flagged = [note.code for note in view.notes if note.code in DOUBTS]
        result = f"max {off.max():.3f} says {np.median(radius):.3f} div {view.lattice.divisions} {flagged}"
        if off[trusted].max(initial=0.0) <= WRONG_MM:
            tally["right"] += 1
            held, asked = held + int((off <= radius).sum()), asked + len(off)
            rms.append(float(np.sqrt((off**2).mean())))
            doubted += bool(flagged) and told == scene.pitch_mm
            if off.max() > 0.2 or flagged:
                print(words, "right", result, flush=True)
            continue
        if flagged:
            kind = "flagged"
        elif told != scene.pitch_mm and not speaks_against(scene, true, told):
            kind = "told wrong, nothing printed against it"
        else:
            kind = "SILENTLY WRONG"
        tally[kind] += 1
        print(words, kind, result, flush=True)
    print(dict(tally), f"median RMS {np.median(rms):.4f} mm, 95th percentile {np.percentile(rms, 95):.4f} mm")
    print(
        f"95 % radius held at {held / max(asked, 1):.1%} of places over the pieces; right pitch doubted {doubted} times"
    )
    print(f"calibrate() median {np.median(seconds):.2f} s")


if __name__ == "__main__":
    words = sys.argv[1:]
    main(
        int(words[0]) if words else 60,
        int(words[1]) if len(words) > 1 else 0,
        Path(words[2]) if len(words) > 2 else None,
    )
