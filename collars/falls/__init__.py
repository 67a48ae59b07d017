"""Collars that turn down over a stand."""
