"""What an order costs beside what the libraries alone take: `python scripts/bench_orders.py`.

Two ratios in one run, so that busy and idle machines can be compared:

- warm, an order drafted and all its files written, to ezdxf, matplotlib, reportlab and pikepdf
  writing the very same lines, letters and pages once more. What they are asked is written down
  while the files are made, and asked again of fresh documents, with nothing of Neckarc between
  (but for the flowing text of booklets, which is laid out anew).
- cold, the command line with the drawing and the pictures, to a Python that loads the same
  libraries and stops.

Processor time, the least of several rounds.
"""

from __future__ import annotations

import copy
import io
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any
from unittest.mock import patch

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

import ezdxf
from ezdxf.graphicsfactory import CreatorInterface
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon
from reportlab.pdfgen import canvas as canvases
from reportlab.pdfgen.pathobject import PDFPathObject
from reportlab.pdfgen.textobject import PDFTextObject

from drafting.library import data_folder
from garment.garment import Garment, make_garment
from workroom.card.card import read_card_text
from workroom.papers.booklets import booklet as booklets
from workroom.papers.booklets import report_pdf, worksheet_pdf
from workroom.papers.dxf import drawing as dxf_drawing
from workroom.papers.dxf import interchange as dxf_interchange
from workroom.papers.papers import papers
from workroom.papers.pdf.file import PdfFile
from workroom.papers.sheet.layers import layers

_ROUNDS = 5
_BARE = "import numpy, scipy.interpolate, ezdxf, matplotlib.pyplot"
#: What begins a part of a page that is then asked by itself.
_PARTS = ("beginPath", "beginText")
#: Something asked of a library: of whom, what, with what, and what came of it.
_Call = tuple[Any, str, tuple[Any, ...], dict[str, Any], Any]


class Tape:
    """What the libraries were asked for while the files of an order were made."""

    def __init__(self) -> None:
        self.calls: list[_Call] = []
        self.documents: list[tuple[Any, tuple[Any, ...], dict[str, Any]]] = []
        self.figures: list[tuple[Figure, dict[str, Any]]] = []
        self.pdfs: list[tuple[PdfFile, bytes]] = []
        self.booklets: list[tuple[Any, str, list[Any]]] = []
        self._inside = False

    def noted(self, kind: type, name: str) -> Any:
        """A method of a library's class, noted whenever it is not the library itself that asks."""
        method = getattr(kind, name)

        def asked(one: Any, *given: Any, **named: Any) -> Any:
            if self._inside:
                return method(one, *given, **named)
            self._inside = True
            try:
                result = method(one, *given, **named)
            finally:
                self._inside = False
            self.calls.append((one, name, given, named, result))
            return result

        return patch.object(kind, name, asked)

    @contextmanager
    def running(self) -> Iterator[None]:
        """Everything is noted meanwhile."""
        new, finished, save = ezdxf.new, PdfFile.finished, Figure.savefig

        def new_document(*given: Any, **named: Any) -> Any:
            document = new(*given, **named)
            self.documents.append((document, given, named))
            return document

        def pdf_finished(one: PdfFile) -> bytes:
            self._inside = True
            try:
                written = finished(one)
            finally:
                self._inside = False
            self.pdfs.append((one, written))
            return written

        def saved(figure: Figure, stream: Any, **named: Any) -> None:
            self._inside = True
            try:
                self.figures.append((figure, named))
                save(figure, stream, **named)
            finally:
                self._inside = False

        bound = booklets.booklet

        def bound_booklet(order: Any, title: str, story: list[Any]) -> bytes:
            self.booklets.append((order, title, copy.deepcopy(story)))
            self._inside = True
            try:
                return bound(order, title, story)
            finally:
                self._inside = False

        kinds = (
            (CreatorInterface, "add_"),
            (canvases.Canvas, ""),
            (PDFPathObject, ""),
            (PDFTextObject, ""),
        )
        with ExitStack() as stack:
            for kind, head in kinds:
                for name in dir(kind):
                    if name.startswith(head) and name[0] != "_" and callable(getattr(kind, name)):
                        stack.enter_context(self.noted(kind, name))
            stack.enter_context(self.noted(Axes, "text"))
            stack.enter_context(patch.object(ezdxf, "new", new_document))
            stack.enter_context(patch.object(PdfFile, "finished", pdf_finished))
            stack.enter_context(patch.object(Figure, "savefig", saved))
            for module in (report_pdf, worksheet_pdf):
                stack.enter_context(patch.object(module, "booklet", bound_booklet))
            yield

    # ---- asked again ----------------------------------------------------------------------------

    def parts(self) -> dict[str, Callable[[], None]]:
        """What asks each library again."""
        by_owner: dict[int, list[_Call]] = defaultdict(list)
        canvas_of = {
            id(result): id(one) for one, name, _, _, result in self.calls if name in _PARTS
        }
        for call in self.calls:
            by_owner[canvas_of.get(id(call[0]), id(call[0]))].append(call)

        def documents() -> None:
            for document, given, named in self.documents:
                self._document(document, given, named, by_owner)

        def figures() -> None:
            for figure, named in self.figures:
                self._figure(figure, named, by_owner)

        def pdfs() -> None:
            for one, written in self.pdfs:
                self._pdf(one, written, by_owner[id(one.canvas)])

        return {
            "ezdxf": documents,
            "matplotlib": figures,
            "reportlab, pikepdf": pdfs,
            "reportlab, text": self._booklets,
        }

    def _document(
        self, was: Any, given: tuple[Any, ...], named: dict[str, Any], calls: dict[int, Any]
    ) -> None:
        with dxf_drawing.fixed_metadata():
            document = ezdxf.new(*given, **named)
            if was.dxfversion > "AC1009":
                document.styles.add(dxf_drawing._STYLE, font=dxf_drawing._FONT)
                for layer in layers().values():
                    dxf_drawing._add_layer(document, layer)
            for old in was.blocks:
                if old.name not in document.blocks:
                    _ask(document.blocks.new(old.name), calls.get(id(old), []))
            _ask(document.modelspace(), calls.get(id(was.modelspace()), []))
            if was.dxfversion > "AC1009":
                dxf_drawing._written(document)
            else:
                dxf_interchange._exporter().export_stream(document, io.StringIO())

    @staticmethod
    def _figure(was: Figure, named: dict[str, Any], calls: dict[int, Any]) -> None:
        figure = Figure(facecolor="white")
        figure.set_size_inches(*was.get_size_inches())
        axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
        old = was.axes[0]
        for one in old.get_children():
            if isinstance(one, Line2D):
                artist: Any = Line2D(*one.get_data())
            elif isinstance(one, Polygon):
                artist = Polygon(one.get_xy(), fill=False)
            else:
                continue
            artist.update_from(one)
            artist.set_transform(axes.transData)
            axes.add_artist(artist)
        axes.set(xlim=old.get_xlim(), ylim=old.get_ylim())
        axes.set_axis_off()
        _ask(axes, calls.get(id(old), []))
        FigureCanvasAgg(figure)
        figure.savefig(io.BytesIO(), **named)

    @staticmethod
    def _pdf(was: PdfFile, written: bytes, calls: list[_Call]) -> None:
        again = copy.copy(was)
        again._stream = io.BytesIO()
        again.canvas = canvases.Canvas(again._stream, invariant=1, pageCompression=0)
        made: dict[int, Any] = {id(was.canvas): again.canvas}
        for one, name, given, named, result in calls:
            asked = [made.get(id(value), value) for value in given]
            made[id(result)] = getattr(made[id(one)], name)(*asked, **named)
        if again.finished() != written:
            raise RuntimeError("a PDF came out otherwise when its library was asked once more")

    def _booklets(self) -> None:
        for order, title, story in self._stories:
            booklets.booklet(order, title, story)

    def ready(self) -> None:
        """Booklets eat their story: fresh ones, outside the time."""
        self._stories = [(o, title, copy.deepcopy(story)) for o, title, story in self.booklets]


