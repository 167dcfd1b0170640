"""The page's own files: only those that came with the program, found by name in a list, never by a path."""

import hashlib
import mimetypes
from pathlib import Path

from fastapi import APIRouter, Request
from starlette.responses import Response

from convert.page.server.problems import missing

_HERE = Path(__file__).parents[1] / "static"
_FONTS = Path(__file__).parents[2] / "paper" / "fonts"
_TYPES = {
    ".js": "text/javascript",
    ".css": "text/css",
    ".html": "text/html",
    ".svg": "image/svg+xml",
    ".ttf": "font/ttf",
}
router = APIRouter()


def known_files() -> dict[str, Path]:
    """Every file that is served below ``/static/``, by its name there."""
    own = {one.relative_to(_HERE).as_posix(): one for one in _HERE.rglob("*") if one.is_file() and one.name[0] != "."}
    return {**own, **{f"fonts/{one.name}": one for one in _FONTS.glob("*.ttf")}}


@router.get("/", include_in_schema=False)
def index(request: Request) -> Response:
    """The page itself."""
    return _served("index.html", request)


@router.get("/static/{name:path}", include_in_schema=False)
def static(name: str, request: Request) -> Response:
    """One of its files."""
    return _served(name, request)


def _served(name: str, request: Request) -> Response:
    path = known_files().get(name)
    if path is None:
        raise missing("file")
    data = path.read_bytes()
    tag = f'"{hashlib.blake2s(data, digest_size=10).hexdigest()}"'
    headers = {"ETag": tag, "Cache-Control": "no-cache"}
    if request.headers.get("if-none-match") == tag:
        return Response(status_code=304, headers=headers)
    kind = _TYPES.get(path.suffix) or mimetypes.guess_type(path.name)[0] or "application/octet-stream"
    text = kind.startswith("text/") or path.suffix == ".svg"
    return Response(data, media_type=f"{kind}; charset=utf-8" if text else kind, headers=headers)
