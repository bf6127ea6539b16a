"""The review page as an ASGI application: same machine, one token, no network resource."""

import asyncio
import datetime
import json
import secrets
from collections.abc import AsyncIterator, Callable
from dataclasses import dataclass, field
from importlib.resources import files
from typing import Any

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, RedirectResponse, Response, StreamingResponse
from starlette.routing import Route
from starlette.types import ASGIApp, Receive, Scope, Send

from calibrate.errors import TraceclothError
from digitize.review.pictures import close_up
from digitize.review.reviewed import ReviewedSheet

COOKIE = "review"
POLL_S = 0.2
"""How often a waiting page looks for what another one changed, in seconds."""
LONGEST_BODY = 4096
"""Bytes of a statement: the page sends less."""
LONGEST_NAME = 60
STATIC = {
    "page.css": "text/css",
    "drawer.css": "text/css",
    "drawer.js": "text/javascript",
    "icon.svg": "image/svg+xml",
    "page.js": "text/javascript",
    "sheet.js": "text/javascript",
}
POLICY = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"  # noqa: E501
_HEADERS = {
    b"content-security-policy": POLICY.encode(),
    b"x-content-type-options": b"nosniff",
    b"referrer-policy": b"no-referrer",
    b"cache-control": b"no-store",
}


@dataclass
class Gate:
    """Who may come in: the hosts the page is served under, a token that opens once, the pass it is changed for."""

    hosts: frozenset[str]
    token: str = field(default_factory=lambda: secrets.token_urlsafe(24))
    passes: set[str] = field(default_factory=set)

    def open(self, token: str) -> str | None:
        """Change the token for a pass, once."""
        if not self.token or not secrets.compare_digest(token, self.token):
            return None
        self.token = ""
        given = secrets.token_urlsafe(24)
        self.passes.add(given)
        return given

    def knows(self, given: str | None) -> bool:
        """Is this a pass that was given?"""
        return given is not None and any(secrets.compare_digest(given, each) for each in self.passes)


class Doorkeeper:
    """Refuse foreign Host headers, foreign origins and whoever has no pass; set the safety headers."""

    def __init__(self, app: ASGIApp, gate: Gate) -> None:
        self.app, self.gate = app, gate

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or answer it."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        refusal = self._refusal(Request(scope))

        async def guarded(message: Any) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = [*message.get("headers", []), *_HEADERS.items()]
            await send(message)

        await (refusal or self.app)(scope, receive, guarded)

    def _refusal(self, request: Request) -> Response | None:
        if request.headers.get("host") not in self.gate.hosts:
            return PlainTextResponse("This page answers only to its own address on this computer.", 403)
        origin = request.headers.get("origin")
        if origin is not None and origin.removeprefix("http://") not in self.gate.hosts:
            return PlainTextResponse("A page from elsewhere may not speak here.", 403)
        if request.headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
            return PlainTextResponse("A page from elsewhere may not speak here.", 403)
        if request.url.path == "/" and "token" in request.query_params:
            return None
        if not self.gate.knows(request.cookies.get(COOKIE)):
            return PlainTextResponse("Open the address that the terminal shows; it works once, in one browser.", 401)
        return None


def review_app(reviewed: ReviewedSheet, gate: Gate, by: str = "") -> Starlette:
    """Build the application.

    Parameters
    ----------
    reviewed : ReviewedSheet
    gate : Gate
    by : str
        Name of the person, where the command gave one.
    """
    routes = [Route("/", entrance(gate, "page.html")), *sheet_routes(reviewed, by)]
    return Starlette(routes=routes, middleware=[Middleware(Doorkeeper, gate=gate)])


def sheet_routes(reviewed: ReviewedSheet, by: str, of_drawer: bool = False) -> list[Route]:
    """All that the page of one sheet asks for, but itself.

    Parameters
    ----------
    reviewed : ReviewedSheet
    by : str
    of_drawer : bool
        The page has a way back to the other sheets.
    """
    return [
        Route("/static/{name}", static_file),
        Route("/content", _content(reviewed, {"by": by, "drawer": of_drawer})),
        Route("/tile/{level:int}/{column:int}/{row:int}.jpg", _tile(reviewed)),
        Route("/figure/{text:int}.jpg", _figure(reviewed)),
        Route("/say", _say(reviewed), methods=["POST"]),
        Route("/undo", _plain(reviewed.undo), methods=["POST"]),
        Route("/redo", _plain(reviewed.redo), methods=["POST"]),
        Route("/export", _export(reviewed), methods=["POST"]),
        Route("/changes", _changes(reviewed)),
    ]


