"""Asks public services for the layers a farm lacks; the only code that reaches the network."""
