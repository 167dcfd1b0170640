"""Where the trial job's pictures lie: in the repository, or among what was installed with the program."""

from functools import cache
from importlib.metadata import PackageNotFoundError, files
from pathlib import Path

from convert.job.job import JOB_FILE

_IN_REPOSITORY = Path(__file__).parents[3] / "sample_scans" / "wardrobe"
_INSTALLED = f"share/ownblock/trial/{JOB_FILE}"


@cache
def trial_job() -> Path | None:
    """The trial job's folder, or None if it is not here."""
    if (_IN_REPOSITORY / JOB_FILE).is_file():
        return _IN_REPOSITORY
    try:
        installed = files("ownblock") or []
    except PackageNotFoundError:
        return None
    found = [Path(str(one.locate())).resolve() for one in installed if one.as_posix().endswith(_INSTALLED)]
    return next((one.parent for one in found if one.is_file()), None)
