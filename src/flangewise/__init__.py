"""Press brake bends, blanks, plans and setup sheets.

A part file says what is wanted (`part`); its blank is laid out flat (`pattern`); punch and die are offered for each
bend (`punch_die`); an order is found in which nothing strikes (`sequence`); what the setter keys in for each hit is
worked out (`setup`); and all of it is printed for the next shift (`sheet`). What the shop owns stands in `shop`, what
the metal does in `bend`. `jobs` runs the whole way for one part or for many.
"""

__version__ = "0.1.0"
