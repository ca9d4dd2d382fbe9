"""The finished amplifiers of a programme: recordings of its builds, compared with each other and with a reference."""
