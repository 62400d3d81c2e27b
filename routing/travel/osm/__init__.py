"""Read roads, turns and conditions from an OpenStreetMap extract."""
