"""Valve types: published data, fitted parameters, and Koren's equations."""
