"""What goes into an order's folder."""
