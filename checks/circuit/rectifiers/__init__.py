"""Mains transformers and their rectifiers, solved as mean currents into reservoirs."""
