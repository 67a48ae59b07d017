"""Numbers worth knowing of a lapel collar, and what its maker should be told. Centimetres and
radians."""

from __future__ import annotations

from collars.parameters import Values
from collars.roll_line import RollLine
from drafting.sentences import length


def lapel_numbers(roll: RollLine, values: Values) -> dict[str, float]:
    """Lengths (cm) and angles (radians); all of half a collar."""
    return {
        "neck_seam": roll.neck.length,
        "roll_line": roll.front.length,
        "roll_line_over_back": roll.extension,
        "swing": roll.swing,
        "swing_angle": roll.angle,
        "stand": roll.stand,
        "fall": roll.fall,
        "break_height": roll.break_at.y,
        "turn_of_cloth": values.number("turn_of_cloth"),
    }


def lapel_notes(roll: RollLine, values: Values, *, grown_on: bool) -> tuple[str, ...]:
    """Notes for the maker; ``grown_on`` when the under collar is one piece with the front."""
    if "swing" in values.wished:
        said = [f"The collar swings {length(roll.swing)} over the back neck, as asked."]
    else:
        said = [
            f"The collar swings {length(roll.swing)} over the back neck, worked out from stand, "
            "fall and neckline; schools differ. Judge it on the toile: less lifts the collar and "
            "bares the neck seam, more makes it lie flatter and at last wrinkle from neck to lapel."
        ]
    said.append(
        "The upper collar's neck seam is sewn to a back neck facing or to the lining, as long as "
        "the back neckline."
    )
    if grown_on:
        said.append(
            "Reinforce the side neck corner of front and facing and snip it to the point before "
            "the neck seam is sewn."
        )
    if values.number("neck_ease") > 0.0:
        said.append(
            f"Ease the neck seam by {length(values.number('neck_ease'))} near the side neck point."
        )
    return tuple(said)
