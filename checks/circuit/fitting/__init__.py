"""Fitting valve models to published points, and how near they come; nothing here runs with the site."""
