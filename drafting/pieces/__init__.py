"""Pieces of edges, their seams, allowances, cut lines and checks."""
