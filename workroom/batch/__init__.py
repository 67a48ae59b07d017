"""Many orders from one table: a row an order, a folder an order, and one summary of all."""
