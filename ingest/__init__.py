"""Files in, one ``Recording`` out: units settled, no geometry, no opinion."""
