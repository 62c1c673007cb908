"""One calibration's arithmetic and the trade's rules: frozen values in, frozen values out.

No clock, database, web, environment or random numbers: today's date, the rules and the tables arrive as arguments.
"""
