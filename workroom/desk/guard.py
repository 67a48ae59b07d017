"""Who may speak to the desk: this machine's own browser, with this run's token, and nobody else.

The server listens on the loopback address only. Every request must name it as its host (so that no
page from elsewhere reaches it by a name of its own), must not come from another origin, and must
carry the token of this run, which the browser gets once with the address that opens the desk.
"""

from __future__ import annotations

import hmac
import re
import secrets
from collections.abc import Awaitable, Callable

from starlette.middleware.base import BaseHTTPMiddleware
from starlette.requests import Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp

#: Names of this machine, with the port the desk listens on.
_HOST = re.compile(r"(?:127\.0\.0\.1|localhost|\[::1\])(?::([0-9]{1,5}))?")
#: A request's body may be this long, bytes: a card is a page or two.
MOST_BYTES = 1_000_000
#: Nothing from elsewhere is loaded, no page elsewhere may frame the desk, no address is told.
HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
        "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cache-Control": "no-store",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
_Next = Callable[[Request], Awaitable[Response]]


def new_token() -> str:
    """A token for one run."""
    return secrets.token_urlsafe(32)


def cookie_name(host: str) -> str:
    """The cookie of the desk at a host: two desks on one machine do not turn each other out."""
    found = _HOST.fullmatch(host)
    return f"neckarc-{found[1] if found and found[1] else 'desk'}"


class Guard(BaseHTTPMiddleware):
    """Turns away what does not come from this desk's own page."""

    def __init__(self, app: ASGIApp, token: str) -> None:
        super().__init__(app)
        self._token = token

    async def dispatch(self, request: Request, call_next: _Next) -> Response:
        """Answer, or refuse with the reason."""
        response = self._refusal(request) or await self._answer(request, call_next)
        for name, value in HEADERS.items():
            response.headers[name] = value
        return response

    def _refusal(self, request: Request) -> Response | None:
        host = request.headers.get("host", "")
        if not _HOST.fullmatch(host):
            return _no(421, "The desk answers on this machine only.")
        origin = request.headers.get("origin")
        if origin is not None and origin != f"http://{host}":
            return _no(403, "This request comes from another page.")
        if request.headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
            return _no(403, "This request comes from another page.")
        if "transfer-encoding" in request.headers:
            return _no(411, "Say how long the request is.")
        if not re.fullmatch(r"[0-9]{1,9}", length := request.headers.get("content-length", "0")):
            return _no(400, "Say how long the request is.")
        if int(length) > MOST_BYTES:
            return _no(413, f"This is too long; a card has up to {MOST_BYTES} bytes.")
        return None

    async def _answer(self, request: Request, call_next: _Next) -> Response:
        name = cookie_name(request.headers["host"])
        given = request.query_params.get("key", "")
        if request.method == "GET" and request.url.path == "/" and self._right(given):
            opened: Response = RedirectResponse("/", status_code=303)
            opened.set_cookie(name, self._token, httponly=True, samesite="strict", path="/")
            return opened
        if not self._right(request.cookies.get(name, "")):
            return _no(403, "This desk belongs to another window: open it with neckarc desk.")
        return await call_next(request)

    def _right(self, given: str) -> bool:
        return hmac.compare_digest(given.encode("utf-8", "replace"), self._token.encode())


def _no(status: int, said: str) -> Response:
    return PlainTextResponse(said, status_code=status)
