"""The desk's pages and what they ask for. Every change of the book is one request, answered only
when it is on the disk.

What drafts is loaded when it is first needed, so that the desk stands open at once.
"""

from __future__ import annotations

import gc
import re
import unicodedata
from collections.abc import Awaitable, Callable, Mapping
from functools import wraps
from importlib import import_module
from pathlib import Path
from typing import Any, TypeVar
from urllib.parse import quote

from jinja2 import Environment, FileSystemLoader
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from drafting.errors import NeckarcError, Problem
from workroom.book.book import Book
from workroom.book.errors import BookConflictError, NotInBookError
from workroom.desk.content import DeskError
from workroom.desk.guard import HEADERS, Guard
from workroom.desk.paper_cache import Shelf, media_type

HERE = Path(__file__).resolve().parent
_Work = TypeVar("_Work")
_OF_HTTP = {404: "There is no such page.", 405: "This page cannot do that."}


def desk_app(book: Path, token: str) -> Starlette:
    """The desk on the book in a file; requests need the ``token``."""
    desk = _Desk(book)
    client, order = "/clients/{client:int}", "/orders/{order:int}"
    routes = [
        Route("/", desk.front, methods=["GET"]),
        Route("/clients", desk.add_client, methods=["POST"]),
        Route("/cards", desk.take_card, methods=["POST"]),
        Route(client, desk.client, methods=["GET"]),
        Route(f"{client}/change", desk.change_client, methods=["POST"]),
        Route(f"{client}/erase", desk.erase_client, methods=["POST"]),
        Route(f"{client}/orders", desk.add_order, methods=["POST"]),
        Route(order, desk.fitting, methods=["GET"]),
        Route(f"{order}/save", desk.save, methods=["POST"]),
        Route(f"{order}/typing", desk.keep_typing, methods=["POST"]),
        Route(f"{order}/card.toml", desk.card, methods=["GET"]),
        Route(f"{order}/papers", desk.papers, methods=["GET"]),
        Route(f"{order}/papers.zip", desk.folder, methods=["GET"]),
        Route(f"{order}/papers/{{name}}", desk.paper, methods=["GET"]),
        Route("/look", desk.look, methods=["POST"]),
        Route("/neck", desk.neck, methods=["POST"]),
        Route("/form/{unit}", desk.form, methods=["GET"]),
        Route("/nothing", desk.nothing, methods=["GET"]),
        Mount("/static", StaticFiles(directory=HERE / "static")),
    ]
    return Starlette(
        routes=routes,
        middleware=[Middleware(Guard, token=token)],
        exception_handlers={HTTPException: desk.no_page, Exception: desk.broken},
    )


def warm_up() -> None:
    """Load what drafts, before it is asked for, and draft the demo client in every collar, which
    reads what is read once only."""
    for name in ("preview", "saving", "comparing"):
        import_module(f"workroom.desk.{name}")
    from collars.registry import COLLARS
    from workroom.desk.forms import figure, form
    from workroom.desk.preview import demo_in, look_at

    form("cm")
    figure()
    for kind in COLLARS:
        look_at(demo_in(kind))
    # What is loaded now stays: looking through it for rubbish again and again would stop one redraw
    # in twenty for longer than the redraw itself takes.
    gc.collect()
    gc.freeze()


def _mended(
    work: Callable[[_Desk, Request], Awaitable[Response]],
) -> Callable[[_Desk, Request], Awaitable[Response]]:
    """Errors as one clear page, or as JSON where the page asked by script."""

    @wraps(work)
    async def answer(self: _Desk, request: Request) -> Response:
        try:
            return await work(self, request)
        except NotInBookError as error:
            return self.sorry(request, error, 404)
        except BookConflictError as error:
            return self.sorry(request, error, 409)
        except NeckarcError as error:
            return self.sorry(request, error, 422)

    return answer


