"""Sheets: what leaves the workroom, one module a kind."""
