"""The neckline of a block: its curves, its fit to the neck, its styles."""
