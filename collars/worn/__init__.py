"""The collar on the neck in space."""
