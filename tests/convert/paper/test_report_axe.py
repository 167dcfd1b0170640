"""axe-core finds nothing wrong with the report, on light and dark, on a telephone and on a desk.

Runs where ``OWNBLOCK_NODE_MODULES`` names a folder that holds axe-core and playwright-core, node is installed, and a
Chromium is found (``OWNBLOCK_CHROMIUM`` or on the path).
"""

import json
import os
import shutil
import subprocess
from pathlib import Path

import pytest

from tests.convert.paper.test_report import html

MODULES = os.environ.get("OWNBLOCK_NODE_MODULES", "")
CHROMIUM = os.environ.get("OWNBLOCK_CHROMIUM") or shutil.which("chromium") or ""
NODE = shutil.which("node") or ""
HAVE = all((NODE, CHROMIUM, MODULES)) and all(
    (Path(MODULES) / name).is_dir() for name in ("axe-core", "playwright-core")
)

SCRIPT = """
const { chromium } = require(process.env.MODULES + '/playwright-core');
const source = require(process.env.MODULES + '/axe-core').source;
(async () => {
  const args = ['--no-sandbox', '--disable-gpu'];
  const browser = await chromium.launch({ executablePath: process.env.CHROMIUM, args });
  const found = [];
  for (const colorScheme of ['light', 'dark']) for (const width of [360, 1280]) {
    const page = await (await browser.newContext({ colorScheme, viewport: { width, height: 900 } })).newPage();
    await page.goto('file://' + process.argv[2]);
    await page.evaluate(source);
    const result = await page.evaluate(() => axe.run(document));
    const wider = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
    const focus = [];
    for (let i = 0; i < 4; i++) {
      await page.keyboard.press('Tab');
      focus.push(await page.evaluate(() => document.activeElement.getAttribute('href')));
    }
    const violations = result.violations.map(v => v.id + ': ' + v.nodes[0].html);
    found.push({ colorScheme, width, wider, focus, violations });
  }
  await browser.close();
  console.log(JSON.stringify(found));
})();
"""


@pytest.mark.skipif(not HAVE, reason="needs node, Chromium, and axe-core and playwright-core in OWNBLOCK_NODE_MODULES")
def test_no_violations_and_the_keyboard_reaches_every_part(tmp_path: Path) -> None:
    (tmp_path / "report.html").write_text(html())
    (tmp_path / "axe.cjs").write_text(SCRIPT)
    done = subprocess.run(
        [NODE, str(tmp_path / "axe.cjs"), str(tmp_path / "report.html")],
        capture_output=True,
        text=True,
        timeout=120,
        env={**os.environ, "MODULES": MODULES, "CHROMIUM": CHROMIUM},
    )
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert len(found) == 4
    for one in found:
        assert one["violations"] == [], one
        assert one["wider"] <= 0, one  # nothing is cut off or scrolls sideways
        assert one["focus"][:2] == ["#main", "#get"], one
