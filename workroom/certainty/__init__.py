"""How sure a draft is: how each number moves with each measurement, and what the errors of
measuring make of it."""
