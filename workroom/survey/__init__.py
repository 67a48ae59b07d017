"""A fit study: one method over a whole population, and where it fails."""
