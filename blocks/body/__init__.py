"""Measurements to a body: what was taken, what is estimated, what looks odd."""
