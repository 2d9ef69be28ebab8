"""One file for each command: each parses, calls one function and prints."""
