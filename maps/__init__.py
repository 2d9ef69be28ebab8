"""What people run and open: the command line, the map, the report, the exported files."""
