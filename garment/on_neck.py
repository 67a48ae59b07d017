"""A collar placed on the neck in space, once for all papers, and what is said of it."""

from __future__ import annotations

from collars.worn.worn import PartName, WornCollar, worn_collar
from drafting.errors import DraftError
from drafting.memo import memo_by_identity
from drafting.sentences import written
from drafting.units import LengthUnit, format_length
from garment.garment import Garment

#: Cells that give less than this are as good as not strained; more than the second, twice marked.
SEEN, MUCH = 0.02, 0.05
#: Less than this (cm) off the neck touches it.
_TOUCHES = 0.15


@memo_by_identity(4)
def on_neck(order: Garment) -> WornCollar | str:
    """The collar of an order on its client's neck, or in words why it cannot be shown."""
    try:
        return worn_collar(order.collar, order.neckline)
    except DraftError as error:
        said = " ".join(f"{one.said}. {one.advice}".strip() for one in error.problems)
        return written(said, order.commission.unit)


def neck_lines(order: Garment, space: WornCollar) -> list[str]:
    """What is worth knowing of a collar on the neck, in sentences."""
    unit, numbers = order.commission.unit, space.numbers
    where = {"back": "centre back", "side": "the side", "front": "centre front"}
    off = [_off(numbers[f"top_off_{key}"], unit, at) for key, at in where.items()]
    seam = [format_length(numbers[f"seam_off_{key}"], unit) for key in where]
    lines = [
        f"Top edge of the stand: {', '.join(off)}.",
        f"Bent without stretching, its seam ends {seam[0]}, {seam[1]} and {seam[2]} from the "
        "neckline there; the neckline will give by that much.",
    ]
    fall = [mesh for mesh in space.meshes if mesh.part is PartName.FALL]
    if fall:
        longer = float(fall[0].strains().max())
        lines.append(
            "The fall lies flat on the shoulders without stretching."
            if longer < SEEN
            else "To lie flat on the shoulders the fall would have to stretch by up to "
            f"{longer:.0%}; it will lift there."
        )
    guessed = order.neckline.neck.estimated if order.neckline.neck else ()
    said = f" ({', '.join(key.replace('_', ' ') for key in guessed)} estimated)" if guessed else ""
    lines.append(
        f"Estimated from her neck measurements{said}, for cloth without weight. Judge it on the "
        "toile."
    )
    return lines


def legend() -> str:
    """How the picture is to be read."""
    return (
        f"+ would have to stretch, − to shrink: small signs from {SEEN:.0%}, large and dark from "
        f"{MUCH:.0%}. Dashed: centre front."
    )


def _off(value: float, unit: LengthUnit, at: str) -> str:
    return f"touching at {at}" if value < _TOUCHES else f"{format_length(value, unit)} off at {at}"
