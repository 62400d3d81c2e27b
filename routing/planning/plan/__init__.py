"""From a solved problem to a plan: stops, reasons and cautions."""
