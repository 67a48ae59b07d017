"""An order's folder: named, locked, written whole, and whose it is."""
