"""How long things take on this machine: python -m tests.bench.clocks.

Prints seconds, and beside them what we aim at; nothing passes or fails by them, because a busy machine is no fault.
"""

import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from convert.body.read_card import card_text
from convert.cli.class_making import make_blocks, sorted_cards
from tests.convert.block.makers import card_of, random_makers
from tests.convert.block.test_measure import SET
from tests.convert.block.test_solve import bodies
from tests.lab_pieces import lab_piece

ROOT = Path(__file__).parents[2]
MAKERS = 30


def taken_s(work: Callable[[], object]) -> float:
    """Seconds by the clock that some work takes."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def help_printed() -> None:
    """``ownblock --help`` in a new process."""
    subprocess.run([sys.executable, "-m", "convert.cli.main", "--help"], capture_output=True, check=True, cwd=ROOT)


def page_opened() -> None:
    """``ownblock open`` in a new process, up to the address it prints; then Ctrl+C until it has ended."""
    with tempfile.TemporaryDirectory() as folder:
        words = [sys.executable, "-m", "convert.cli.main", "open", folder, "--no-browser"]
        with subprocess.Popen(words, stderr=subprocess.PIPE, text=True, cwd=ROOT) as running:
            assert running.stderr is not None
            running.stderr.readline()
            running.send_signal(2)


def class_made() -> None:
    """A block for each of thirty makers from the practice pattern, on two cores, nothing written."""
    pieces = tuple(lab_piece(scene) for scene in SET)
    size = ", ".join(f'"{name}" = "{mm} mm"' for name, mm in bodies("pattern_size_body").items() if name != "height")
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        (folder / "seen.jpg").touch()
        listed = "".join(f'[[pieces]]\npiece = "{one.kind}"\npictures = ["seen.jpg"]\n' for one in pieces)
        (folder / "job.toml").write_text(f'title = "class"\ngrid = "1cm"\n[pattern]\nbody = {{ {size} }}\n{listed}')
        cards = [folder / f"{number}.toml" for number in range(MAKERS)]
        for number, body in enumerate(random_makers(MAKERS, seed=8)):
            cards[number].write_text(card_text(card_of(body, f"maker {number}")))
        make_blocks(folder, pieces, sorted_cards(cards)[0], workers=2, write=False, done=lambda _: None)


def main() -> None:
    """Measure each, once."""
    for what, work, aim in (
        ("ownblock --help", help_printed, "a blink: 0.1 to 0.3 s"),
        ("ownblock open, up to its address, and closed again", page_opened, "a few seconds"),
        (f"{MAKERS} blocks of one pattern on two cores", class_made, "8 s, and 2 s for starting the workers"),
    ):
        print(f"{what}: {taken_s(work):.1f} s; aim: {aim}")


if __name__ == "__main__":
    main()
