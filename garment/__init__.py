"""Blocks, collar and finishing made into one garment: pieces, seams, checks, order of making."""
