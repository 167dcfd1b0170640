"""The page's scripts under a linter, and under a type checker that reads their JSDoc.

Runs where ``OWNBLOCK_NODE_MODULES`` names a folder that holds eslint, globals and typescript, and node is installed.
"""

import os
import shutil
import subprocess
from pathlib import Path

import pytest

MODULES = Path(os.environ.get("OWNBLOCK_NODE_MODULES", "nowhere"))
ROOT = Path(__file__).parents[3]
STATIC = ROOT / "convert" / "page" / "static"
CONFIG = Path(__file__).parent / "scripts"
TOOLS = {
    "eslint": ["--no-warn-ignored", "--max-warnings", "0", "--config", str(CONFIG / "eslint.config.mjs"), str(STATIC)],
    "tsc": ["--project", str(CONFIG / "tsconfig.json"), "--pretty", "false"],
}


def checked(tool: str, *words: str, text: str | None = None) -> "subprocess.CompletedProcess[str]":
    """What a tool says; of ``text`` where there is one."""
    program = MODULES / ".bin" / tool
    if shutil.which("node") is None or not program.exists():
        pytest.skip(f"needs node, and {tool} in OWNBLOCK_NODE_MODULES")
    return subprocess.run([str(program), *words], cwd=ROOT, capture_output=True, text=True, input=text)


@pytest.mark.parametrize("tool", TOOLS)
def test_nothing_is_found(tool: str) -> None:
    done = checked(tool, *TOOLS[tool])
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize(
    ("tool", "wrong", "named"),
    [
        ("eslint", "export const one = () => untold;\n", "no-undef"),
        ("eslint", "export const one = (a) => { let b = a; return b; };\n", "prefer-const"),
        ("tsc", "/** @type {(a: number) => string} */\nexport const one = (a) => a;\n", "TS2322"),
    ],
)
def test_a_fault_is_found(tool: str, wrong: str, named: str, tmp_path: Path) -> None:
    """Else nothing would be found whatever the scripts held."""
    (tmp_path / "wrong.js").write_text(wrong)
    words = {
        "eslint": [*TOOLS["eslint"][:-1], "--stdin", "--stdin-filename", str(STATIC / "wrong.js")],
        "tsc": [
            "--allowJs",
            "--checkJs",
            "--noEmit",
            "--target",
            "ES2023",
            "--ignoreConfig",
            str(tmp_path / "wrong.js"),
        ],
    }
    done = checked(tool, *words[tool], text=wrong)
    assert done.returncode != 0
    assert named in done.stdout
