"""The air and the light in a yard: temperature by the day and the hour, sunrise and sunset."""
