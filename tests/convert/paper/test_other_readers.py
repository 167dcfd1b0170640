"""Our files in programs that know nothing of us; skipped where these are not installed.

SVG in Chromium (``OWNBLOCK_CHROMIUM`` or on the path), by its own measuring: CSS defines 1 in = 96 px = 25.4 mm. DXF in
LibreOffice Draw, which fits a drawing to its page, so that its proportions can be compared and not its size.
"""

import json
import os
import re
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
import svgelements

from convert.paper.draw.draw_piece import draw_piece
from convert.paper.draw.svg import svg_page
from convert.paper.files.dxf import write_dxf
from tests.convert.paper.plain_pieces import bodice
from tests.convert.paper.test_svg import WORDS

CHROMIUM = os.environ.get("OWNBLOCK_CHROMIUM") or shutil.which("chromium") or ""
OFFICE = shutil.which("soffice") or ""
MM_PER_PX = 25.4 / 96
MEASURE = """
<pre id="found"></pre><script>
const found = {};
for (const path of document.querySelectorAll('path[id]')) {
  const rect = path.getBoundingClientRect(), box = path.getBBox();
  found[path.id] = {px: [rect.width, rect.height], box: [box.width, box.height], length: path.getTotalLength()};
}
const page = document.querySelector('svg').getBoundingClientRect();
found.page = {px: [page.width, page.height]};
document.getElementById('found').textContent = JSON.stringify(found);
</script>
"""


@pytest.mark.skipif(not CHROMIUM, reason="no Chromium here")
@pytest.mark.parametrize("scale", [1.0, 0.25])
def test_chromium_measures_the_piece_true_to_size(scale: float, tmp_path: Path) -> None:
    piece = bodice()
    text = svg_page([draw_piece(piece, WORDS, scale=scale)], title="t")
    svg = text.split("?>", 1)[1]
    (tmp_path / "page.html").write_text(f"<!doctype html><meta charset=utf-8><body style='margin:0'>{svg}{MEASURE}")
    done = subprocess.run(
        [CHROMIUM, "--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking",
         f"--user-data-dir={tmp_path / 'profile'}", "--dump-dom", (tmp_path / "page.html").as_uri()],
        capture_output=True, text=True, timeout=120,
    )  # fmt: skip
    shown = re.search(r'<pre id="found">(.*?)</pre>', done.stdout)
    assert shown, done.stderr
    found = json.loads(shown[1])
    outline = found["bodice-front-seam-line-outline"]
    true = np.ptp(piece.seam_line, axis=0) * scale  # 250 by 420 mm
    assert np.array(outline["px"]) * MM_PER_PX == pytest.approx(true, abs=0.05)
    assert np.array(outline["box"]) == pytest.approx(true, abs=0.05)  # one user unit is one millimetre
    ring = np.vstack([piece.seam_line, piece.seam_line[:1]])
    assert outline["length"] == pytest.approx(np.hypot(*np.diff(ring, axis=0).T).sum() * scale, abs=0.1)
    page = [float(re.search(rf'{side}="([\d.]+)mm"', text)[1]) for side in ("width", "height")]  # type: ignore[index]
    assert np.array(found["page"]["px"]) * MM_PER_PX == pytest.approx(page, abs=0.02)


@pytest.mark.skipif(not OFFICE, reason="no LibreOffice here")
def test_libreoffice_draws_the_same_shapes(tmp_path: Path) -> None:
    pieces = [bodice("bodice front"), bodice("bodice back", wider=60.0)]
    (tmp_path / "block.dxf").write_bytes(write_dxf([draw_piece(piece, WORDS) for piece in pieces]))
    profile = f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}"
    words = [
        OFFICE,
        profile,
        "--headless",
        "--convert-to",
        "svg",
        "--outdir",
        str(tmp_path),
        str(tmp_path / "block.dxf"),
    ]
    subprocess.run(words, capture_output=True, timeout=180, check=True)
    drawn = svgelements.SVG.parse(str(tmp_path / "block.svg"))
    boxes = [path.bbox() for path in drawn.elements(lambda one: isinstance(one, svgelements.Path))]
    sizes = np.array([(b[2] - b[0], b[3] - b[1]) for b in boxes if b is not None])
    true = [np.ptp(piece.seam_line, axis=0) for piece in pieces]
    scale = sizes[:, 1].max() / max(size[1] for size in true)
    assert scale > 0.02  # the drawing fills a page and has not shrunk to a point
    for size in true:
        assert np.abs(sizes / scale - size).max(1).min() < 1.0, size  # LibreOffice's own unit is 0.01 mm of its page
