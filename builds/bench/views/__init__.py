"""The builder's pages, one module for each kind."""
