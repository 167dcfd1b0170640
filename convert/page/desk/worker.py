"""The heavy work, in a process of its own: a picture that breaks a decoder, or takes too long, breaks nothing else.

A worker gets ``(name, arguments)`` and sends ``("stage", words)`` as often as it likes, then one of
``("done", value)``, ``("problem", problem, remedy)`` or ``("fault", traceback)``.
"""

import signal
import traceback
from collections.abc import Callable
from dataclasses import replace
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from calibration.ground.errors import InputError, OwnblockError

Stage = Callable[[str], None]
_MOST_SIZES = 20  # on one sheet; multi-size patterns have up to about a dozen


def look(stage: Stage, pictures: Any, size: int | str | None) -> Any:
    """Pictures read, flattened and traced: a :class:`convert.page.looked.Looked`."""
    from convert.page.desk.looked import kept
    from convert.pipeline.look import read_sheet, trace_sheet

    read = read_sheet(pictures, progress=stage)
    try:
        tracings = trace_sheet(read, size=size, progress=stage)
    except InputError:
        if size is None and (sizes := _sizes(read, stage)):
            return sizes
        if not pictures.outline_told:
            raise
        tracings = ()
    return kept(read, tracings)


def _sizes(read: Any, stage: Stage) -> Any:
    """Each of several nested sizes as it reads: a :class:`convert.page.looked.Sizes`; None if there are none."""
    from convert.page.desk.looked import Sizes, kept
    from convert.pipeline.look import trace_sheet

    looks: list[Any] = []
    while len(looks) < _MOST_SIZES:
        stage(f"finding each size’s line, {len(looks) + 1}")
        try:
            tracings = trace_sheet(read, size=len(looks) + 1)
        except InputError:
            break
        if not any(one.nested for one in tracings):
            break
        looks.append(kept(read, tracings) if not looks else replace(looks[0], tracings=tracings))
    return Sizes(looks=tuple(looks)) if len(looks) > 1 else None


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
