"""A recording in, the ridden path in arena metres out; test sheets, ideal lines and matching."""
