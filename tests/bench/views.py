"""Random views of random mats: is any one wrong in silence?  python -m tests.bench.views [COUNT] [FIRST_SEED]

Prints one line for each view that was refused or flagged, or is worse than 0.1 mm over the middle of the mat, and at
the end how many were right, refused, flagged and silently wrong, and how often the 95 % radius held the truth.
"""

import sys
import time

import numpy as np

from calibration import calibrate
from calibration.errors import OwnblockError
from calibration.view import MatView
from tests.calibration.render_mat import Scene, render

MATS = [(30, 120, 105), (35, 70, 140), (215, 130, 160), (28, 28, 30), (225, 215, 190), (120, 125, 135), (170, 60, 55)]
PITCHES = [(10.0, (57, 42), (5, 10)), (10.0, (86, 56), (10,)), (25.4, (22, 16), (1, 2, 4)), (12.7, (44, 32), (2,))]
PITCHES += [(20.0, (28, 20), (5,)), (5.0, (80, 60), (2, 10)), (25.0, (24, 18), (5,))]
WRONG_MM = 0.5


def random_scene(seed: int) -> tuple[Scene, float]:
    """A scene, and the pitch its user tells (wrong now and then)."""
    rng = np.random.default_rng(seed)
    pitch, cells, heavy = PITCHES[rng.integers(len(PITCHES))]
    mat = MATS[rng.integers(len(MATS))]
    light = sum(mat) < 450
    contrast = rng.uniform(35, 150) * (1 if light else -1)
    size = cells[0] * pitch, cells[1] * pitch
    cover = _cover(rng, *size)
    longest = int(rng.choice([1700, 2400, 3200, 4000]))
    scene = Scene(
        size_px=(longest, longest * 3 // 4),
        focal_px=longest * rng.uniform(0.62, 1.6),
        tilt_deg=rng.uniform(0, 45) ** 1.0,
        tilt_towards_deg=rng.uniform(0, 360),
        turn_deg=rng.uniform(-180, 180),
        fill=rng.uniform(0.5, 1.15),
        lens=(rng.normal(0, 0.05), rng.normal(0, 0.03), rng.normal(0, 3e-4), rng.normal(0, 3e-4)),
        centre_off_px=(rng.normal(0, 8), rng.normal(0, 8)),
        kind="dots" if pitch == 25.0 else "lines",
        pitch_mm=pitch,
        cells=cells,
        line_mm=rng.uniform(0.25, 0.5) * (1.4 if pitch == 25.0 else 1),
        heavy_mm=rng.uniform(0.6, 1.0),
        heavy_every=int(rng.choice(heavy)),
        half_lines=pitch == 25.4 and rng.random() < 0.6,
        diagonals=rng.random() < 0.6,
        mat=mat,
        ink=tuple(float(np.clip(c + contrast, 5, 250)) for c in mat),
        covers=cover,
        missing=rng.choice([0.0, 0.0, 0.15]),
        shadow=rng.uniform(0, 0.5),
        blur_px=rng.uniform(0.4, 2.0) * longest / 3000,
        noise=rng.uniform(1, 8),
        jpeg=int(rng.integers(70, 95)),
        seed=seed,
    )
    told = pitch
    if rng.random() < 0.15:  # a wrong pitch that the picture itself can contradict
        told = {10.0: 25.4, 25.4: 10.0 if scene.heavy_every == 4 else 25.4}.get(pitch, pitch)
    return scene, told


def _cover(
    rng: np.random.Generator, wide: float, tall: float
) -> tuple[tuple[tuple[tuple[float, float], ...], tuple[float, float, float], float], ...]:
    share = np.sqrt(rng.uniform(0.1, 0.85))
    low = np.array([wide, tall]) * rng.uniform(0, 1 - share, 2)
    high = low + np.array([wide, tall]) * share
    ring = ((low[0], low[1]), (high[0], low[1] + 9), (high[0] - 7, high[1]), (low[0] + 5, high[1] - 4))
    return ((ring, (200.0, 165.0, 110.0), float(rng.choice([1.0, 1.0, 0.8]))),)


def errors_mm(found: MatView, true: MatView, scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    """Distances after the best turn and shift over the mat's middle, and the radius claimed at each place."""
    size = np.array(scene.cells) * scene.pitch_mm
    grid = np.stack(np.meshgrid(*(np.linspace(0.15, 0.85, 9) * size[k] for k in (0, 1))), -1).reshape(-1, 2)
    px = true.to_px(grid)
    inside = ((px > 0) & (px < np.array(scene.size_px) - 1)).all(1)
    mm = found.to_mm(px[inside])
    a, b = mm - mm.mean(0), grid[inside] - grid[inside].mean(0)
    u, _, vt = np.linalg.svd(a.T @ b)
    turn = u @ np.diag([1.0, np.sign(np.linalg.det(u @ vt))]) @ vt
    return np.hypot(*(a @ turn - b).T), found.uncertainty_mm(mm)


def main(count: int, first: int) -> None:
    """Survey ``count`` views."""
    tally = {"right": 0, "flagged": 0, "refused": 0, "SILENTLY WRONG": 0}
    held, asked, rms, seconds = 0, 0, [], []
    for seed in range(first, first + count):
        scene, told = random_scene(seed)
        photo, true = render(scene)
        start = time.perf_counter()
        try:
            view = calibrate(photo, pitch_mm=told)
        except OwnblockError as refusal:
            tally["refused"] += 1
            print(
                seed,
                "refused",
                scene.kind,
                scene.pitch_mm,
                f"tilt {scene.tilt_deg:.0f} fill {scene.fill:.2f}",
                refusal.problem,
            )
            continue
        seconds.append(time.perf_counter() - start)
        off, radius = errors_mm(view, true, scene)
        flagged = any(note.code in ("pitch-doubtful", "mat-not-even") for note in view.notes)
        trusted = bool(view.trusted(view.to_mm(true.to_px(np.array([np.array(scene.cells) * scene.pitch_mm / 2]))))[0])
        if off.max() <= WRONG_MM:
            tally["right"] += 1
            held, asked = held + int((off <= radius).sum()), asked + len(off)
            rms.append(float(np.sqrt((off**2).mean())))
            if off.max() > 0.1 or flagged:
                print(
                    seed,
                    "right",
                    f"max {off.max():.3f} claimed {np.median(radius):.3f}",
                    [n.code for n in view.notes],
                    scene.kind,
                    scene.pitch_mm,
                    view.lattice.divisions,
                    f"tilt {scene.tilt_deg:.0f}",
                )
            continue
        kind = "flagged" if flagged or not trusted else "SILENTLY WRONG"
        tally[kind] += 1
        print(
            seed,
            kind,
            f"max {off.max():.2f} told {told} true {scene.pitch_mm} div {view.lattice.divisions} {scene.kind}",
            f"heavy {scene.heavy_every} half {scene.half_lines} tilt {scene.tilt_deg:.0f}",
            [n.code for n in view.notes],
            flush=True,
        )
    print(tally, f"median RMS {np.median(rms):.4f} mm, 95th percentile {np.percentile(rms, 95):.4f} mm")
    print(f"95 % radius held in {held / max(asked, 1):.1%}; calibrate() median {np.median(seconds):.2f} s")


if __name__ == "__main__":
    main(*(int(word) for word in (sys.argv[1:] + ["60", "0"][len(sys.argv) - 1 :])[:2]))
