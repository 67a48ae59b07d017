"""PDF pages and the pen that draws on them."""
