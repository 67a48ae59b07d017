"""From a neckline to the pieces of a collar: one module a collar, one registry."""
