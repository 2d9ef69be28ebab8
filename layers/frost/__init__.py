"""Freeze dates by their odds, from whatever file has them."""
