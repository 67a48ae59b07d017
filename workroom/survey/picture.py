"""A fit study as a picture: necklines against necks, and where the method fails."""

from __future__ import annotations

import io
from textwrap import wrap
from typing import Any

import numpy as np

from blocks.bodice.methods import method
from drafting.sentences import SHORT, length, written
from drafting.units import LengthUnit, from_cm
from workroom.survey.study import AS_DRAFTED, OFF, UNREACHED, Study
from workroom.survey.words import by_thirds

_INK, _BLUE, _RED, _GREY = "#1d2a33", "#1c3f94", "#b00020", "#8a949b"
_PARTS = ("small", "middle", "large")


def study_png(study: Study, unit: LengthUnit = LengthUnit.CM) -> bytes:
    """The study as a PNG, lengths in ``unit``. The same study gives the same bytes."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure
    from matplotlib.layout_engine import ConstrainedLayoutEngine

    layout = ConstrainedLayoutEngine(wspace=0.06)
    figure = Figure(figsize=(13.0, 5.6), facecolor="white", layout=layout)
    FigureCanvasAgg(figure)
    left, middle, right = figure.subplots(1, 3, width_ratios=(1.25, 1.0, 1.0))
    _necklines(left, study, unit)
    off = np.abs(study.off) > OFF
    _squares(
        middle, study, off, written(f"more than {length(OFF, places=SHORT)} off as drafted", unit)
    )
    _squares(right, study, study.fails, "fails even corrected")
    title = f"{method(study.method).title}: {len(study.bust)} bodies of {study.survey.name}"
    figure.suptitle("\n".join(wrap(title, 100)), color=_INK)
    stream = io.BytesIO()
    figure.savefig(stream, format="png", dpi=130, metadata={"Software": None})
    return stream.getvalue()


def _necklines(axes: Any, study: Study, unit: LengthUnit) -> None:
    """Each body: the neckline as drafted over the one that is wanted."""
    good = np.isfinite(study.drafted)
    size = from_cm(1.0, unit)
    some, off = size * study.target[good], size * OFF
    kinds = (
        (study.taken == AS_DRAFTED, _INK, "o", "right as drafted"),
        (~np.isin(study.taken, (AS_DRAFTED, UNREACHED)), _BLUE, "o", "a correction reaches"),
        (study.taken == UNREACHED, _RED, "x", "no correction reaches"),
    )
    for which, colour, sign, label in kinds:
        these = which & good
        if these.any():
            axes.scatter(
                size * study.target[these],
                size * study.drafted[these],
                s=14,
                c=colour,
                marker=sign,
                alpha=0.55,
                linewidths=0.8 if sign == "x" else 0.0,
                label=f"{label} ({int(these.sum())})",
            )
    if len(some):
        ends = np.array([some.min() - off, some.max() + off])
        axes.plot(ends, ends, color=_INK, lw=1.2)
        label = written(f"within {length(OFF, places=SHORT)}", unit)
        axes.fill_between(ends, ends - off, ends + off, color=_GREY, alpha=0.25, lw=0, label=label)
        axes.legend(loc="best", fontsize=9, frameon=False)
    axes.set_xlabel(f"neck base girth with its ease, {unit}")
    axes.set_ylabel(f"whole neckline as the method draws it, {unit}")
    axes.spines[["top", "right"]].set_visible(False)


def _squares(axes: Any, study: Study, which: Any, title: str) -> None:
    """Shares by thirds of bust and neck base."""
    shares = np.full((3, 3), np.nan)
    for bust, neck, these in by_thirds(study):
        count = int(these.sum())
        if count:
            shares[bust, neck] = (which & these).sum() / count
            dark = shares[bust, neck] > 0.6
            axes.text(
                neck,
                bust,
                f"{_percent(shares[bust, neck])} %\nof {count}",
                ha="center",
                va="center",
                color="white" if dark else _INK,
            )
    axes.imshow(shares, cmap="Blues", vmin=0.0, vmax=1.0, origin="lower")
    axes.set_xticks(range(3), _PARTS)
    axes.set_yticks(range(3), _PARTS)
    axes.set_xlabel("neck base, by thirds")
    axes.set_ylabel("bust, by thirds")
    axes.set_title(title, fontsize=11, color=_INK)


def _percent(share: float) -> str:
    """Few enough are told to a tenth."""
    return f"{100.0 * share:.1f}" if 0.0 < share < 0.095 else f"{100.0 * share:.0f}"
