"""The drafting table: points, curves, edges, pieces and seams. Knows no body and no garment."""
