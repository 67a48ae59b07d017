"""Pictures: SVG, PNG, and the collar on the neck."""
