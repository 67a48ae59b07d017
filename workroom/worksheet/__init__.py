"""The draft by hand: what a maker with set square and tape needs to draw every piece herself."""
