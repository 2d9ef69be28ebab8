"""Daily weather of stations and grid points, from whatever file the user has."""
