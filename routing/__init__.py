"""feedround: plan a day of feeding syrup to many apiaries."""

__version__ = "0.1.0"
