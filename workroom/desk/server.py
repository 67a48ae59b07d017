"""The desk's pages and what they ask for. Every change of the book is one request, answered only
when it is on the disk."""

from __future__ import annotations

import datetime
import io
import json
import zipfile
from collections.abc import Awaitable, Callable
from functools import wraps
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from drafting.errors import NeckarcError, Problem
from workroom.book.book import ASKED, Book
from workroom.book.cards import export_card, import_card
from workroom.book.errors import BookConflictError, NotInBookError
from workroom.book.records import BookOrder
from workroom.card_file import decode, read_card_toml
from workroom.desk.figure import figure
from workroom.desk.forms import form
from workroom.desk.guard import Guard
from workroom.desk.look import look_at
from workroom.folder import folder_name
from workroom.papers import papers

HERE = Path(__file__).resolve().parent
_LONGEST_NAME = 120
#: The papers offered one by one, with what they are.
PAPERS = (
    ("worksheet.pdf", "Worksheet: the draft by hand (PDF)"),
    ("order-of-making.pdf", "Order of making (PDF)"),
    ("report.pdf", "Report for the client's file (PDF)"),
    ("pieces.svg", "The pieces at true size (SVG)"),
    ("drawing.dxf", "For any CAD (DXF)"),
)
_TYPES = {
    ".pdf": "application/pdf",
    ".dxf": "image/vnd.dxf",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".json": "application/json",
    ".txt": "text/plain; charset=utf-8",
}


class DeskError(NeckarcError, ValueError):
    """What the page sent cannot be used."""