def _ask(one: Any, calls: list[_Call]) -> None:
    for _, name, given, named, _ in calls:
        getattr(one, name)(*given, **named)


# ---- measuring ----------------------------------------------------------------------------------


def spent(work: Callable[[], object]) -> float:
    """Processor time of some work (seconds)."""
    start = time.process_time()
    work()
    return time.process_time() - start


def drafted(round_number: int) -> Garment:
    """The demo client's order, her bust a little different every time, so that nothing is kept."""
    demo = (data_folder() / "clients" / "demo.toml").read_text(encoding="utf-8")
    bust = f"bust_girth = {94.0 + 0.1 * round_number:.1f}"
    return make_garment(read_card_text(demo.replace("bust_girth = 94.0", bust), "demo"))


def warm() -> None:
    """Print the warm table."""
    papers(drafted(0), "all")
    tape = Tape()
    with tape.running():
        papers(drafted(1), "all")
    parts = tape.parts()
    ours, libraries = [], defaultdict(list)
    for n in range(2, 2 + _ROUNDS):
        ours.append(spent(lambda n=n: papers(drafted(n), "all")))  # type: ignore[misc]
        tape.ready()
        for name, work in parts.items():
            libraries[name].append(spent(work))
    print(f"{'warm':<24}{'ms':>8}")
    whole = 0.0
    for name, times in libraries.items():
        whole += min(times)
        print(f"  {name:<22}{1000 * min(times):>8.0f}")
    print(f"  {'libraries alone':<22}{1000 * whole:>8.0f}")
    print(f"  {'order, all files':<22}{1000 * min(ours):>8.0f}")
    print(f"  {'ratio':<22}{min(ours) / whole:>8.2f}\n")


#: The environment as a maker has it: modules are compiled once, libraries choose their threads.
_OURS = ("PYTHONDONTWRITEBYTECODE", "OPENBLAS_NUM_THREADS")
_PLAIN = {key: value for key, value in os.environ.items() if key not in _OURS}


def child(*given: str) -> float:
    """Processor time of a process of its own."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, *given], cwd=ROOT, env=_PLAIN, check=True, capture_output=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def cold() -> None:
    """Print the cold table."""
    card = str(data_folder() / "clients" / "demo.toml")
    ours, bare = [], []
    with tempfile.TemporaryDirectory() as folder:
        wish = ("--papers", "dxf", "--papers", "pictures", "--into")
        for n in range(_ROUNDS + 1):  # the first compiles what was not compiled yet
            out = str(Path(folder) / str(n))
            ours.append(child("-m", "workroom", "draft", card, *wish, out))
            bare.append(child("-c", _BARE))
    print(f"{'cold':<24}{'ms':>8}")
    print(f"  {'libraries loaded':<22}{1000 * min(bare):>8.0f}")
    print(f"  {'drawing, pictures':<22}{1000 * min(ours):>8.0f}")
    print(f"  {'ratio':<22}{min(ours) / min(bare):>8.2f}")


if __name__ == "__main__":
    warm()
    cold()
