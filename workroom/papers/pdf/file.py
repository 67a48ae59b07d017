"""A PDF file with exact page boxes and layers that a viewer can switch (ISO 32000-1, 8.11).

Two libraries share the work, because neither does all of it: reportlab writes pages, exact Bezier
paths and embedded fonts; pikepdf adds what reportlab has no words for: layers, every page box, and
the wish that viewers print without scaling. matplotlib, which draws our pictures, knows no layers
and draws text at sizes of its own. The same order gives the same bytes: no date, no chance number.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from drafting.drawing.lettering import one_line
from drafting.errors import DraftError, Problem
from drafting.sentences import DOWN, length
from drafting.units import POINTS_PER_CM

#: No side of a page may be longer (points; ISO 32000-1, annex C).
_LONGEST = 14400.0


@dataclass(frozen=True, slots=True)
class Group:
    """A layer of the file: ``key`` in the page (a plain word), ``title`` in the viewer, the
    ``heading`` it stands under there, and whether it is shown when the file is opened."""

    key: str
    title: str
    heading: str
    shown: bool = True


class PdfFile:
    """Pages one after the other; :meth:`finished` gives the bytes. Centimetres."""

    def __init__(self, title: str, groups: Sequence[Group] = ()) -> None:
        from reportlab.pdfgen.canvas import Canvas

        self._stream = io.BytesIO()
        self._title, self._groups = one_line(title), tuple(groups)
        self._sizes: list[tuple[float, float]] = []
        # not packed here: whatever is not, pikepdf packs, and quicker
        self.canvas: Any = Canvas(self._stream, invariant=1, pageCompression=0)

    @contextmanager
    def page(self, width: float, height: float) -> Iterator[None]:
        """A page of a size in centimetres, the origin at its lower left corner.

        Raises :class:`DraftError` when it is larger than a PDF page may be.
        """
        size = (width * POINTS_PER_CM, height * POINTS_PER_CM)
        if max(size) > _LONGEST:
            raise DraftError(
                Problem(
                    "this sheet is longer than a PDF page may be",
                    key="paper",
                    got=length(max(width, height), places=0),
                    accepted=f"up to {length(_LONGEST / POINTS_PER_CM, places=0, rounding=DOWN)}",
                    advice="Choose a wider roll.",
                )
            )
        self._sizes.append(size)
        self.canvas.setPageSize(size)
        yield
        self.canvas.showPage()

    @contextmanager
    def within(self, key: str) -> Iterator[None]:
        """What is drawn meanwhile belongs to a layer."""
        self.canvas.addLiteral(f"/OC /{key} BDC")
        yield
        self.canvas.addLiteral("EMC")

    @contextmanager
    def window(self, x: float, y: float, width: float, height: float) -> Iterator[None]:
        """What is drawn meanwhile shows inside a rectangle only (lower left corner and size)."""
        path = self.canvas.beginPath()
        path.rect(*(value * POINTS_PER_CM for value in (x, y, width, height)))
        self.canvas.saveState()
        self.canvas.clipPath(path, stroke=0, fill=0)
        yield
        self.canvas.restoreState()

    @contextmanager
    def shifted(self, x: float, y: float) -> Iterator[None]:
        """The origin is at ``x, y`` meanwhile."""
        self.canvas.saveState()
        self.canvas.translate(x * POINTS_PER_CM, y * POINTS_PER_CM)
        yield
        self.canvas.restoreState()

    def finished(self) -> bytes:
        """The whole file."""
        import pikepdf

        self.canvas.save()
        out = io.BytesIO()
        with pikepdf.open(io.BytesIO(self._stream.getvalue())) as pdf:
            for page, size in zip(pdf.pages, self._sizes, strict=True):
                box = pikepdf.Array([0, 0, *(_exact(side) for side in size)])
                for name in ("/MediaBox", "/CropBox", "/BleedBox", "/TrimBox"):
                    page.obj[name] = box
            self._name(pdf)
            if self._groups:
                self._add_layers(pdf)
            pdf.save(out, deterministic_id=True, min_version="1.7")
        return out.getvalue()

    def _name(self, pdf: Any) -> None:
        import pikepdf

        for key in list(pdf.docinfo.keys()):
            del pdf.docinfo[key]
        pdf.docinfo["/Title"] = pikepdf.String(self._title)
        pdf.docinfo["/Producer"] = pikepdf.String("Neckarc")
        pdf.Root.ViewerPreferences = pikepdf.Dictionary(
            PrintScaling=pikepdf.Name("/None"),
            DisplayDocTitle=True,
        )

    def _add_layers(self, pdf: Any) -> None:
        import pikepdf

        made = {
            group.key: pdf.make_indirect(
                pikepdf.Dictionary(
                    Type=pikepdf.Name.OCG, Name=pikepdf.String(one_line(group.title))
                )
            )
            for group in self._groups
        }
        for page in pdf.pages:
            page.obj.Resources.Properties = pikepdf.Dictionary(
                {f"/{key}": layer for key, layer in made.items()}
            )
        order = pikepdf.Array()
        for heading in dict.fromkeys(group.heading for group in self._groups):
            under = [made[group.key] for group in self._groups if group.heading == heading]
            order.append(pikepdf.Array([pikepdf.String(heading), *under]))
        hidden = [made[group.key] for group in self._groups if not group.shown]
        pdf.Root.OCProperties = pikepdf.Dictionary(
            OCGs=pikepdf.Array(list(made.values())),
            D=pikepdf.Dictionary(
                Name=pikepdf.String("Layers"),
                BaseState=pikepdf.Name.ON,
                Order=order,
                OFF=pikepdf.Array(hidden),
            ),
        )
        if not hidden:
            del pdf.Root.OCProperties.D["/OFF"]


def _exact(points: float) -> Decimal:
    """A length in points to a millionth."""
    return Decimal(f"{points:.6f}")
