"""Complete studies with invented data, shipped for ``shotwindow demo``."""
