"""The heavy work, in a process of its own: a picture that breaks a decoder, or takes too long, breaks nothing else.

A worker gets ``(name, arguments)`` and sends ``("stage", words)`` as often as it likes, then one of
``("done", value)``, ``("problem", problem, remedy)`` or ``("fault", traceback)``.
"""

import signal
import traceback
from collections.abc import Callable
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from calibration.ground.errors import InputError, OwnblockError

Stage = Callable[[str], None]


def look(stage: Stage, pictures: Any, size: int | str | None, outline_told: bool) -> Any:
    """Pictures looked at: a :class:`convert.page.desk.looked.Looked`, or the ``Sizes`` to choose among."""
    from convert.page.desk.looked import kept
    from convert.pipeline.look import look as look_at

    return kept(look_at(pictures, size, outline_told=outline_told, every_size=True, progress=stage))


def check_picture(_stage: Stage, path: Path, name: str) -> tuple[int, int]:
    """Width and height of a picture that can be read whole; ``name`` is what to call it."""
    from calibration.picture.photo import read_photo

    try:
        return read_photo(path).size_px
    except InputError as err:
        raise InputError(err.problem.replace(str(path), name).replace(path.name, name), err.remedy) from err


_WORK: dict[str, Callable[..., Any]] = {"look": look, "check_picture": check_picture}


def serve(line: Connection) -> None:
    """Work until the line is closed."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl+C is the server's, which then closes the line
    import convert.page.desk.looked  # noqa: F401  heavy, and wanted at once when the first picture comes

    while True:
        try:
            name, arguments = line.recv()
        except (EOFError, OSError):
            return
        try:
            line.send(("done", _WORK[name](lambda words: line.send(("stage", words)), *arguments)))
        except OwnblockError as err:
            line.send(("problem", err.problem, err.remedy))
        except Exception:
            line.send(("fault", traceback.format_exc()))
