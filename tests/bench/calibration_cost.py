"""What calibrating and flattening costs beside decoding the JPEG and one full-size remap, in one run.

    python -m tests.bench.calibration_cost [PICTURE ...] [--grid 10]

Prints the ratio for each picture (the median of five turns) and the memory that the process took at most. Without a
picture it draws two of its own, of 12 and of 50 megapixels.
"""

import resource
import sys
import tempfile
import time
from pathlib import Path

import cv2
import numpy as np

from calibration import calibrate, flatten, read_photo
from tests.calibration.render_mat import Scene, render_jpeg

TURNS = 5
DRAWN = ((4000, 3000), (8160, 6120))


def drawn(folder: Path, size_px: tuple[int, int]) -> Path:
    """A picture of a mat, in a folder."""
    code, _ = render_jpeg(Scene(size_px=size_px, focal_px=size_px[0] * 0.8, tilt_deg=15, fill=0.8))
    path = folder / f"{size_px[0] * size_px[1] / 1e6:.0f} megapixels.jpg"
    path.write_bytes(code.tobytes())
    return path


def plain_cost_s(path: Path) -> float:
    """Decode, and remap the whole picture once."""
    start = time.perf_counter()
    pixels = cv2.imdecode(np.fromfile(path, np.uint8), cv2.IMREAD_COLOR)
    assert pixels is not None
    height, width = pixels.shape[:2]
    x, y = np.meshgrid(np.arange(width, dtype=np.float32) + 0.4, np.arange(height, dtype=np.float32) + 0.3)
    cv2.remap(pixels, x, y, cv2.INTER_LINEAR)
    return time.perf_counter() - start


def own_cost_s(path: Path, pitch_mm: float) -> float:
    """Calibrate and flatten a picture already read."""
    photo = read_photo(path)
    start = time.perf_counter()
    flatten(photo, calibrate(photo, pitch_mm=pitch_mm))
    return time.perf_counter() - start


def main(paths: list[Path], pitch_mm: float) -> None:
    """Measure each picture."""
    for path in paths:
        plain = np.median([plain_cost_s(path) for _ in range(TURNS)])
        own = np.median([own_cost_s(path, pitch_mm) for _ in range(TURNS)])
        most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
        print(f"{path.name}: {own:.2f} s beside {plain:.2f} s: {own / plain:.1f} times; at most {most:.2f} GB so far")


if __name__ == "__main__":
    words = sys.argv[1:]
    pitch = float(words[words.index("--grid") + 1]) if "--grid" in words else 10.0
    given = [Path(word) for word in words if word.lower().endswith((".jpg", ".jpeg"))]
    with tempfile.TemporaryDirectory() as folder:
        main(given or [drawn(Path(folder), size_px) for size_px in DRAWN], pitch)
