"""Cloth: the cutting list and the lays."""
