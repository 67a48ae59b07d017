"""The client book: clients, dated measurement sets, orders, corrections and notes, in one file."""
