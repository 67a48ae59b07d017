"""Darts where the maker wants them."""
