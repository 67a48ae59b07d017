"""Points, the one curve, how long it is, which of its points is closest, and roots."""