class _Desk:
    """The handlers. Each opens the book for itself: SQLite connections belong to one thread."""

    def __init__(self, book: Path) -> None:
        self._book = book
        self._shelf = Shelf(book)
        self._pages = Environment(
            loader=FileSystemLoader(HERE / "pages"), autoescape=True, trim_blocks=True
        )

    # ---- answering ----------------------------------------------------------------------------

    def _page(self, name: str, status: int = 200, **values: Any) -> Response:
        return HTMLResponse(self._pages.get_template(name).render(**values), status_code=status)

    def _said(self, request: Request, said: list[str], status: int) -> Response:
        if "application/json" in request.headers.get("accept", ""):
            return JSONResponse({"said": said}, status_code=status)
        return self._page("sorry.html", status, said=said)

    def sorry(self, request: Request, error: NeckarcError, status: int) -> Response:
        """What went wrong, to script or person."""
        return self._said(request, [str(problem) for problem in error.problems], status)

    async def no_page(self, request: Request, error: Exception) -> Response:
        """Requests that no page makes."""
        status = error.status_code if isinstance(error, HTTPException) else 400
        said = _OF_HTTP.get(status, "This cannot be read.")
        return self._said(request, [said], status)

    async def broken(self, request: Request, error: Exception) -> Response:
        """A fault of ours: said plainly, told in full where the desk was started."""
        said = "Neckarc made a mistake of its own here. What was saved is safe."
        response = self._said(request, [said], 500)
        response.headers.update(HEADERS)
        return response

    async def _in_book(self, work: Callable[[Book], _Work]) -> _Work:
        def with_book() -> _Work:
            with Book(self._book) as book:
                return work(book)

        return await run_in_threadpool(with_book)

    # ---- who ----------------------------------------------------------------------------------

    async def nothing(self, request: Request) -> Response:
        """An empty answer, to measure others by."""
        return Response(status_code=204)

    @_mended
    async def front(self, request: Request) -> Response:
        """Who is in the book."""

        def read(book: Book) -> list[dict[str, Any]]:
            return [
                {
                    "client": client,
                    "sets": book.sets_of(client.id),
                    "orders": book.orders_of(client.id),
                }
                for client in book.clients()
            ]

        return self._page("front.html", people=await self._in_book(read), book=self._book)

    @_mended
    async def add_client(self, request: Request) -> Response:
        """A new client, with a first order to fit."""
        fields = await _fields(request)
        name = _name(fields.get("name"))
        unit = "in" if fields.get("unit") == "in" else "cm"

        def write(book: Book) -> int:
            client = book.add_client(name)
            return book.add_order(client.id, "", {"unit": unit}).id

        return _go(f"/orders/{await self._in_book(write)}")

    @_mended
    async def take_card(self, request: Request) -> Response:
        """A card's file into the book."""
        from workroom.book.cards import import_card
        from workroom.card.file import decode

        async with request.form(max_files=1, max_fields=4) as fields:
            given = fields.get("card")
            if given is None or isinstance(given, str):
                raise DeskError(Problem("no card was chosen"))
            text = decode(await given.read(), "card")
        order = await self._in_book(lambda book: import_card(book, text, "card")[1].id)
        return _go(f"/orders/{order}")

    @_mended
    async def client(self, request: Request) -> Response:
        """A client's page: two of her sets side by side, what was seen on her, orders, notes."""
        number = request.path_params["client"]

        def read(book: Book) -> dict[str, Any]:
            from drafting.units import format_length
            from workroom.desk.comparing import compared, unit_of

            client, sets = book.client(number), book.sets_of(number)
            two = compared(sets, *(_whole(request.query_params.get(k)) for k in ("old", "new")))
            return {
                "client": client,
                "sets": sets,
                "two": two,
                "orders": book.orders_of(number),
                "corrections": [
                    (one, format_length(one.amount, unit_of(sets), places=2))
                    for one in reversed(book.corrections_of(number))
                ],
            }

        return self._page("client.html", **await self._in_book(read))

    @_mended
    async def change_client(self, request: Request) -> Response:
        """Another name, other notes."""
        from workroom.desk.content import LONGEST_NOTE, text_lines

        number, fields = request.path_params["client"], await _fields(request)
        name = _name(fields.get("name"))
        notes = text_lines(fields.get("notes", ""), "notes", LONGEST_NOTE)
        version = _whole(fields.get("version"))

        def write(book: Book) -> None:
            was = book.client(number)
            if was.version != version:
                raise BookConflictError(
                    Problem(
                        "another window saved this meanwhile; nothing was overwritten",
                        advice="Go back, load her page again, and make your change once more.",
                    )
                )
            book.change_client(was, name=name, notes=notes)

        await self._in_book(write)
        return _go(f"/clients/{number}")

    @_mended
    async def erase_client(self, request: Request) -> Response:
        """Really delete a client; the page asked before."""
        from workroom.book.copies import still_named

        number, fields = request.path_params["client"], await _fields(request)
        if fields.get("sure") != "yes":
            raise DeskError(Problem("nothing was deleted: it was not confirmed"))

        def erase(book: Book) -> list[str]:
            gone = book.delete_client(number)
            return [gone.said(), *still_named(book.path, gone.name)]

        said = await self._in_book(erase)
        await run_in_threadpool(self._shelf.clear)
        return self._page("erased.html", said=said)

    @_mended
    async def add_order(self, request: Request) -> Response:
        """A new order of a client, to her latest measurements."""
        number = request.path_params["client"]

        def write(book: Book) -> int:
            sets = book.sets_of(number)
            measured = sets[0].id if sets else None
            unit = sets[0].unit if sets else "cm"
            return book.add_order(number, "", {"unit": unit}, measured).id

        return _go(f"/orders/{await self._in_book(write)}")

    # ---- the fitting --------------------------------------------------------------------------

    @_mended
    async def fitting(self, request: Request) -> Response:
        """The fitting of an order."""
        number = request.path_params["order"]

        def read(book: Book) -> dict[str, Any]:
            from workroom.desk.forms import figure, form
            from workroom.desk.saving import opened

            order = book.order(number)
            content, typed = opened(book, order), book.typing_of(number)
            return {
                "order": order,
                "client": book.client(order.client),
                "content": content,
                "typed": {"version": typed[0], "content": typed[1]} if typed else None,
                "form": form(content["unit"]),
                "figure": figure(),
            }

        return self._page("fitting.html", **await self._in_book(read))

    @_mended
    async def form(self, request: Request) -> Response:
        """The fields in a unit."""
        from workroom.desk.forms import form

        unit = request.path_params["unit"]
        if unit not in ("cm", "in"):
            raise DeskError(Problem("no such unit", got=unit[:20], accepted="cm, in"))
        return JSONResponse(form(unit))

    @_mended
    async def look(self, request: Request) -> Response:
        """Draft what stands on the page; nothing is saved."""
        from workroom.desk.content import read_json
        from workroom.desk.preview import look_at

        content = read_json(await request.body())
        look = await run_in_threadpool(look_at, content)
        return JSONResponse(look.told)

    @_mended
    async def neck(self, request: Request) -> Response:
        """The collar that stands on the page, on the neck; asked for only while that is open."""
        from workroom.desk.content import read_json
        from workroom.desk.preview import neck_view

        content = read_json(await request.body())
        return JSONResponse(await run_in_threadpool(neck_view, content))

    @_mended
    async def save(self, request: Request) -> Response:
        """Save the fitting: what was taken as a new set if it is new, the order as changed, what
        was seen; answers with all that holds from her fittings."""
        from workroom.desk.fittings import rows_of
        from workroom.desk.saving import saved

        number, (content, version) = request.path_params["order"], await _sent(request)

        def write(book: Book) -> dict[str, Any]:
            order = saved(book, book.order(number), content, version)
            rows = rows_of(book.corrections_of(order.client))
            return {"version": order.version, "fittings": rows}

        return JSONResponse(await self._in_book(write))

    @_mended
    async def keep_typing(self, request: Request) -> Response:
        """Keep what was typed and not saved, in the book and nowhere else; or, when nothing comes,
        let it go."""
        from workroom.desk.content import read_content

        number, (content, version) = request.path_params["order"], await _sent(request)

        def write(book: Book) -> None:
            if content:
                book.keep_typing(number, version, read_content(content))
            else:
                book.drop_typing(number)

        await self._in_book(write)
        return Response(status_code=204)

    # ---- papers -------------------------------------------------------------------------------

    @_mended
    async def card(self, request: Request) -> Response:
        """The order as a card."""
        number = request.path_params["order"]

        def read(book: Book) -> str:
            from workroom.book.cards import export_card

            return export_card(book, book.order(number))

        return _file(await self._in_book(read), "card.toml", "application/toml")

    @_mended
    async def papers(self, request: Request) -> Response:
        """Make the papers of the order, as it was last saved, and list them."""
        papers = await run_in_threadpool(self._shelf.papers, request.path_params["order"])
        return JSONResponse({"papers": papers.listed(), "stamp": papers.stamp})

    @_mended
    async def paper(self, request: Request) -> Response:
        """One paper of the order, as it was last saved."""
        name = request.path_params["name"]
        papers = await run_in_threadpool(self._shelf.papers, request.path_params["order"])
        return _file(papers.one(name), f"{papers.folder}-{name}", media_type(name))

    @_mended
    async def folder(self, request: Request) -> Response:
        """All papers of the order in one file."""
        papers = await run_in_threadpool(self._shelf.papers, request.path_params["order"])
        return _file(papers.zipped(), f"{papers.folder}.zip", media_type(".zip"))


