"""DXF: the drawing for any CAD, and the interchange file."""
