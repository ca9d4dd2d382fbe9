"""The finished amplifier: figures from volts under a test tone, and recordings through a sound card.

Samples come in as numpy arrays in volts or in shares of full scale; nothing here opens a file. "dBr" is always
relative to the fundamental of the same recording, "dB" to what the name says.
"""
