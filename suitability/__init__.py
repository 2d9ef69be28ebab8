"""What a field's soil, ground and weather mean for the crop: formulas, ratings, verdicts.

The floor of the program: it reads no map files and draws nothing. Arrays and tables in, tables out.
"""
