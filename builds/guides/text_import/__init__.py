"""A guide as a word processor has it, made into stages, steps, checks and pictures; shown before it is saved."""
