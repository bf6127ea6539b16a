"""The page of a drawer, and under it the page of each sheet, as one ASGI application."""

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, Response
from starlette.routing import Mount, Route, Router
from starlette.types import ASGIApp, Receive, Scope, Send

from calibrate.errors import TraceclothError
from digitize.review.app import Doorkeeper, Endpoint, Gate, entrance, page_of, refused, sheet_routes, static_file
from digitize.review.drawer import Drawer
from digitize.review.reviewed import ReviewedSheet


def drawer_app(drawer: Drawer, gate: Gate, by: str = "") -> Starlette:
    """Build the application.

    Parameters
    ----------
    drawer : Drawer
    gate : Gate
    by : str
        Name of the person, where the command gave one.
    """
    routes = [
        Route("/", entrance(gate, "drawer.html")),
        Route("/static/{name}", static_file),
        Route("/drawer", _drawer(drawer)),
        Route("/sheets", _sheets(drawer)),
        Route("/small/{key}.jpg", _small(drawer)),
        Mount("/sheet/{key}", app=_Sheets(drawer, by)),
    ]
    return Starlette(routes=routes, middleware=[Middleware(Doorkeeper, gate=gate)])


def _drawer(drawer: Drawer) -> Endpoint:
    def content(request: Request) -> Response:
        return JSONResponse(drawer.content())

    return content


def _sheets(drawer: Drawer) -> Endpoint:
    def sheets(request: Request) -> Response:
        try:
            return JSONResponse(drawer.find(request.query_params))
        except TraceclothError as error:
            return refused(str(error))

    return sheets


def _small(drawer: Drawer) -> Endpoint:
    def small(request: Request) -> Response:
        try:
            data = drawer.picture(request.path_params["key"])
        except TraceclothError as error:
            return PlainTextResponse(str(error), 404)
        return Response(data, media_type="image/jpeg") if data else PlainTextResponse("There is no picture.", 404)

    return small


class _Sheets:
    """Hands a request on to the page of the sheet that its address names."""

    def __init__(self, drawer: Drawer, by: str) -> None:
        self.drawer, self.by = drawer, by

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        try:
            reviewed = await run_in_threadpool(self.drawer.sheet, scope["path_params"]["key"])
        except TraceclothError as error:
            await PlainTextResponse(str(error), 404)(scope, receive, send)
        else:
            await _one(reviewed, self.by)(scope, receive, send)


def _one(reviewed: ReviewedSheet, by: str) -> ASGIApp:
    return Router([Route("/", lambda request: page_of("page.html")), *sheet_routes(reviewed, by, of_drawer=True)])
