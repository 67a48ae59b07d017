"""A piece drawn: pens, lettering, labels and signs."""
