"""A build seen as a whole by its builder: all readings, and finding a step, check or part by a word."""
