"""The DC operating point and the alternating volts of a network, many samples at once."""
