"""Writing files so that a crash leaves the old one whole."""

import os
import tempfile
from pathlib import Path

from calibration.ground.errors import OutputError


def write_atomically(path: Path | str, content: bytes | str) -> None:
    """Write beside the target, then rename over it.

    Raises
    ------
    OutputError
        If the folder can't be written to.
    """
    target = Path(path)
    data = content.encode() if isinstance(content, str) else content
    try:
        handle, name = tempfile.mkstemp(prefix=f".{target.name}.", dir=target.parent or Path("."))
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(data)
                stream.flush()
                os.fsync(stream.fileno())
            os.chmod(name, 0o644)
            os.replace(name, target)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as err:
        raise OutputError(
            f"{target} could not be written: {err.strerror or err}.",
            "Check that the folder exists, that you may write there and that the disk is not full.",
        ) from err
