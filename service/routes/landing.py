"""The front door: what this is, and where everything stands."""

from html import escape
from importlib.resources import files

from fastapi import APIRouter, Response

from service.checking import cautions, engine
from service.routes.context import Context
from service.web.route import StrictRoute


def router(context: Context) -> APIRouter:
    """The landing page and its style. Both are made once, at start-up."""
    routes = APIRouter(include_in_schema=False, route_class=StrictRoute)
    folder = files("service.routes")
    made_by = engine(context.limits)
    page = (
        folder.joinpath("landing.html")
        .read_text("utf-8")
        .replace("{cautions}", "\n".join(f"<li>{escape(one.message)}</li>" for one in cautions(context.limits)))
        .replace("{version}", escape(made_by.version))
        .replace("{rules}", escape(made_by.rules))
        .replace("{profile}", escape(made_by.profile))
    )
    style = folder.joinpath("landing.css").read_text("utf-8")

    @routes.get("/")
    async def read_landing() -> Response:
        return Response(page, media_type="text/html", headers={"Cache-Control": "no-cache"})

    @routes.get("/landing.css")
    async def read_style() -> Response:
        return Response(style, media_type="text/css", headers={"Cache-Control": "no-cache"})

    return routes