def desk_app(book: Path, token: str) -> Starlette:
    """The desk on the book in a file; requests need the ``token``."""
    desk = _Desk(book)
    routes = [
        Route("/", desk.front, methods=["GET"]),
        Route("/clients", desk.add_client, methods=["POST"]),
        Route("/cards", desk.take_card, methods=["POST"]),
        Route("/clients/{client:int}", desk.client, methods=["GET"]),
        Route("/clients/{client:int}/change", desk.change_client, methods=["POST"]),
        Route("/clients/{client:int}/erase", desk.erase_client, methods=["POST"]),
        Route("/clients/{client:int}/orders", desk.add_order, methods=["POST"]),
        Route("/orders/{order:int}", desk.fitting, methods=["GET"]),
        Route("/orders/{order:int}/save", desk.save, methods=["POST"]),
        Route("/orders/{order:int}/card.toml", desk.card, methods=["GET"]),
        Route("/orders/{order:int}/papers.zip", desk.folder, methods=["GET"]),
        Route("/orders/{order:int}/papers/{name}", desk.paper, methods=["GET"]),
        Route("/look", desk.look, methods=["POST"]),
        Route("/form/{unit}", desk.form, methods=["GET"]),
        Route("/nothing", desk.nothing, methods=["GET"]),
        Mount("/static", StaticFiles(directory=HERE / "static")),
    ]
    return Starlette(routes=routes, middleware=[Middleware(Guard, token=token)])


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
        self._pages = Environment(
            loader=FileSystemLoader(HERE / "pages"), autoescape=True, trim_blocks=True
        )

    def _page(self, name: str, status: int = 200, **values: Any) -> Response:
        return HTMLResponse(self._pages.get_template(name).render(**values), status_code=status)

    def sorry(self, request: Request, error: NeckarcError, status: int) -> Response:
        """What went wrong, to script or person."""
        said = [str(problem) for problem in error.problems]
        if "application/json" in request.headers.get("accept", ""):
            return JSONResponse({"said": said}, status_code=status)
        return self._page("sorry.html", status, said=said)

    async def nothing(self, request: Request) -> Response:
        """An empty answer, to measure others by."""
        return Response(status_code=204)

    @_mended
    async def front(self, request: Request) -> Response:
        """Who is in the book."""

        def read() -> list[dict[str, Any]]:
            with Book(self._book) as book:
                return [
                    {
                        "client": client,
                        "sets": book.sets_of(client.id),
                        "orders": book.orders_of(client.id),
                    }
                    for client in book.clients()
                ]

        return self._page("front.html", people=await run_in_threadpool(read), book=self._book)

    @_mended
    async def add_client(self, request: Request) -> Response:
        """A new client, with a first order to fit."""
        fields = await request.form()
        name = _name(fields.get("name"))
        unit = "in" if fields.get("unit") == "in" else "cm"

        def write() -> int:
            with Book(self._book) as book:
                client = book.add_client(name)
                return book.add_order(client.id, "", {"unit": unit}).id

        return _go(f"/orders/{await run_in_threadpool(write)}")

    @_mended
    async def take_card(self, request: Request) -> Response:
        """A card's file into the book."""
        fields = await request.form(max_files=1, max_fields=4)
        given = fields.get("card")
        if given is None or isinstance(given, str):
            raise DeskError(Problem("no card was chosen"))
        text = decode(await given.read(), "card")

        def write() -> int:
            with Book(self._book) as book:
                return import_card(book, text, "card")[1].id

        return _go(f"/orders/{await run_in_threadpool(write)}")

    @_mended
    async def client(self, request: Request) -> Response:
        """A client's page: sets side by side, orders, notes."""
        number = request.path_params["client"]

        def read() -> dict[str, Any]:
            with Book(self._book) as book:
                return {
                    "client": book.client(number),
                    "sets": book.sets_of(number),
                    "orders": book.orders_of(number),
                    "corrections": book.corrections_of(number),
                }

        found = await run_in_threadpool(read)
        names = [(row["key"], row["name"]) for row in form("cm")["measurements"]]
        shown = [
            (name, [measured.taken.get(key, "") for measured in found["sets"]])
            for key, name in names
            if any(key in measured.taken for measured in found["sets"])
        ]
        return self._page("client.html", **found, compared=shown)

    @_mended
    async def change_client(self, request: Request) -> Response:
        """Another name, other notes."""
        number, fields = request.path_params["client"], await request.form()
        name, notes = _name(fields.get("name")), str(fields.get("notes", ""))[:10_000]
        version = _whole(fields.get("version"))

        def write() -> None:
            with Book(self._book) as book:
                was = book.client(number)
                if was.version != version:
                    raise BookConflictError(
                        Problem("another window saved this meanwhile; nothing was overwritten")
                    )
                book.change_client(was, name=name, notes=notes)

        await run_in_threadpool(write)
        return _go(f"/clients/{number}")

    @_mended
    async def erase_client(self, request: Request) -> Response:
        """Really delete a client; the page asked before."""
        number, fields = request.path_params["client"], await request.form()
        if fields.get("sure") != "yes":
            raise DeskError(Problem("nothing was deleted: it was not confirmed"))

        def write() -> str:
            with Book(self._book) as book:
                return book.delete_client(number).said()

        return self._page("erased.html", said=await run_in_threadpool(write))

    @_mended
    async def add_order(self, request: Request) -> Response:
        """A new order of a client, to her latest measurements."""
        number = request.path_params["client"]

        def write() -> int:
            with Book(self._book) as book:
                sets = book.sets_of(number)
                measured = sets[0].id if sets else None
                unit = sets[0].unit if sets else "cm"
                return book.add_order(number, "", {"unit": unit}, measured).id

        return _go(f"/orders/{await run_in_threadpool(write)}")

    @_mended
    async def fitting(self, request: Request) -> Response:
        """The fitting of an order."""
        number = request.path_params["order"]

        def read() -> dict[str, Any]:
            with Book(self._book) as book:
                order = book.order(number)
                return {"order": order, "client": book.client(order.client)} | _opened(book, order)

        found = await run_in_threadpool(read)
        return self._page(
            "fitting.html",
            **found,
            form=form(found["content"]["unit"]),
            figure=figure(),
            papers=PAPERS,
        )

    @_mended
    async def form(self, request: Request) -> Response:
        """The fields in a unit."""
        unit = request.path_params["unit"]
        if unit not in ("cm", "in"):
            raise DeskError(Problem("no such unit", got=unit, accepted="cm, in"))
        return JSONResponse(form(unit))

    @_mended
    async def look(self, request: Request) -> Response:
        """Draft what stands on the page; nothing is saved."""
        content = await _content(request)
        look = await run_in_threadpool(look_at, content)
        return JSONResponse(look.told)

    @_mended
    async def save(self, request: Request) -> Response:
        """Save the fitting: what was taken as a new set if it is new, the order as changed."""
        number, sent = request.path_params["order"], await _content(request)
        content, version = sent.get("content"), sent.get("version")
        if not isinstance(content, dict) or not isinstance(version, int):
            raise DeskError(Problem("content and version are needed"))

        def write() -> int:
            with Book(self._book) as book:
                return _saved(book, book.order(number), content, version).version

        return JSONResponse({"version": await run_in_threadpool(write)})

    @_mended
    async def card(self, request: Request) -> Response:
        """The order as a card."""
        number = request.path_params["order"]

        def read() -> str:
            with Book(self._book) as book:
                return export_card(book, book.order(number))

        return _file(await run_in_threadpool(read), "card.toml", "application/toml")

    @_mended
    async def paper(self, request: Request) -> Response:
        """One paper of the order, as it was last saved."""
        name = request.path_params["name"]
        files, head = await run_in_threadpool(self._papers, request.path_params["order"])
        if name not in files:
            raise NotInBookError(
                Problem("there is no such paper", got=name[:60], accepted=", ".join(files))
            )
        kind = _TYPES.get(Path(name).suffix, "application/octet-stream")
        return _file(files[name], f"{head}-{name}", kind)

    @_mended
    async def folder(self, request: Request) -> Response:
        """All papers of the order in one file."""
        files, head = await run_in_threadpool(self._papers, request.path_params["order"])
        stream = io.BytesIO()
        with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
            for name, data in files.items():
                archive.writestr(zipfile.ZipInfo(f"{head}/{name}", (1980, 1, 1, 0, 0, 0)), data)
        return _file(stream.getvalue(), f"{head}.zip", "application/zip")

    def _papers(self, number: int) -> tuple[dict[str, bytes], str]:
        from workroom.order import make_order, read_card_text

        with Book(self._book) as book:
            text = export_card(book, book.order(number))
        order = make_order(read_card_text(text, "card"))
        card = order.card
        head = folder_name(card.client, card.date.isoformat(), card.order)
        if order.failed:
            head += "-not-for-cutting"
        return papers(order, "all"), head


