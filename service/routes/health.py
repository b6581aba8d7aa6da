"""Is it alive, is it ready?"""

from fastapi import APIRouter

from service.checking import own_version
from service.contract.reference import Health
from service.web.route import StrictRoute


def router() -> APIRouter:
    """The health endpoints. The profile and the tables are read at start-up, so a service that answers is ready."""
    routes = APIRouter(tags=["health"], route_class=StrictRoute)
    alive, ready = Health("alive", own_version()), Health("ready", own_version())

    @routes.get("/healthz", summary="Alive")
    async def read_health() -> Health:
        """The process answers."""
        return alive

    @routes.get("/readyz", summary="Ready")
    async def read_readiness() -> Health:
        """Profile and tables are loaded; orders can be sent."""
        return ready

    return routes
