"""The order form of openapi_examples/order_form at /demo/, so that a newcomer sees the service at work. Only where asked for.

The form is written as an example for shops, and stands with the other examples; the wheel holds a copy of it in this package.
In a checkout the one that people edit is served.
"""

from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Final

from fastapi import APIRouter, FastAPI, Response
from starlette.exceptions import HTTPException

from service.web.headers import PAGE_POLICY
from service.web.route import StrictRoute

ADDRESS: Final = "/demo/"
MEDIA_TYPES: Final = {
    "index.html": "text/html; charset=utf-8",
    "form.css": "text/css; charset=utf-8",
    "form.js": "text/javascript; charset=utf-8",
    "order.js": "text/javascript; charset=utf-8",
    "service.js": "text/javascript; charset=utf-8",
    "show.js": "text/javascript; charset=utf-8",
    "words.js": "text/javascript; charset=utf-8",
}
_PAGE: Final = "index.html"


def install_demo(app: FastAPI) -> None:
    """Add the form. Its files are read here, once; a FileNotFoundError tells that this installation lacks them."""
    folder = _folder()
    bodies = {name: folder.joinpath(name).read_bytes() for name in MEDIA_TYPES}
    router = APIRouter(route_class=StrictRoute, include_in_schema=False)

    @router.get(ADDRESS.rstrip("/"))
    async def redirect_to_demo() -> Response:
        return Response(status_code=307, headers={"Location": "demo/"})

    @router.get(ADDRESS)
    async def read_demo() -> Response:
        return _sent(_PAGE, bodies[_PAGE])

    @router.get(ADDRESS + "{name}")
    async def read_demo_file(name: str) -> Response:
        if name not in bodies:
            raise HTTPException(404)
        return _sent(name, bodies[name])

    app.include_router(router)


def _folder() -> Traversable:
    """Where the form is: in this package as installed, or in the examples of the checkout."""
    installed = files(__package__).joinpath("order_form")
    return installed if installed.is_dir() else Path(__file__).parents[2] / "openapi_examples" / "order_form"


def _sent(name: str, body: bytes) -> Response:
    headers = {"Cache-Control": "no-cache", "Content-Security-Policy": PAGE_POLICY.decode()}
    return Response(body, headers=headers, media_type=MEDIA_TYPES[name])
