"""The one vocabulary of edges: what they are called, which allowance each takes, what else holds of
them on the table."""

from __future__ import annotations

from drafting.pieces.piece import EdgeKind


class EdgeName(EdgeKind):
    """The edges a piece may have: the name, the entry of the card's allowances that it takes, and
    its traits (:data:`drafting.pieces.piece.TRAITS`)."""

    CENTRE_FRONT = "centre front", "front_edge", "front"
    FRONT_EDGE = "front edge", "front_edge", "front"
    CENTRE_BACK = "centre back", "centre_back", "back"
    NECKLINE = "neckline", "neckline", "goes_on"
    SHOULDER = "shoulder", "shoulder"
    SCYE = "armhole", "scye", "loose body"
    SIDE_SEAM = "side seam", "side_seam", "body"
    WAIST = "waist", "waist", "loose goes_on"
    HEM = "hem", "", "loose goes_on"
    DART_MOUTH = "dart mouth", "", "dart_mouth"
    NECK_SEAM = "neck seam", "neckline"
    STAND_SEAM = "stand seam", "collar"
    COLLAR_END = "collar end", "collar"
    OUTER_EDGE = "outer edge", "collar"
    GORGE = "gorge", "collar"
    LAPEL_EDGE = "lapel edge", "collar", "front"
    FACING_EDGE = "facing edge", "facing", "loose facing"
    BUTTON_STAND_END = "button stand end", "", "stand_end"
