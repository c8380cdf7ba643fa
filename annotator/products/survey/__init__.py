"""The survey of a library: every score below a folder measured, without engraving, and ranked by what it trains and how hard it is."""
