"""Collars that stand: the stand, its rise from the neck, and those that have nothing else."""
