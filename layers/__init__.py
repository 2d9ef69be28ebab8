"""From the user's files to the tables that ``suitability`` declares: formats, CRS, units, gaps."""
