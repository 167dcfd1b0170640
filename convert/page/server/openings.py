"""Names by which a page may be opened, each for one opening only: what a list of processes shows is worth nothing."""

import hmac
import secrets
import threading
from collections.abc import Callable


class Openings:
    """The names that were given out and not used yet. ``used`` is called after each that was."""

    def __init__(self, *, used: Callable[[], None] = lambda: None) -> None:
        self._names: list[str] = []
        self._used = used
        self._lock = threading.Lock()

    def new(self, name: str | None = None) -> str:
        """A name for one opening."""
        with self._lock:
            self._names.append(name or secrets.token_urlsafe(32))
            return self._names[-1]

    def use(self, told: str) -> bool:
        """Whether a name is good; it is not any more after this."""
        with self._lock:
            found = [one for one in self._names if hmac.compare_digest(one.encode(), told.encode())]
            for one in found:
                self._names.remove(one)
        if found:
            self._used()
        return bool(found)
