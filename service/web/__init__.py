"""The web around the service: what surrounds every endpoint, whatever it answers."""

from fastapi import FastAPI

from service.settings import Settings
from service.web.access_log import AccessLog
from service.web.cors import Cors
from service.web.failures import Failures
from service.web.handlers import install_handlers
from service.web.headers import SecurityHeaders
from service.web.openapi import publish_problem_media_type
from service.web.request_id import RequestId
from service.web.shedding import Shedding
from service.web.url_length import UrlLength


def install(app: FastAPI, settings: Settings) -> None:
    """Put the layers round an application. Call once, before it serves."""
    # A path with a slash too many is answered 404 like any other unknown one, not sent elsewhere.
    app.router.redirect_slashes = False
    install_handlers(app)
    publish_problem_media_type(app)
    # What is added last stands outermost: the id first, so that every line and every answer can name it.
    app.add_middleware(Failures)
    app.add_middleware(Shedding, max_in_flight=settings.max_in_flight)
    app.add_middleware(UrlLength)
    if settings.allow_origins:
        app.add_middleware(Cors, origins=frozenset(settings.allow_origins))
    app.add_middleware(SecurityHeaders)
    if settings.log:
        app.add_middleware(AccessLog)
    app.add_middleware(RequestId)
