"""Recordings of the finished amplifier: their files, how they are analysed, and the readings that come of them."""
