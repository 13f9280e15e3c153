"""One module per command; each holds a thin click layer named ``command``."""