def _opened(book: Book, order: BookOrder) -> dict[str, Any]:
    """An order's content as the page edits it: that of its card."""
    toml = read_card_toml(export_card(book, order), "card").values
    content = {key: toml.get(key, {}) for key in (*ASKED, "measurements")}
    date = toml.get("date") or datetime.date.today()
    content |= {"unit": toml["unit"], "date": str(date), "order": order.name}
    content |= {"client": toml["client"], "notes": toml.get("notes", "")}
    return {"content": content}


def _saved(book: Book, was: BookOrder, content: dict[str, Any], version: int) -> BookOrder:
    if was.version != version:
        raise BookConflictError(
            Problem(
                "another window saved this order meanwhile; nothing was overwritten",
                advice="Load the page again and make your change once more.",
            )
        )
    unit = "in" if content.get("unit") == "in" else "cm"
    taken = {
        str(key): value
        for key, value in dict(content.get("measurements") or {}).items()
        if isinstance(value, int | float | str) and value != ""
    }
    date = _date(content.get("date"))
    measured = was.measured
    last = book.measurements(measured) if measured is not None else None
    if taken and (last is None or (last.date, last.unit, dict(last.taken)) != (date, unit, taken)):
        measured = book.add_measurements(was.client, date, taken, unit).id
    asked: dict[str, Any] = {
        table: content[table] for table in ASKED if isinstance(content.get(table), dict)
    }
    asked["unit"] = unit
    if content.get("notes"):
        asked["notes"] = str(content["notes"])[:10_000]
    name = str(content.get("order") or "")[:_LONGEST_NAME]
    return book.change_order(was, name=name, asked=asked, measured=measured)


async def _content(request: Request) -> dict[str, Any]:
    try:
        found = json.loads(await request.body(), parse_constant=_no_number)
    except (ValueError, RecursionError) as error:
        raise DeskError(Problem("this is no JSON")) from error
    if not isinstance(found, dict):
        raise DeskError(Problem("a table of values is wanted"))
    return found


def _no_number(word: str) -> float:
    raise ValueError(f"{word} is no number")


def _name(given: Any) -> str:
    name = " ".join(str(given or "").split())
    if not name or len(name) > _LONGEST_NAME:
        raise DeskError(
            Problem("a name is needed", "", "name", accepted=f"1 to {_LONGEST_NAME} signs")
        )
    return name


def _whole(given: Any) -> int:
    text = str(given or "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else -1


def _date(given: Any) -> datetime.date:
    try:
        return datetime.date.fromisoformat(str(given))
    except ValueError:
        raise DeskError(
            Problem("this is no date", key="date", accepted="year-month-day, such as 2026-03-14")
        ) from None


def _go(path: str) -> Response:
    return RedirectResponse(path, status_code=303)


def _file(data: bytes | str, name: str, kind: str) -> Response:
    return Response(
        data, media_type=kind, headers={"Content-Disposition": f'attachment; filename="{name}"'}
    )
