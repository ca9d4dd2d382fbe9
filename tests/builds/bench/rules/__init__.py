"""The rules of the bench by themselves: nothing is saved, and nothing asks a database."""
