"""What the commands have in common, and explaining a number."""