Endpoint = Callable[[Request], Any]


def entrance(gate: Gate, page_file: str) -> Endpoint:
    """The first page, where the token is changed for a pass."""

    def page(request: Request) -> Response:
        if "token" not in request.query_params:
            return page_of(page_file)
        given = gate.open(request.query_params["token"])
        if given is None and not gate.knows(request.cookies.get(COOKIE)):
            return PlainTextResponse("This address was used already; start digitize review again for a new one.", 401)
        answer = RedirectResponse("/", 303)
        if given is not None:
            answer.set_cookie(COOKIE, given, httponly=True, samesite="strict")
        return answer

    return page


def page_of(name: str) -> Response:
    """A page of ours."""
    return Response(_file(name), media_type="text/html")


def static_file(request: Request) -> Response:
    """What a page of ours is made of."""
    name = request.path_params["name"]
    if name not in STATIC:
        return PlainTextResponse("There is no such file.", 404)
    return Response(_file(name), media_type=STATIC[name])


def _file(name: str) -> bytes:
    return files("digitize.review").joinpath("static", name).read_bytes()


def _content(reviewed: ReviewedSheet, more: dict[str, Any]) -> Endpoint:
    def content(request: Request) -> Response:
        return JSONResponse({**reviewed.content(), **more})

    return content


def _tile(reviewed: ReviewedSheet) -> Endpoint:
    def tile(request: Request) -> Response:
        at = request.path_params
        data = reviewed.pictures.tile(at["level"], at["column"], at["row"])
        if data is None:
            return PlainTextResponse("There is no such tile.", 404)
        return Response(data, media_type="image/jpeg")

    return tile


def _figure(reviewed: ReviewedSheet) -> Endpoint:
    def figure(request: Request) -> Response:
        block = reviewed.block(request.path_params["text"])
        if block is None:
            return PlainTextResponse("There is no such figure.", 404)
        picture = reviewed.pictures.levels[0]
        return Response(close_up(picture, block.quad, block.height_px), media_type="image/jpeg")

    return figure


def _say(reviewed: ReviewedSheet) -> Endpoint:
    async def say(request: Request) -> Response:
        body = await request.body()
        if len(body) > LONGEST_BODY or request.headers.get("content-type") != "application/json":
            return refused("The page sent something that is no statement; reload it.")
        try:
            content = json.loads(body)
            name, seen = str(content["by"]).strip()[:LONGEST_NAME], int(content["version"])
        except (ValueError, KeyError, TypeError):
            return refused("The page sent something that is no statement; reload it.")
        if not name:
            return refused("Write your name first: the table records who confirmed a value.")
        today = datetime.date.today().isoformat()
        return await _answer(reviewed, lambda: reviewed.say(content, name, today, seen))

    return say


def _plain(work: Callable[[], list[str]]) -> Endpoint:
    reviewed: ReviewedSheet = work.__self__  # type: ignore[attr-defined]

    async def plain(request: Request) -> Response:
        return await _answer(reviewed, work)

    return plain


async def _answer(reviewed: ReviewedSheet, work: Callable[[], list[str]]) -> Response:
    try:
        changed = await run_in_threadpool(work)
    except TraceclothError as error:
        return refused(str(error))
    return JSONResponse({"changed": changed, "content": await run_in_threadpool(reviewed.content)})


def refused(sentence: str) -> Response:
    """Say why something is not done."""
    return JSONResponse({"refused": sentence}, 422)


def _export(reviewed: ReviewedSheet) -> Endpoint:
    async def export(request: Request) -> Response:
        try:
            written = await run_in_threadpool(reviewed.export)
        except (TraceclothError, OSError) as error:
            return refused(f"Nothing was written: {error}")
        return JSONResponse({"written": [path.name for path in written], "folder": reviewed.folder.name})

    return export


def _changes(reviewed: ReviewedSheet) -> Endpoint:
    async def changes(request: Request) -> Response:
        return StreamingResponse(_versions(reviewed, request), media_type="text/event-stream")

    return changes


async def _versions(reviewed: ReviewedSheet, request: Request) -> AsyncIterator[str]:
    """The journal's version whenever it has grown, for as long as the page listens."""
    told = -1
    reviewed.listeners += 1
    try:
        while not await request.is_disconnected():
            version = reviewed.journal.version()
            if version != told:
                told = version
                yield f"data: {version}\n\n"
            await asyncio.sleep(POLL_S)
    finally:
        reviewed.listeners -= 1
