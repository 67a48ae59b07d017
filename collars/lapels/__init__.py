"""Collars with a lapel grown on to the front."""
