"""The neck as a surface."""