async def _fields(request: Request) -> dict[str, str]:
    """The texts of a form; files in it are let go."""
    async with request.form(max_files=1, max_fields=20) as fields:
        return {key: value for key, value in fields.items() if isinstance(value, str)}


async def _sent(request: Request) -> tuple[Mapping[str, Any], int]:
    """Content, and the version of the order it was made from."""
    from workroom.desk.content import read_json

    sent = read_json(await request.body())
    content, version = sent.get("content"), sent.get("version")
    whole = isinstance(version, int) and not isinstance(version, bool)
    if not isinstance(content, dict) or not whole or not 0 <= int(version or 0) < 1 << 60:
        raise DeskError(Problem("content and version are needed"))
    return content, int(version or 0)


def _name(given: object) -> str:
    from workroom.desk.content import LONGEST_NAME, text_line

    return text_line(given, "name", LONGEST_NAME, empty=False)


def _whole(given: object) -> int:
    text = str(given or "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else -1


def _go(path: str) -> Response:
    return RedirectResponse(path, status_code=303)


def _file(data: bytes | str, name: str, kind: str) -> Response:
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    plain = re.sub(r"-+", "-", plain).lstrip(" -")
    plain = f"order{plain}" if plain.startswith(".") else plain
    told = f'attachment; filename="{plain}"'
    if plain != name:  # a header takes letters from A to Z alone: the rest as RFC 6266 has it
        told += f"; filename*=UTF-8''{quote(name)}"
    return Response(data, media_type=kind, headers={"Content-Disposition": told})
