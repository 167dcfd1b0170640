"""Who may talk to the page: this machine's browser that was opened with this start's token, and nobody else.

Every request is looked at before anything is read of it: the name it was sent to (a foreign site can make a browser
call 127.0.0.1 by a name of its own), where it comes from, and the token. Bodies are counted while they come in.
"""

import hmac
from http.cookies import CookieError, SimpleCookie
from urllib.parse import parse_qs

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from convert.page.server.problems import PageError, Problem, answer

UPLOAD_BYTES = 60_000_000
BODY_BYTES = 4_000_000  # of anything but a picture: an outline of some thousand points has 100 kB
_DRAINED_BYTES = 1_000_000_000  # of a body too large that are let run by, so that the browser hears the answer
TOKEN_HEADER = "x-ownblock-token"
POLICY = (
    "default-src 'self'; img-src 'self' blob: data:; style-src 'self'; script-src 'self'; font-src 'self'; "
    "connect-src 'self'; object-src 'none'; frame-ancestors 'none'; base-uri 'none'; form-action 'self'"
)
_HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
}
_REOPEN = "Open the page with the address that ownblock printed when it was started, or start it again."


def too_big(limit: int) -> PageError:
    """A body larger than is taken."""
    return PageError(
        413,
        "too-big",
        f"That is larger than {limit / 1e6:.0f} MB, which is more than a picture of a pattern piece needs.",
        "Save the picture as a JPEG and send that.",
    )


class Guard:
    """The door in front of an application."""

    def __init__(self, app: ASGIApp, *, token: str, port: int) -> None:
        self._app = app
        self._token = token
        self._cookie = f"ownblock-{port}"  # cookies are shared by all ports of a host
        self._hosts = {f"{name}:{port}" for name in ("127.0.0.1", "localhost")}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            return await self._app(scope, receive, send)
        if scope["type"] != "http":
            return await send({"type": "websocket.close", "code": 1008})
        refused = self._refused(scope)
        if refused is not None:
            return await refused(scope, receive, _guarded(scope, send))
        limit = UPLOAD_BYTES if scope["method"] == "POST" and scope["path"].endswith("/pictures") else BODY_BYTES
        length = Headers(scope=scope).get("content-length", "0")
        if length.isdigit() and int(length) > limit:
            await _drained(receive)
            return await _said(too_big(limit))(scope, receive, _guarded(scope, send))
        await self._app(scope, _counted(receive, limit), _guarded(scope, send))
        return None

    def _refused(self, scope: Scope) -> Response | None:
        headers = Headers(scope=scope)
        hosts = headers.getlist("host")
        if len(hosts) != 1 or hosts[0].lower() not in self._hosts:
            return _no(403, "host", "This address is not ownblock's.")
        origin = headers.get("origin")
        if origin is not None and origin.lower() not in {f"http://{host}" for host in self._hosts}:
            return _no(403, "origin", "Another page tried to reach ownblock; that is not let in.")
        if headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none") and scope["path"] != "/":
            return _no(403, "origin", "Another page tried to reach ownblock; that is not let in.")
        if scope["path"] == "/":
            told = parse_qs(scope["query_string"].decode("latin-1"), keep_blank_values=True).get("token")
            return None if told is None else self._welcome(told[0])
        if scope["path"].startswith("/static/"):
            return None
        if not self._known(headers):
            return _no(401, "token", "This window is not connected to ownblock, or ownblock was started anew.")
        return None

    def _welcome(self, token: str) -> Response:
        """The first call: the token becomes a cookie that no script can read, and leaves the address."""
        if not hmac.compare_digest(token.encode(), self._token.encode()):
            return _no(401, "token", "This address belongs to an earlier start of ownblock.")
        response = RedirectResponse("/", status_code=303)
        response.set_cookie(self._cookie, self._token, httponly=True, samesite="strict", path="/")
        return response

    def _known(self, headers: Headers) -> bool:
        told = [headers.get(TOKEN_HEADER, "")]
        for line in headers.getlist("cookie"):
            try:
                morsel = SimpleCookie(line).get(self._cookie)
            except CookieError:
                continue
            told += [morsel.value] if morsel else []
        return any(hmac.compare_digest(one.encode(), self._token.encode()) for one in told)


def _no(status: int, code: str, problem: str) -> Response:
    return answer(status, Problem(problem=problem, remedy=_REOPEN, code=code))


def _said(error: PageError) -> Response:
    return answer(error.status, Problem(problem=error.problem, remedy=error.remedy, code=error.code))


def _guarded(scope: Scope, send: Send) -> Send:
    """Answers with the headers that keep a page to itself; nothing personal stays in a browser's store."""

    async def sent(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in _HEADERS.items():
                headers[name] = value
            headers.setdefault("cache-control", "no-store")
        await send(message)

    return sent


def _counted(receive: Receive, limit: int) -> Receive:
    """A body that ends with an error once it is longer than its limit, whatever its header said."""
    seen = 0

    async def received() -> Message:
        nonlocal seen
        message = await receive()
        seen += len(message.get("body", b""))
        if seen > limit:
            await _drained(receive)
            raise too_big(limit)
        return message

    return received


async def _drained(receive: Receive) -> None:
    """Let the rest of a body run by, keeping nothing: a browser reads no answer before it has sent everything."""
    seen, more = 0, True
    while more and seen < _DRAINED_BYTES:
        message = await receive()
        seen += len(message.get("body", b""))
        more = message["type"] == "http.request" and message.get("more_body", False)
