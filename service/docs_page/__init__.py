"""The page that shows every endpoint and lets one try it: all its files are here, none comes from elsewhere."""

import hashlib
from dataclasses import dataclass
from importlib.resources import files
from typing import Final

from fastapi import APIRouter, FastAPI, Request, Response
from starlette.exceptions import HTTPException

from service.web.route import StrictRoute

MEDIA_TYPES: Final = {
    "swagger-ui-bundle.js": "text/javascript; charset=utf-8",
    "swagger-ui.css": "text/css; charset=utf-8",
    "docs.js": "text/javascript; charset=utf-8",
    "docs.css": "text/css; charset=utf-8",
    "favicon.svg": "image/svg+xml",
}
# The page names each file with a part of its hash, so a file under one address never changes.
_FOR_GOOD: Final = "public, max-age=31536000, immutable"
_ASK_AGAIN: Final = "no-cache"


@dataclass(frozen=True, slots=True)
class _File:
    """A file held in memory, ready to be sent."""

    body: bytes
    media_type: str
    etag: str
    cache_control: str


def install_docs(app: FastAPI) -> None:
    """Add the page, its files and the icon. The files are read here, once."""
    static = {name: _static_file(name) for name in MEDIA_TYPES}
    page = _page(static)
    icon = static["favicon.svg"]
    router = APIRouter(route_class=StrictRoute, include_in_schema=False)

    @router.get("/docs")
    async def docs(request: Request) -> Response:
        return _sent(page, request)

    @router.get("/docs/static/{name}")
    async def docs_file(name: str, request: Request) -> Response:
        if name not in static:
            raise HTTPException(404)
        return _sent(static[name], request)

    @router.get("/favicon.ico")
    async def favicon(request: Request) -> Response:
        return _sent(icon, request)

    app.include_router(router)


def _static_file(name: str) -> _File:
    body = (files(__package__) / "static" / name).read_bytes()
    return _File(body, MEDIA_TYPES[name], _etag(body), _FOR_GOOD)


def _page(static: dict[str, _File]) -> _File:
    text = (files(__package__) / "index.html").read_text(encoding="utf-8")
    for name, file in static.items():
        text = text.replace(f"{{{name}}}", f"docs/static/{name}?v={file.etag[1:13]}")
    body = text.encode()
    return _File(body, "text/html; charset=utf-8", _etag(body), _ASK_AGAIN)


def _etag(body: bytes) -> str:
    return f'"{hashlib.sha256(body).hexdigest()[:32]}"'


def _sent(file: _File, request: Request) -> Response:
    headers = {"ETag": file.etag, "Cache-Control": file.cache_control}
    if file.etag in request.headers.get("if-none-match", ""):
        return Response(status_code=304, headers=headers)
    return Response(file.body, headers=headers, media_type=file.media_type)
