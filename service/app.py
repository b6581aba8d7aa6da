"""The only place that assembles: settings in, application out."""

from fastapi import FastAPI

from service import demo, docs_page, languages, web
from service.catalogue import listed_catalogue
from service.checking import own_version
from service.profile.loader import load
from service.routes import (
    bench,
    cells,
    frames,
    health,
    inspections,
    landing,
    lenses,
    many,
    orders,
    prescriptions,
    reference,
    traces,
)
from service.routes.context import Context
from service.settings import Settings

DESCRIPTION = """Reads, checks and explains a spectacle order before it reaches the bench.

Lengths in mm, powers in dioptres (D), prism in prism dioptres (Δ), angles in degrees. The service keeps no orders.
A request that cannot be read is answered with a problem document (RFC 9457); an order that can be read is answered
200, also when the decision is `reject`.

**Cautions.** This is not a prescription or medical advice. The prescriber and the law of the place come first. Dress
lenses are not safety eyewear. Read the finished pair on a lensmeter before it is handed over.
"""


def create_app(settings: Settings, context: Context | None = None) -> FastAPI:
    """The application. `context` replaces what would be loaded from the settings, for tests.

    Raises ProfileError if the profile named in the settings cannot be used.
    """
    if context is None:
        limits = load(settings.profile_path)
        context = Context(limits, catalogue=listed_catalogue(limits, settings.profile_path))
    languages.load_all()
    app = FastAPI(
        title="benchgate",
        version=own_version(),
        description=DESCRIPTION,
        docs_url=None,
        redoc_url=None,
        openapi_url="/openapi.json",
        openapi_tags=[
            {"name": "orders", "description": "Check whole orders."},
            {"name": "lenses", "description": "Compare materials and blanks for an order."},
            {"name": "frames", "description": "Which frames of a catalogue suit this wearer."},
            {"name": "prescriptions", "description": "Read a prescription by itself."},
            {
                "name": "bench",
                "description": "Traced outlines, drawings at true size, bench sheets, and the inspection of finished pairs.",
            },
            {"name": "cells", "description": "One value an address, for the cells of a spreadsheet."},
            {"name": "reference", "description": "Everything that the answers rest on."},
            {"name": "health", "description": "For whoever runs the service."},
        ],
    )
    for router in (
        orders.router(context),
        many.router(context),
        lenses.router(context),
        prescriptions.router(context),
        traces.router(context),
        bench.router(context),
        inspections.router(context),
        frames.router(context),
        cells.router(context),
        reference.router(context),
        health.router(),
        landing.router(context),
    ):
        app.include_router(router)
    docs_page.install_docs(app)
    if settings.demo:
        demo.install_demo(app)
    web.install(app, settings)
    return app
