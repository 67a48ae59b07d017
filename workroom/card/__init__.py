"""The client card: read, checked, written."""
