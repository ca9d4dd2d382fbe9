"""The invented kit that the demo and the tests use."""
