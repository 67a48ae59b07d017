"""An order from client card to finished folder: strung together here, once."""
