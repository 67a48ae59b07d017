"""Front edge, buttonholes, facings and strips."""
