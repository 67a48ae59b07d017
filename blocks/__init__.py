"""From measurements to quantities to front and back bodice blocks with their neckline."""
