"""What every drawing shows, and how each ink looks on it."""
