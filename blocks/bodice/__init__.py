"""Quantities to a front and a back: shoulder, scye, waist, made up and checked."""
