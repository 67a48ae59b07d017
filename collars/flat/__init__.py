"""Collars traced from front and back laid together."""
