"""News of a job for every window that looks at it, as server-sent events."""

import asyncio
import json
import threading
from collections.abc import AsyncIterator
from typing import Any

_BEAT_S = 15.0
_BACKLOG = 500  # of a window that does not listen: then it is dropped, and looks anew when it comes back


class News:
    """Who listens to which job; may be told from any thread."""

    def __init__(self) -> None:
        self._ears: dict[str, set[tuple[asyncio.AbstractEventLoop, asyncio.Queue[dict[str, Any]]]]] = {}
        self._lock = threading.Lock()
        self._over = False

    def tell(self, job_id: str, news: dict[str, Any]) -> None:
        """Say something to every window of a job."""
        with self._lock:
            ears = list(self._ears.get(job_id, ()))
        for loop, ear in ears:
            if not loop.is_closed():
                loop.call_soon_threadsafe(_put, ear, news)

    def end(self) -> None:
        """Let every listener go, so that the server can stop."""
        self._over = True
        for job_id in list(self._ears):
            self.tell(job_id, {"over": True})

    async def listen(self, job_id: str, first: dict[str, Any]) -> AsyncIterator[str]:
        """Events for one window, from now on."""
        own = (asyncio.get_running_loop(), asyncio.Queue[dict[str, Any]](_BACKLOG))
        with self._lock:
            self._ears.setdefault(job_id, set()).add(own)
        try:
            yield _event(first)
            while not self._over:
                try:
                    news = await asyncio.wait_for(own[1].get(), _BEAT_S)
                except TimeoutError:
                    yield ": still here\n\n"
                    continue
                if not news.get("over"):
                    yield _event(news)
        finally:
            with self._lock:
                self._ears[job_id].discard(own)


def _event(news: dict[str, Any]) -> str:
    return f"data: {json.dumps(news, ensure_ascii=False)}\n\n"


def _put(ear: "asyncio.Queue[dict[str, Any]]", news: dict[str, Any]) -> None:
    if not ear.full():
        ear.put_nowait(news)
