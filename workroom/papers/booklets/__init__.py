"""Booklets: report, order of making, worksheet."""
